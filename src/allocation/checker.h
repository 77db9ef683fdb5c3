// An independent judge of allocations: shares problem.h and solution.h with the solver and no code. Library
// kw_allocation_checker. It judges validity, not optimality.
#pragma once

#include <string>
#include <vector>

#include "allocation/problem.h"
#include "allocation/solution.h"

namespace allocation {

/// Violations of a bare choice (kSkipped = left out): candidates, floors, locks, budgets, shared cells, and whether
/// the stock can serve all needs and reserves, by its own flow with single augmenting paths. Empty = valid.
[[nodiscard]] std::vector<std::string> check_choice(const Problem& problem, const std::vector<int>& choice);

/// check_choice plus everything the solution says about itself: totals, stage values and gaps, status, and the
/// assignment of parts and reserves piece by piece. Empty = valid.
[[nodiscard]] std::vector<std::string> check_solution(const Problem& problem, const Solution& solution);

}  // namespace allocation
