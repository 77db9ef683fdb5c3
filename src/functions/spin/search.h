// Which gears bring one motor to every output: exhaustive over trains and one shared first stage, with exact pruning.
//
// Space: every output takes a train of 0 to `most_stages` meshes from the motor's axle, or goes through one shared
// first stage and takes 0 to `most_stages` - 1 more from there; all within the stock, every side its own set. Pruning
// (exact): of two ways to serve the same outputs that leave the motor and the shared axle with equally many gears, the
// one falls whose gears include the other's and that is no better in shafts, motor torque, force on the shared mesh,
// tooth margin and speed under load; everything later adds the same to both, so nothing made from it could survive
// candidate::keep_non_dominated.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/run_control.h"
#include "functions/spin/evaluate.h"

namespace functions::spin {

/// Sizes at which the search is cut and says so. Chosen for about half a second on one core with 12 gear classes of 6
/// pieces each; larger is slower and more complete.
struct Limits {
  std::size_t options = 60;        ///< trains kept per output
  std::size_t states = 150;        ///< part solutions kept after each output
  std::size_t layouts = 200;       ///< handed on per motor
  std::size_t shared_work = 1200;  ///< trains per output kept behind shared stages, over all of them: fewer shared
                                   ///< stages may keep more each, never less than a dozen, part solutions thrice that
  std::int64_t combined = 3'000'000;  ///< pairs of part solution and train looked at
};

struct Found {
  std::vector<Layout> layouts;
  std::int64_t examined = 0;
  bool complete = true;
  std::string limit_text;
};

/// `widen` = 1: only ratios inside the ranges; kNearMiss: also those that miss by that factor.
[[nodiscard]] Found search(const brief::Function&, const Wants&, const brief::Brief&, double widen,
                           candidate::RejectionLog&, const base::RunControl&, const Limits& = {});

}  // namespace functions::spin
