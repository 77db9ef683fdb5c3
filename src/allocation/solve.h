// Exact allocation: one candidate per function, all parts from one stock, every budget kept, lexicographic objective.
// Method and proofs: docs/theory/allocation.md.
#pragma once

#include "allocation/problem.h"
#include "allocation/solution.h"
#include "allocation/validate.h"

namespace allocation {

/// Solves a problem that validate() accepts (anything else is a fault of the caller and throws). Infeasible is an
/// answer. Without limits the result is proven and depends on the problem and the order only; Stats included.
[[nodiscard]] Solution solve(const Problem& problem, const Options& options = {});

}  // namespace allocation
