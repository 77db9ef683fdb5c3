#include "allocation/solve.h"

#include <deque>

#include "allocation/engine.h"
#include "allocation/objective.h"
#include "base/check.h"

namespace allocation {
namespace {

/// Walks through the stages; what is proven so far is held as a threshold and limits.
class Lexicographic {
 public:
  Lexicographic(const Problem& problem, const Options& options)
      : problem_(problem),
        control_(options, solution_.stats),
        engine_(problem, control_),
        limits_(engine_.budget_limits()) {
    bool penalty_open = true;
    for (const Stage& stage : order_for(problem, options)) {
      stages_.push_back(stage);
      Quantity quantity;
      if (stage.kind != StageKind::best_worst_margin) {
        quantity = stage_quantity(problem, stage, stage.kind == StageKind::least_budget && penalty_open);
        if (stage.kind == StageKind::least_budget) penalty_open = false;
      }
      quantities_.push_back(std::move(quantity));
    }
    KW_CHECK(stages_.size() < Engine::kMostQuantities / 2 - 1, "too many objective stages");
  }

  Solution run() {
    std::size_t s = 0;
    while (s < stages_.size() && running_) s += step(s);
    if (running_ && stages_.empty()) {
      Engine::Found any = engine_.find(INT_MIN, limits_);
      settle(any.outcome);
      choice_ = std::move(any.choice);
    }
    if (running_) {
      Quantity nothing;
      if (limits_.empty()) {
        for (const Function& f : problem_.functions) nothing.value.emplace_back(f.candidates.size() + 1, 0);
        limits_.push_back({&nothing, 0, Engine::kMostQuantities - 1});
      }
      solution_.lexicographically_first = engine_.lexicographically_first(threshold_, limits_, choice_);
      solution_.status = Status::optimal;
    }
    if (solution_.status != Status::infeasible && !running_) {
      solution_.status = has_choice_ ? Status::feasible_with_gap : Status::stopped_without_answer;
      for (; has_choice_ && solution_.stages.size() < stages_.size();) report_unsearched(solution_.stages.size());
    }
    if (has_choice_) {
      solution_.choice = choice_;
      fill_totals(engine_, solution_);
    }
    return std::move(solution_);
  }

 private:
  /// Returns how many stages were settled.
  std::size_t step(std::size_t s) {
    if (stages_[s].kind == StageKind::best_worst_margin) {
      margin_stage(s, limits_);
      return 1;
    }
    // Usually nothing needs to be dropped: ask the next stage with the ideal value as a limit, which answers both.
    if (!has_choice_ && s + 1 < stages_.size() && stages_[s + 1].kind == StageKind::best_worst_margin) {
      const std::int64_t ideal = least_possible(problem_, quantities_[s]);
      std::vector<Limit> limits = limits_;
      limits.push_back({&quantities_[s], ideal, stage_id(s)});
      if (margin_stage_at_ideal(s, limits, ideal)) return 2;
      if (!running_) return 1;
    }
    cost_stage(s);
    return 1;
  }

  void margin_stage(std::size_t s, const std::vector<Limit>& limits) {
    Engine::BestMargin best = engine_.best_margin(limits);
    if (!best.choice.empty() || best.outcome == Outcome::found) take(std::move(best.choice));
    settle(best.outcome);
    if (has_choice_) report(s, engine_.worst_margin(choice_), best.bound, best.outcome == Outcome::found);
    if (best.outcome == Outcome::found) threshold_ = best.margin;
  }

  /// True when the ideal value of cost stage s was reached, so that stages s and s + 1 are settled (or stopped).
  bool margin_stage_at_ideal(std::size_t s, const std::vector<Limit>& limits, std::int64_t ideal) {
    Engine::BestMargin best = engine_.best_margin(limits);
    if (best.outcome == Outcome::refuted) return false;
    if (best.outcome == Outcome::stopped && best.choice.empty() && !problem_.functions.empty()) {
      running_ = false;
      return false;
    }
    take(std::move(best.choice));
    settle(best.outcome);
    report(s, ideal, ideal, true);
    report(s + 1, engine_.worst_margin(choice_), best.bound, best.outcome == Outcome::found);
    if (best.outcome == Outcome::found) threshold_ = best.margin;
    limits_ = limits;
    return true;
  }

  void cost_stage(std::size_t s) {
    const Limit cost{&quantities_[s], INT64_MAX, stage_id(s)};
    Engine::Cheapest best = engine_.cheapest(threshold_, limits_, cost, has_choice_ ? choice_ : std::vector<int>{});
    if (best.outcome == Outcome::found || !best.choice.empty()) take(std::move(best.choice));
    settle(best.outcome);
    if (has_choice_) report(s, best.cost, best.bound, best.outcome == Outcome::found);
    limits_.push_back({&quantities_[s], best.cost, stage_id(s)});
  }

  void take(std::vector<int> choice) {
    choice_ = std::move(choice);
    has_choice_ = true;
  }

  void settle(Outcome outcome) {
    if (outcome == Outcome::found) {
      has_choice_ = true;
      return;
    }
    running_ = false;
    if (outcome == Outcome::refuted) {
      KW_CHECK(!has_choice_, "a later stage lost the known choice");
      solution_.status = Status::infeasible;
    }
  }

  void report(std::size_t s, std::int64_t value, std::int64_t bound, bool proven) {
    solution_.stages.push_back({stages_[s], value, proven ? value : bound, proven});
  }

  void report_unsearched(std::size_t s) {
    if (stages_[s].kind == StageKind::best_worst_margin) {
      report(s, engine_.worst_margin(choice_), engine_.thresholds().front(), false);
    } else {
      report(s, quantities_[s].of(choice_), least_possible(problem_, quantities_[s]), false);
    }
    StageReport& last = solution_.stages.back();
    last.proven = last.value == last.bound;
  }

  [[nodiscard]] int stage_id(std::size_t s) const { return Engine::kMostQuantities / 2 + static_cast<int>(s); }

  const Problem& problem_;
  Solution solution_;
  Control control_;
  Engine engine_;
  std::vector<Stage> stages_;
  std::deque<Quantity> quantities_;  ///< addresses are held by limits
  std::vector<Limit> limits_;
  int threshold_ = INT_MIN;
  std::vector<int> choice_;
  bool has_choice_ = false;
  bool running_ = true;
};

}  // namespace

Solution solve(const Problem& problem, const Options& options) {
  for (const auto& findings : {validate(problem), validate(problem, options)}) {
    KW_CHECK(findings.empty(), "not a valid problem: " + findings.front());
  }
  return Lexicographic(problem, options).run();
}

}  // namespace allocation
