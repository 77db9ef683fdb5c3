#include "allocation/ways_out.h"

#include <fmt/format.h>

#include <algorithm>
#include <compare>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <tuple>

#include "allocation/conflict_text.h"
#include "allocation/hall_rows.h"
#include "allocation/serve.h"
#include "allocation/solve.h"
#include "base/parallel.h"

namespace allocation {
namespace {

/// Nodes for one "how little is enough" question; beyond it the best found is reported as not proven least.
constexpr std::int64_t kSearchNodes = 3000;

/// Nodes for each question of a search for pairs: there are many.
constexpr std::int64_t kPairNodes = 1000;

/// Nodes for the re-solved problem when the caller sets no limit; beyond it WayOut::solution states its gap.
constexpr std::int64_t kSolutionNodes = 3000;

bool has_answer(const Solution& s) {
  return s.status == Status::optimal || s.status == Status::feasible_with_gap;
}

Options limited(const Options& options, std::vector<Stage> order) {
  Options out = options;
  out.order = std::move(order);
  out.progress = nullptr;
  if (out.node_limit == 0 || out.node_limit > kSearchNodes) out.node_limit = kSearchNodes;
  return out;
}

void leave_out(Function& f) {
  f.candidates.clear();
  f.locked = -1;
  f.skip = Skip{INT_MAX, 0, 0};
}

/// One sort of change and what it concerns: the function, reserve or budget; -1 for parts.
struct Change {
  WayOutKind kind = WayOutKind::more_parts;
  int of = -1;

  friend bool operator==(const Change&, const Change&) = default;
  friend auto operator<=>(const Change&, const Change&) = default;
};

class Finder {
 public:
  /// `judge`: what works is solved again with the caller's objective; otherwise only whether it works is asked.
  Finder(const Problem& p, const Conflict& conflict, const Options& options, bool judge = true)
      : p_(p), conflict_(conflict), options_(options), judge_(judge) {}

  /// The least change of one sort that works by itself; none when there is none or limits stopped the question, which
  /// `stopped` tells.
  std::optional<WayOut> least(const Change& change, bool& stopped) {
    switch (change.kind) {
      case WayOutKind::more_parts:
        more_parts();
        break;
      case WayOutKind::loosen_target:
        loosen(change.of);
        break;
      case WayOutKind::unlock:
        unlock(change.of);
        break;
      case WayOutKind::drop_functions:
        drop(change.of);
        break;
      case WayOutKind::release_reserve:
        release(change.of);
        break;
      case WayOutKind::raise_budget:
        raise(change.of);
        break;
    }
    stopped = stopped || stopped_;
    for (WayOut& way : ways_) {
      if (way.decided) return std::move(way);
      stopped = true;
    }
    return std::nullopt;
  }

  /// Every change is a question of its own, so they are shared among the caller's jobs.
  std::vector<WayOut> run() {
    std::vector<std::function<void(Finder&)>> questions{[](Finder& own) { own.more_parts(); }};
    for (int f : conflict_.functions) questions.emplace_back([f](Finder& own) { own.loosen(f); });
    for (int f : conflict_.functions) questions.emplace_back([f](Finder& own) { own.unlock(f); });
    const std::size_t first_drop = questions.size();
    for (int f : conflict_.functions) questions.emplace_back([f](Finder& own) { own.drop(f); });
    const std::size_t after_drop = questions.size();
    for (int r : conflict_.reserves) questions.emplace_back([r](Finder& own) { own.release(r); });
    for (int b = 0; b < static_cast<int>(p_.budgets.size()); ++b) {
      questions.emplace_back([b](Finder& own) { own.raise(b); });
    }
    std::vector<std::vector<WayOut>> found(questions.size());
    base::parallel_for(questions.size(), options_.jobs, [&](std::size_t i) {
      Finder own(p_, conflict_, options_, judge_);
      questions[i](own);
      found[i] = std::move(own.ways_);
    });
    bool one_is_enough = false;
    for (std::size_t i = 0; i <= found.size(); ++i) {
      if (i == after_drop && !one_is_enough) drop_fewest();
      if (i == found.size()) break;
      for (WayOut& way : found[i]) {
        one_is_enough = one_is_enough || (i >= first_drop && i < after_drop && way.decided);
        ways_.push_back(std::move(way));
      }
    }
    std::stable_sort(ways_.begin(), ways_.end(), [](const WayOut& a, const WayOut& b) {
      return std::tuple(!a.decided, a.cost, a.kind) < std::tuple(!b.decided, b.cost, b.kind);
    });
    return std::move(ways_);
  }

