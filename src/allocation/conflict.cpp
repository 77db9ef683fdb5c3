#include "allocation/conflict.h"

#include <algorithm>
#include <numeric>

#include "allocation/conflict_text.h"
#include "allocation/engine.h"
#include "allocation/fought_over.h"
#include "allocation/together.h"
#include "base/check.h"

namespace allocation {
namespace {

/// Nodes per feasibility question; a question that needs more leaves its member in and the claim unproven.
constexpr std::int64_t kProbeNodes = 5000;
/// Effort for a smaller conflict, in candidates read, before it is given up with proven_smallest = false.
/// Deterministic; less than a second on the machine it was chosen on.
constexpr std::int64_t kSmallestEffort = 60'000'000;
constexpr std::int64_t kRoundOverhead = 50'000;  ///< per round, for growing and the hitting set
/// A node reads about this share of the candidates of its root.
constexpr std::int64_t kNodeShare = 20;

using Set = Together::Set;  ///< per member: inside
using Answer = Together::Answer;

int size_of(const Set& s) {
  return static_cast<int>(std::count(s.begin(), s.end(), 1));
}

/// The problem with every member optional: functions that may be skipped stay as they are and are no members; each
/// reserve becomes a function with one candidate. Which members are "in" is decided per question.
struct Relaxed {
  Problem problem;
  std::vector<int> member;                   ///< relaxed function -> member, or -1
  std::vector<int> function_of, reserve_of;  ///< member -> index or -1
  [[nodiscard]] int members() const { return static_cast<int>(function_of.size()); }
};

Relaxed relax(const Problem& p) {
  Relaxed out;
  out.problem.parts = p.parts;
  out.problem.classes = p.classes;
  out.problem.budgets = p.budgets;
  for (std::size_t f = 0; f < p.functions.size(); ++f) {
    Function function = p.functions[f];
    if (function.skip && function.locked < 0) continue;  // can always be left out: never part of a conflict
    if (function.locked >= 0) {
      Candidate only = function.candidates[function.locked];
      function.candidates.assign(1, std::move(only));
      function.locked = -1;
    }
    function.skip = Skip{};
    out.member.push_back(out.members());
    out.function_of.push_back(static_cast<int>(f));
    out.reserve_of.push_back(-1);
    out.problem.functions.push_back(std::move(function));
  }
  for (std::size_t r = 0; r < p.reserves.size(); ++r) {
    if (p.reserves[r].count == 0) continue;
    Function function;
    function.name = p.reserves[r].reason;
    Candidate keep;
    keep.margin = INT_MAX;
    keep.use.assign(p.budgets.size(), 0);
    keep.needs = {{p.reserves[r].cls, p.reserves[r].count}};
    function.candidates.push_back(std::move(keep));
    function.skip = Skip{};
    out.member.push_back(out.members());
    out.function_of.push_back(-1);
    out.reserve_of.push_back(static_cast<int>(r));
    out.problem.functions.push_back(std::move(function));
  }
  return out;
}

class Explainer {
 public:
  Explainer(const Problem& problem, const Options& options, Conflict& out)
      : original_(problem),
        out_(out),
        control_(options, out.stats),
        relaxed_(relax(problem)),
        engine_(relaxed_.problem, control_),
        rows_(engine_.row_meanings()),
        together_(engine_) {}

  void run() {
    Set all(relaxed_.members(), 1);
    const Answer whole = ask(all);
    if (whole != Answer::infeasible) return;
    Set conflict = first_conflict(all);
    out_.irreducible = reduce(conflict);
    find_smallest(conflict);
    out_.found = true;
    for (int m = 0; m < relaxed_.members(); ++m) {
      if (!conflict[m]) continue;
      if (relaxed_.function_of[m] >= 0) out_.functions.push_back(relaxed_.function_of[m]);
      if (relaxed_.reserve_of[m] >= 0) out_.reserves.push_back(relaxed_.reserve_of[m]);
    }
    name_resources(conflict);
    name_overfull(all);
    out_.text = conflict_text(original_, out_);
  }

 private:
  Answer ask(const Set& in) {
    const Answer answer = together_.ask(in, kProbeNodes);
    if (answer == Answer::feasible) last_choice_ = together_.choice();
    return answer;
  }

