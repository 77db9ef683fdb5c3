// The stages of the objective as quantities over choices.
#pragma once

#include <vector>

#include "allocation/engine.h"
#include "allocation/solution.h"

namespace allocation {

/// Options::order, or the default order for this problem.
[[nodiscard]] std::vector<Stage> order_for(const Problem& problem, const Options& options);

/// The quantity a cost stage minimises. `with_penalty`: Skip::penalty counts (the first least_budget stage).
[[nodiscard]] Quantity stage_quantity(const Problem& problem, const Stage& stage, bool with_penalty);

/// Smallest sum the acceptable candidates allow, stock and budgets aside.
[[nodiscard]] std::int64_t least_possible(const Problem& problem, const Quantity& quantity);

/// Totals of a choice: margin, weights, budgets, pieces, and the parts that serve it.
void fill_totals(const Engine& engine, Solution& solution);

}  // namespace allocation
