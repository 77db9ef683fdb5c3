// Which gears bring one motor to every output: exhaustive over trains and one shared first stage, with exact pruning.
//
// Space: every output takes a train of 0 to `most_stages` meshes from the motor's axle, or goes through one shared
// first stage and takes 0 to `most_stages` - 1 more from there; all within the stock, every side its own set. Pruning
// (exact, pruning.h): of two ways to serve the same outputs that leave the motor and the shared axle with equally many
// gears, the one falls whose gears include the other's and that is better in nothing that can still matter: shafts,
// told current, worst margin. So a longer train whose gears hold a shorter good one falls at once, and of ways with
// ample margins only those with the fewest gears stay.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/run_control.h"
#include "functions/spin/evaluate.h"

namespace functions::spin {

/// Where the search is cut, and says so. Two outputs on a kit of a dozen gear classes stay far below; three outputs
/// have some hundred thousand non-dominated sets of gears, which nobody could choose from. Larger is more complete and
/// slower (a million pairs take about 2 s on one core, all of it domination).
struct Limits {
  std::int64_t combined = 400'000;  ///< pairs of part solution and way looked at, per motor
  std::size_t layouts = 4000;       ///< handed on, per motor
};

struct Found {
  std::vector<Layout> layouts;
  std::int64_t examined = 0;
  bool complete = true;
  std::int64_t left_out = 0;  ///< whole and part solutions dropped for a limit's sake, each with gears of its own
  double best_left_out = 0;   ///< no layout made of them has a better worst margin
  std::string stopped_by;     ///< other reasons to be incomplete
};

/// `widen` = 1: only what holds its ranges, from no load to full load; kNearMiss: also what misses by that factor.
[[nodiscard]] Found search(const brief::Function&, const Wants&, const brief::Brief&, double widen,
                           candidate::RejectionLog&, const base::RunControl&, const Limits& = {});

/// What was left out and what it could have gained, given the best worst margin listed; empty when complete.
[[nodiscard]] std::string limit_text(const Found&, double best_listed);

}  // namespace functions::spin
