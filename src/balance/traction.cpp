#include "balance/traction.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"

namespace balance {

double adhesion_slope_rad(const Stance& s, Driven driven, double friction, double rolling_resistance) {
  // Undriven wheels of load N_u pull back c N_u: the driven axle must give W sin a + c N_u within mu N_d.
  const double both = friction + rolling_resistance;
  double tangent = friction;
  if (driven == Driven::rear) {
    const double denominator = s.wheelbase_mm - both * s.height_mm;
    if (denominator <= 0) return std::numbers::pi / 2;
    tangent = (friction * s.wheelbase_mm - both * s.ahead_of_rear_mm) / denominator;
  } else if (driven == Driven::front) {
    tangent = (both * s.ahead_of_rear_mm - rolling_resistance * s.wheelbase_mm) / (s.wheelbase_mm + both * s.height_mm);
  }
  return std::atan(std::max(0.0, tangent));
}

double backward_tip_slope_rad(const Stance& stance) {
  return std::atan2(stance.ahead_of_rear_mm, stance.height_mm);
}

double tractive_effort_n(double weight_n, double slope_rad, double rolling_resistance) {
  return weight_n * (std::sin(slope_rad) + rolling_resistance * std::cos(slope_rad));
}

double effort_slope_rad(double force_n, double weight_n, double rolling_resistance) {
  KW_CHECK(weight_n > 0, "a vehicle has a weight");
  // sin a + c cos a = sqrt(1 + c^2) sin(a + atan c)
  const double share = force_n / (weight_n * std::hypot(1, rolling_resistance));
  if (share >= 1) return std::numbers::pi / 2;
  return std::max(0.0, std::asin(share) - std::atan(rolling_resistance));
}

double adhesion_limit_n(double weight_on_driven_n, double slope_rad, double friction) {
  return friction * weight_on_driven_n * std::cos(slope_rad);
}

SkidTurn skid_turn(const SkidSteer& v) {
  KW_CHECK(v.tread_mm > 0 && v.weight_n > 0, "skid steering needs a tread and a weight");
  SkidTurn out;
  out.resisting_moment_nmm = v.turn_friction * v.weight_n * v.contact_length_mm / 4;
  const double rolling_n = v.rolling_resistance * v.weight_n / 2;
  const double pair_n = out.resisting_moment_nmm / v.tread_mm;
  out.outer_force_n = rolling_n + pair_n;
  out.inner_force_n = rolling_n - pair_n;
  out.needed_friction = std::max(std::fabs(out.outer_force_n), std::fabs(out.inner_force_n)) / (v.weight_n / 2);
  return out;
}

double skid_contact_length_mm(int contacts_a_side, double span_mm) {
  KW_CHECK(contacts_a_side >= 1, "at least one contact a side");
  if (contacts_a_side == 1) return 0;
  double sum = 0;
  for (int i = 0; i < contacts_a_side; ++i) sum += std::fabs(i * span_mm / (contacts_a_side - 1) - span_mm / 2);
  return 4 * sum / contacts_a_side;
}

double ground_pressure_kpa(double weight_n, double track_width_mm, double contact_length_mm) {
  return weight_n / (2 * track_width_mm * contact_length_mm) * 1e3;  // N/mm^2 to kPa
}

double step_pull_n(double weight_n, double radius_mm, double step_mm) {
  if (step_mm <= 0) return 0;
  if (step_mm >= radius_mm) return std::numeric_limits<double>::infinity();
  return weight_n * std::sqrt(2 * radius_mm * step_mm - step_mm * step_mm) / (radius_mm - step_mm);
}

double friction_step_mm(double radius_mm, double friction) {
  return radius_mm * (1 - 1 / std::hypot(1, friction));
}

double ackermann_outer_rad(double inner_rad, double track_mm, double wheelbase_mm) {
  return std::atan2(1.0, 1 / std::tan(inner_rad) + track_mm / wheelbase_mm);
}

double turning_radius_mm(double inner_rad, double track_mm, double wheelbase_mm) {
  return wheelbase_mm / std::tan(inner_rad) + track_mm / 2;
}

double static_stability_factor(double track_mm, double height_mm) {
  return track_mm / (2 * height_mm);
}

int rollover_stars(double chance) {
  KW_CHECK(chance >= 0 && chance <= 1, "a chance is between 0 and 1");
  if (chance < 0.1) return 5;
  if (chance <= 0.2) return 4;
  if (chance <= 0.3) return 3;
  return chance <= 0.4 ? 2 : 1;
}

}  // namespace balance
