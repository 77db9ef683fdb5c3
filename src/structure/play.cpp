#include "structure/play.h"

#include <cmath>

#include "base/check.h"

namespace structure {
namespace {

/// Influence on the shift of the pin's two ends, across the axis: with ends p, q at +-L/2 along x,
/// shift = (p + q)/2, turn_z = (p_y - q_y)/L, turn_y = -(p_z - q_z)/L.
struct Ends {
  double p_y = 0, p_z = 0, q_y = 0, q_z = 0;
};
Ends ends_of(const Clearance& c, const Six& f) {
  KW_CHECK(c.diametral_mm >= 0 && c.axial_mm >= 0 && c.turn_rad >= 0 && c.tilt_rad >= 0, "a clearance is not negative");
  if (c.diametral_mm == 0) return {};
  KW_CHECK(c.engaged_mm > 0, "a pin with clearance needs the length it is engaged over");
  const double l = c.engaged_mm;
  return {f[1] / 2 + f[5] / l, f[2] / 2 - f[4] / l, f[1] / 2 - f[5] / l, f[2] / 2 + f[4] / l};
}

double sign_of(double x) {
  return x > 0 ? 1 : x < 0 ? -1 : 0;
}

}  // namespace

double greatest_motion(const Clearance& c, const Six& f) {
  const Ends e = ends_of(c, f);
  return c.diametral_mm / 2 * (std::hypot(e.p_y, e.p_z) + std::hypot(e.q_y, e.q_z)) + c.axial_mm * std::fabs(f[0]) +
         c.turn_rad * std::fabs(f[3]) + c.tilt_rad * std::hypot(f[4], f[5]);
}

Six worst_dislocation(const Clearance& c, const Six& f) {
  Six out{};
  const Ends e = ends_of(c, f);
  const double r = c.diametral_mm / 2, p = std::hypot(e.p_y, e.p_z), q = std::hypot(e.q_y, e.q_z);
  const double p_y = p > 0 ? r * e.p_y / p : 0, p_z = p > 0 ? r * e.p_z / p : 0;
  const double q_y = q > 0 ? r * e.q_y / q : 0, q_z = q > 0 ? r * e.q_z / q : 0;
  out[0] = c.axial_mm * sign_of(f[0]);
  out[1] = (p_y + q_y) / 2;
  out[2] = (p_z + q_z) / 2;
  out[3] = c.turn_rad * sign_of(f[3]);
  if (c.diametral_mm > 0) {
    out[4] = -(p_z - q_z) / c.engaged_mm;
    out[5] = (p_y - q_y) / c.engaged_mm;
  }
  if (const double tilt = std::hypot(f[4], f[5]); tilt > 0) {
    out[4] += c.tilt_rad * f[4] / tilt;
    out[5] += c.tilt_rad * f[5] / tilt;
  }
  return out;
}

double backlash_turn_rad(double backlash_mm, double pitch_radius_mm) {
  KW_CHECK(backlash_mm >= 0 && pitch_radius_mm > 0, "backlash lies along a pitch circle");
  return backlash_mm / (2 * pitch_radius_mm);
}

double train_play_rad(const std::vector<MeshPlay>& meshes) {
  double sum = 0;
  for (const MeshPlay& m : meshes) {
    KW_CHECK(m.turn_rad >= 0, "a play is not negative");
    sum += m.turn_rad * std::fabs(m.ratio);
  }
  return sum;
}

}  // namespace structure
