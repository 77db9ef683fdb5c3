// CBC as a referee of the allocation, on a model of its own: flow variables instead of Hall rows, one MILP per
// threshold of a bisection over the margins, then one for the mass. Test and benchmark code only.
#pragma once

#include <cstdint>

#include "allocation/problem.h"

namespace allocation::test {

struct Referee {
  bool decided = false;  ///< false: a solve ended without a verdict, or the time was over
  bool feasible = false;
  int margin = 0;         ///< worst margin, thousandths
  std::int64_t mass = 0;  ///< least mass at it, 0.1 g, penalties included
  int solves = 0;
};

/// `limit_s`: most seconds of all solves together; 0 = no limit.
[[nodiscard]] Referee ask_cbc(const Problem& problem, double limit_s = 0);

}  // namespace allocation::test
