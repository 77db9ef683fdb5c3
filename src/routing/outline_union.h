// Boxes that make one thing, drawn with one outline: what lies inside the others is left out, and what two of them
// share is drawn once. Inside of routing/.
#pragma once

#include <vector>

#include "routing/drawing.h"

namespace routing {

/// A straight piece of an outline.
struct Piece {
  Spot from, to;
};

/// The pieces of an outline along right and up, of one of the windows, that do not lie inside their union and are not
/// among those `drawn`, which they join. Pieces that follow on each other are one polyline.
[[nodiscard]] std::vector<std::vector<Spot>> outside_of(const std::vector<Window>& windows,
                                                        const std::vector<Spot>& outline, std::vector<Piece>& drawn);

}  // namespace routing
