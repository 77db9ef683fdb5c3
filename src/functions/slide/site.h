// Where the drive of a slide stands: at the actuator's foot, or round the pinion.
#pragma once

#include <memory>

#include "functions/drive/site.h"
#include "functions/slide/evaluate.h"

namespace functions::slide {

/// Shafts run across the line: along y, or along x when the line follows y. The actuator over its whole stroke, or the
/// racks on both sides of the pinion, are in the drive's way.
[[nodiscard]] std::shared_ptr<const drive::Site> site_for(const Problem&, const brief::Function&, const Mover&);

}  // namespace functions::slide
