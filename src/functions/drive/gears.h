// Gears of the stock that a function may use.
#pragma once

#include <vector>

#include "brief/brief.h"
#include "gearing/train_search.h"

namespace functions::drive {

/// Gears and rings with at least one piece, in catalogue order.
[[nodiscard]] std::vector<gearing::GearStock> gears_for(const brief::Brief&, const brief::Function&);

}  // namespace functions::drive
