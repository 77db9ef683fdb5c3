// A leg that slides: a beam in its sleeve, level or out and down, its foot at the outer end.
//
// Along the beam s, outward from the sleeve's mouth; b = slope below the horizontal, g = length of the sleeve. Run in,
// the foot's pin stands at e0, run out by x at e = e0 + x, and
//   foot   out = mouth + e cos b      height of its pin = Z - e sin b
// Sloping, the foot meets the ground where Z - e sin b = r (r: pin to underside) and lifts the machine by d when it
// goes on by d/sin b. Level, it stays Z - r above the ground: the machine leans by that much before the foot bears.
// Forces on the beam: foot force N up with f N against the foot's motion, weight w at its centre, the rod force F along
// the beam at the offset o above it, the sleeve's ends A (mouth) and B (inner end) across it with friction mu:
//   along    F = N sin b + f N cos b - w sin b + mu (|A| + |B|)        deploying, F outward
//            F = N sin b - f N cos b - w sin b - mu (|A| + |B|)        stowing
//   across   A + B + P + W = 0,   B g = P e + W e_w - F o,   P = N cos b -+ f N sin b,   W = -w cos b
// |A| + |B| depends on F; iterated until it stands still (contracts as 2 mu o/g). Source: statics of a drawer, Beer &
// Johnston, Statics, ch. 8 (from memory). Lengths mm, forces N, angles rad.
#pragma once

#include "functions/stabiliser/leg.h"
#include "functions/stabiliser/press.h"

namespace functions::stabiliser {

struct Outrigger {
  Leg leg;  ///< its foot, plane, pad, beams and weight; hip = the sleeve's mouth; length = the whole beam's
  double slope_rad = 0;
  double guide_mm = 0;
  double travel_mm = 0;     ///< run in to deployed
  double reach_mm = 0;      ///< mouth to foot, deployed
  double loaded_mm = 0;     ///< last part of the travel, with the foot on the ground; 0 when it is level
  double gap_mm = 0;        ///< level: between foot and ground
  double clearance_mm = 0;  ///< ground to foot, run in
  double widest_mm = 0;     ///< out from the middle, the furthest a foot comes with this stock
  const char* widest_by = "";
  [[nodiscard]] bool level() const { return slope_rad == 0; }
};

/// Foot beyond the mouth when run in, pitches: the hole between them takes the actuator's bracket.
inline constexpr int kRunIn_p = 2;
/// Teeth of a rack that stay in mesh beyond the pinion at either end of the travel.
inline constexpr int kMeshBeyond = 1;
/// Actuator above the beam, pitches: half the beam, the sleeve's beam above it, half an actuator.
inline constexpr double kLeastOffset_p = 2.5;

/// The beam that puts its foot nearest to where it is wanted, over the holes for the mouth; of equal ones the lower. By
/// rack it reaches the pinion in the middle when run out, and no further than the opposite mouth when run in. None: a
/// rejection in numbers ("stabiliser.beam_too_short", "beams_meet", "beam_sticks_out", "foot_off", "stowed_low",
/// "no_travel"), and length_p = 0. `stroke_mm`: the longest stroke of an actuator, for widest_mm.
[[nodiscard]] Outrigger find_outrigger(const Wants&, const brief::Brief&, const brief::Function&, double stroke_mm,
                                       candidate::RejectionLog&);

struct SlideContact {
  double foot_friction = 0, guide_friction = 0;
  double offset_mm = 0;  ///< o
};
struct SlideForce {
  double force_n = 0;  ///< outward on the beam; negative: pulls
  double guide_n = 0;  ///< |A| + |B|
};
/// Run out by `out_mm` while it moves; `foot_n` 0: in the air.
[[nodiscard]] SlideForce slide_force(const Outrigger&, double out_mm, double foot_n, const SlideContact&, Motion);
/// Greatest foot force that a rod force gives while deploying; 0 when it does not even move the beam. Sloping only.
[[nodiscard]] double slide_foot_n(const Outrigger&, double out_mm, double rod_n, const SlideContact&);

}  // namespace functions::stabiliser
