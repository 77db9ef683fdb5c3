// Which parts serve which needs: a max-flow from classes to merged part types (Dinic's algorithm).
#pragma once

#include <cstdint>
#include <vector>

#include "allocation/hall_rows.h"
#include "allocation/problem.h"
#include "allocation/solution.h"

namespace allocation {

/// Pieces needed per class, reserves included, for one choice (kSkipped = no needs).
[[nodiscard]] std::vector<std::int64_t> needs_of_choice(const Problem& problem, const HallSystem& system,
                                                        const std::vector<int>& choice);

struct FlowResult {
  bool served = false;
  /// class -> (merged type, pieces), in type order. Filled only when everything is served.
  std::vector<std::vector<std::pair<int, std::int64_t>>> by_class;
  /// Otherwise: unions of merged types that violate Hall's condition, one per connected piece of the minimum cut.
  std::vector<std::vector<int>> violated;
  std::int64_t missing = 0;  ///< pieces that cannot be served
};

[[nodiscard]] FlowResult serve_needs(const HallSystem& system, const std::vector<std::int64_t>& needed);

/// Writes Solution::parts and Solution::reserves from a flow that serves everything.
void assign_parts(const Problem& problem, const HallSystem& system, const FlowResult& flow, Solution& solution);

}  // namespace allocation
