#include "balance/mass.h"

#include <cmath>

#include "base/check.h"

namespace balance {
namespace {

/// Rodrigues: turn by `angle` about the unit vector `a`.
void turn(double* r, Vec3 a, double angle) {
  const double c = std::cos(angle), s = std::sin(angle), v = 1 - c;
  const double m[9] = {
      c + a.x_mm * a.x_mm * v,          a.x_mm * a.y_mm * v - a.z_mm * s, a.x_mm * a.z_mm * v + a.y_mm * s,
      a.y_mm * a.x_mm * v + a.z_mm * s, c + a.y_mm * a.y_mm * v,          a.y_mm * a.z_mm * v - a.x_mm * s,
      a.z_mm * a.x_mm * v - a.y_mm * s, a.z_mm * a.y_mm * v + a.x_mm * s, c + a.z_mm * a.z_mm * v};
  double out[9];
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) {
      out[3 * i + j] = r[3 * i] * m[j] + r[3 * i + 1] * m[3 + j] + r[3 * i + 2] * m[6 + j];
    }
  }
  for (int i = 0; i < 9; ++i) r[i] = out[i];
}

}  // namespace

Vec3 Pose::apply(Vec3 p) const {
  return {r[0] * p.x_mm + r[1] * p.y_mm + r[2] * p.z_mm + t.x_mm,
          r[3] * p.x_mm + r[4] * p.y_mm + r[5] * p.z_mm + t.y_mm,
          r[6] * p.x_mm + r[7] * p.y_mm + r[8] * p.z_mm + t.z_mm};
}

std::vector<Pose> poses(std::span<const Body> bodies) {
  std::vector<Pose> out;
  poses(bodies, out);
  return out;
}

void poses(std::span<const Body> bodies, std::vector<Pose>& out) {
  constexpr double kUnitSlack = 1e-9;
  out.clear();
  for (std::size_t i = 0; i < bodies.size(); ++i) {
    const Body& body = bodies[i];
    KW_CHECK(body.parent < static_cast<int>(i), "a body hangs on an earlier one");
    Pose pose = body.parent < 0 ? Pose{} : out[static_cast<std::size_t>(body.parent)];
    if (body.joint != Joint::fixed) {
      const double length = std::hypot(body.axis.x_mm, body.axis.y_mm, body.axis.z_mm);
      KW_CHECK(std::fabs(length - 1) < kUnitSlack, "a joint's axis has length 1");
    }
    const Vec3 shift = body.joint == Joint::slides ? body.travel_mm * body.axis : Vec3{};
    pose.t = pose.apply(body.origin + shift);
    if (body.joint == Joint::turns) turn(pose.r, body.axis, body.angle_rad);
    out.push_back(pose);
  }
}

MassPoint combined(std::span<const MassPoint> points) {
  MassPoint out;
  Vec3 moment;
  for (const MassPoint& p : points) {
    out.mass_g += p.mass_g;
    moment = moment + p.mass_g * p.at;
  }
  if (out.mass_g > 0) out.at = (1 / out.mass_g) * moment;
  return out;
}

MassPoint total_mass(std::span<const Body> bodies) {
  const std::vector<Pose> at = poses(bodies);
  std::vector<MassPoint> points;
  for (std::size_t i = 0; i < bodies.size(); ++i) points.push_back({bodies[i].mass_g, at[i].apply(bodies[i].centre)});
  return combined(points);
}

}  // namespace balance
