// Pushers and latches: what one axle or pin does under a finger.
#pragma once

#include <memory>
#include <vector>

#include "candidate/candidate.h"
#include "functions/hand/wants.h"

namespace functions::hand {

/// A sliding axle from the model's skin to a switch inside: way + stroke + what stands proud for the finger.
struct Pusher {
  int axles = 1;     ///< 2: two axles in a joiner
  int length_p = 0;  ///< together
};
/// How far a pusher stands proud of the skin when the switch is pressed, half a pitch (common practice, no source).
[[nodiscard]] double needed_length_mm(const Wants&, double pitch_mm);

/// Force that a finger needs: the switch's, and friction in guides when the push is askew by kAskew of its force
/// (invented): F (1 + 2 mu kAskew).
inline constexpr double kAskew = 0.2;
[[nodiscard]] double pusher_finger_n(const Wants&, double friction);

/// Euler's load of the free length between guides, both ends pinned: pi^2 E I/L^2 with the cross axle's own section;
/// E from the shear modulus and the kit's Poisson ratio. Guides stand at the skin and half way (common practice).
[[nodiscard]] double pusher_buckling_n(const Wants&, const stock::KitSystem&, double shear_modulus_mpa);

/// Names in a fixed order. Pusher: length, finger force, buckling. Latch: hold, finger force.
[[nodiscard]] candidate::Evaluation evaluate_pusher(const Wants&, const Pusher&, const brief::Brief&,
                                                    const brief::Sample&);
[[nodiscard]] candidate::Evaluation evaluate_latch(const Wants&, const brief::Brief&, const brief::Sample&);

[[nodiscard]] candidate::Proposal propose_pins(const brief::Function&, const Wants&, const brief::Brief&,
                                               const base::RunControl&);

}  // namespace functions::hand
