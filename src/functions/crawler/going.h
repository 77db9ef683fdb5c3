// The running gear in side view: length of the belt round its wheels, and the step it climbs, in closed form.
//
// x forward, z up, millimetres, origin on the ground under the middle of the ground contact. Left and right are alike,
// so both sides together are one plane figure. Forces per newton of the machine's weight.
// Source of the climb: statics of a rigid body on two contacts at the friction limit; resistance, turning and adhesion
// are in balance/traction.h.
#pragma once

#include <optional>

namespace functions::crawler {

/// Tracks: an end wheel (sprocket or idler) before and behind the ground contact, raised or not. Wheels: the end wheels
/// themselves carry, `end_reach_mm` = 0 and `end_height_mm` = `end_radius_mm`.
struct Outline {
  double contact_length_mm = 0;  ///< l, first to last point that carries
  double end_radius_mm = 0;      ///< R, of the end wheels, to the belt's pitch line
  double end_height_mm = 0;      ///< H, centre of the end wheels above the ground, >= R
  double end_reach_mm = 0;       ///< o, centre of an end wheel beyond its end of the contact, >= 0
};

/// Where the machine's weight acts.
struct Centre {
  double ahead_mm = 0;   ///< of the middle of the contact
  double height_mm = 0;  ///< above the ground
};

/// Length of a tight belt round both end wheels and the ground contact, the hull of two circles and a line:
///   S = l + (l + 2 o) + 2 t + 2 R w,   t = sqrt(D^2 - R^2),   D^2 = o^2 + H^2,
/// t free length between ground and end wheel, w the angle wrapped there: w = 3 pi/2 - atan2(H, o) - acos(R/D).
/// Road wheels are taken as points on the ground, which errs by less than one link.
[[nodiscard]] double belt_length_mm(const Outline& outline);

/// Friction that the driven contacts find; 0 = that contact is not driven.
struct Grip {
  double front = 0;  ///< between the front end wheel (or its belt) and the step
  double rear = 0;   ///< between the rear contact and the floor
};

/// The moment the nose rises, every driven contact at its friction limit.
struct Climb {
  bool possible = false;
  double spare = 0;     ///< lifting moment / moment of the weight, minus 1
  double traction = 0;  ///< sum of both tangential forces / weight
};

/// Friction climb. The front end wheel touches the step's edge, or, when the step is higher than the wheel's centre,
/// its face at that height: normal n2 towards the wheel's centre, tangent t2 up it. The floor carries N1 at the last
/// road wheel. Both at the limit:
///   along x: mu1 N1 + N2 (n2x + mu2 t2x) = 0;   along z: N1 + N2 (n2z + mu2 t2z) = W;
/// possible when N2's moment about the last road wheel is at least the weight's, or when the front contact alone pulls
/// forward (n2x + mu2 t2x >= 0).
[[nodiscard]] Climb friction_climb(const Outline& outline, const Centre& centre, const Grip& grip, double step_mm);

/// Lowest step that friction_climb cannot take; nothing = friction sets no limit, even a wall is climbed.
[[nodiscard]] std::optional<double> friction_step_mm(const Outline& outline, const Centre& centre, const Grip& grip);

/// Highest step over whose edge the centre of mass still comes while the rear end wheel stands on the floor. Pitched by
/// a, the edge under the belt at s = x_c - z_c tan a (so that the centre is above it) stands at
///   h(a) = (s + x_e) sin a - H cos a + R,   x_e = l/2 + o,
/// maximised over 0 < a < pi/2 with the edge on the belt's flat run or before it (s <= l/2).
[[nodiscard]] double balance_step_mm(const Outline& outline, const Centre& centre);

/// The smaller of the two.
[[nodiscard]] double climbable_step_mm(const Outline& outline, const Centre& centre, const Grip& grip);

/// Least friction, the same at all driven contacts, with which the nose rises all the way up to `step_mm`; nothing if
/// none up to `most` does. By bisection, to a relative 1e-9 of `most`.
[[nodiscard]] std::optional<double> friction_needed(const Outline& outline, const Centre& centre, double step_mm,
                                                    bool front_driven, bool rear_driven, double most = 3.0);

}  // namespace functions::crawler
