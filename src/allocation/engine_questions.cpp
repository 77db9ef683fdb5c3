// The questions: any choice, best worst margin, cheapest choice, lexicographically first choice.
#include <algorithm>

#include "allocation/engine.h"
#include "base/check.h"

namespace allocation {
namespace {

/// Galloping: the first probe admits this share of the thresholds, each later one twice as many.
constexpr double kFirstShare = 0.03;
/// Node cap of a galloping probe: a hard middle threshold is passed over and settled later, or never when the bottom
/// is infeasible too.
constexpr std::int64_t kGallopNodes = 60;
/// Where choices are sought by their cost: what is proven above a threshold is not asked again below it, so a probe
/// given up is work done twice; only what is out of proportion is.
constexpr std::int64_t kCostGallopNodes = 1000;
/// Node cap of one step of the tie-break; beyond it the answer stays optimal but perhaps not the first of its equals.
constexpr std::int64_t kTieNodes = 20000;
/// Node cap for trying all equals at once. About what the steps take that it spares; with many equals all of it is
/// lost.
constexpr std::int64_t kAllTiesNodes = 30;

}  // namespace

int Engine::worst_margin(const std::vector<int>& choice) const {
  int worst = INT_MAX;
  for (std::size_t f = 0; f < choice.size(); ++f) {
    const Function& function = problem_.functions[f];
    worst = std::min(worst, choice[f] == kSkipped ? function.skip->margin : function.candidates[choice[f]].margin);
  }
  return worst;
}

Engine::Found Engine::find(int threshold, const std::vector<Limit>& limits, std::int64_t node_cap,
                           const Allowed& allowed) {
  Found out;
  priced_ = false;
  for (;;) {
    Node& root = root_;
    if (build(threshold, limits, nullptr, 0, allowed, root) == Built::refuted) {
      out.outcome = Outcome::refuted;
      return out;
    }
    warm(root, margin_prices_);
    Search search([&](const std::vector<int>& choice) { return accept(choice, limits); }, control_, memory_);
    out.outcome = search.find_any(root, node_cap, out.choice);
    remember(root, margin_prices_);
    priced_ = root.n_rows() > 0;
    if (out.outcome != Outcome::new_rows) return out;
  }
}

Engine::Found Engine::find_within(int threshold, const std::vector<Limit>& limits, const Limit& cost,
                                  std::int64_t node_cap, int none_from) {
  Found out;
  for (;;) {
    Node& root = root_;
    if (build(threshold, limits, &cost, cost.most, {}, root, none_from) == Built::refuted) {
      out.outcome = Outcome::refuted;
      return out;
    }
    warm_cost(root, cost);
    Search search([&](const std::vector<int>& found) { return accept(found, limits); }, control_, memory_);
    Search::CostQuestion question;
    question.limit = node_cost(cost.most);
    question.best_margin = true;
    question.node_cap = node_cap;
    question.exact_cost = [&](const std::vector<int>& found) { return cost.quantity->of(found); };
    question.limit_below = [&](std::int64_t) { return question.limit; };
    question.must_not_exceed = cost.most;
    question.newcomers = {&margins_, none_from};
    std::int64_t found_cost = 0;
    const Search::CostResult result = search.minimise(root, question, out.choice, found_cost);
    remember_cost(root);
    if (result.outcome == Outcome::new_rows) continue;
    out.outcome = result.outcome == Outcome::refuted && result.improved ? Outcome::found : result.outcome;
    return out;
  }
}

Engine::BestMargin Engine::best_margin(const std::vector<Limit>& limits, int ceiling, const Limit* cost,
                                       int none_from) {
  BestMargin out;
  const auto any = [&](int threshold, std::int64_t node_cap) {
    return cost == nullptr ? find(threshold, limits, node_cap)
                           : find_within(threshold, limits, *cost, node_cap, none_from);
  };
  const auto first = static_cast<int>(
      std::partition_point(thresholds_.begin(), thresholds_.end(),
                           [&](int t) { return t > ceiling || (none_from != INT_MAX && t >= none_from); }) -
      thresholds_.begin());
  const int size = static_cast<int>(thresholds_.size());
  if (first >= size) return out;
  // Thresholds before `refuted` have no choice; `known` is the worst margin of the best choice found.
  int refuted = first, known = size;
  out.bound = thresholds_[first];
  auto take = [&](std::vector<int> choice) {
    out.choice = std::move(choice);
    out.margin = worst_margin(out.choice);
    known = static_cast<int>(std::lower_bound(thresholds_.begin(), thresholds_.end(), out.margin, std::greater<>()) -
                             thresholds_.begin());
    KW_CHECK(known < size && thresholds_[known] == out.margin, "a worst margin that no candidate has");
    known = std::max(known, first);  // above the ceiling counts as the ceiling
  };
  auto report = [&] {
    const Options& options = control_.options();
    if (options.progress) {
      options.progress({0, !out.choice.empty(), out.margin, out.bound, control_.stats().nodes});
    }
  };

  double share = kFirstShare;
  for (;;) {
    const int at = std::min(size - 1, first + static_cast<int>((size - first) * share));
    share *= 2;
    const bool bottom = at == size - 1;
    Found probe = any(thresholds_[at], bottom ? 0 : cost == nullptr ? kGallopNodes : kCostGallopNodes);
    if (probe.outcome == Outcome::found || !probe.choice.empty()) take(std::move(probe.choice));
    if (probe.outcome == Outcome::stopped) {
      out.outcome = Outcome::stopped;
      return out;
    }
    if (probe.outcome == Outcome::found && cost != nullptr) refuted = known;
    if (known < size) {
      report();
      break;
    }
    if (probe.outcome == Outcome::refuted) {
      refuted = std::max(refuted, at + 1);
      none_from = std::min(none_from, thresholds_[at]);
      if (bottom) return out;
      out.bound = thresholds_[refuted];
    }
    report();
  }
  while (refuted < known) {
    const int at = cost == nullptr ? refuted + (known - 1 - refuted) / 2 : known - 1;
    Found probe = any(thresholds_[at], 0);
    if (probe.outcome == Outcome::found || !probe.choice.empty()) take(std::move(probe.choice));
    if (probe.outcome == Outcome::found) {
      if (cost != nullptr) refuted = known;
    } else if (probe.outcome == Outcome::refuted) {
      refuted = at + 1;
      none_from = std::min(none_from, thresholds_[at]);
    } else {
      out.outcome = Outcome::stopped;
      return out;
    }
    out.bound = thresholds_[std::min(refuted, size - 1)];
    report();
  }
  out.bound = out.margin;
  out.outcome = Outcome::found;
  return out;
}

Engine::Cheapest Engine::cheapest(int threshold, const std::vector<Limit>& limits, const Limit& cost,
                                  std::vector<int> start, int none_from) {
  Cheapest out;
  out.outcome = Outcome::stopped;
  if (start.empty()) {
    Found any = find(threshold, limits);
    if (any.outcome != Outcome::found) {
      out.outcome = any.outcome;
      return out;
    }
    start = std::move(any.choice);
  }
  out.choice = std::move(start);
  out.cost = cost.quantity->of(out.choice);
  for (;;) {
    Node& root = root_;
    out.bound = 0;
    if (cost.most < out.cost || build(threshold, limits, &cost, out.cost - 1, {}, root, none_from) == Built::refuted) {
      break;
    }
    warm_cost(root, cost);
    Search search([&](const std::vector<int>& choice) { return accept(choice, limits); }, control_, memory_);
    Search::CostQuestion question;
    question.limit = node_cost(out.cost - 1);
    question.exact_cost = [&](const std::vector<int>& choice) { return cost.quantity->of(choice); };
    question.limit_below = [&](std::int64_t found) { return node_cost(found - 1); };
    question.must_not_exceed = out.cost - 1;
    question.newcomers = {&margins_, none_from};
    const Search::CostResult result = search.minimise(root, question, out.choice, out.cost);
    remember_cost(root);
    if (const Options& options = control_.options(); options.progress) {
      options.progress({0, true, out.cost, out.cost, control_.stats().nodes});
    }
    if (result.outcome == Outcome::new_rows) continue;
    if (result.outcome == Outcome::refuted) break;
    // Stopped: everything not searched costs at least the root bound.
    const double open = std::max(0.0, result.bound);
    if (none_from == INT_MAX) {
      out.bound = std::min(out.cost, cost_offset_ + static_cast<std::int64_t>(open) * cost_step_);
    }
    return out;
  }
  out.bound = out.cost;
  out.outcome = Outcome::found;
  return out;
}

bool Engine::lexicographically_first(int threshold, const std::vector<Limit>& limits, std::vector<int>& choice,
                                     int none_from) {
  auto key = [](int c) { return c == kSkipped ? INT_MAX : c; };
  const int n = static_cast<int>(choice.size());
  KW_CHECK(!limits.empty(), "the tie-break needs a limit to steer by");
  // The last limit steers as a cost: at an optimum it is tight and its Lagrangian bound removes nearly everything.
  const Limit cost = limits.back();
  const std::vector<Limit> others(limits.begin(), limits.end() - 1);
  const auto accept_within = [&](const std::vector<int>& found) { return accept(found, limits); };
  Search::CostQuestion question;
  question.exact_cost = [&](const std::vector<int>& found) { return cost.quantity->of(found); };
  question.limit_below = [&](std::int64_t) { return question.limit; };
  question.must_not_exceed = cost.most;
  question.newcomers = {&margins_, none_from};
  Search::CostQuestion of_all = question;
  of_all.node_cap = kAllTiesNodes;
  question.first_only = true;
  question.node_cap = kTieNodes;
  of_all.before = [&](const std::vector<int>& a, const std::vector<int>& b) {
    return std::lexicographical_compare(a.begin(), a.end(), b.begin(), b.end(),
                                        [&](int x, int y) { return key(x) < key(y); });
  };
  Node &reduced = root_, &root = trial_;
  int reduced_rows = -1;
  for (int f = 0; f < n;) {
    if (reduced_rows != static_cast<int>(rows_.size())) {
      if (build(threshold, others, &cost, cost.most, {}, reduced, none_from) == Built::refuted) {
        return true;
      }
      warm_cost(reduced, cost);
      reduced_rows = static_cast<int>(rows_.size());
      question.limit = of_all.limit = node_cost(cost.most);
      // Mostly so few choices are as good that all of them can be tried.
      Search search(accept_within, control_, memory_);
      const Outcome out = search.first_within(reduced, of_all, choice);
      if (out == Outcome::refuted) return true;
      if (out == Outcome::stopped) return false;
      if (out == Outcome::new_rows) continue;
    }
    // Earlier functions keep their choice, function f must come earlier than it does now.
    copy_node(reduced, root);
    bool possible = root.choice[f] == kUndecided;
    for (int b = root.n_blocks - 1; b >= 0 && possible; --b) {
      const Block& block = root.blocks[b];
      if (block.function > f) continue;
      std::vector<std::int32_t> dead(block.stride, 0);
      bool any = false;
      for (int c = 0; c < block.n; ++c) {
        const bool keep = block.function < f ? block.candidate[c] == choice[block.function]
                                             : key(block.candidate[c]) < key(choice[f]);
        dead[c] = keep ? 0 : 1;
        any |= keep;
      }
      possible = any;
      if (any) keep_only(root, b, dead);
    }
    if (!possible) {
      ++f;
      continue;
    }
    Search search(accept_within, control_, memory_);
    std::vector<int> better;
    std::int64_t better_cost = 0;
    const Search::CostResult result = search.minimise(root, question, better, better_cost);
    if (result.outcome == Outcome::stopped || result.outcome == Outcome::gave_up) return false;
    if (result.outcome == Outcome::found) {
      KW_CHECK(key(better[f]) < key(choice[f]), "the tie-break did not improve");
      choice = std::move(better);
    } else if (result.outcome == Outcome::refuted) {
      ++f;
    }
  }
  return true;
}

}  // namespace allocation
