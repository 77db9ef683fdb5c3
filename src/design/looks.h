// The colour plan of a design, once it is known what the choice leaves.
#pragma once

#include "design/design.h"

namespace design {

/// Fills Result::colours and adds its findings to the assessment: looks.zone_lacks with ways out that were tried,
/// looks.mismatch with what would match. Nothing without zones.
void plan_looks(Result& result);

}  // namespace design
