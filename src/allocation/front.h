// The trade-off front: what every compromise costs.
#pragma once

#include <string>
#include <vector>

#include "allocation/problem.h"
#include "allocation/solution.h"

namespace allocation {

struct FrontOptions {
  Options search;               ///< limits, cancel, progress; its order is not used
  std::string budget = "mass";  ///< the cost axis; Skip::penalty of skipped functions is added to it
  bool with_parts = true;       ///< third axis: pieces used. false: margin and cost only
  int max_points = 0;           ///< 0 = all; reaching it leaves the front incomplete, with its gap
};

struct FrontPoint {
  int worst_margin = 0;  ///< thousandths, larger is better
  std::int64_t cost = 0;
  std::int64_t pieces = 0;
  Solution solution;  ///< status optimal: no choice is as good in all axes and better in one
};

/// What a stopped search has not excluded: points with cost <= most_cost, pieces <= most_pieces (INT64_MAX = any) and
/// a worst margin of at most margin_bound.
struct OpenRegion {
  std::int64_t most_cost = 0, most_pieces = 0;
  int margin_bound = 0;
};

struct Front {
  Status status = Status::stopped_without_answer;  ///< optimal: complete; infeasible; otherwise see `open`
  std::vector<FrontPoint> points;                  ///< every vector of values once; falling margin, then rising cost
  bool complete = false;
  std::vector<OpenRegion> open;     ///< the gap of an incomplete front; points found are on the front all the same
  std::int64_t dropped_weight = 0;  ///< the least possible, the same in all points
  Stats stats;
};

/// Non-dominated points in (worst margin up, cost down, pieces down) among choices that drop the least weight. Exact.
[[nodiscard]] Front trade_off_front(const Problem& problem, const FrontOptions& options = {});

}  // namespace allocation
