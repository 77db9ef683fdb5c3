// Statics of one leg: the rod force that a foot force asks for, and the foot force that a rod force gives.
//
// Leg at the angle a (leg.h), c = (L cos a, -H) from hip to ground contact, H = r - L sin a. On the leg act at c the
// foot force N up and its sliding friction f N against the foot's motion (outward while deploying, inward while
// stowing), the weight w at x_c = centre cos a, and the rod. Moment of all but the rod, counter-clockwise:
//   M = N (L cos a + f H) - w x_c        deploying          M = N (L cos a - f H) - w x_c        stowing
// Deploying turns the leg clockwise, so M resists it and helps stowing. With A the moment against the motion, h the
// lever, p = pin friction x pin radius, R the hip's reaction and u the turning of both eyes (drive/screw_drive.h):
//   resisting   F h = A + p (R + F u)        helping   F h = -A - p (R + F u)
// R depends on F; iterated until it stands still (contracts as p/h). The other way round N from F. The rod's force is
// taken along its line; friction in its eyes tilts it by p/length, second order. Source: Beer & Johnston, Statics, chs
// 4 and 8 (friction circle taken as p). N, mm, N mm, rad.
#pragma once

#include "functions/stabiliser/leg.h"
#include "linkage/actuator.h"

namespace functions::stabiliser {

/// Actuator and leg at one angle.
struct LegPose {
  double angle_rad = 0;
  double lever_mm = 0;    ///< signed: > 0 when lengthening raises the foot
  linkage::Vec2 rod_way;  ///< unit vector from base mount to rod mount
  double eyes = 1;        ///< |x| + |1 - x|, turning of the eyes per turning of the leg
};
[[nodiscard]] LegPose leg_pose(const linkage::ActuatorTriangle& triangle, double angle_rad);

struct Contact {
  double foot_friction = 0;
  double pin_friction = 0;
  double pin_radius_mm = 0;
};

enum class Motion { deploying, stowing };

/// Counter-clockwise moment about the hip of foot force and weight.
[[nodiscard]] double moment_nmm(const Leg&, double angle_rad, double foot_n, double foot_friction, Motion);

struct RodForce {
  double force_n = 0;   ///< >= 0; infinite where friction eats the lever
  bool resists = true;  ///< the leg is driven against its load; false: the rod holds it back
  bool pushes = false;
};
/// While the leg moves under the foot force `foot_n` (0: in the air).
[[nodiscard]] RodForce rod_force(const Leg&, const LegPose&, double foot_n, const Contact&, Motion);

/// Greatest foot force that a rod force gives while deploying; 0 when it does not even overcome friction.
[[nodiscard]] double foot_force_n(const Leg&, const LegPose&, double rod_n, const Contact&);

/// Rod force that holds a foot force at rest without any friction, and the other way round.
[[nodiscard]] double holding_rod_n(const Leg&, const LegPose&, double foot_n);
[[nodiscard]] double held_foot_n(const Leg&, const LegPose&, double rod_n);

}  // namespace functions::stabiliser
