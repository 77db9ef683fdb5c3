// What the allocation answers, and how it may be asked: options, stages of the objective, the solution.
// Shared by the solver and the checker; holds no algorithm. Units as in problem.h.
#pragma once

#include <atomic>
#include <climits>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

namespace allocation {

/// Choice of a wished function that is left out.
inline constexpr int kSkipped = -1;

enum class StageKind {
  least_dropped_weight,  ///< smallest sum of Skip::weight over skipped functions
  best_worst_margin,     ///< largest worst margin over the functions that count
  least_budget,          ///< smallest total use of one budget (plus Skip::penalty in the first such stage)
  fewest_parts,          ///< fewest pieces taken by the chosen candidates
};

/// One criterion of the lexicographic objective.
struct Stage {
  StageKind kind = StageKind::best_worst_margin;
  std::string budget;  ///< name of the budget, for least_budget only

  friend bool operator==(const Stage&, const Stage&) = default;
};

/// least_dropped_weight, best_worst_margin and, where the problem has a budget named "mass", least_budget("mass").
[[nodiscard]] std::vector<Stage> default_order(bool has_mass_budget);

struct Progress {
  int stage = 0;           ///< index into Options::order
  bool has_best = false;   ///< false while nothing is known to be feasible
  std::int64_t best = 0;   ///< value of the stage reached so far
  std::int64_t bound = 0;  ///< no answer can beat this in the stage
  std::int64_t nodes = 0;
};

struct Options {
  std::vector<Stage> order;     ///< empty = default_order()
  double time_limit_s = 0;      ///< 0 = none; with a limit the answer depends on the machine's speed
  std::int64_t node_limit = 0;  ///< 0 = none; counted over all stages, so the answer stays reproducible
  int jobs = 1;                 ///< the answer does not depend on it; the search runs on the calling thread
  int max_listed_rows = 1500;   ///< Hall rows listed up front; beyond it rows are found by max-flow when needed
  const std::atomic<bool>* cancel = nullptr;      ///< set from any thread: stop with the best so far
  std::function<void(const Progress&)> progress;  ///< called from the solving thread, at most once per probe
};

enum class Status {
  optimal,                ///< every stage proven
  feasible_with_gap,      ///< a valid choice; at least one stage is not proven, see StageReport
  infeasible,             ///< proven: no choice exists
  stopped_without_answer  ///< a limit or the caller stopped the search before it knew
};

[[nodiscard]] const char* to_text(Status status);
[[nodiscard]] std::string to_text(const Stage& stage);

struct StageReport {
  Stage stage;
  std::int64_t value = 0;  ///< reached; INT_MAX as a worst margin = no function counts
  std::int64_t bound = 0;  ///< proven limit of what the stage could reach, given the earlier stages' values
  bool proven = false;     ///< value == bound

  /// Distance between value and bound, in the stage's own unit; 0 when proven.
  [[nodiscard]] std::int64_t gap() const { return value > bound ? value - bound : bound - value; }
};

/// Pieces of one part type.
struct Take {
  int part = 0;   ///< index into Problem::parts
  int count = 0;  ///< > 0

  friend bool operator==(const Take&, const Take&) = default;
};

/// The parts that serve one need.
struct Served {
  int function = 0;  ///< index into Problem::functions, or into Problem::reserves for Solution::reserves
  int cls = 0;       ///< the need's class
  std::vector<Take> takes;

  friend bool operator==(const Served&, const Served&) = default;
};

struct Stats {
  std::int64_t probes = 0;       ///< sub-problems built
  std::int64_t nodes = 0;        ///< search nodes
  std::int64_t price_steps = 0;  ///< multiplier updates
  int hall_rows = 0;             ///< rows listed up front
  int added_rows = 0;            ///< rows found by max-flow or clash while searching
};

struct Solution {
  Status status = Status::stopped_without_answer;
  std::vector<int> choice;     ///< per function: candidate index or kSkipped; empty without an answer
  int worst_margin = INT_MAX;  ///< thousandths; INT_MAX = no function counts
  std::int64_t dropped_weight = 0;
  std::int64_t penalty = 0;                 ///< sum of Skip::penalty over skipped functions
  std::int64_t parts_used = 0;              ///< pieces taken by the chosen candidates, reserves not counted
  std::vector<std::int64_t> budget_totals;  ///< per budget, penalties not included
  std::vector<Served> parts;                ///< one entry per function and need, in problem order
  std::vector<Served> reserves;             ///< one entry per reserve
  std::vector<StageReport> stages;          ///< as far as the search came
  bool lexicographically_first = false;     ///< among equal optima the smallest choice vector (a skip sorts last)
  Stats stats;

  [[nodiscard]] bool has_answer() const { return !choice.empty() || status == Status::optimal; }
};

}  // namespace allocation
