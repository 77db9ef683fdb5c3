// A boom's rows of beams laid from the beams of the stock, when no single one is long enough.
//
// Holes are numbered from the foot, 0 to length_p. One beam thick: beams lap over each other, every other one in the
// next plane. Several thick: every plane is a full row, beams end to end, and no two neighbouring planes have their
// joints at the same place, so that pins carry across every joint.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "structure/boom.h"

namespace functions::luff {

/// Beams of one length that may be used, in all.
struct BeamStock {
  int holes = 0;
  int count = 0;
};

struct BeamRows {
  std::vector<structure::BoomBeam> beams;  ///< of one side, from the foot outwards, plane by plane
  int planes = 0;                          ///< that they take
};

/// Holes of a lap, at least: a pin at either end and one between.
inline constexpr int kLeastLap = 3;
/// Beams in one row, at most: more than these nobody builds, and the boom sways at every joint.
inline constexpr int kMostInRow = 4;

/// The beams of one side, so that `copies` sides can be built from the stock: fewest beams; of these the fewest holes
/// in all (shortest laps), then the longest beams first. Empty when the stock does not allow it. length_p >= 1,
/// thickness >= 1.
[[nodiscard]] std::optional<BeamRows> lay_rows(int length_p, int thickness, int copies,
                                               std::span<const BeamStock> stock);

/// Pins through neighbouring planes: at both ends of where two beams lie on each other, every `every_p` holes between
/// them, and none at the stations in `taken`.
[[nodiscard]] std::vector<structure::BoomPin> pins_of(const BeamRows& rows, int every_p, std::span<const int> taken);

}  // namespace functions::luff