 private:
  void unlock(int f) {
    if (p_.functions[f].locked < 0) return;
    WayOut way;
    way.kind = WayOutKind::unlock;
    way.functions = {f};
    way.cost = way_out_cost::kUnlock;
    way.proven_least = true;
    way.text = fmt::format("{} no longer locked to its candidate", p_.functions[f].name);
    finish(std::move(way));
  }

  void release(int r) {
    WayOut way;
    way.kind = WayOutKind::release_reserve;
    way.reserve = r;
    way.before = p_.reserves[r].count;
    way.cost = way_out_cost::kReservedPiece * p_.reserves[r].count;
    way.proven_least = true;
    const int n = p_.reserves[r].count;
    way.text = fmt::format("the {} of '{}' kept back for {} released", n == 1 ? "piece" : fmt::format("{} pieces", n),
                           p_.classes[p_.reserves[r].cls].name, p_.reserves[r].reason);
    finish(std::move(way));
  }

  /// Re-solves the changed problem with the caller's objective; keeps the way when it works.
  bool finish(WayOut way) {
    Options options = judge_ ? options_ : limited(options_, {{StageKind::least_dropped_weight, {}}});
    options.progress = nullptr;
    if (options.node_limit == 0) options.node_limit = kSolutionNodes;
    way.solution = solve(apply(p_, way), options);
    if (way.solution.status == Status::infeasible) return false;
    if (way.solution.status == Status::stopped_without_answer) {
      way.decided = false;
      way.text += " (whether this is enough was not decided within the limits)";
    }
    ways_.push_back(std::move(way));
    return ways_.back().decided;
  }

  /// Fewest extra pieces as an allocation of its own: every interchangeable group of part types gets K more pieces and
  /// a "shop" function that takes K - n of them back, which costs n. K pieces are enough for one known choice.
  void more_parts() {
    Problem endless = p_;
    for (Part& part : endless.parts) part.stock = static_cast<int>(kMaxPieces);
    const Solution any = solve(endless, limited(options_, {{StageKind::fewest_parts, {}}}));
    if (!answered(any)) return;  // more parts do not help
    const HallSystem hall = make_hall_system(p_, 0);
    const std::int64_t enough = serve_needs(hall, needs_of_choice(p_, hall, any.choice)).missing;
    if (enough == 0 || enough > kMostExtra) return;

    Problem shop = p_;
    for (Function& f : shop.functions) {
      for (Candidate& c : f.candidates) c.use.push_back(0);
    }
    shop.budgets.push_back({kExtraName, INT64_MAX});
    std::vector<int> part_of;  // shop -> the part type bought: the commonest of its group
    for (const std::vector<int>& group : hall.types) {
      int best = group[0];
      for (int part : group) {
        if (p_.parts[part].stock > p_.parts[best].stock) best = part;
      }
      part_of.push_back(best);
      shop.parts[best].stock += static_cast<int>(enough);
      const int cls = static_cast<int>(shop.classes.size());
      shop.classes.push_back({"", group});
      Function f;
      f.floor = INT_MIN;
      for (int n = 0; n <= enough; ++n) {
        Candidate c;
        c.margin = INT_MAX;
        c.use.assign(shop.budgets.size(), 0);
        c.use.back() = n;
        if (n < enough) c.needs = {{cls, static_cast<int>(enough) - n}};
        f.candidates.push_back(std::move(c));
      }
      shop.functions.push_back(std::move(f));
    }
    for (Function& f : shop.functions) {
      if (f.skip) f.skip->penalty = 0;
    }
    const Solution least = solve(shop, limited(options_, {{StageKind::least_budget, kExtraName}}));
    if (!answered(least)) return;
    WayOut way;
    way.proven_least = least.status == Status::optimal;
    std::int64_t pieces = 0;
    for (std::size_t t = 0; t < part_of.size(); ++t) {
      const int n = least.choice[p_.functions.size() + t];
      if (n > 0) way.extra.push_back({part_of[t], n});
      pieces += n;
    }
    add_parts_way(way, pieces);

    if (!judge_ || way.extra.size() != 1) return;  // other single part types that would do as well
    std::set<int> tried{way.extra[0].part};
    for (const Resource& r : conflict_.resources) {
      for (int part : r.parts) {
        const auto group = std::find_if(hall.types.begin(), hall.types.end(), [&](const std::vector<int>& g) {
          return std::find(g.begin(), g.end(), part) != g.end();
        });
        if (group == hall.types.end()) continue;
        const int bought = part_of[static_cast<std::size_t>(group - hall.types.begin())];
        if (!tried.insert(bought).second || tried.size() > kMostAlternatives) continue;
        WayOut other;
        other.proven_least = way.proven_least;
        other.extra = {{bought, static_cast<int>(pieces)}};
        add_parts_way(other, pieces);
      }
    }
  }

