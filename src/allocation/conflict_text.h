// Conflicts and ways out in the names of the problem.
#pragma once

#include <string>
#include <vector>

#include "allocation/conflict.h"
#include "allocation/problem.h"

namespace allocation {

/// "slew and travel need at least 4 of 'gear 40 teeth'; stock has 3: slew 2, travel 2."
[[nodiscard]] std::string conflict_text(const Problem& problem, const Conflict& conflict);

/// "a", "a and b", "a, b and c".
[[nodiscard]] std::string join_names(const std::vector<std::string>& names, const char* last = " and ");

/// Names of part types, quoted; more than four are counted.
[[nodiscard]] std::string part_names(const Problem& problem, const std::vector<int>& parts);

/// Where a cell is: its name in the problem, or "cell 7".
[[nodiscard]] std::string place_name(const Problem& problem, int cell);

/// An amount of a budget in its unit: 1430 tenths -> "143 g".
[[nodiscard]] std::string amount_text(const Budget& budget, std::int64_t amount);

/// Thousandths as a factor: 870 -> "0.87".
[[nodiscard]] std::string margin_text(int margin);

}  // namespace allocation
