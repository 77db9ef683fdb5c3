// Where the drive of a grip stands: beside the plane of jaws and linkage, its shaft carrying the crank.
#pragma once

#include <memory>

#include "functions/drive/site.h"
#include "functions/grip/evaluate.h"

namespace functions::grip {

/// Layers across the jaws' plane, half-pitches from it: crank [0, 2] on the drive's shaft, coupler [-2, 0], jaws and
/// their gears [-4, -2]. The drive keeps beyond the crank.
[[nodiscard]] std::shared_ptr<const drive::Site> site_for(const Problem&, const brief::Function&, const Closer&);

}  // namespace functions::grip
