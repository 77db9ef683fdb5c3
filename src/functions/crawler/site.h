// Where the drive of one driven shaft stands: beside the belt or wheel, inside the machine.
#pragma once

#include <memory>

#include "functions/crawler/evaluate.h"
#include "functions/drive/site.h"

namespace functions::crawler {

/// Tracks: the sprocket at the rear or the front end of the belt, with the belt and the other sprocket as solids.
/// Wheels: the rearmost wheel; with two driven ones the drive keeps to its own half of the length, and the other one is
/// its mirror image (two wheels a side) or its copy beside the next wheel. `a_side`: rollers of one side.
[[nodiscard]] std::shared_ptr<const drive::Site> site_for(const Wants&, const brief::Brief&, const brief::Function&,
                                                          const Variant&, int a_side);

}  // namespace functions::crawler
