#include "allocation/front.h"

#include <algorithm>

#include "allocation/engine.h"
#include "allocation/objective.h"
#include "allocation/validate.h"
#include "base/check.h"

namespace allocation {
namespace {

/// Region of (cost, pieces) not weakly dominated by the points found so far; together the boxes cover all of it.
struct Box {
  std::int64_t most_cost = INT64_MAX, most_pieces = INT64_MAX;
  int margin = INT_MAX;     ///< no choice in the box has a larger worst margin
  int none_from = INT_MAX;  ///< nor one of this or more
  bool evaluated = false;   ///< margin is reached by `choice`
  std::vector<int> choice;

  [[nodiscard]] bool inside(const Box& other) const {
    return most_cost <= other.most_cost && most_pieces <= other.most_pieces;
  }
};

/// The sweep: margins fall from point to point. The box with the largest margin bound is evaluated; its cheapest choice
/// at that margin (cost, then pieces) is on the front, because every choice that could dominate it lies in the box too.
class Sweep {
 public:
  Sweep(const Problem& p, const FrontOptions& options, Front& out)
      : options_(options),
        out_(out),
        control_(options.search, out.stats),
        engine_(p, control_),
        weight_(stage_quantity(p, {StageKind::least_dropped_weight, {}}, false)),
        cost_(stage_quantity(p, {StageKind::least_budget, options.budget}, true)),
        pieces_(stage_quantity(p, {StageKind::fewest_parts, {}}, false)) {}

  void run() {
    boxes_.emplace_back();
    if (!settle_weight(boxes_.front())) return;
    while (!boxes_.empty()) {
      auto box = std::max_element(boxes_.begin(), boxes_.end(), [](const Box& a, const Box& b) {
        return std::pair(a.margin, a.evaluated) < std::pair(b.margin, b.evaluated);
      });
      if (!box->evaluated) {
        if (!evaluate(*box)) return stop();
        if (box->choice.empty()) boxes_.erase(box);
        continue;
      }
      if (options_.max_points > 0 && static_cast<int>(out_.points.size()) >= options_.max_points) return stop();
      if (!emit(*box)) return stop();
    }
    out_.complete = true;
    out_.status = out_.points.empty() ? Status::infeasible : Status::optimal;
  }

 private:
  /// True when the least dropped weight is known and held as a limit. `first` takes the best margin where it is told by
  /// the way.
  bool settle_weight(Box& first) {
    base_ = engine_.budget_limits();
    const Limit weight{&weight_, INT64_MAX, kWeightId};
    const std::int64_t ideal = least_possible(engine_.problem(), weight_);
    std::vector<Limit> limits = base_;
    limits.push_back({&weight_, ideal, kWeightId});
    out_.dropped_weight = ideal;
    Engine::BestMargin best = engine_.best_margin(limits);
    if (best.outcome == Outcome::refuted) {
      const Engine::Cheapest least = engine_.cheapest(INT_MIN, base_, weight, {});
      if (least.outcome == Outcome::refuted) {
        out_.status = Status::infeasible;
        out_.complete = true;
        return false;
      }
      if (least.outcome != Outcome::found) return false;
      out_.dropped_weight = least.cost;
    } else if (best.outcome != Outcome::found) {
      return false;
    } else {
      keep(std::move(best), first);
    }
    base_.push_back({&weight_, out_.dropped_weight, kWeightId});
    return true;
  }

  [[nodiscard]] std::vector<Limit> limits_of(const Box& box) const {
    std::vector<Limit> limits = base_;
    if (box.most_cost != INT64_MAX) limits.push_back({&cost_, box.most_cost, kCostId});
    if (box.most_pieces != INT64_MAX) limits.push_back({&pieces_, box.most_pieces, kPiecesId});
    return limits;
  }

  /// Best margin in the box; an empty choice = nothing there. False = stopped.
  bool evaluate(Box& box) {
    // The cost bounds the search where there is one to keep to.
    std::vector<Limit> limits = limits_of(box);
    const Limit cost{&cost_, box.most_cost, kCostId};
    if (box.most_cost != INT64_MAX) std::erase_if(limits, [](const Limit& l) { return l.id == kCostId; });
    Engine::BestMargin best =
        engine_.best_margin(limits, box.margin, box.most_cost != INT64_MAX ? &cost : nullptr, box.none_from);
    if (best.outcome == Outcome::stopped) {
      box.margin = std::min(box.margin, best.bound);
      return false;
    }
    keep(std::move(best), box);
    return true;
  }

  /// What is known of a box once its best margin is, or that it holds nothing.
  static void keep(Engine::BestMargin best, Box& box) {
    box.evaluated = true;
    box.choice = std::move(best.choice);
    if (best.outcome != Outcome::found) return;
    box.margin = std::min(box.margin, best.margin);
    if (!box.choice.empty() && best.margin < box.none_from) box.none_from = best.margin + 1;
  }

