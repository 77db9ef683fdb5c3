#include "allocation/objective.h"

#include <algorithm>

#include "allocation/serve.h"
#include "base/check.h"

namespace allocation {
namespace {

std::int64_t pieces_of(const Candidate& c) {
  std::int64_t sum = 0;
  for (const Need& need : c.needs) sum += need.count;
  return sum;
}

int budget_index(const Problem& p, const std::string& name) {
  for (std::size_t b = 0; b < p.budgets.size(); ++b) {
    if (p.budgets[b].name == name) return static_cast<int>(b);
  }
  return -1;
}

}  // namespace

std::vector<Stage> order_for(const Problem& p, const Options& options) {
  return options.order.empty() ? default_order(budget_index(p, "mass") >= 0) : options.order;
}

Quantity stage_quantity(const Problem& p, const Stage& stage, bool with_penalty) {
  const int b = stage.kind == StageKind::least_budget ? budget_index(p, stage.budget) : -1;
  Quantity q;
  for (const Function& f : p.functions) {
    std::vector<std::int64_t> value(f.candidates.size() + 1, 0);
    switch (stage.kind) {
      case StageKind::least_dropped_weight:
        if (f.skip) value[0] = f.skip->weight;
        break;
      case StageKind::least_budget:
        if (f.skip && with_penalty) value[0] = f.skip->penalty;
        for (std::size_t c = 0; c < f.candidates.size(); ++c) value[c + 1] = f.candidates[c].use[b];
        break;
      case StageKind::fewest_parts:
        for (std::size_t c = 0; c < f.candidates.size(); ++c) value[c + 1] = pieces_of(f.candidates[c]);
        break;
      case StageKind::best_worst_margin:
        KW_CHECK(false, "the worst margin is not a sum");
    }
    q.value.push_back(std::move(value));
  }
  return q;
}

std::int64_t least_possible(const Problem& p, const Quantity& q) {
  std::int64_t sum = 0;
  for (std::size_t f = 0; f < p.functions.size(); ++f) {
    const Function& function = p.functions[f];
    std::int64_t least = INT64_MAX;
    if (function.skip && function.locked < 0) least = q.of(static_cast<int>(f), kSkipped);
    for (int c = 0; c < static_cast<int>(function.candidates.size()); ++c) {
      if (function.candidates[c].margin < function.floor || (function.locked >= 0 && c != function.locked)) continue;
      least = std::min(least, q.of(static_cast<int>(f), c));
    }
    if (least != INT64_MAX) sum += least;
  }
  return sum;
}

void fill_totals(const Engine& engine, Solution& s) {
  const Problem& p = engine.problem();
  s.worst_margin = engine.worst_margin(s.choice);
  s.dropped_weight = s.penalty = s.parts_used = 0;
  s.budget_totals.assign(p.budgets.size(), 0);
  for (std::size_t f = 0; f < s.choice.size(); ++f) {
    if (s.choice[f] == kSkipped) {
      s.dropped_weight += p.functions[f].skip->weight;
      s.penalty += p.functions[f].skip->penalty;
      continue;
    }
    const Candidate& c = p.functions[f].candidates[s.choice[f]];
    s.parts_used += pieces_of(c);
    for (std::size_t b = 0; b < c.use.size(); ++b) s.budget_totals[b] += c.use[b];
  }
  assign_parts(p, engine.hall(), serve_needs(engine.hall(), needs_of_choice(p, engine.hall(), s.choice)), s);
}

}  // namespace allocation
