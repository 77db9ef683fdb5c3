// Standing or tipping: support polygon, margins in every direction, loads on the supports.
//
// Contacts lie in the plane z = 0 of the machine's frame; the centre of gravity is (x, y) at height h above it. A slope
// is the tilt of that plane, falling towards `downhill_rad` (angle from x towards y in the plane): the line of gravity
// through the centre then meets the plane at  p + h tan(slope) (cos, sin downhill).
// Sources: margin McGhee & Frank 1968; angle Papadopoulos & Rey, Vehicle System Dynamics 33(1), 2000, p. 29-48; energy
// Messuri & Klein 1985.
#pragma once

#include <span>
#include <vector>

#include "balance/mass.h"

namespace balance {

struct Point2 {
  double x_mm = 0, y_mm = 0;
};

struct Slope {
  double angle_rad = 0;  ///< 0 <= angle < pi/2
  double downhill_rad = 0;
};

/// Convex hull, counter-clockwise, no repeated or collinear points, starting at the least (x, y).
[[nodiscard]] std::vector<Point2> convex_hull(std::span<const Point2> contacts);

/// Shortest distance from p to the polygon's edges: positive inside, negative outside (then to the polygon itself).
/// Fewer than three corners: minus the distance to the point or segment.
[[nodiscard]] double stability_margin_mm(std::span<const Point2> hull, Point2 p);

/// Where the line of gravity meets the ground.
[[nodiscard]] Point2 gravity_point(Vec3 centre, const Slope& slope = {});

/// One edge of the hull as a tipping line, from corner `edge` to the next.
struct EdgeMargin {
  int edge = 0;
  double distance_mm = 0;       ///< from the centre's foot point on the level; negative outside
  double outward_rad = 0;       ///< direction of the outward normal
  double angle_rad = 0;         ///< left to tip about this line from the given slope; negative: tips
  double energy_height_mm = 0;  ///< rise of the centre until it tips; 0 when it tips already
};
[[nodiscard]] std::vector<EdgeMargin> edge_margins(std::span<const Point2> hull, Vec3 centre, const Slope& slope = {});
/// The edge with the least angle.
[[nodiscard]] EdgeMargin least_margin(std::span<const Point2> hull, Vec3 centre, const Slope& slope = {});

/// Steepest slope falling towards `downhill_rad` on which the machine still stands: atan(distance to the hull's border
/// along that direction / h). 0 when it does not stand on the level; pi/2 for h <= 0.
[[nodiscard]] double tipping_slope_rad(std::span<const Point2> hull, Vec3 centre, double downhill_rad);
/// The same for `directions` equally spaced directions from 0.
[[nodiscard]] std::vector<double> tipping_slopes_rad(std::span<const Point2> hull, Vec3 centre, int directions);

struct SupportLoads {
  bool stands = false;         ///< false: the line of gravity leaves the hull, loads are then all 0
  std::vector<double> load_n;  ///< normal to the ground plane, as the contacts were given, >= 0
};
/// Rigid body on equal springs that only push; three contacts are the exact statics, more share by stiffness. At least
/// one contact. Sum of loads = weight x cos(slope).
[[nodiscard]] SupportLoads support_loads(std::span<const Point2> contacts, double weight_n, Vec3 centre,
                                         const Slope& slope = {});

}  // namespace balance
