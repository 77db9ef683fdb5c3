// The lattice of a body and the room a function's drive may stand in on it.
//
// A body's lattice has its origin at the body's joint pivot, the chassis' at the machine's origin; bodies that are
// fixed to another share that one's lattice. Coordinates in half-pitches, axes as the machine's (zero pose).
#pragma once

#include <string>
#include <vector>

#include "brief/brief.h"
#include "lattice/space.h"

namespace functions::drive {

/// Where a body's lattice stands in the machine.
struct BodyLattice {
  int body = 0;  ///< the body itself, or the one it is fixed to
  brief::Vec3 origin_mm;
  double half_pitch_mm = 4;

  /// The lattice point nearest to a place of the machine frame, zero pose. A place off the lattice by more than
  /// kOffLattice_mm leaves a note: "<what> is rounded by 1.3 mm to (4, 0, 6.5) p".
  [[nodiscard]] lattice::Point3 nearest(const brief::Vec3& at_mm, const std::string& what,
                                        std::vector<std::string>& notes) const;
};
inline constexpr double kOffLattice_mm = 0.05;

/// `body` = -1 is the chassis.
[[nodiscard]] BodyLattice lattice_of(const brief::Brief&, int body);

struct Room {
  lattice::Box3 box;
  bool is_default = false;
  std::string note;  ///< says what was assumed; empty when the room was given
};
/// The function's own room; or the lattice points inside the envelope of `body` and 6 pitches round it, but not lower
/// than half way to the ground; or, without an envelope, a cube of 16 pitches round the body's origin.
[[nodiscard]] Room room_of(const brief::Brief&, const brief::Function&, int body);

}  // namespace functions::drive
