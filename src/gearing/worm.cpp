#include "gearing/worm.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"

namespace gearing {

double worm_lead_angle_rad(double lead_mm, double pitch_diameter_mm) {
  KW_CHECK(lead_mm > 0 && pitch_diameter_mm > 0, "worm");
  return std::atan(lead_mm / (std::numbers::pi * pitch_diameter_mm));
}

double worm_lead_angle_of_module_rad(int starts, double module_mm, double pitch_diameter_mm) {
  return worm_lead_angle_rad(starts * std::numbers::pi * module_mm, pitch_diameter_mm);
}

double worm_forward_efficiency(double lead_angle_rad, double normal_angle_rad, double friction) {
  const double t = std::tan(lead_angle_rad);
  const double c = std::cos(normal_angle_rad);
  return std::max(0.0, (c - friction * t) / (c + friction / t));
}

double worm_backward_efficiency(double lead_angle_rad, double normal_angle_rad, double friction) {
  const double t = std::tan(lead_angle_rad);
  const double c = std::cos(normal_angle_rad);
  return std::max(0.0, (c - friction / t) / (c + friction * t));
}

double worm_locking_friction(double lead_angle_rad, double normal_angle_rad) {
  return std::cos(normal_angle_rad) * std::tan(lead_angle_rad);
}

bool worm_locks(double lead_angle_rad, double normal_angle_rad, double friction) {
  return worm_backward_efficiency(lead_angle_rad, normal_angle_rad, friction) <= 0;
}

WormForces worm_forces(double worm_tangential, double lead_angle_rad, double normal_angle_rad, double friction) {
  const double sl = std::sin(lead_angle_rad);
  const double cl = std::cos(lead_angle_rad);
  const double cn = std::cos(normal_angle_rad);
  WormForces f;
  f.worm_tangential = worm_tangential;
  f.total = worm_tangential / (cn * sl + friction * cl);
  f.separating = f.total * std::sin(normal_angle_rad);
  f.worm_axial = f.total * (cn * cl - friction * sl);
  f.efficiency = worm_forward_efficiency(lead_angle_rad, normal_angle_rad, friction);
  return f;
}

double worm_sliding_speed(double worm_pitch_line_speed, double lead_angle_rad) {
  return worm_pitch_line_speed / std::cos(lead_angle_rad);
}

}  // namespace gearing
