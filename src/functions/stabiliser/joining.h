// What both searches for legs share: how many legs a motor takes, and a machine that would fall over.
#pragma once

#include <vector>

#include "functions/stabiliser/stance.h"

namespace functions::stabiliser {

/// The function as its drives see it: every drive is a side.
[[nodiscard]] brief::Function per_drive(const brief::Function&, int drives);

/// Actuators on one shaft that are worth trying, with the reason where two are not.
[[nodiscard]] std::vector<int> ways_to_join(const Wants&, const Leg&, const brief::Brief&, const brief::Function&,
                                            candidate::RejectionLog&);

/// Whether the centre of gravity is outside what the machine would stand on; then the log says by how much.
[[nodiscard]] bool tells_fall(const Stance&, candidate::RejectionLog&);

/// Figures of what the machine stands on with its legs stowed and deployed.
void add_stance(const Stance&, candidate::Candidate&);

}  // namespace functions::stabiliser
