#include "functions/hoist/reeving.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "base/check.h"

namespace functions::hoist {

double layer_diameter_mm(const stock::Drum& drum, double rope_mm, int layer) {
  return drum.core_diameter_mm + (2 * layer - 1) * rope_mm;
}

Winding wind(const stock::Drum& drum, double rope_mm, double length_mm) {
  KW_CHECK(rope_mm > 0, fmt::format("rope diameter {} mm", rope_mm));
  constexpr double kHair = 1e-9;
  Winding w;
  w.turns_per_layer = static_cast<int>(std::floor(drum.width_mm / rope_mm + kHair));
  w.first_diameter_mm = layer_diameter_mm(drum, rope_mm, 1);
  w.outer_diameter_mm = w.first_diameter_mm;
  const double room_mm = (drum.flange_diameter_mm - drum.core_diameter_mm) / 2 - kFlangeRopes * rope_mm;
  w.most_layers = w.turns_per_layer < 1 ? 0 : std::max(0, static_cast<int>(std::floor(room_mm / rope_mm + kHair)));
  const auto layer_mm = [&](int k) {
    return w.turns_per_layer * std::numbers::pi * layer_diameter_mm(drum, rope_mm, k);
  };
  for (int k = 1; k <= w.most_layers; ++k) w.capacity_mm += layer_mm(k);
  if (w.turns_per_layer < 1) return w;
  double wound_mm = 0;
  do {
    ++w.layers;
    wound_mm += layer_mm(w.layers);
  } while (wound_mm < length_mm - kHair && w.layers <= w.most_layers);
  w.outer_diameter_mm = layer_diameter_mm(drum, rope_mm, w.layers);
  return w;
}

double sheave_efficiency(double sheave_diameter_mm, double pin_diameter_mm, double friction) {
  const double lost_mm = friction * pin_diameter_mm;
  KW_CHECK(friction >= 0 && lost_mm < sheave_diameter_mm, fmt::format("sheave {} mm on a pin of {} mm with friction {}",
                                                                      sheave_diameter_mm, pin_diameter_mm, friction));
  return (sheave_diameter_mm - lost_mm) / (sheave_diameter_mm + lost_mm);
}

double raising_pull_share(int falls, int lead_sheaves, double sheave_efficiency) {
  KW_CHECK(falls >= 1 && lead_sheaves >= 0 && sheave_efficiency > 0, "falls, sheaves and efficiency are positive");
  double carried = 0;  // by the falls together, per pull on the drum
  double tension = std::pow(sheave_efficiency, lead_sheaves);
  for (int k = 0; k < falls; ++k) {
    carried += tension;
    tension *= sheave_efficiency;
  }
  return 1 / carried;
}

double holding_pull_share(int falls, int lead_sheaves, double sheave_efficiency) {
  return raising_pull_share(falls, lead_sheaves, 1 / sheave_efficiency);
}

int sheave_count(int falls, int lead_sheaves) {
  return lead_sheaves + falls - 1;
}

}  // namespace functions::hoist
