// Malformed problems are refused here, all findings at once, before any search.
#pragma once

#include <string>
#include <vector>

#include "allocation/problem.h"
#include "allocation/solution.h"

namespace allocation {

/// Pieces over all functions and reserves may not exceed this, so that counts add up without overflow.
inline constexpr std::int64_t kMaxPieces = std::int64_t{1} << 28;
/// Sums of budget uses, penalties and weights over all functions may not exceed this.
inline constexpr std::int64_t kMaxSum = std::int64_t{1} << 60;

/// One sentence per defect: index out of range, negative or zero count, unsorted or repeated entry, sums that would
/// overflow. Empty = the problem may be solved.
[[nodiscard]] std::vector<std::string> validate(const Problem& problem);

/// The same for options against a problem: unknown budget names, repeated stages, negative limits.
[[nodiscard]] std::vector<std::string> validate(const Problem& problem, const Options& options);

}  // namespace allocation
