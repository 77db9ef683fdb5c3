#include "balance/lifting.h"

#include <cmath>
#include <limits>

#include "base/check.h"

namespace balance {

TippingLoad tipping_load(std::span<const Point2> hull, double machine_weight_n, Vec3 machine_centre, Vec3 hook,
                         const Slope& slope) {
  const std::size_t n = hull.size();
  KW_CHECK(n >= 3, "a support polygon has three corners");
  const Point2 machine = gravity_point(machine_centre, slope), load = gravity_point(hook, slope);
  TippingLoad out{std::numeric_limits<double>::infinity(), -1};
  for (std::size_t i = 0; i < n; ++i) {
    const Point2 a = hull[i], b = hull[(i + 1) % n];
    const double length = std::hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    const auto inside = [&](Point2 p) {
      return ((b.x_mm - a.x_mm) * (p.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (p.x_mm - a.x_mm)) / length;
    };
    const double resisting = inside(machine), overturning = -inside(load);
    if (resisting < 0) return {0, static_cast<int>(i)};
    if (overturning <= 0) continue;
    const double load_n = machine_weight_n * resisting / overturning;
    if (load_n < out.load_n) out = {load_n, static_cast<int>(i)};
  }
  return out;
}

Vec3 hook_at(Point2 slew_axis, double radius_mm, double slew_rad, double height_mm) {
  return {slew_axis.x_mm + radius_mm * std::cos(slew_rad), slew_axis.y_mm + radius_mm * std::sin(slew_rad), height_mm};
}

RatedLoad rated_load(double tipping_n, double drive_n, double tipping_share, double drive_share) {
  const double by_tipping = tipping_share * tipping_n, by_drive = drive_share * drive_n;
  return by_tipping <= by_drive ? RatedLoad{by_tipping, Governs::tipping} : RatedLoad{by_drive, Governs::drive};
}

}  // namespace balance
