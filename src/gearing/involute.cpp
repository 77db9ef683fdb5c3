#include "gearing/involute.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"

namespace gearing {
namespace {

constexpr double kPi = std::numbers::pi;

double half_chord(double tip_radius_mm, double base_radius_mm) {
  const double square = tip_radius_mm * tip_radius_mm - base_radius_mm * base_radius_mm;
  return square > 0 ? std::sqrt(square) : 0;
}

/// Radii that fix a contact; tooth numbers may be fractional (equivalent gears).
struct Radii {
  double tip1_mm, base1_mm, tip2_mm, base2_mm;
};

double base_pitch_mm(const ToothSystem& s) {
  return kPi * s.module_mm * std::cos(s.pressure_angle_rad);
}

void finish(Contact& c, double usable_path_mm, const ToothSystem& s) {
  if (c.path_mm <= 0) {
    c.path_mm = 0;
    return;
  }
  c.arc_mm = c.path_mm / std::cos(c.working_angle_rad);
  c.contact_ratio = c.path_mm / base_pitch_mm(s);
  c.usable_contact_ratio = std::max(0.0, usable_path_mm) / base_pitch_mm(s);
}

/// External pair: path = s1 + s2 - A with s = sqrt(r_a^2 - r_b^2) and A = a sin(alpha_w), the distance between the
/// interference points; no part of it may lie outside A.
Contact external_contact(const Radii& r, double distance_mm, const ToothSystem& s) {
  Contact c;
  const double cosine = (r.base1_mm + r.base2_mm) / distance_mm;
  if (cosine > 1) return c;
  c.working_angle_rad = std::acos(cosine);
  const double line_mm = distance_mm * std::sin(c.working_angle_rad);
  const double s1_mm = half_chord(r.tip1_mm, r.base1_mm);
  const double s2_mm = half_chord(r.tip2_mm, r.base2_mm);
  c.path_mm = s1_mm + s2_mm - line_mm;
  // A hair: rounding must not flag a pair whose tip runs exactly through the point.
  c.cut_by_interference = std::max(s1_mm, s2_mm) > line_mm * (1 + 1e-12);
  finish(c, std::min(s1_mm, line_mm) + std::min(s2_mm, line_mm) - line_mm, s);
  return c;
}

double external_tip_mm(double teeth, const ToothSystem& s) {
  return s.module_mm * (teeth / 2 + s.addendum);
}

double base_radius_mm(double teeth, const ToothSystem& s) {
  return s.module_mm * teeth / 2 * std::cos(s.pressure_angle_rad);
}

Contact external_of_teeth(double teeth1, double teeth2, double distance_mm, const ToothSystem& s) {
  return external_contact(
      {external_tip_mm(teeth1, s), base_radius_mm(teeth1, s), external_tip_mm(teeth2, s), base_radius_mm(teeth2, s)},
      distance_mm, s);
}

/// Internal pair: measured from the pinion's interference point, contact runs from s2 - A to s1.
Contact internal_contact(int pinion, int ring, double distance_mm, const ToothSystem& s) {
  Contact c;
  const double base1_mm = base_radius_mm(pinion, s);
  const double base2_mm = base_radius_mm(ring, s);
  const double cosine = (base2_mm - base1_mm) / distance_mm;
  if (cosine > 1 || cosine <= 0) return c;
  c.working_angle_rad = std::acos(cosine);
  const double line_mm = distance_mm * std::sin(c.working_angle_rad);
  const double ring_tip_mm = s.module_mm * (ring / 2.0 - s.addendum);
  const double s1_mm = half_chord(external_tip_mm(pinion, s), base1_mm);
  const double s2_mm = half_chord(ring_tip_mm, base2_mm);
  c.path_mm = s1_mm - s2_mm + line_mm;
  c.cut_by_interference = ring_tip_mm < base2_mm || s2_mm < line_mm * (1 - 1e-12);
  finish(c, s1_mm - std::max(0.0, s2_mm - line_mm), s);
  return c;
}

}  // namespace

ToothSystem tooth_system(const stock::KitSystem& system) {
  return {system.module_mm, system.pressure_angle_deg * kPi / 180, system.addendum, system.dedendum};
}

ToothSystem iso53_profile_a(double module_mm) {
  return {module_mm, 20 * kPi / 180, 1.0, 1.25};
}

RackProportions rack_proportions(const ToothSystem& s) {
  RackProportions p;
  p.addendum_mm = s.addendum * s.module_mm;
  p.dedendum_mm = s.dedendum * s.module_mm;
  p.depth_mm = p.addendum_mm + p.dedendum_mm;
  p.clearance_mm = p.dedendum_mm - p.addendum_mm;
  p.fillet_mm = 0.38 * s.module_mm;  // ISO 53:1998, profile A (from memory)
  return p;
}

GearDiameters external_diameters(int teeth, const ToothSystem& s, double shift) {
  GearDiameters d;
  d.pitch_mm = s.module_mm * teeth;
  d.tip_mm = d.pitch_mm + 2 * s.module_mm * (s.addendum + shift);
  d.root_mm = d.pitch_mm - 2 * s.module_mm * (s.dedendum - shift);
  d.base_mm = d.pitch_mm * std::cos(s.pressure_angle_rad);
  return d;
}

GearDiameters internal_diameters(int teeth, const ToothSystem& s) {
  GearDiameters d;
  d.pitch_mm = s.module_mm * teeth;
  d.tip_mm = d.pitch_mm - 2 * s.module_mm * s.addendum;
  d.root_mm = d.pitch_mm + 2 * s.module_mm * s.dedendum;
  d.base_mm = d.pitch_mm * std::cos(s.pressure_angle_rad);
  return d;
}

double involute(double angle_rad) {
  return std::tan(angle_rad) - angle_rad;
}

double inverse_involute(double value) {
  KW_CHECK(value >= 0, "involute of a pressure angle is not negative");
  if (value == 0) return 0;
  // inv is convex with derivative tan^2; from a start right of the root Newton's steps come down monotonically.
  // inv(a) > a^3 / 3, so cbrt(3 v) lies right of it; atan(v + pi/2) does too (tan a = v + a < v + pi/2).
  double a = std::min(std::cbrt(3 * value), std::atan(value + kPi / 2));
  for (int i = 0; i < 60; ++i) {
    const double t = std::tan(a);
    const double next = a - (t - a - value) / (t * t);
    if (!(std::fabs(next - a) > 1e-16 * a)) return next;
    a = next;
  }
  return a;
}

double standard_distance_mm(int pinion_teeth, int gear_teeth, double module_mm, Pairing pairing) {
  return module_mm * (pairing == Pairing::internal ? gear_teeth - pinion_teeth : pinion_teeth + gear_teeth) / 2.0;
}

Contact contact_at(int pinion_teeth, int gear_teeth, double distance_mm, const ToothSystem& s, Pairing pairing) {
  KW_CHECK(pinion_teeth > 0 && gear_teeth > 0 && distance_mm > 0 && s.module_mm > 0, "gear pair");
  return pairing == Pairing::internal ? internal_contact(pinion_teeth, gear_teeth, distance_mm, s)
                                      : external_of_teeth(pinion_teeth, gear_teeth, distance_mm, s);
}

Contact rack_contact(int pinion_teeth, const ToothSystem& s, double spread_mm) {
  Contact c;
  c.working_angle_rad = s.pressure_angle_rad;
  const double sine = std::sin(s.pressure_angle_rad);
  const double to_point_mm = s.module_mm * pinion_teeth / 2 * sine;
  const double recess_mm = half_chord(external_tip_mm(pinion_teeth, s), base_radius_mm(pinion_teeth, s)) - to_point_mm;
  const double approach_mm = (s.addendum * s.module_mm - spread_mm) / sine;
  c.path_mm = recess_mm + approach_mm;
  c.cut_by_interference = approach_mm > to_point_mm * (1 + 1e-12);
  finish(c, recess_mm + std::min(approach_mm, to_point_mm), s);
  return c;
}

Contact bevel_contact(int teeth1, int teeth2, const ToothSystem& s) {
  // z / cos(delta), tan(delta1) = z1 / z2: with h = hypot(z1, z2) the equivalents are z1 h / z2 and z2 h / z1.
  const double h = std::hypot(teeth1, teeth2);
  const double v1 = teeth1 * h / teeth2;
  const double v2 = teeth2 * h / teeth1;
  return external_of_teeth(v1, v2, s.module_mm * (v1 + v2) / 2, s);
}

bool internal_tips_foul(int pinion_teeth, int ring_teeth, double distance_mm, const ToothSystem& s) {
  // theta1 z1/z2 + inv(alpha_w) - inv(alpha_a2) >= theta2 keeps the tips apart; theta1, theta2 are the turns of pinion
  // and ring from the pitch point to where the tip circles cross.
  const double base1_mm = base_radius_mm(pinion_teeth, s);
  const double base2_mm = base_radius_mm(ring_teeth, s);
  const double tip1_mm = external_tip_mm(pinion_teeth, s);
  const double tip2_mm = s.module_mm * (ring_teeth / 2.0 - s.addendum);
  const double cosine = (base2_mm - base1_mm) / distance_mm;
  if (ring_teeth <= pinion_teeth || cosine > 1 || tip2_mm <= 0) return true;
  const double a = distance_mm;
  const double at_pinion = (tip2_mm * tip2_mm - tip1_mm * tip1_mm - a * a) / (2 * a * tip1_mm);
  const double at_ring = (a * a + tip2_mm * tip2_mm - tip1_mm * tip1_mm) / (2 * a * tip2_mm);
  if (tip1_mm + a <= tip2_mm) return false;  // not even in mesh
  if (at_pinion < -1 || at_pinion > 1 || at_ring < -1 || at_ring > 1) return true;
  const double inv_w = involute(std::acos(cosine));
  const double inv_a1 = involute(std::acos(base1_mm / tip1_mm));
  const double inv_a2 = tip2_mm > base2_mm ? involute(std::acos(base2_mm / tip2_mm)) : 0;
  const double theta1 = std::acos(at_pinion) + inv_a1 - inv_w;
  const double theta2 = std::acos(at_ring);
  return theta1 * pinion_teeth / ring_teeth + inv_w - inv_a2 < theta2;
}

double spread_at_contact_ratio(int pinion_teeth, int gear_teeth, const ToothSystem& s, double ratio) {
  const double standard_mm = standard_distance_mm(pinion_teeth, gear_teeth, s.module_mm);
  const auto falls_short = [&](double spread_mm) {
    return contact_at(pinion_teeth, gear_teeth, standard_mm + spread_mm, s).contact_ratio < ratio;
  };
  if (falls_short(0)) return 0;
  double low_mm = 0;
  double high_mm = 2 * s.addendum * s.module_mm;  // tips clear of each other
  for (int i = 0; i < 100; ++i) {
    const double mid_mm = (low_mm + high_mm) / 2;
    (falls_short(mid_mm) ? high_mm : low_mm) = mid_mm;
  }
  return low_mm;
}

double fewest_teeth_with_rack(const ToothSystem& s) {
  const double sine = std::sin(s.pressure_angle_rad);
  return 2 * s.addendum / (sine * sine);
}

double fewest_teeth_with_gear(const ToothSystem& s, double gear_ratio) {
  KW_CHECK(gear_ratio >= 1, "gear ratio of an interference limit");
  const double sine = std::sin(s.pressure_angle_rad);
  const double q = (1 + 2 * gear_ratio) * sine * sine;
  return 2 * s.addendum / q * (gear_ratio + std::sqrt(gear_ratio * gear_ratio + q));
}

std::optional<double> most_gear_teeth(const ToothSystem& s, int pinion_teeth) {
  const double sine2 = std::pow(std::sin(s.pressure_angle_rad), 2);
  const double z = pinion_teeth;
  const double below = 4 * s.addendum - 2 * z * sine2;
  if (below <= 0) return std::nullopt;
  return std::max(0.0, (z * z * sine2 - 4 * s.addendum * s.addendum) / below);
}

ShiftedPair shifted_pair(int z1, int z2, double distance_mm, double pinion_shift, const ToothSystem& s) {
  const double m = s.module_mm;
  const double standard_mm = standard_distance_mm(z1, z2, m);
  const double cosine = standard_mm * std::cos(s.pressure_angle_rad) / distance_mm;
  KW_CHECK(cosine > 0 && cosine <= 1, "centre distance below the sum of base radii");
  ShiftedPair p;
  p.working_angle_rad = std::acos(cosine);
  p.shift_sum = (z1 + z2) * (involute(p.working_angle_rad) - involute(s.pressure_angle_rad)) /
                (2 * std::tan(s.pressure_angle_rad));
  const double x1 = pinion_shift;
  const double x2 = p.shift_sum - x1;
  const double spread = (distance_mm - standard_mm) / m;
  p.pinion_working_mm = 2 * distance_mm * z1 / (z1 + z2);
  p.gear_working_mm = 2 * distance_mm * z2 / (z1 + z2);
  p.pinion = external_diameters(z1, s, x1);
  p.gear = external_diameters(z2, s, x2);
  // Tip heights h_a + y - x_other keep the bottom clearance of the basic rack (y = spread in modules).
  p.pinion.tip_mm = p.pinion.pitch_mm + 2 * m * (s.addendum + spread - x2);
  p.gear.tip_mm = p.gear.pitch_mm + 2 * m * (s.addendum + spread - x1);
  p.contact_ratio = external_contact({p.pinion.tip_mm / 2, p.pinion.base_mm / 2, p.gear.tip_mm / 2, p.gear.base_mm / 2},
                                     distance_mm, s)
                        .contact_ratio;
  return p;
}

double rack_travel_mm(int pinion_teeth, double module_mm) {
  return kPi * module_mm * pinion_teeth;
}

}  // namespace gearing
