// Where the actuator and its drive stand on the body that carries them.
#pragma once

#include <memory>
#include <vector>

#include "functions/drive/site.h"
#include "functions/luff/evaluate.h"

namespace functions::luff {

/// The drive of `actuators` actuators side by side whose base mount is `base`, half-pitches from the pivot: the shaft
/// is the base mount's own, across the machine, and comes out on either side of them. Their solid is all that they
/// sweep over the travel with any of these rod mounts.
[[nodiscard]] std::shared_ptr<const drive::Site> site_for(const Problem&, const brief::Function&, int actuators,
                                                          lattice::Point2 base,
                                                          const std::vector<lattice::Point2>& rods);

}  // namespace functions::luff
