// Solids in millimetres and whether two of them keep clear: cylinders and rings along the axes, axis-parallel boxes.
// Closed forms over intervals and rectangles, for the judge of layouts and its tests; the search has its own
// formulation.
#pragma once

#include <array>
#include <string>
#include <variant>

#include "lattice/space.h"

namespace routing {

/// Two faces nearer than this count as touching, not as overlapping: far below any clearance, far above rounding.
inline constexpr double kTouchMm = 1e-6;

struct Interval {
  double low = 0, high = 0;
  [[nodiscard]] bool overlaps(Interval o) const {
    return (high < o.high ? high : o.high) - (low > o.low ? low : o.low) > kTouchMm;
  }
  [[nodiscard]] bool within(Interval o) const { return low >= o.low - kTouchMm && high <= o.high + kTouchMm; }
  [[nodiscard]] double distance(double p) const { return p < low ? low - p : p > high ? p - high : 0; }
  [[nodiscard]] double farthest(double p) const { return p - low > high - p ? p - low : high - p; }
};

/// Solid of revolution along an axis; open_mm > 0 makes it a ring that is free inside.
struct Cylinder {
  lattice::Axis axis = lattice::Axis::y;
  std::array<double, 3> centre_mm{};  ///< of the line; the entry along the axis is not used
  Interval along_mm;
  double radius_mm = 0, open_mm = 0;
};

struct Block {
  std::array<Interval, 3> mm;
};

using Shape = std::variant<Cylinder, Block>;

[[nodiscard]] Cylinder cylinder(lattice::Axis axis, lattice::Cross at, double from_hp, double to_hp, double radius_mm,
                                double half_pitch_mm, double open_mm = 0);
[[nodiscard]] Block block(const lattice::Box3& box, double half_pitch_mm);

/// Smallest axis-parallel box round the solid.
[[nodiscard]] Block bounds(const Shape& shape);
[[nodiscard]] bool inside(const Block& inner, const Block& outer);

/// True if two solids that do not belong together come nearer than the rules allow. Parallel cylinders and a cylinder
/// with a box keep `clearance_mm` across the axis and nothing along it; cylinders at a right angle are compared exactly
/// with radii grown by half the clearance each; boxes may touch.
[[nodiscard]] bool clash(const Shape& a, const Shape& b, double clearance_mm);

/// Mirror image in the plane across `axis` at `plane_mm`.
[[nodiscard]] Shape mirrored(const Shape& shape, lattice::Axis axis, double plane_mm);

/// "x 8..16, y 3..5, z 8..16 mm"
[[nodiscard]] std::string place_text(const Shape& shape);

}  // namespace routing
