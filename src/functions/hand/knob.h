// A wheel that fingers turn, as the drive of a train: to search and routing a motor whose stall torque is what fingers
// give.
//
// A finger presses along the rim with F, thumb and finger from both sides: T = F d. Turning is slow, so no power limits
// it; turns count instead of speed.
#pragma once

#include <memory>
#include <optional>

#include "functions/drive/drive.h"
#include "functions/drive/placing.h"
#include "functions/hand/wants.h"

namespace functions::hand {

/// Turns a second that a knob's "no-load speed" stands for; margins only use ratios of it.
inline constexpr double kHandTurn_rad_s = 1;

/// Torque of thumb and finger on a wheel: F d.
[[nodiscard]] double finger_torque_nmm(double finger_n, double diameter_mm);

/// The brief for the search: the stock's wheels (or the wanted one) are motors there and its motors are not to be used.
/// Same indices.
[[nodiscard]] brief::Brief with_knobs(const brief::Brief&, const Wants&);
/// A draw as one of such a brief's: the spread of motors and supplies is none of fingers.
[[nodiscard]] brief::Sample for_fingers(brief::Sample);

struct KnobProblem {
  std::shared_ptr<const brief::Brief> brief;  ///< with_knobs
  Wants wants;
  int sides = 1;
};

/// Names in a fixed order: finger torque, turns, tooth (with a train), axle, hold (if wanted).
[[nodiscard]] candidate::Evaluation evaluate_knob(const KnobProblem&, const drive::Powertrain&, const brief::Sample&);

[[nodiscard]] candidate::Proposal propose_knob(const brief::Function&, const Wants&, const brief::Brief&,
                                               const base::RunControl&);

}  // namespace functions::hand
