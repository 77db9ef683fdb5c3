// An enumerator of layouts that tries everything, for tests on small problems only: every sequence of pairs from the
// input outwards, every lattice line of the box for every new shaft, every slot, support, axle and axle position. It
// leaves out only what already breaks a rule and what is already dearer than a layout in hand. The judge (checker.h)
// has the last word; the search is not used.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "routing/layout.h"
#include "routing/problem.h"

namespace routing::test {

struct BruteResult {
  /// Least cost of every geometric layout that can be built (the input's line, places, lines, pairs, which wheels are
  /// shared), by geometry_of().
  std::map<std::string, std::int64_t> least_cost;
  std::optional<Layout> best;   ///< one of least cost
  std::int64_t structures = 0;  ///< complete trains on lattice lines that were tried for slots
};

[[nodiscard]] BruteResult enumerate(const Problem& problem);

/// Text that is equal for layouts that differ in slots, supports, bushes and axles only.
[[nodiscard]] std::string geometry_of(const Problem& problem, const Layout& layout);

}  // namespace routing::test
