// Where a steering drive stands: the crank with all that its rods sweep, and the wheels it must keep clear of.
#pragma once

#include <memory>

#include "functions/drive/site.h"
#include "functions/steer/evaluate.h"

namespace functions::steer {

/// Layers a beam thick: the drag link below, arms and crank at the wanted height, the track rod above. The crank's
/// shaft leaves upward or downward, where no rod passes it.
[[nodiscard]] std::shared_ptr<const drive::Site> site_for(const Problem&, const brief::Function&, const RodChoice&);

}  // namespace functions::steer
