// Beams that hold the bearings of a layout.
#pragma once

#include <span>
#include <vector>

#include "routing/layout.h"

namespace functions::drive {

/// One beam in a wall and the bearings it holds.
struct BeamUse {
  routing::Axis axis = routing::Axis::y;  ///< across which the wall stands
  int wall_hp = 0;
  int length_p = 0;  ///< shortest in stock that has the bearings and kPinsPerBeam holes more
  std::vector<lattice::Cross> holes;
};
inline constexpr int kPinsPerBeam = 2;

/// Fewest beams for the bearings, then the shortest together, exactly: holes of one wall in one row along either cross
/// axis, an even number of half-pitches apart, may share a beam; a beam also has holes for its pins, between or beyond
/// its bearings. `lengths_p`: those in stock, ascending. Bearings that no length spans get a beam each. Empty lengths:
/// no beams.
[[nodiscard]] std::vector<BeamUse> beams_of(const routing::Layout&, std::span<const int> lengths_p);

}  // namespace functions::drive
