// The problem compiled for searching: candidates by falling margin, rows built when a threshold first admits a
// candidate, and the three questions every caller asks: any choice, the best worst margin, the cheapest choice.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "allocation/columns.h"
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
  [[nodiscard]] std::int64_t most_of(int f) const;  ///< largest value of the function
};

/// A quantity that may not exceed `most`. `id` < Engine::kMostQuantities names it across probes (price warm start).
struct Limit {
  const Quantity* quantity = nullptr;
  std::int64_t most = INT64_MAX;
  int id = 0;
};

/// What may be taken of one function besides floors, locks and the threshold: kSkipped, the skip alone, or one of
/// these.
inline constexpr int kAnything = -2;      ///< every candidate and the skip
inline constexpr int kAnyCandidate = -3;  ///< every candidate, not the skip
inline constexpr int kShortListed = -4;   ///< the candidates on the function's short list
/// Per function; empty = anything of every function.
using Allowed = std::vector<int>;

class Engine {
 public:
  static constexpr int kMostQuantities = 256;

  Engine(const Problem& problem, Control& control);

  struct Found {
    Outcome outcome = Outcome::refuted;  ///< found, refuted, gave_up or stopped
    std::vector<int> choice;
  };
  /// Any choice with every margin >= threshold within the limits.
  Found find(int threshold, const std::vector<Limit>& limits, std::int64_t node_cap = 0, const Allowed& allowed = {});

  /// Of the choices that cost at most `cost.most` besides, one of the largest worst margin; with gave_up and stopped
  /// the best one met, if any. `none_from`: as known, no such choice has a worst margin of that or more, so one
  /// candidate at least must be below it: a newcomer.
  Found find_within(int threshold, const std::vector<Limit>& limits, const Limit& cost, std::int64_t node_cap = 0,
                    int none_from = INT_MAX);

  struct BestMargin {
    Outcome outcome = Outcome::refuted;  ///< found = proven best; stopped: choice may hold an unproven answer
    std::vector<int> choice;
    int margin = 0;
    int bound = 0;  ///< no choice has a larger worst margin
  };
  /// Largest worst margin within the limits, at most `ceiling`. With `cost`, one more limit, which its choices are
  /// sought by: by far quicker where it is the limit that binds. `none_from` as above.
  BestMargin best_margin(const std::vector<Limit>& limits, int ceiling = INT_MAX, const Limit* cost = nullptr,
                         int none_from = INT_MAX);

  struct Cheapest {
    Outcome outcome = Outcome::refuted;  ///< found = proven cheapest; refuted = none within the limits; or stopped
    std::vector<int> choice;             ///< empty = none found
    std::int64_t cost = 0;
    std::int64_t bound = 0;
  };
  /// Cheapest choice at the threshold within the limits; `start` (may be empty) is a known choice that satisfies them.
  /// `none_from`: as known, what is cheaper than `start` has no worst margin of that or more; a bound is then not
  /// given.
  Cheapest cheapest(int threshold, const std::vector<Limit>& limits, const Limit& cost, std::vector<int> start,
                    int none_from = INT_MAX);

  /// The lexicographically first choice (a skip sorts last) at the threshold within the limits, starting from a known
  /// one. False = a limit stopped it; choice is then valid but perhaps not the first.
  /// `none_from`: as known, no choice within the limits has a worst margin of that or more.
  bool lexicographically_first(int threshold, const std::vector<Limit>& limits, std::vector<int>& choice,
                               int none_from = INT_MAX);

  /// What a row says, for explanations.
  struct RowMeaning {
    std::vector<int> types;  ///< Hall row: merged part types; empty with cell >= 0
    int cell = -1;
    std::int64_t cap = 0;
    std::vector<std::int64_t> least;  ///< per function: smallest value over the allowed candidates
  };
  /// The structural rows with each function's least share over its acceptable candidates, the skip left aside.
  [[nodiscard]] std::vector<RowMeaning> row_meanings();
  /// The question with some rows only, by their position in row_meanings(): a problem with one class per row, of which
  /// there is enough for everything, and with the budgets of budget_limits(). Only functions with `in` set; candidates
  /// that need no less of anything than another are left out. `origin[f][c]`: the candidate of this problem that
  /// candidate c of its f-th function stands for.
  [[nodiscard]] Problem with_rows(const std::vector<int>& rows, const std::vector<char>& in,
                                  std::vector<std::vector<int>>& origin);
  /// find() takes these for the rows' capacities; they must not be larger.
  void tighten_rows(std::vector<std::int64_t> caps) { tight_caps_ = std::move(caps); }
  /// The rows that a choice exceeds.
  [[nodiscard]] std::vector<int> exceeded_rows(const std::vector<int>& choice) const;
  /// All rows that can matter are listed, so nothing is added while searching.
  [[nodiscard]] bool complete() const { return hall_.complete && cells_complete_; }

