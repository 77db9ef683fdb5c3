// Boxes that move on the lattice: turned about a hinge or drawn out straight, and the unit cells they pass.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "lattice/space.h"

namespace lattice {

/// One of the six ways along the axes.
struct Way {
  Axis axis = Axis::x;
  int sign = 1;  ///< 1 or -1
  friend auto operator<=>(const Way&, const Way&) = default;
};
inline constexpr std::array<Way, 6> kWays{Way{Axis::x, 1},  Way{Axis::x, -1}, Way{Axis::y, 1},
                                          Way{Axis::y, -1}, Way{Axis::z, 1},  Way{Axis::z, -1}};
/// "forward", "back", "left", "right", "up", "down".
[[nodiscard]] std::string_view name_of(Way);
[[nodiscard]] std::optional<Way> way_of(std::string_view name);

/// What a box passes over when it is drawn out one way until its trailing face has left `hull`; without the box itself.
/// Not longer than the box when it stands outside of the hull already.
[[nodiscard]] Box3 passage(const Box3& box, Way way, const Box3& hull);

/// Smallest box round both.
[[nodiscard]] Box3 hull_of(Box3 a, const Box3& b);

/// Unit cells whose inside meets the inside of `box` while that turns about the line through `hinge` along `axis` from
/// `from_rad` to `to_rad` (right-hand rule, 0 = as given, at most one turn between them), as boxes one cell high that
/// do not overlap. Exact up to rounding: whether a cell is met can only change at angles where a corner of the one lies
/// on the line of an edge of the other, and between all of these it is looked at.
[[nodiscard]] std::vector<Box3> swept_boxes(const Box3& box, Axis axis, const Point3& hinge, double from_rad,
                                            double to_rad);

/// The unit cell with this low corner lies in the box.
[[nodiscard]] constexpr bool holds(const Box3& box, const Point3& cell) {
  return cell.x_hp >= box.low.x_hp && cell.x_hp < box.high.x_hp && cell.y_hp >= box.low.y_hp &&
         cell.y_hp < box.high.y_hp && cell.z_hp >= box.low.z_hp && cell.z_hp < box.high.z_hp;
}

}  // namespace lattice
