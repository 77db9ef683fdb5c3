#include "functions/luff/travel.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace functions::luff {

Geometry geometry_of(const linkage::ActuatorTriangle& triangle, const std::vector<double>& angle_rad) {
  Geometry g;
  const std::size_t n = angle_rad.size();
  g.least_lever_mm = std::numeric_limits<double>::infinity();
  const double ax = triangle.base_mount.x_mm - triangle.pivot.x_mm, az = triangle.base_mount.z_mm - triangle.pivot.z_mm;
  const double bx = triangle.rod_mount.x_mm - triangle.pivot.x_mm, bz = triangle.rod_mount.z_mm - triangle.pivot.z_mm;
  for (std::size_t i = 0; i < n; ++i) {
    const linkage::TrianglePose pose = linkage::pose(triangle, angle_rad[i]);
    const double c = std::cos(angle_rad[i]), s = std::sin(angle_rad[i]);
    const double rx = bx * c - bz * s, rz = bx * s + bz * c;
    const double turning = ((rx - ax) * rx + (rz - az) * rz) / (pose.length_mm * pose.length_mm);
    g.length_mm.push_back(pose.length_mm);
    g.lever_mm.push_back(std::fabs(pose.lever_mm));
    g.eyes.push_back(std::fabs(turning) + std::fabs(1 - turning));
    if (g.lever_mm.back() < g.least_lever_mm) {
      g.least_lever_mm = g.lever_mm.back();
      g.least_lever_at = i;
    }
  }
  g.lengthens_to_raise = g.length_mm.back() > g.length_mm.front();
  g.stroke_mm = std::fabs(g.length_mm.back() - g.length_mm.front());
  // Exact rod travel of the half steps on either side: the length is known, so the shares sum to the stroke.
  for (std::size_t i = 0; i < n; ++i) {
    const double before = i > 0 ? std::fabs(g.length_mm[i] - g.length_mm[i - 1]) : 0;
    const double after = i + 1 < n ? std::fabs(g.length_mm[i + 1] - g.length_mm[i]) : 0;
    g.share_mm.push_back((before + after) / 2);
  }
  return g;
}

Friction friction_of(const linkage::Screw& screw, double pin_friction, double pin_radius_mm) {
  return {pin_friction, pin_radius_mm, linkage::raise_torque_nmm(screw, 1), linkage::lower_torque_nmm(screw, 1)};
}

RodForce rod_force(double against_nmm, double lever_mm, double eyes, double weight_n, const Friction& f) {
  const double circle_mm = f.pin * f.pin_radius_mm;
  const double pins_nmm = circle_mm * weight_n;
  const double lost_mm = circle_mm * (eyes + 1);
  if (against_nmm + pins_nmm >= 0) {
    const double left_mm = lever_mm - lost_mm;
    const double needed_nmm = against_nmm + pins_nmm;
    if (needed_nmm == 0) return {0, 0};
    return {left_mm > 0 ? needed_nmm / left_mm : std::numeric_limits<double>::infinity(), 0};
  }
  return {0, (-against_nmm - pins_nmm) / (lever_mm + lost_mm)};
}

Cycle cycle_of(const Geometry& geometry, const MomentTable& moments, double mass_factor, const Friction& friction) {
  Cycle c;
  const std::size_t n = geometry.lever_mm.size();
  const double weight_n = moments.weight_n(mass_factor);
  c.raise_nmm.reserve(n);
  c.lower_nmm.reserve(n);
  c.force_n.reserve(n);
  const auto torque = [&](const RodForce& f) {
    return f.opposing_n > 0 ? f.opposing_n * friction.raise_nmm_per_n
                            : std::max(0.0, f.helping_n * friction.lower_nmm_per_n);
  };
  for (std::size_t i = 0; i < n; ++i) {
    const MomentTable::Row row = moments.row(i, mass_factor);
    const double h = geometry.lever_mm[i], u = geometry.eyes[i];
    // The torque is a V over the moment, so the two extremes of the load bound it.
    const RodForce up_most = rod_force(row.most_nmm, h, u, weight_n, friction);
    const RodForce up_least = rod_force(row.least_nmm, h, u, weight_n, friction);
    const RodForce down_most = rod_force(-row.most_nmm, h, u, weight_n, friction);
    const RodForce down_least = rod_force(-row.least_nmm, h, u, weight_n, friction);
    const double raise = std::max(torque(up_most), torque(up_least));
    const double lower = std::max(torque(down_most), torque(down_least));
    c.raise_nmm.push_back(raise);
    c.lower_nmm.push_back(lower);
    c.mean_raise_nmm += raise * geometry.share_mm[i];
    c.mean_lower_nmm += lower * geometry.share_mm[i];
    if (std::max(raise, lower) > c.peak_torque_nmm) {
      c.peak_torque_nmm = std::max(raise, lower);
      c.peak_torque_at = i;
    }
    // Opposing the raising motion = the rod works in the raising sense; it pushes when lengthening raises.
    const double raising_n =
        std::max({up_most.opposing_n, up_least.opposing_n, down_most.helping_n, down_least.helping_n});
    const double lowering_n =
        std::max({down_most.opposing_n, down_least.opposing_n, up_most.helping_n, up_least.helping_n});
    c.force_n.push_back(std::max(raising_n, lowering_n));
    if (c.force_n.back() > c.peak_force_n) {
      c.peak_force_n = c.force_n.back();
      c.peak_force_at = i;
      c.peak_pushes = (raising_n >= lowering_n) == geometry.lengthens_to_raise;
    }
  }
  if (geometry.stroke_mm > 0) {
    c.mean_raise_nmm /= geometry.stroke_mm;
    c.mean_lower_nmm /= geometry.stroke_mm;
  }
  return c;
}

}  // namespace functions::luff
