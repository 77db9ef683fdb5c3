// The hole lattice: exact integer points in half-pitches, and what distances it offers.
// Everything that can be built stands on these points; millimetres appear only through the kit system's pitch.
#pragma once

#include <compare>
#include <cstdint>
#include <vector>

namespace lattice {

/// A point in the plane of a mechanism, in half-pitches. Plain integers: compare, hash, add.
struct Point2 {
  int x_hp = 0;
  int z_hp = 0;
  friend auto operator<=>(const Point2&, const Point2&) = default;
  friend Point2 operator+(Point2 a, Point2 b) { return {a.x_hp + b.x_hp, a.z_hp + b.z_hp}; }
  friend Point2 operator-(Point2 a, Point2 b) { return {a.x_hp - b.x_hp, a.z_hp - b.z_hp}; }
};

/// Closed box of lattice points, both corners included.
struct Box2 {
  Point2 low;
  Point2 high;
  [[nodiscard]] bool contains(Point2 p) const {
    return p.x_hp >= low.x_hp && p.x_hp <= high.x_hp && p.z_hp >= low.z_hp && p.z_hp <= high.z_hp;
  }
  [[nodiscard]] std::int64_t points() const {
    return high.x_hp < low.x_hp || high.z_hp < low.z_hp
               ? 0
               : (std::int64_t{high.x_hp} - low.x_hp + 1) * (std::int64_t{high.z_hp} - low.z_hp + 1);
  }
};

/// One way to set two shafts apart: dx >= dz >= 0 in half-pitches (mirror images and the swap are the same distance).
struct Offset {
  int dx_hp = 0;
  int dz_hp = 0;
  double distance_mm = 0;
  [[nodiscard]] bool straight() const { return dz_hp == 0; }
  friend bool operator==(const Offset&, const Offset&) = default;
};

/// Squared length of an offset in half-pitches squared; exact.
[[nodiscard]] constexpr std::int64_t squared_hp(int dx_hp, int dz_hp) {
  return std::int64_t{dx_hp} * dx_hp + std::int64_t{dz_hp} * dz_hp;
}

/// Every offset whose distance is within `tolerance_mm` of `wanted_mm`, best fit first (ties: straight first, then
/// larger dx). `pitch_mm` > 0 is the hole pitch. Exact search over all dx >= dz >= 0; none if the lattice offers none.
[[nodiscard]] std::vector<Offset> offsets_near(double wanted_mm, double tolerance_mm, double pitch_mm);

/// The offset nearest to `wanted_mm` (> 0), whatever the misfit.
[[nodiscard]] Offset nearest_offset(double wanted_mm, double pitch_mm);

}  // namespace lattice
