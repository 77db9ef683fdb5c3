// Mass and centre of gravity of a machine made of posed bodies.
// Frame: x forward, y left, z up, mm; masses g; angles rad, right-hand rule.
#pragma once

#include <span>
#include <vector>

namespace balance {

struct Vec3 {
  double x_mm = 0, y_mm = 0, z_mm = 0;
  friend Vec3 operator+(Vec3 a, Vec3 b) { return {a.x_mm + b.x_mm, a.y_mm + b.y_mm, a.z_mm + b.z_mm}; }
  friend Vec3 operator-(Vec3 a, Vec3 b) { return {a.x_mm - b.x_mm, a.y_mm - b.y_mm, a.z_mm - b.z_mm}; }
  friend Vec3 operator*(double s, Vec3 a) { return {s * a.x_mm, s * a.y_mm, s * a.z_mm}; }
};

enum class Joint { fixed, turns, slides };

/// One body and how it hangs on its parent. Its frame equals the parent's frame moved to `origin`, then turned about
/// `axis` by `angle_rad` (turns) or shifted along it by `travel_mm` (slides).
struct Body {
  int parent = -1;  ///< index of an earlier body; -1 = the ground frame
  Joint joint = Joint::fixed;
  Vec3 origin;         ///< pivot, in the parent's frame
  Vec3 axis{0, 0, 1};  ///< unit vector in the parent's frame
  double angle_rad = 0;
  double travel_mm = 0;
  double mass_g = 0;
  Vec3 centre;  ///< of mass, in its own frame
};

/// Rotation (row major) and translation from a body's frame to the ground frame.
struct Pose {
  double r[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};
  Vec3 t;
  [[nodiscard]] Vec3 apply(Vec3 point) const;
};

/// Poses of all bodies. KW_CHECK: parents come first, axes have length 1.
[[nodiscard]] std::vector<Pose> poses(std::span<const Body> bodies);
/// The same into storage that is kept, for inner loops.
void poses(std::span<const Body> bodies, std::vector<Pose>& out);

struct MassPoint {
  double mass_g = 0;
  Vec3 at;
};
/// All bodies together, in the ground frame. Zero mass gives the origin.
[[nodiscard]] MassPoint total_mass(std::span<const Body> bodies);
[[nodiscard]] MassPoint combined(std::span<const MassPoint> points);

inline constexpr double kGravity = 9.81;  ///< m/s^2
[[nodiscard]] constexpr double weight_n(double mass_g) {
  return mass_g * 1e-3 * kGravity;
}

}  // namespace balance