  /// Whole-number prices of the rows and of the budgets with a limit (as in budget_limits()). `worth` is what all
  /// capacities cost at these prices: functions whose cheapest candidates cost more together cannot be had together.
  struct Prices {
    std::vector<std::int64_t> row, budget;
    std::int64_t worth = 0;
    [[nodiscard]] bool any() const { return worth > 0; }
  };
  /// The prices by which the last find() searched, or the one row or budget that refuted it at once; none when neither.
  [[nodiscard]] Prices last_prices() const;
  /// Equal prices for equal shares of every capacity.
  [[nodiscard]] Prices even_prices() const;
  static constexpr std::int64_t kImpossible = std::int64_t{1} << 50;  ///< a cost beyond every worth
  /// Cost of the cheapest acceptable candidate (not the skip), kImpossible when there is none that fits by itself.
  /// The `n` cheapest go on the function's short list; `fresh` is set when one was not there yet.
  std::int64_t least_cost(int f, const Prices& prices, int n, bool& fresh);
  void add_to_short_lists(const std::vector<int>& choice);
  /// Of function f, skipped in `choice`: the candidate that fits beside the others and takes the least of the room they
  /// leave, or kSkipped.
  int beside(const std::vector<int>& choice, int f);

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
  /// What is left of one function. Without columns: the skip alone.
  struct Domain {
    const Columns* columns = nullptr;
    const std::vector<int>* item = nullptr;  ///< column -> position in `order`
    std::vector<std::int32_t> gone;          ///< mask of the columns
    int left = 0;                            ///< columns not gone
    int measured = 0;                        ///< left when low and high were taken
    std::vector<std::int32_t> low, high;     ///< per row
  };
  struct FunctionItems {
    std::vector<int> order;   ///< acceptable candidates by falling margin, then index; kSkipped for the skip
    std::vector<int> margin;  ///< of order[i]
    int skip_at = -1;         ///< position of the skip in `order`, or -1
    int built = 0;            ///< the first `built` positions have a column or are dead
    Columns all;              ///< a column per item that exceeds no row on its own
    std::vector<int> item;    ///< column -> position in `order`
    std::vector<int> column;  ///< position -> column, or -1
    std::vector<int> dead;    ///< positions without a column
    Columns of_dead;          ///< theirs, built when asked for
    Columns short_list;
    std::vector<int> short_item;  ///< column of the short list -> position in `order`
    std::vector<char> is_short;   ///< per position

    /// The domain asked for last before anything was removed: many questions differ in other functions only.
    Domain whole;
    int whole_admitted = 0;
    bool whole_known = false, whole_skip = false;
  };
  enum class Built { ready, refuted };

  void list_items();
  void list_cells();
  void add_row(Row row);
  void build_rows(int f, int count);
  void build_all_rows(int f) { build_rows(f, static_cast<int>(items_[f].order.size())); }
  void build_dead(int f);
  bool fill_tile(int f, int position, int slot);
  void clear_tile(int f, int position, int slot);
  void put_tile(FunctionItems& it, std::vector<int>& positions);
  std::int32_t row_value(const Row& row, int f, int candidate) const;
  static void add_short(FunctionItems& it, int column);
  int column_of(int f, int candidate);
  static void measure(Domain& d, const std::vector<int>& rows);
  bool cheap_enough(const Limit& cost, std::int64_t most, int none_from, std::vector<Domain>& domain) const;
  std::vector<std::int32_t> mask_of(const FunctionItems& it) const;
  Prices whole_prices(const std::vector<double>& row, const std::vector<double>& budget) const;
  bool domain_of(int f, int threshold, int allowed, Domain& out);
  Built build(int threshold, const std::vector<Limit>& limits, const Limit* cost, std::int64_t cost_most,
              const Allowed& allowed, Node& out, int none_from = INT_MAX);
  Verdict accept(const std::vector<int>& choice, const std::vector<Limit>& limits);
  std::optional<int> shared_cell(const std::vector<int>& choice) const;
  void warm(Node& node, const std::vector<float>& prices) const;
  static void remember(const Node& node, std::vector<float>& prices);
  void warm_cost(Node& node, const Limit& cost);
  void remember_cost(const Node& node);
  [[nodiscard]] double node_cost(std::int64_t most) const;

  const Problem& problem_;
  Control& control_;
  HallSystem hall_;
  std::vector<Row> rows_;
  std::vector<std::vector<int>> class_rows_;
  std::vector<std::int32_t> class_cap_;  ///< the smallest capacity of a class's rows
  std::vector<int> cell_row_;            ///< cell -> row, or -1
  bool cells_complete_ = true;
  std::vector<std::int32_t> tile_, caps_;  ///< scratch: columns being built; the rows' capacities
  std::vector<FunctionItems> items_;
  std::vector<int> thresholds_;
  std::vector<std::vector<int>> margins_;  ///< [function][candidate + 1]
  std::vector<Quantity> budget_quantity_;
  std::vector<Limit> budget_limits_;
  std::vector<std::int64_t> tight_caps_;  ///< see tighten_rows()
  std::vector<float> margin_prices_, cost_prices_;
  int priced_cost_ = -1;               ///< the limit that cost_prices_ are for
  std::int64_t priced_cost_step_ = 1;  ///< and their unit
  std::vector<int> all_rows_;
  bool priced_ = false;                           ///< the last find() left its prices in margin_prices_
  int refuting_row_ = -1, refuting_budget_ = -1;  ///< what refuted the last build at once

  SearchMemory memory_;  ///< kept between probes
  Node root_, trial_;

  // How node costs relate to true costs in the last build with a cost.
  std::int64_t cost_offset_ = 0, cost_step_ = 1;
};

}  // namespace allocation
