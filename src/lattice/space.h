// The lattice in space: axes, points and boxes in half-pitches, and the unit cells that solids occupy.
// Frame as everywhere: x forward, y left, z up.
#pragma once

#include <algorithm>
#include <array>
#include <compare>
#include <cstdint>
#include <string>
#include <vector>

namespace lattice {

enum class Axis : int { x = 0, y = 1, z = 2 };
inline constexpr std::array<Axis, 3> kAxes{Axis::x, Axis::y, Axis::z};
[[nodiscard]] constexpr int index(Axis a) {
  return static_cast<int>(a);
}
[[nodiscard]] constexpr char letter(Axis a) {
  return "xyz"[index(a)];
}

/// A point in space, in half-pitches, machine or body frame as the context says.
struct Point3 {
  int x_hp = 0, y_hp = 0, z_hp = 0;
  [[nodiscard]] constexpr int at(Axis a) const { return a == Axis::x ? x_hp : a == Axis::y ? y_hp : z_hp; }
  constexpr void set(Axis a, int value_hp) { (a == Axis::x ? x_hp : a == Axis::y ? y_hp : z_hp) = value_hp; }
  friend auto operator<=>(const Point3&, const Point3&) = default;
};

/// Axis-parallel solid box between two lattice points, low < high in every direction.
struct Box3 {
  Point3 low, high;
  [[nodiscard]] constexpr bool overlaps(const Box3& o) const {  ///< interiors; touching faces do not count
    return low.x_hp < o.high.x_hp && o.low.x_hp < high.x_hp && low.y_hp < o.high.y_hp && o.low.y_hp < high.y_hp &&
           low.z_hp < o.high.z_hp && o.low.z_hp < high.z_hp;
  }
  [[nodiscard]] constexpr bool inside(const Box3& o) const {
    return low.x_hp >= o.low.x_hp && high.x_hp <= o.high.x_hp && low.y_hp >= o.low.y_hp && high.y_hp <= o.high.y_hp &&
           low.z_hp >= o.low.z_hp && high.z_hp <= o.high.z_hp;
  }
  friend auto operator<=>(const Box3&, const Box3&) = default;
};

/// Coordinates across an axis: x -> (y, z), y -> (x, z), z -> (x, y).
struct Cross {
  int u_hp = 0, v_hp = 0;
  friend auto operator<=>(const Cross&, const Cross&) = default;
};
[[nodiscard]] constexpr Axis u_axis(Axis a) {
  return a == Axis::x ? Axis::y : Axis::x;
}
[[nodiscard]] constexpr Axis v_axis(Axis a) {
  return a == Axis::z ? Axis::y : Axis::z;
}
[[nodiscard]] constexpr Cross across(Axis a, const Point3& p) {
  return {p.at(u_axis(a)), p.at(v_axis(a))};
}
[[nodiscard]] constexpr Point3 point(Axis a, Cross c, int along_hp) {
  Point3 p;
  p.set(a, along_hp);
  p.set(u_axis(a), c.u_hp);
  p.set(v_axis(a), c.v_hp);
  return p;
}

/// For people, in hole pitches: "(3, 0, 4.5)".
[[nodiscard]] std::string pitches_text(const Point3&);
/// "x -6 to 6, y -4 to 4, z 0 to 9".
[[nodiscard]] std::string pitches_text(const Box3&);
/// The third axis.
[[nodiscard]] constexpr Axis other(Axis a, Axis b) {
  return kAxes[static_cast<std::size_t>(3 - index(a) - index(b))];
}

}  // namespace lattice
