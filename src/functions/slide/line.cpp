#include "functions/slide/line.h"

#include <algorithm>
#include <cmath>

namespace functions::slide {
namespace {

/// What is left of a force in a sleeve that jams: beyond every drive, and still a number.
constexpr double kLeastKept = 1e-6;

template <class Torque>
Torques over_travel(const Stage& stage, double travel_mm, const Torque& torque) {
  Torques t;
  double out = 0, in = 0;
  for (int i = 0; i < kSteps; ++i) {
    const Forces f = forces_at(stage, travel_mm * i / (kSteps - 1));
    t.out_nmm.push_back(torque(f.out_n));
    t.in_nmm.push_back(torque(f.in_n));
    t.peak_nmm = std::max({t.peak_nmm, t.out_nmm.back(), t.in_nmm.back()});
    t.peak_n = std::max({t.peak_n, std::fabs(f.out_n), std::fabs(f.in_n)});
    t.rest_n = std::max(t.rest_n, f.rest_n);
    const double share = (i == 0 || i == kSteps - 1 ? 0.5 : 1.0) / (kSteps - 1);
    out += share * t.out_nmm.back();
    in += share * t.in_nmm.back();
  }
  t.mean_nmm = std::max(out, in);
  return t;
}

}  // namespace

double guide_load_n(const Stage& s, double extension_mm) {
  const double normal = s.weight_n * std::cos(s.lift_rad);
  const double e = (s.overhang_mm + extension_mm) / s.guide_mm;
  return std::fabs(normal) * (std::fabs(1 + e) + std::fabs(e));
}

double kept_beside(const Stage& s) {
  return 1 - 2 * s.friction * std::fabs(s.offset_mm) / s.guide_mm;
}

Forces forces_at(const Stage& s, double extension_mm) {
  const double along = s.weight_n * std::sin(s.lift_rad);
  const double friction = s.friction * guide_load_n(s, extension_mm);
  const double kept = kept_beside(s);
  // What runs by itself is braked with no help from the tilt.
  const auto moved = [&](double n) { return n <= 0 ? n : n / std::max(kept, kLeastKept); };
  return {moved(along + s.push_n + friction), moved(-along + friction),
          std::max(0.0, std::max(std::fabs(along + s.push_n), std::fabs(along)) - friction)};
}

Torques by_screw(const Stage& stage, double travel_mm, const linkage::Screw& screw) {
  const double raise = linkage::raise_torque_nmm(screw, 1), lower = linkage::lower_torque_nmm(screw, 1);
  return over_travel(stage, travel_mm, [&](double n) { return n >= 0 ? n * raise : std::max(0.0, -n * lower); });
}

Torques by_pinion(const Stage& stage, double travel_mm, double radius_mm, double efficiency) {
  return over_travel(stage, travel_mm, [&](double n) { return std::max(0.0, n) * radius_mm / efficiency; });
}

std::vector<double> pinned_reaches_mm(double travel_mm, double pitch_mm) {
  std::vector<double> out;
  const int steps = static_cast<int>(std::ceil(travel_mm / pitch_mm - 1e-9));
  for (int i = 0; i <= steps; ++i) out.push_back(i * pitch_mm);
  return out;
}

int bar_holes(double travel_mm, double guide_mm, double pitch_mm) {
  return static_cast<int>(std::ceil((travel_mm + guide_mm) / pitch_mm - 1e-9)) + 1;
}

double guided_travel_mm(int holes, double guide_mm, double pitch_mm) {
  return std::max(0.0, (holes - 1) * pitch_mm - guide_mm);
}

}  // namespace functions::slide