  void add_parts_way(WayOut way, std::int64_t pieces) {
    way.kind = WayOutKind::more_parts;
    way.cost = way_out_cost::kPiece * pieces;
    std::sort(way.extra.begin(), way.extra.end(), [](const Take& a, const Take& b) { return a.part < b.part; });
    std::vector<std::string> items;
    for (const Take& t : way.extra) items.push_back(fmt::format("{} more of '{}'", t.count, p_.parts[t.part].name));
    way.text = join_names(items);
    finish(std::move(way));
  }

  /// Best margin of one function while the others keep their floors and nothing else counts.
  void loosen(int f) {
    Problem alone = p_;
    for (std::size_t g = 0; g < alone.functions.size(); ++g) {
      Function& function = alone.functions[g];
      if (static_cast<int>(g) == f) {
        function.floor = INT_MIN;
        continue;
      }
      for (Candidate& c : function.candidates) {
        if (c.margin >= function.floor) c.margin = INT_MAX;
      }
      if (function.skip) function.skip->margin = INT_MAX;
    }
    const Solution best = solve(alone, limited(options_, {{StageKind::best_worst_margin, {}}}));
    if (!answered(best) || best.worst_margin >= p_.functions[f].floor) return;
    WayOut way;
    way.kind = WayOutKind::loosen_target;
    way.functions = {f};
    way.before = p_.functions[f].floor;
    way.after = best.worst_margin;
    way.proven_least = best.status == Status::optimal;
    way.cost = relative(way.before - way.after, way.before);
    way.text = fmt::format("target of {} loosened from {} to {}", p_.functions[f].name,
                           margin_text(p_.functions[f].floor), margin_text(best.worst_margin));
    finish(std::move(way));
  }

  void drop(int f) {
    WayOut way;
    way.functions = {f};
    way.proven_least = true;
    add_drop_way(std::move(way));
  }

  /// Where leaving out one function is not enough.
  void drop_fewest() {
    Problem optional = p_;
    for (Function& f : optional.functions) {
      if (f.skip && f.locked < 0) {
        f.skip->weight = 0;
      } else {
        // A lock stays on the candidate by keeping only that one acceptable.
        if (f.locked >= 0) {
          for (int c = 0; c < static_cast<int>(f.candidates.size()); ++c) {
            if (c != f.locked) f.candidates[c].margin = INT_MIN;
          }
          f.floor = std::max(f.floor, INT_MIN + 1);
          f.locked = -1;
        }
        f.skip = Skip{INT_MAX, 0, 1};
      }
    }
    const Solution fewest = solve(optional, limited(options_, {{StageKind::least_dropped_weight, {}}}));
    if (!has_answer(fewest) || fewest.dropped_weight < 1) return;
    WayOut way;
    way.proven_least = fewest.status == Status::optimal;
    for (std::size_t f = 0; f < fewest.choice.size(); ++f) {
      if (fewest.choice[f] == kSkipped && optional.functions[f].skip->weight == 1) {
        way.functions.push_back(static_cast<int>(f));
      }
    }
    add_drop_way(std::move(way));
  }

  bool add_drop_way(WayOut way) {
    way.kind = WayOutKind::drop_functions;
    way.cost = way_out_cost::kFunction * static_cast<std::int64_t>(way.functions.size());
    std::vector<std::string> names;
    for (int f : way.functions) names.push_back(p_.functions[f].name);
    way.text = join_names(names) + " dropped";
    return finish(std::move(way));
  }

  /// Least possible use of one budget while everything else is kept.
  void raise(int b) {
    if (p_.budgets[b].limit == INT64_MAX) return;
    Problem open = p_;
    open.budgets[b].limit = INT64_MAX;
    for (Function& f : open.functions) {
      if (f.skip) f.skip->penalty = 0;
    }
    const Solution least = solve(open, limited(options_, {{StageKind::least_budget, p_.budgets[b].name}}));
    if (!answered(least)) return;
    WayOut way;
    way.kind = WayOutKind::raise_budget;
    way.budget = b;
    way.before = p_.budgets[b].limit;
    way.after = least.budget_totals[b];
    if (way.after <= way.before) return;
    way.proven_least = least.status == Status::optimal;
    const Budget& budget = p_.budgets[b];
    way.cost = budget.whole > 0 ? relative(budget.taken + way.after - budget.whole, budget.whole)
                                : relative(way.after - way.before, way.before);
    way.text = fmt::format("limit of {} raised from {} to {}", p_.budgets[b].name,
                           amount_text(p_.budgets[b], way.before), amount_text(p_.budgets[b], way.after));
    finish(std::move(way));
  }

