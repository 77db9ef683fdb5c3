// What resists a slewing body: bearing friction under an overturning moment, the slope, its inertia; and how far the
// hanging load swings after a stop. Closed forms; N, mm, N mm, rad, g, s.
#pragma once

namespace functions::slew {

/// Friction torque of a turntable's bearing, a sliding circle of radius r that carries
///   V along the axis, M across it (overturning) and H in its plane (on a slope).
/// Axial pressure per angle q(f) = V/2pi + (M/(pi r)) cos f; where it is negative the hold-down side slides under |q|:
///   T = mu r (integral |q| df + H).
/// M <= V r/2: integral = V. Beyond: 4 (a (f0 - pi/2) + b sin f0), a = V/2pi, b = M/(pi r), cos f0 = -a/b; for V = 0
/// this is 4 M/(pi r). The linear pressure is the rigid-ring assumption used for slewing rings in crane texts.
[[nodiscard]] double bearing_friction_nmm(double axial_n, double overturning_nmm, double radial_n, double friction,
                                          double radius_mm);

/// Greatest swing of a load on a rope of length L after the suspension point is stopped from v within t seconds at even
/// deceleration: residual amplitude 2 (v/t)(L/g) |sin(sqrt(g/L) t/2)|, taken at its envelope, because nobody hits the
/// zeros of the sine: min(v sqrt(L/g), 2 v L/(g t)). Small angles. `stop_s` > 0.
[[nodiscard]] double stop_swing_mm(double speed_mm_s, double rope_mm, double stop_s);

/// What turns, about its vertical axis.
struct Slewed {
  double weight_n = 0;
  double moment_nmm = 0;         ///< weight x horizontal distance of the common centre from the axis
  double height_moment_nmm = 0;  ///< weight x height of the common centre above the joint
  double inertia_g_mm2 = 0;
};

/// Torques at the ring.
struct Need {
  double friction_nmm = 0;
  double slope_nmm = 0;  ///< worst of all slew angles: weight moment x sin(slope)
  double start_nmm = 0;  ///< inertia x speed / start time
  double overturning_nmm = 0;
  [[nodiscard]] double running_nmm() const { return friction_nmm + slope_nmm; }
  [[nodiscard]] double starting_nmm() const { return running_nmm() + start_nmm; }
};
/// On a slope a: V = W cos a, H = W sin a, overturning = W r cos a + W z sin a (both at their worst together, which
/// errs on the safe side).
[[nodiscard]] Need torque_needed(const Slewed&, double slope_rad, double speed_rad_s, double start_s, double friction,
                                 double bearing_radius_mm);

}  // namespace functions::slew