  /// The fewest members whose least shares overfill one row or budget, if any do; else everything.
  Set first_conflict(const Set& all) {
    Set best = all;
    auto consider = [&](const std::vector<std::int64_t>& least, std::int64_t cap) {
      std::vector<int> order(least.size());
      std::iota(order.begin(), order.end(), 0);
      std::stable_sort(order.begin(), order.end(), [&](int a, int b) { return least[a] > least[b]; });
      Set in(least.size(), 0);
      std::int64_t sum = 0;
      for (int m : order) {
        in[m] = 1;
        sum += least[m];
        if (sum <= cap) continue;
        if (size_of(in) < size_of(best)) best = in;
        return;
      }
    };
    for (const Engine::RowMeaning& row : rows_) consider(row.least, row.cap);
    for (std::size_t b = 0; b < original_.budgets.size(); ++b) {
      if (original_.budgets[b].limit != INT64_MAX) consider(least_use(b), original_.budgets[b].limit);
    }
    for (int m = 0; m < relaxed_.members(); ++m) {  // a member without any acceptable candidate
      const Function& f = relaxed_.problem.functions[m];
      const bool any = std::any_of(f.candidates.begin(), f.candidates.end(),
                                   [&](const Candidate& c) { return c.margin >= f.floor; });
      if (any) continue;
      best.assign(best.size(), 0);
      best[m] = 1;
      break;
    }
    return best;
  }

  [[nodiscard]] std::vector<std::int64_t> least_use(std::size_t budget) const {
    std::vector<std::int64_t> out;
    for (const Function& f : relaxed_.problem.functions) {
      std::int64_t least = INT64_MAX;
      for (const Candidate& c : f.candidates) {
        if (c.margin >= f.floor) least = std::min(least, c.use[budget]);
      }
      out.push_back(least == INT64_MAX ? 0 : least);
    }
    return out;
  }

  /// Deletion filter: drops every member the conflict does not need. True = irreducible, proven.
  bool reduce(Set& conflict) {
    bool proven = true;
    for (int m = relaxed_.members() - 1; m >= 0; --m) {
      if (!conflict[m]) continue;
      conflict[m] = 0;
      const Answer rest = ask(conflict);
      if (rest == Answer::infeasible) continue;
      conflict[m] = 1;
      proven &= rest == Answer::feasible;
    }
    return proven;
  }

  /// Every conflict meets the complement of every feasible set. Smallest sets that meet all complements seen so far are
  /// tried until one is infeasible (then it is a smallest conflict) or none is smaller than the one in hand.
  void find_smallest(Set& conflict) {
    std::vector<Set> complements;
    for (std::int64_t effort = 0; effort < kSmallestEffort;) {
      Set hit;
      const int found = smallest_hitting_set(complements, size_of(conflict), hit);
      if (found >= size_of(conflict)) {
        out_.proven_smallest = out_.irreducible;
        return;
      }
      const std::int64_t nodes_before = out_.stats.nodes;
      const Answer answer = ask(hit);
      std::int64_t candidates = 0;
      for (int m = 0; m < relaxed_.members(); ++m) {
        if (hit[m]) candidates += static_cast<std::int64_t>(relaxed_.problem.functions[m].candidates.size());
      }
      effort += kRoundOverhead + candidates * (kNodeShare + out_.stats.nodes - nodes_before) / kNodeShare;
      if (answer == Answer::unknown) return;
      if (answer == Answer::infeasible) {
        conflict = hit;
        out_.irreducible = true;
        out_.proven_smallest = true;
        return;
      }
      grow(hit);
      for (char& in : hit) in = in ? 0 : 1;
      complements.push_back(std::move(hit));
    }
  }

  /// Adds members that fit beside the choice just found without moving it, then those that fit when it may move.
  void grow(Set& in) {
    std::vector<int> choice = last_choice_;
    auto add_beside = [&] {
      for (int m = 0; m < relaxed_.members(); ++m) {
        if (in[m]) continue;
        choice[m] = engine_.beside(choice, m);
        in[m] = choice[m] == kSkipped ? 0 : 1;
      }
    };
    add_beside();
    for (int m = 0; m < relaxed_.members(); ++m) {
      if (in[m]) continue;
      in[m] = 1;
      if (together_.found_quickly(in)) {
        choice = together_.choice();
        add_beside();
      } else {
        in[m] = 0;
      }
    }
  }

