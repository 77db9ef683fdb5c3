// Can what must come out come out, what must be pressed be pressed, and what must open open, with the chosen candidates
// in place? Everything is looked at on the lattice of the body the thing sits on; parts of bodies that move against it
// are told as to be moved aside first. Inside of assessment/.
#pragma once

#include "assessment/assessment.h"

namespace assessment {

/// Fills Assessment::access; needs the parts that are left (count_parts).
[[nodiscard]] Access judge_access(const brief::Brief&, const std::vector<Chosen>&, const std::vector<PartLine>& parts);

/// What stands out, each with changes that were tried on the spot. Codes: access.shut_in, access.moved_first,
/// access.out_of_reach, access.by_pusher, access.strikes.
[[nodiscard]] std::vector<Finding> access_findings(const brief::Brief&, const std::vector<Chosen>&, const Assessment&);

}  // namespace assessment
