// A differential in the drive: its case as the last wheel of a train, the bevels inside, the half shafts.
//
// In straight running the bevels inside stand still, so the case is a wheel on bearings of its own with one meshing
// rim, which is what a turntable is to train search and routing. Both half shafts get half the torque of the case.
#pragma once

#include <optional>
#include <vector>

#include "candidate/candidate.h"

namespace functions::wheels {

/// A case with what belongs to it.
struct Differential {
  stock::ClassId part{};
  std::vector<stock::ClassId> bevel;  ///< those inside: any of these
  int bevels = 0;                     ///< of one case
  int half_shaft_p = 0;               ///< shortest axle from the middle of the case through a wheel
};

/// Room of the case along its axis besides its rim, half-pitches (invented: the catalogue tells teeth and face only).
inline constexpr int kCase_hp = 4;

/// Cases that the stock has for `count` axles, with bevels and half shafts; what lacks is a rejection. `to_wheel_mm`
/// from the middle of the machine to the outer face of a wheel.
[[nodiscard]] std::vector<Differential> differentials(const brief::Brief&, const brief::Function&, int count,
                                                      double to_wheel_mm, candidate::RejectionLog&);

/// The brief for the search of trains to a case: the case is a ring there, its mesh one of spur gears. Same indices.
[[nodiscard]] brief::Brief with_case_as_ring(const brief::Brief&, stock::ClassId part);
/// A draw of the brief's parameters as one of such a brief's.
[[nodiscard]] brief::Sample for_case(brief::Sample);

/// Adds case, bevels, half shafts and what holds them, for `count` axles.
void add_differential(const Differential&, int count, const brief::Brief&, const brief::Function&, candidate::Demand&);

}  // namespace functions::wheels