  /// Size of a smallest set that meets every listed set, or `limit` when none is smaller than that.
  int smallest_hitting_set(const std::vector<Set>& sets, int limit, Set& best) const {
    int least = limit;
    Set current(relaxed_.members(), 0);
    auto descend = [&](auto&& self, int used) -> void {
      if (used >= least) return;
      const Set* open = nullptr;
      for (const Set& s : sets) {
        bool met = false;
        for (std::size_t m = 0; m < s.size() && !met; ++m) met = s[m] && current[m];
        if (!met && (open == nullptr || size_of(s) < size_of(*open))) open = &s;
      }
      if (open == nullptr) {
        least = used;
        best = current;
        return;
      }
      if (used + 1 >= least) return;
      for (std::size_t m = 0; m < open->size(); ++m) {
        if (!(*open)[m]) continue;
        current[m] = 1;
        self(self, used + 1);
        current[m] = 0;
      }
    };
    descend(descend, 0);
    return least;
  }

  [[nodiscard]] Resource describe(const Engine::RowMeaning& row, const Set& in, const HallSystem& hall) const {
    Resource r;
    r.kind = row.cell >= 0 ? ResourceKind::place : ResourceKind::parts;
    r.cell = row.cell;
    r.have = row.cap;
    for (int type : row.types) r.parts.insert(r.parts.end(), hall.types[type].begin(), hall.types[type].end());
    std::sort(r.parts.begin(), r.parts.end());
    add_shares(row.least, in, r);
    return r;
  }

  [[nodiscard]] Resource describe_budget(std::size_t budget, const Set& in) const {
    Resource r;
    r.kind = ResourceKind::budget;
    r.budget = static_cast<int>(budget);
    r.have = original_.budgets[budget].limit;
    add_shares(least_use(budget), in, r);
    return r;
  }

  void add_shares(const std::vector<std::int64_t>& least, const Set& in, Resource& r) const {
    for (int m = 0; m < relaxed_.members(); ++m) {
      if (!in[m] || least[m] == 0) continue;
      r.shares.push_back({relaxed_.function_of[m], relaxed_.reserve_of[m], least[m]});
      r.needed += least[m];
    }
  }

  void name_resources(const Set& in) {
    const std::vector<Resource> alone = overfull_by(in);
    if (alone.empty()) {
      name_combination(in);
      return;
    }
    out_.resources = {alone.front()};
    out_.resources_irreducible = true;
  }

  void name_overfull(const Set& all) {
    if (out_.resources.size() == 1 && out_.resources[0].enough_alone()) return;
    out_.overfull = overfull_by(all);
  }

  /// Rows and budgets that the least shares of these members exceed, fewest part types first.
  [[nodiscard]] std::vector<Resource> overfull_by(const Set& in) const {
    std::vector<Resource> alone;
    for (const Engine::RowMeaning& row : rows_) {
      Resource r = describe(row, in, engine_.hall());
      if (r.enough_alone()) alone.push_back(std::move(r));
    }
    for (std::size_t b = 0; b < original_.budgets.size(); ++b) {
      Resource r = describe_budget(b, in);
      if (r.enough_alone()) alone.push_back(std::move(r));
    }
    std::stable_sort(alone.begin(), alone.end(),
                     [](const Resource& a, const Resource& b) { return a.parts.size() < b.parts.size(); });
    return alone;
  }

  /// Rows and budgets that the members fight over: such that already they cannot be had together, and no fewer of them.
  void name_combination(const Set& in) {
    if (!engine_.complete()) return;  // the text then names the members only
    const Fight fight = fought_over(engine_, rows_, in, together_.proof_of(in), control_);
    out_.resources_irreducible = fight.irreducible;
    for (const int r : fight.rows) out_.resources.push_back(describe(rows_[r], in, engine_.hall()));
    for (const int b : fight.budgets) out_.resources.push_back(describe_budget(static_cast<std::size_t>(b), in));
  }

  const Problem& original_;
  Conflict& out_;
  Control control_;
  Relaxed relaxed_;
  Engine engine_;
  std::vector<Engine::RowMeaning> rows_;
  Together together_;
  std::vector<int> last_choice_;
};

}  // namespace

Conflict explain_conflict(const Problem& problem, const Options& options) {
  Conflict out;
  Explainer(problem, options, out).run();
  return out;
}

}  // namespace allocation
