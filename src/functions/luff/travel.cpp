#include "functions/luff/travel.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace functions::luff {

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
