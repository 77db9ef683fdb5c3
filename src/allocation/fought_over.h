// The rows and budgets a conflict is about: so few that none of them could be left out.
#pragma once

#include <vector>

#include "allocation/engine.h"

namespace allocation {

struct Fight {
  std::vector<int> rows;     ///< positions in Engine::row_meanings()
  std::vector<int> budgets;  ///< indices into Problem::budgets
  bool irreducible = false;  ///< without any one of them the members could be had together: proven
};

/// `members` cannot be had together; `meanings` are the engine's rows; `proof` (may be null) are prices that say so.
/// The engine must be complete(). Nothing when it was stopped, or where a question needs more nodes than one may take.
/// Narrow rows are preferred, for they say more.
[[nodiscard]] Fight fought_over(Engine& engine, const std::vector<Engine::RowMeaning>& meanings,
                                const std::vector<char>& members, const Engine::Prices* proof, Control& control);

}  // namespace allocation
