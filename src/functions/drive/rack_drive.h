// What kinds with a rack and pinion share: which pinions and racks serve a travel, racks in line, the time behind a
// drive along its line.
#pragma once

#include <string>
#include <vector>

#include "functions/drive/drive.h"

namespace functions::drive {

/// Teeth of rack that a travel needs: travel/(pi m) and two more, so that the pinion is in full mesh at both ends.
[[nodiscard]] int rack_teeth(double travel_mm, double module_mm);

/// How far two racks in line stand apart when each starts at a hole, nearest to each other: what a butt joint takes up.
[[nodiscard]] double joint_gap_mm(double rack_mm, double pitch_mm);

/// A pinion on racks of one class.
struct RackPinion {
  stock::ClassId pinion{}, rack{};
  int racks = 0;          ///< in line, on one bar
  double radius_mm = 0;   ///< of the pinion's pitch circle: travel per rad
  double offered_mm = 0;  ///< travel that the racks give
};
/// Every rack x spur gear that the function may use and of which the stock has enough for `bars` bars and `pinions`
/// pinions alike. Too few: rejections "<kind>.no_rack", "too_few_racks", "too_few_pinions" in pieces.
[[nodiscard]] std::vector<RackPinion> rack_pinions(const brief::Brief&, const brief::Function&, double travel_mm,
                                                   int bars, int pinions, candidate::RejectionLog&);

/// What a builder must know of racks in line: how many there are on a bar, and where their joints are.
void tell_racks(const RackPinion&, const brief::Brief&, candidate::Candidate&);

/// Time along a line with `torque_nmm` at equally spaced places, both ends included, at a shaft that gives
/// `per_rad_mm`; infinite when one of them stalls the drive. The speed changes in proportion to the way between two
/// places: the time there is the way over the speeds' logarithmic mean, exact to the stall, where a few steps of a sum
/// would be far off.
[[nodiscard]] double line_time_s(const std::vector<double>& torque_nmm, double travel_mm, double per_rad_mm,
                                 const SpeedLine&);

}  // namespace functions::drive