  /// Whether a choice was found; remembers when limits kept that open.
  bool answered(const Solution& s) {
    stopped_ = stopped_ || s.status == Status::stopped_without_answer;
    return has_answer(s);
  }

  static std::int64_t relative(std::int64_t change, std::int64_t whole) {
    const double share = static_cast<double>(change) / static_cast<double>(std::max<std::int64_t>(1, whole));
    return static_cast<std::int64_t>(std::min(share, 1000.0) * static_cast<double>(way_out_cost::kWhole));
  }

  static constexpr std::int64_t kMostExtra = 200;      ///< more pieces than this are no way out
  static constexpr std::size_t kMostAlternatives = 6;  ///< part types tried in place of the one found
  static constexpr const char* kExtraName = "extra pieces to buy";

  const Problem& p_;
  const Conflict& conflict_;
  const Options& options_;
  bool judge_;
  bool stopped_ = false;
  std::vector<WayOut> ways_;
};

/// A change taken as far as it goes.
Problem unbounded(const Problem& problem, const Change& change) {
  Problem out = problem;
  switch (change.kind) {
    case WayOutKind::more_parts:
      for (Part& part : out.parts) part.stock = static_cast<int>(kMaxPieces);
      break;
    case WayOutKind::loosen_target:
      out.functions[change.of].floor = INT_MIN;
      break;
    case WayOutKind::unlock:
      out.functions[change.of].locked = -1;
      break;
    case WayOutKind::drop_functions:
      leave_out(out.functions[change.of]);
      break;
    case WayOutKind::release_reserve:
      out.reserves[change.of].count = 0;
      break;
    case WayOutKind::raise_budget:
      out.budgets[change.of].limit = INT64_MAX;
      break;
  }
  return out;
}

class PairFinder {
 public:
  PairFinder(const Problem& p, const Conflict& conflict, const std::vector<WayOut>& singles, const Options& options,
             int most_questions)
      : p_(p), conflict_(conflict), options_(options), most_questions_(most_questions) {
    options_.progress = nullptr;
    if (options_.node_limit == 0 || options_.node_limit > kPairNodes) options_.node_limit = kPairNodes;
    for (const WayOut& way : singles) {
      if (way.decided && way.kind == WayOutKind::drop_functions && way.functions.size() == 1)
        enough_.push_back(way.functions[0]);
    }
  }

  PairsOut run(std::size_t most) {
    PairsOut out;
    out.looked_for = true;
    for (const Change& a : touching(conflict_)) {
      if (ended()) break;
      beside(a);
    }
    std::vector<PairOut> all;
    for (auto& [changes, pair] : found_) all.push_back(std::move(pair));
    std::stable_sort(all.begin(), all.end(), [](const PairOut& x, const PairOut& y) { return x.cost < y.cost; });
    out.complete = complete_;
    out.questions = questions_;
    out.found = static_cast<int>(all.size());
    if (all.size() > most) {
      out.text = fmt::format("The cheapest {} of {} pairs that work are listed.", most, all.size());
      all.resize(most);
    }
    out.pairs = std::move(all);
    if (!complete_) {
      out.text += fmt::format("{}The search for pairs was ended after {} problems solved: there may be others.",
                              out.text.empty() ? "" : " ", questions_);
    }
    return out;
  }

 private:
  [[nodiscard]] bool ended() {
    const bool cancelled = options_.cancel != nullptr && options_.cancel->load(std::memory_order_relaxed);
    if (questions_ < most_questions_ && !cancelled) return false;
    complete_ = false;
    return true;
  }

  /// Every change that can end this conflict: of its members, and of what all share.
  [[nodiscard]] std::vector<Change> touching(const Conflict& conflict) const {
    std::vector<Change> out{{WayOutKind::more_parts, -1}};
    for (std::size_t b = 0; b < p_.budgets.size(); ++b) {
      if (p_.budgets[b].limit != INT64_MAX) out.push_back({WayOutKind::raise_budget, static_cast<int>(b)});
    }
    for (const int r : conflict.reserves) out.push_back({WayOutKind::release_reserve, r});
    for (const int f : conflict.functions) {
      out.push_back({WayOutKind::loosen_target, f});
      if (p_.functions[f].locked >= 0) out.push_back({WayOutKind::unlock, f});
      if (std::find(enough_.begin(), enough_.end(), f) == enough_.end()) out.push_back({WayOutKind::drop_functions, f});
    }
    return out;
  }

