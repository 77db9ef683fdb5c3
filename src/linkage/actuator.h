// The actuator triangle: pivot, base mount and rod mount; length, lever arm, force, speed and time over a travel.
//
// Plane of the mechanism: x forward, z up, mm; angles counter-clockwise from x to z, radians. The base mount stands in
// the base frame; the rod mount turns with the moving body about the pivot. With A = base mount - pivot and
// R(t) = rod mount - pivot turned by t:
//   L = |R - A|        h = dL/dt = (A x R)/L        (h signed: > 0 when lengthening turns the body forward)
//   F = M/h            by virtual work; M = moment the actuator must give in the sense of t; F > 0 pushes
// Dead centre where A x R = 0. Source: cosine rule and virtual work; Beer & Johnston, Statics (lift table problem).
#pragma once

#include <functional>
#include <vector>

namespace linkage {

struct Vec2 {
  double x_mm = 0;
  double z_mm = 0;
};

struct ActuatorTriangle {
  Vec2 pivot;
  Vec2 base_mount;  ///< in the base frame
  Vec2 rod_mount;   ///< in the base frame while the body stands at angle 0
};

struct TrianglePose {
  double length_mm = 0;
  double lever_mm = 0;  ///< h, signed
};
[[nodiscard]] TrianglePose pose(const ActuatorTriangle& triangle, double angle_rad);

/// F = M/h; infinite with the sign of M at a dead centre (0 for M = 0).
[[nodiscard]] double actuator_force_n(const TrianglePose& pose, double moment_nmm);
/// Angular speed of the body at an extension speed: v/h; infinite at a dead centre.
[[nodiscard]] double angular_speed_rad_s(const TrianglePose& pose, double extension_mm_s);
/// How far `angle_rad` is from the nearest dead centre, 0 .. pi/2 rad.
[[nodiscard]] double dead_centre_distance_rad(const ActuatorTriangle& triangle, double angle_rad);
/// Largest possible |lever|: the shorter of the two mount distances.
[[nodiscard]] double greatest_lever_mm(const ActuatorTriangle& triangle);

/// The body's angle at an actuator length, on the side of the dead centre where `near_rad` lies; the nearest one.
/// NaN when the length cannot close the triangle.
[[nodiscard]] double angle_at_length(const ActuatorTriangle& triangle, double length_mm, double near_rad);

/// Along a travel from one angle to another.
struct TravelStep {
  double angle_rad = 0;
  double length_mm = 0;
  double lever_mm = 0;
  double moment_nmm = 0;
  double force_n = 0;      ///< > 0 pushes
  double resisting_n = 0;  ///< force against the motion of the rod, < 0 when the load helps
  double speed_mm_s = 0;   ///< magnitude of the rod's speed
  double time_s = 0;       ///< since the start; infinite after a stall
};
struct Travel {
  std::vector<TravelStep> steps;  ///< samples + 1
  double time_s = 0;              ///< infinite when it stalls on the way
  double stall_angle_rad = 0;     ///< where, when it does
  bool arrives = false;
};
/// Sweeps `samples` equal steps of angle from `from_rad` to `to_rad` (either order). `moment(angle)` is the moment to
/// be overcome in the sense of positive angle; `speed(resisting force)` the rod speed in mm/s, <= 0 meaning stall. Time
/// by Simpson's rule on |h|/v over each step.
[[nodiscard]] Travel travel(const ActuatorTriangle& triangle, double from_rad, double to_rad, int samples,
                            const std::function<double(double angle_rad)>& moment_nmm,
                            const std::function<double(double resisting_n)>& speed_mm_s);

}  // namespace linkage
