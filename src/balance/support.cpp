#include "balance/support.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "balance/unilateral.h"
#include "base/check.h"

namespace balance {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kInfinity = std::numeric_limits<double>::infinity();
// A point this near an edge (mm) counts as on it.
constexpr double kOnEdgeMm = 1e-9;

double turn_of(Point2 a, Point2 b, Point2 c) {
  return (b.x_mm - a.x_mm) * (c.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (c.x_mm - a.x_mm);
}

double distance(Point2 a, Point2 b) {
  return std::hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm);
}

double distance_to_segment(Point2 p, Point2 a, Point2 b) {
  const double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm, square = dx * dx + dy * dy;
  if (square == 0) return distance(p, a);
  const double along = std::clamp(((p.x_mm - a.x_mm) * dx + (p.y_mm - a.y_mm) * dy) / square, 0.0, 1.0);
  return distance(p, {a.x_mm + along * dx, a.y_mm + along * dy});
}

}  // namespace

std::vector<Point2> convex_hull(std::span<const Point2> contacts) {
  // Andrew's monotone chain.
  std::vector<Point2> points(contacts.begin(), contacts.end());
  std::sort(points.begin(), points.end(),
            [](Point2 a, Point2 b) { return a.x_mm < b.x_mm || (a.x_mm == b.x_mm && a.y_mm < b.y_mm); });
  points.erase(std::unique(points.begin(), points.end(),
                           [](Point2 a, Point2 b) { return a.x_mm == b.x_mm && a.y_mm == b.y_mm; }),
               points.end());
  if (points.size() < 3) return points;
  std::vector<Point2> hull;
  const auto add = [&hull](Point2 p, std::size_t least) {
    while (hull.size() >= least && turn_of(hull[hull.size() - 2], hull.back(), p) <= 0) hull.pop_back();
    hull.push_back(p);
  };
  for (const Point2 p : points) add(p, 2);
  const std::size_t lower = hull.size() + 1;
  for (std::size_t i = points.size() - 1; i-- > 0;) add(points[i], lower);
  hull.pop_back();
  return hull;
}

double stability_margin_mm(std::span<const Point2> hull, Point2 p) {
  KW_CHECK(!hull.empty(), "no contacts");
  const std::size_t n = hull.size();
  double nearest = kInfinity;
  bool inside = n >= 3;
  for (std::size_t i = 0; i < n; ++i) {
    const Point2 a = hull[i], b = hull[(i + 1) % n];
    nearest = std::min(nearest, distance_to_segment(p, a, b));
    if (turn_of(a, b, p) < 0) inside = false;
  }
  return inside ? nearest : -nearest;
}

Point2 gravity_point(Vec3 centre, const Slope& slope) {
  const double shift = centre.z_mm * std::tan(slope.angle_rad);
  return {centre.x_mm + shift * std::cos(slope.downhill_rad), centre.y_mm + shift * std::sin(slope.downhill_rad)};
}

std::vector<EdgeMargin> edge_margins(std::span<const Point2> hull, Vec3 centre, const Slope& slope) {
  const std::size_t n = hull.size();
  KW_CHECK(n >= 3, "a support polygon has three corners");
  std::vector<EdgeMargin> out;
  for (std::size_t i = 0; i < n; ++i) {
    const Point2 a = hull[i], b = hull[(i + 1) % n];
    EdgeMargin edge;
    edge.edge = static_cast<int>(i);
    edge.distance_mm = turn_of(a, b, {centre.x_mm, centre.y_mm}) / distance(a, b);
    edge.outward_rad = std::atan2(a.x_mm - b.x_mm, b.y_mm - a.y_mm);
    const double across = slope.downhill_rad - edge.outward_rad;
    const double tilt = std::atan(std::tan(slope.angle_rad) * std::cos(across));
    edge.angle_rad = std::atan2(edge.distance_mm, centre.z_mm) - tilt;
    if (edge.angle_rad > 0) {
      // The centre turns on a circle about the edge, which itself leans by nu along its length.
      const double sin_nu = std::sin(slope.angle_rad) * std::sin(across);
      const double radius = std::hypot(edge.distance_mm, centre.z_mm);
      edge.energy_height_mm = radius * std::sqrt(1 - sin_nu * sin_nu) * (1 - std::cos(edge.angle_rad));
    }
    out.push_back(edge);
  }
  return out;
}

EdgeMargin least_margin(std::span<const Point2> hull, Vec3 centre, const Slope& slope) {
  const std::vector<EdgeMargin> all = edge_margins(hull, centre, slope);
  return *std::min_element(all.begin(), all.end(),
                           [](const EdgeMargin& a, const EdgeMargin& b) { return a.angle_rad < b.angle_rad; });
}

double tipping_slope_rad(std::span<const Point2> hull, Vec3 centre, double downhill_rad) {
  const std::size_t n = hull.size();
  KW_CHECK(n >= 3, "a support polygon has three corners");
  const double ux = std::cos(downhill_rad), uy = std::sin(downhill_rad);
  double reach = kInfinity;
  for (std::size_t i = 0; i < n; ++i) {
    const Point2 a = hull[i], b = hull[(i + 1) % n];
    const double left = turn_of(a, b, {centre.x_mm, centre.y_mm});  // edge length x distance to the edge
    if (left < 0) return 0;
    const double approach = ux * (b.y_mm - a.y_mm) - uy * (b.x_mm - a.x_mm);
    if (approach > 0) reach = std::min(reach, left / approach);
  }
  return centre.z_mm > 0 ? std::atan(reach / centre.z_mm) : kPi / 2;
}

std::vector<double> tipping_slopes_rad(std::span<const Point2> hull, Vec3 centre, int directions) {
  KW_CHECK(directions >= 1, "at least one direction");
  std::vector<double> out;
  for (int k = 0; k < directions; ++k) out.push_back(tipping_slope_rad(hull, centre, 2 * kPi * k / directions));
  return out;
}

SupportLoads support_loads(std::span<const Point2> contacts, double weight_n, Vec3 centre, const Slope& slope) {
  KW_CHECK(!contacts.empty() && weight_n >= 0, "loads need contacts and a weight");
  SupportLoads out;
  out.load_n.assign(contacts.size(), 0);
  const Point2 p = gravity_point(centre, slope);
  if (stability_margin_mm(convex_hull(contacts), p) < -kOnEdgeMm) return out;
  out.stands = true;
  out.load_n = share_between_springs(contacts, p, weight_n * std::cos(slope.angle_rad));
  return out;
}

}  // namespace balance