  /// Pairs of `a` with what ends the conflict that stays however far it goes.
  void beside(const Change& a) {
    const Problem open = unbounded(p_, a);
    ++questions_;
    const Conflict left = explain_conflict(open, options_);
    if (!left.found) {
      // Enough alone, but not within what is taken for a way out; or not decided.
      const Solution any = solve(open, limited(options_, {{StageKind::least_dropped_weight, {}}}));
      if (!has_answer(any)) complete_ = false;
      return;
    }
    for (const Change& b : touching(left)) {
      if (b == a || (a.kind == WayOutKind::drop_functions && b.kind == WayOutKind::drop_functions)) continue;
      if (ended()) return;
      // A function that is left out has no target and no lock.
      if (a.of == b.of && a.of >= 0 && of_function(a) && of_function(b) &&
          (a.kind == WayOutKind::drop_functions || b.kind == WayOutKind::drop_functions))
        continue;
      bool stopped = false;
      ++questions_;
      std::optional<WayOut> second = Finder(open, left, options_, false).least(b, stopped);
      if (!second) {
        complete_ = complete_ && !stopped;
        continue;
      }
      ++questions_;
      const Problem with_second = apply(p_, *second);
      std::optional<WayOut> first = Finder(with_second, left, options_, false).least(a, stopped);
      if (!first) {
        complete_ = complete_ && !stopped;
        continue;
      }
      keep(a, b, std::move(*first), std::move(*second));
    }
  }

  void keep(const Change& a, const Change& b, WayOut first, WayOut second) {
    PairOut pair;
    pair.cost = first.cost + second.cost;
    const std::pair<Change, Change> key = std::minmax(a, b);
    const auto known = found_.find(key);
    if (known != found_.end() && known->second.cost <= pair.cost) return;
    Options how = options_;
    how.order.clear();
    ++questions_;
    first.solution = solve(apply(apply(p_, first), second), how);
    if (!has_answer(first.solution)) {
      complete_ = complete_ && first.solution.status == Status::infeasible;
      return;
    }
    second.solution = first.solution;
    if (b < a) std::swap(first, second);
    pair.first = std::move(first);
    pair.second = std::move(second);
    found_[key] = std::move(pair);
  }

  [[nodiscard]] static bool of_function(const Change& c) {
    return c.kind == WayOutKind::loosen_target || c.kind == WayOutKind::unlock || c.kind == WayOutKind::drop_functions;
  }

  const Problem& p_;
  const Conflict& conflict_;
  Options options_;
  int most_questions_;
  int questions_ = 0;
  bool complete_ = true;
  std::vector<int> enough_;  ///< functions whose leaving out is enough alone
  std::map<std::pair<Change, Change>, PairOut> found_;
};

}  // namespace

Problem apply(const Problem& problem, const WayOut& way) {
  Problem out = problem;
  switch (way.kind) {
    case WayOutKind::more_parts:
      for (const Take& t : way.extra) out.parts[t.part].stock += t.count;
      break;
    case WayOutKind::loosen_target:
      out.functions[way.functions[0]].floor = static_cast<int>(way.after);
      break;
    case WayOutKind::unlock:
      out.functions[way.functions[0]].locked = -1;
      break;
    case WayOutKind::drop_functions:
      for (int f : way.functions) leave_out(out.functions[f]);
      break;
    case WayOutKind::release_reserve:
      out.reserves[way.reserve].count = 0;
      break;
    case WayOutKind::raise_budget:
      out.budgets[way.budget].limit = way.after;
      break;
  }
  return out;
}

std::vector<WayOut> ways_out(const Problem& problem, const Conflict& conflict, const Options& options) {
  if (!conflict.found) return {};
  return Finder(problem, conflict, options).run();
}

PairsOut pairs_out(const Problem& problem, const Conflict& conflict, const std::vector<WayOut>& singles,
                   const Options& options, int most_questions, std::size_t most) {
  const bool one_works = std::any_of(singles.begin(), singles.end(), [](const WayOut& way) {
    return way.decided && way.kind != WayOutKind::drop_functions;
  });
  if (!conflict.found || one_works) return {};
  return PairFinder(problem, conflict, singles, options, most_questions).run(most);
}

}  // namespace allocation
