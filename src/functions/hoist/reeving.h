// Rope on a drum and over sheaves: layers, capacity, pull on the drum.
//
// Tackle: with n falls, sheave efficiency e and i lead sheaves the pull on the drum while raising a weight W is
//   S = W (1 - e) / (e^i (1 - e^n))          (e = 1: W/n)
// because the tensions of the falls are S e^i, S e^(i+1), ... and carry W together. DIN 15020-1, efficiency of rope
// drives (from memory). Sheave on a pin: e = (R - mu r)/(R + mu r), Beer & Johnston, Statics, friction circle.
// Drum: layers lie square on each other (rise d per layer), so layer k has rope-centre diameter D + (2k - 1) d. Rope
// that nests between the turns below rises only 0.87 d: the figures err on the side of more torque. mm, N.
#pragma once

#include "stock/part.h"

namespace functions::hoist {

/// Flange left above the outermost layer, in rope diameters (common practice, no source): less and the rope climbs off.
inline constexpr double kFlangeRopes = 1.5;

struct Winding {
  int turns_per_layer = 0;
  int layers = 0;                ///< used by the length asked for
  int most_layers = 0;           ///< the flange allows
  double capacity_mm = 0;        ///< rope the drum takes
  double first_diameter_mm = 0;  ///< rope centre, first layer
  double outer_diameter_mm = 0;  ///< rope centre, outermost used layer
  [[nodiscard]] bool fits() const { return layers >= 1 && layers <= most_layers; }
};

/// Rope-centre diameter of layer k >= 1.
[[nodiscard]] double layer_diameter_mm(const stock::Drum& drum, double rope_mm, int layer);
/// How `length_mm` of rope lies on the drum, tidily wound. No turn fits: layers = 0.
[[nodiscard]] Winding wind(const stock::Drum& drum, double rope_mm, double length_mm);

/// One sheave turning on its pin, 0 < e <= 1. KW_CHECK: the pin's friction does not stop it.
[[nodiscard]] double sheave_efficiency(double sheave_diameter_mm, double pin_diameter_mm, double friction);
/// Pull on the drum over weight while raising.
[[nodiscard]] double raising_pull_share(int falls, int lead_sheaves, double sheave_efficiency);
/// Pull on the drum over weight of a load that sinks: friction helps, the same formula with 1/e.
[[nodiscard]] double holding_pull_share(int falls, int lead_sheaves, double sheave_efficiency);

/// Sheaves in all: lead sheaves and one between each two falls.
[[nodiscard]] int sheave_count(int falls, int lead_sheaves);

}  // namespace functions::hoist
