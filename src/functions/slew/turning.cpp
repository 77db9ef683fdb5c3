#include "functions/slew/turning.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "balance/mass.h"
#include "base/check.h"

namespace functions::slew {

double bearing_friction_nmm(double axial_n, double overturning_nmm, double radial_n, double friction,
                            double radius_mm) {
  if (radius_mm <= 0) return 0;
  constexpr double kPi = std::numbers::pi;
  const double a = std::fabs(axial_n) / (2 * kPi);
  const double b = std::fabs(overturning_nmm) / (kPi * radius_mm);
  double pressing_n = std::fabs(axial_n);
  if (b > a) {
    const double f0 = std::acos(-a / b);
    pressing_n = 4 * (a * (f0 - kPi / 2) + b * std::sin(f0));
  }
  return friction * radius_mm * (pressing_n + std::fabs(radial_n));
}

double stop_swing_mm(double speed_mm_s, double rope_mm, double stop_s) {
  KW_CHECK(stop_s > 0, "a stop takes time");
  constexpr double kGravityMm = balance::kGravity * 1000;  // mm/s^2
  return std::min(speed_mm_s * std::sqrt(rope_mm / kGravityMm), 2 * speed_mm_s * rope_mm / (kGravityMm * stop_s));
}

Need torque_needed(const Slewed& s, double slope_rad, double speed_rad_s, double start_s, double friction,
                   double bearing_radius_mm) {
  const double sine = std::sin(slope_rad), cosine = std::cos(slope_rad);
  Need need;
  need.overturning_nmm = s.moment_nmm * cosine + s.height_moment_nmm * sine;
  need.friction_nmm =
      bearing_friction_nmm(s.weight_n * cosine, need.overturning_nmm, s.weight_n * sine, friction, bearing_radius_mm);
  need.slope_nmm = s.moment_nmm * sine;
  // 1 g mm^2/s^2 = 1e-9 N m = 1e-6 N mm
  need.start_nmm = s.inertia_g_mm2 * 1e-6 * speed_rad_s / start_s;
  return need;
}

}  // namespace functions::slew
