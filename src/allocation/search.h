// Depth-first search over nodes: any choice at all (surrogate row bound), or the cheapest one (Lagrangian bound).
// Exact: every refutation and every removal is decided in whole numbers; floats only steer.
#pragma once

#include <climits>
#include <cstdint>
#include <deque>
#include <functional>
#include <optional>
#include <utility>
#include <vector>

#include "allocation/control.h"
#include "allocation/load.h"
#include "allocation/node.h"
#include "allocation/sieve.h"

namespace allocation {

enum class Outcome {
  found,     ///< a choice was accepted (find_any); or proven cheapest reached (minimise)
  refuted,   ///< proven: none exists
  gave_up,   ///< the local node cap was reached
  stopped,   ///< Control said stop
  new_rows,  ///< the acceptance test found a violated row that was not in the node: build again
};

enum class Verdict { accepted, rejected, new_rows };

/// Tests a complete choice exactly, rows the node does not hold included.
using Accept = std::function<Verdict(const std::vector<int>& choice)>;

/// One candidate at least must be a newcomer, one whose margin is below `below`: as known, there is no choice
/// otherwise.
struct Newcomers {
  const std::vector<std::vector<int>>* margin = nullptr;  ///< [function][candidate + 1]
  int below = INT_MAX;                                    ///< INT_MAX = any choice will do

  [[nodiscard]] bool wanted() const { return below != INT_MAX; }
  [[nodiscard]] int of(int f, int candidate) const { return (*margin)[f][static_cast<std::size_t>(candidate + 1)]; }
  [[nodiscard]] bool is(int f, int candidate) const { return of(f, candidate) < below; }
};

struct SearchTuning {
  int root_feasibility_steps = 150;
  int node_feasibility_steps = 12;
  int root_cost_steps = 300;
  int node_cost_steps = 25;
  int swap_moves = 150;     ///< local search at a root
  int few_swap_moves = 20;  ///< for one of many questions
  /// The sieve is tried where there are no more choices than these, rows left aside, and ends after so many steps:
  /// about what the nodes take that it spares.
  double sieve_choices = 1e7;
  std::int64_t sieve_steps = 5000;
};

/// Lent to searches that run one after the other.
struct SearchMemory {
  std::deque<Node> nodes;  ///< one per depth
  Sieve sieve;
};

class Search {
 public:
  Search(Accept accept, Control& control, SearchMemory& memory)
      : accept_(std::move(accept)), control_(control), memory_(memory) {}

  SearchTuning tuning;

  /// Any accepted choice. node_cap 0 = none. On return root holds the last root prices for a warm start.
  Outcome find_any(Node& root, std::int64_t node_cap, std::vector<int>& choice);

  struct CostResult {
    Outcome outcome = Outcome::refuted;  ///< refuted = nothing (more) within the limit: the search is complete
    bool improved = false;               ///< choice and cost hold a new best
    double bound = 0;                    ///< valid lower bound on what was not searched, when stopped
  };
  /// Cheapest accepted choice with node cost <= limit; `exact_cost` gives the true cost and lowers the limit.
  /// `first_only`: stop at the first accepted choice within the limit.
  /// `limit_of` turns the best true cost into the new node cost limit (strictly better choices only).
  struct CostQuestion {
    double limit = 0;
    bool first_only = false;
    std::int64_t node_cap = 0;
    std::function<std::int64_t(const std::vector<int>&)> exact_cost;
    std::function<double(std::int64_t)> limit_below;
    std::int64_t must_not_exceed = INT64_MAX;
    Newcomers newcomers;
    /// Not the cheapest but the one of the largest worst margin is sought; the limits stay, newcomers.margin must be
    /// set.
    bool best_margin = false;
    /// Nor that, but the first of all in this order.
    std::function<bool(const std::vector<int>&, const std::vector<int>&)> before;
  };
  CostResult minimise(Node& root, const CostQuestion& question, std::vector<int>& choice, std::int64_t& cost);
  /// Of the accepted choices within the limit the first in the order of question.before, `choice` being one of them:
  /// refuted = no other comes before it. gave_up, stopped: choice may have improved all the same. What cannot be part
  /// of any is left out of root.
  Outcome first_within(Node& root, const CostQuestion& question, std::vector<int>& choice);

 private:
  Outcome find_below(int depth);
  Outcome leaf(const Node& a);
  Outcome split_singles(int depth, const std::function<Outcome(int)>& below);
  bool surrogate(Node& a, int steps, bool& found);
  double surrogate_room(const Node& a);
  bool surrogate_exact(Node& a);
  Outcome sift_any(const Node& a);
  static bool small(const Node& a);
  bool swap_search(Node& a, std::vector<int> at, int moves, double cost_limit, std::vector<int>& choice);
  std::vector<int> to_choice(const Node& a, const std::vector<int>& at) const;

  void begin(const CostQuestion& question);
  Outcome cheapest_below(int depth);
  Outcome take_newcomer(int depth, double bound);
  std::optional<Outcome> split_by_row(int depth, double bound);
  Outcome two_ways(int depth, int b, std::vector<char> marked, double bound);
  bool rise(Node& a) const;
  bool narrow(Node& a);
  void lagrange(Node& a, int steps);
  void count_taken(int function, int candidate);
  Outcome sift(Node& a);
  bool reduced_costs(const Node& a, double& unit, double& value);
  bool lagrange_exact(Node& a, double& bound);
  void drop_implied(Node& a, double room);
  void offer(const std::vector<int>& choice);
  Outcome pending() const;
  /// Of a front: much is known already, and mostly there is nothing to be found.
  [[nodiscard]] bool one_of_many() const { return question_.best_margin || question_.newcomers.wanted(); }

  Node& node(int depth);
  bool tick();

  Accept accept_;
  Control& control_;
  SearchMemory& memory_;
  std::vector<int> found_;
  std::int64_t cap_ = 0, used_ = 0;
  bool gave_up_ = false;

  CostQuestion question_;
  double limit_ = kNoLimit;
  bool improved_ = false, want_rows_ = false;
  std::int64_t best_cost_ = 0;
  int margin_above_ = INT_MIN;  ///< worst margin of the best choice found, where that is sought
  double open_bound_ = kNoLimit;

  /// Per function: which candidates were the cheapest in the last pricing, and how often.
  std::vector<std::vector<std::pair<int, int>>> taken_;

  // Scratch of one node's pricing.
  std::vector<float> sum_;
  std::vector<std::vector<float>> cost_;
  Load load_;
  std::vector<std::vector<std::int32_t>> charge_;
  std::vector<std::vector<double>> reduced_;
  std::vector<int> rows_;
  std::vector<float> row_weight_;
};

}  // namespace allocation
