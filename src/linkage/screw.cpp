#include "linkage/screw.h"

#include <cmath>
#include <numbers>

#include "base/check.h"

namespace linkage {
namespace {

constexpr double kPi = std::numbers::pi;

double friction_on_flank(const Screw& screw) {
  return screw.friction / std::cos(screw.half_thread_angle_rad);
}

void check(const Screw& screw) {
  KW_CHECK(screw.mean_diameter_mm > 0 && screw.lead_mm > 0 && screw.friction >= 0, "not a screw");
  KW_CHECK(kPi * screw.mean_diameter_mm > friction_on_flank(screw) * screw.lead_mm, "the screw jams when raising");
}

double collar_torque_nmm(const Screw& screw, double force_n) {
  return force_n * screw.collar_friction * screw.collar_diameter_mm / 2;
}

}  // namespace

Screw screw_of(const stock::Actuator& part, double thread_friction) {
  Screw screw;
  screw.mean_diameter_mm = part.thread_mean_diameter_mm;
  screw.lead_mm = part.lead_mm;
  screw.friction = thread_friction;
  return screw;
}

double raise_torque_nmm(const Screw& screw, double force_n) {
  check(screw);
  const double f = friction_on_flank(screw), d = screw.mean_diameter_mm, l = screw.lead_mm;
  return force_n * d / 2 * (l + kPi * f * d) / (kPi * d - f * l) + collar_torque_nmm(screw, force_n);
}

double lower_torque_nmm(const Screw& screw, double force_n) {
  check(screw);
  const double f = friction_on_flank(screw), d = screw.mean_diameter_mm, l = screw.lead_mm;
  return force_n * d / 2 * (kPi * f * d - l) / (kPi * d + f * l) + collar_torque_nmm(screw, force_n);
}

double efficiency(const Screw& screw) {
  return screw.lead_mm / (2 * kPi * raise_torque_nmm(screw, 1));
}

double backward_efficiency(const Screw& screw) {
  return -2 * kPi * lower_torque_nmm(screw, 1) / screw.lead_mm;
}

double lead_angle_rad(const Screw& screw) {
  return std::atan2(screw.lead_mm, kPi * screw.mean_diameter_mm);
}

bool thread_holds(const Screw& screw) {
  return kPi * friction_on_flank(screw) * screw.mean_diameter_mm >= screw.lead_mm;
}

bool holds(const Screw& screw) {
  return lower_torque_nmm(screw, 1) >= 0;
}

ScrewStress stresses(const Screw& screw, double pitch_mm, double force_n, double torque_nmm,
                     double first_thread_share) {
  const double root_mm = screw.mean_diameter_mm - pitch_mm / 2;
  KW_CHECK(pitch_mm > 0 && root_mm > 0, "the thread is deeper than the screw");
  ScrewStress out;
  out.body_shear_mpa = 16 * torque_nmm / (kPi * root_mm * root_mm * root_mm);
  out.body_axial_mpa = -4 * force_n / (kPi * root_mm * root_mm);
  out.thread_bearing_mpa = -2 * first_thread_share * force_n / (kPi * screw.mean_diameter_mm * pitch_mm);
  out.root_bending_mpa = 6 * first_thread_share * force_n / (kPi * root_mm * pitch_mm);
  return out;
}

}  // namespace linkage
