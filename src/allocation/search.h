// Depth-first search over nodes: any choice at all (surrogate row bound), or the cheapest one (Lagrangian bound).
// Exact: every refutation and every removal is decided in whole numbers; floats only steer.
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <vector>

#include "allocation/control.h"
#include "allocation/node.h"

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

struct SearchTuning {
  int root_feasibility_steps = 150;
  int node_feasibility_steps = 12;
  int root_cost_steps = 300;
  int node_cost_steps = 25;
  int swap_moves = 150;  ///< local search at a root
};

class Search {
 public:
  /// `pool` lends the nodes' memory, one per depth; it may be shared by searches that run one after the other.
  Search(Accept accept, Control& control, std::deque<Node>& pool)
      : accept_(std::move(accept)), control_(control), pool_(pool) {}

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
  };
  /// Propagates, prices and removes candidates that cannot cost at most `limit`. False = nothing is left.
  bool tighten(Node& root, double limit);
  CostResult minimise(Node& root, const CostQuestion& question, std::vector<int>& choice, std::int64_t& cost);

 private:
  Outcome find_below(int depth);
  Outcome leaf(const Node& a);
  Outcome split_singles(int depth, const std::function<Outcome(int)>& below);
  bool surrogate(Node& a, int steps, bool& found);
  bool surrogate_exact(Node& a, const std::vector<float>& weight, bool& removed);
  bool swap_search(Node& a, std::vector<int> at, int moves, double cost_limit, std::vector<int>& choice);
  std::vector<int> to_choice(const Node& a, const std::vector<int>& at) const;

  Outcome cheapest_below(int depth);
  void lagrange(Node& a, int steps);
  bool lagrange_exact(Node& a, const std::vector<float>& price, double& bound);
  void offer(const std::vector<int>& choice);
  Outcome pending() const;

  Node& node(int depth);
  bool tick();

  Accept accept_;
  Control& control_;
  std::deque<Node>& pool_;
  std::vector<int> found_;
  std::int64_t cap_ = 0, used_ = 0;
  bool gave_up_ = false;

  CostQuestion question_;
  double limit_ = kNoLimit;
  bool improved_ = false, want_rows_ = false;
  std::int64_t best_cost_ = 0;
  double open_bound_ = kNoLimit;

  // Scratch of one node's pricing.
  std::vector<float> sum_, best_weight_, weight_, load_float_;
  std::vector<double> exact_;
  std::vector<int> rows_;
  std::vector<float> row_weight_;
};

}  // namespace allocation
