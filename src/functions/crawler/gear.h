// The running gear of a crawler as the whole machine stands on it.
#pragma once

#include <memory>

#include "candidate/running_gear.h"
#include "functions/crawler/evaluate.h"

namespace functions::crawler {

/// Wheels: evenly over the contact, the rear ones driven. Tracks: an end wheel before and behind; when those are raised
/// or reach beyond the contact, road wheels between them: as many and as large as the support says, else two of one
/// pitch. `pull_n` with every motor stalled.
[[nodiscard]] std::shared_ptr<const candidate::RunningGear> gear_of(const Variant&, const Wants&, const brief::Brief&,
                                                                    int sides);

}  // namespace functions::crawler
