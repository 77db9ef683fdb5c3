// The problem compiled for searching: candidates by falling margin, rows built when a threshold first admits a
// candidate, and the three questions every caller asks: any choice, the best worst margin, the cheapest choice.
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <vector>

#include "allocation/control.h"
#include "allocation/hall_rows.h"
#include "allocation/problem.h"
#include "allocation/search.h"

namespace allocation {

/// A linear quantity over choices: value[f][candidate + 1], entry 0 = skipped. Whole numbers >= 0.
struct Quantity {
  std::vector<std::vector<std::int64_t>> value;

  [[nodiscard]] std::int64_t of(int f, int candidate) const {
    return value[f][static_cast<std::size_t>(candidate + 1)];
  }
  [[nodiscard]] std::int64_t of(const std::vector<int>& choice) const;
};

/// A quantity that may not exceed `most`. `id` < Engine::kMostQuantities names it across probes (price warm start).
struct Limit {
  const Quantity* quantity = nullptr;
  std::int64_t most = INT64_MAX;
  int id = 0;
};

/// Which candidates of each function may be taken (besides floors, locks and the threshold).
using Allowed = std::function<bool(int function, int candidate)>;

class Engine {
 public:
  static constexpr int kMostQuantities = 256;

  Engine(const Problem& problem, Control& control);

  struct Found {
    Outcome outcome = Outcome::refuted;  ///< found, refuted, gave_up or stopped
    std::vector<int> choice;
  };
  /// Any choice with every margin >= threshold within the limits.
  Found find(int threshold, const std::vector<Limit>& limits, std::int64_t node_cap = 0,
             const Allowed& allowed = nullptr);

  struct BestMargin {
    Outcome outcome = Outcome::refuted;  ///< found = proven best; stopped: choice may hold an unproven answer
    std::vector<int> choice;
    int margin = 0;
    int bound = 0;  ///< no choice has a larger worst margin
  };
  /// Largest worst margin within the limits, at most `ceiling`.
  BestMargin best_margin(const std::vector<Limit>& limits, int ceiling = INT_MAX);

  struct Cheapest {
    Outcome outcome = Outcome::refuted;  ///< found = proven cheapest; refuted = none within the limits; or stopped
    std::vector<int> choice;             ///< empty = none found
    std::int64_t cost = 0;
    std::int64_t bound = 0;
  };
  /// Cheapest choice at the threshold within the limits; `start` (may be empty) is a known choice that satisfies them.
  Cheapest cheapest(int threshold, const std::vector<Limit>& limits, const Limit& cost, std::vector<int> start);

  /// The lexicographically first choice (a skip sorts last) at the threshold within the limits, starting from a known
  /// one. False = a limit stopped it; choice is then valid but perhaps not the first.
  bool lexicographically_first(int threshold, const std::vector<Limit>& limits, std::vector<int>& choice);

  /// What a row says, for explanations.
  struct RowMeaning {
    std::vector<int> types;  ///< Hall row: merged part types; empty with cell >= 0
    int cell = -1;
    std::int64_t cap = 0;
    std::vector<std::int64_t> least;  ///< per function: smallest value over the allowed candidates
  };
  /// The structural rows with each function's least share, over candidates at least at the threshold.
  [[nodiscard]] std::vector<RowMeaning> row_meanings(const Allowed& allowed);
  /// Rows switched off (by position in row_meanings()) are ignored by find() until the next call. Empty = none.
  /// Only for engines that are complete().
  void switch_off(std::vector<char> rows) { off_ = std::move(rows); }
  /// All rows that can matter are listed, so nothing is added while searching.
  [[nodiscard]] bool complete() const { return hall_.complete && cells_complete_; }

  [[nodiscard]] int worst_margin(const std::vector<int>& choice) const;
  [[nodiscard]] const HallSystem& hall() const { return hall_; }
  [[nodiscard]] const Problem& problem() const { return problem_; }
  Control& control() { return control_; }
  /// Distinct margins that can be a worst margin, falling.
  [[nodiscard]] const std::vector<int>& thresholds() const { return thresholds_; }
  [[nodiscard]] const std::vector<Limit>& budget_limits() const { return budget_limits_; }
  /// budgets as quantities, in problem order
  [[nodiscard]] const Quantity& budget(int b) const { return budget_quantity_[b]; }

 private:
  struct Row {
    std::int64_t cap = 0;
    std::vector<char> inside;  ///< Hall row: per class; empty for a cell row
    int cell = 0;
  };
  struct FunctionItems {
    std::vector<int> order;          ///< acceptable candidates by falling margin, then index; kSkipped for the skip
    std::vector<int> margin;         ///< of order[i]
    std::size_t built = 0;           ///< the first `built` have their rows
    std::vector<std::int32_t> rows;  ///< built x stride_
    std::vector<char> dead;          ///< exceeds a row on its own
  };
  enum class Built { ready, refuted };

  void list_items();
  void list_cells();
  void add_row(Row row);
  void build_rows(int f, std::size_t count);
  void fill(int f, std::size_t item, int first_row);
  std::int32_t row_value(const Row& row, int f, int candidate) const;
  Built build(int threshold, const std::vector<Limit>& limits, const Limit* cost, std::int64_t cost_most,
              const Allowed& allowed, Node& out);
  Verdict accept(const std::vector<int>& choice, const std::vector<Limit>& limits);
  std::optional<int> shared_cell(const std::vector<int>& choice) const;
  void warm(Node& node, const std::vector<float>& prices) const;
  static void remember(const Node& node, std::vector<float>& prices);

  const Problem& problem_;
  Control& control_;
  HallSystem hall_;
  std::vector<Row> rows_;
  std::vector<std::vector<int>> class_rows_;
  std::map<int, int> cell_row_;  ///< cell -> row, for the cells that have one
  bool cells_complete_ = true;
  std::vector<char> off_;
  int stride_ = 0;
  std::vector<std::int32_t> caps_;  ///< stride_ entries, unused ones huge
  std::vector<FunctionItems> items_;
  std::vector<int> thresholds_;
  std::vector<Quantity> budget_quantity_;
  std::vector<Limit> budget_limits_;
  std::vector<float> margin_prices_, cost_prices_;

  std::deque<Node> pool_;  ///< memory of search nodes, kept between probes
  Node root_;

  // How node costs relate to true costs in the last build with a cost.
  std::int64_t cost_offset_ = 0, cost_step_ = 1;
};

}  // namespace allocation