  bool emit(const Box& box) {
    const int margin = box.margin;
    std::vector<Limit> limits = limits_of(box);
    Engine::Cheapest cheap = engine_.cheapest(margin, limits, {&cost_, INT64_MAX, kCostId}, box.choice, box.none_from);
    if (cheap.outcome != Outcome::found) return false;
    FrontPoint point;
    point.worst_margin = margin;
    point.cost = cheap.cost;
    std::erase_if(limits, [](const Limit& l) { return l.id == kCostId; });
    limits.push_back({&cost_, cheap.cost, kCostId});
    std::vector<int> choice = std::move(cheap.choice);
    if (options_.with_parts) {
      Engine::Cheapest few = engine_.cheapest(margin, limits, {&pieces_, INT64_MAX, kPiecesId}, choice);
      if (few.outcome != Outcome::found) return false;
      choice = std::move(few.choice);
      std::erase_if(limits, [](const Limit& l) { return l.id == kPiecesId; });
      limits.push_back({&pieces_, few.cost, kPiecesId});
      std::rotate(limits.end() - 2, limits.end() - 1, limits.end());  // the cost steers the tie-break
    }
    point.solution.lexicographically_first = engine_.lexicographically_first(margin, limits, choice, box.none_from);
    point.pieces = pieces_.of(choice);
    point.solution.choice = std::move(choice);
    point.solution.status = Status::optimal;
    point.solution.stages = {{{StageKind::least_dropped_weight, {}}, out_.dropped_weight, out_.dropped_weight, true},
                             {{StageKind::best_worst_margin, {}}, margin, margin, true},
                             {{StageKind::least_budget, options_.budget}, point.cost, point.cost, true}};
    if (options_.with_parts) {
      point.solution.stages.push_back({{StageKind::fewest_parts, {}}, point.pieces, point.pieces, true});
    }
    fill_totals(engine_, point.solution);
    KW_CHECK(point.solution.worst_margin == margin, "a front point's margin is not the box's");
    split(point, box);
    out_.points.push_back(std::move(point));
    if (options_.search.progress) {
      options_.search.progress({0, true, static_cast<std::int64_t>(out_.points.size()), margin, out_.stats.nodes});
    }
    return true;
  }

  /// Takes what the point weakly dominates out of all boxes; `sought` is the one it was found in.
  void split(const FrontPoint& point, const Box& sought) {
    std::vector<Box> next;
    for (Box& box : boxes_) {
      if (point.cost > box.most_cost || (options_.with_parts && point.pieces > box.most_pieces)) {
        next.push_back(std::move(box));
        continue;
      }
      Box cheaper = box, fewer = box;
      cheaper.most_cost = point.cost - 1;
      fewer.most_pieces = point.pieces - 1;
      for (Box* part : {&cheaper, &fewer}) {
        if (part == &fewer && !options_.with_parts) continue;
        part->margin = std::min(box.margin, point.worst_margin);
        // The point is the cheapest at its margin of the box it was sought in; other boxes may hold cheaper ones.
        if (part == &cheaper && &box == &sought) part->none_from = std::min(box.none_from, point.worst_margin);
        const bool holds = part->evaluated && !part->choice.empty() && cost_.of(part->choice) <= part->most_cost &&
                           pieces_.of(part->choice) <= part->most_pieces && part->margin == box.margin;
        part->evaluated = holds;
        next.push_back(std::move(*part));
      }
    }
    boxes_.clear();
    for (std::size_t i = 0; i < next.size(); ++i) {
      bool covered = false;
      for (std::size_t j = 0; j < next.size() && !covered; ++j) {
        if (i == j || !next[i].inside(next[j])) continue;
        covered = !next[j].inside(next[i]) || j < i;  // equal boxes: the first stays
      }
      if (!covered) boxes_.push_back(next[i]);
    }
  }

  void stop() {
    out_.status = out_.points.empty() ? Status::stopped_without_answer : Status::feasible_with_gap;
    for (const Box& box : boxes_) out_.open.push_back({box.most_cost, box.most_pieces, box.margin});
  }

  static constexpr int kWeightId = Engine::kMostQuantities - 4, kCostId = kWeightId + 1, kPiecesId = kWeightId + 2;

  const FrontOptions& options_;
  Front& out_;
  Control control_;
  Engine engine_;
  Quantity weight_, cost_, pieces_;
  std::vector<Limit> base_;
  std::vector<Box> boxes_;
};

}  // namespace

Front trade_off_front(const Problem& problem, const FrontOptions& options) {
  Options search = options.search;
  search.order = {{StageKind::least_budget, options.budget}};
  for (const auto& findings : {validate(problem), validate(problem, search)}) {
    KW_CHECK(findings.empty(), "not a valid problem: " + findings.front());
  }
  Front out;
  Sweep(problem, options, out).run();
  return out;
}

}  // namespace allocation
