#include "allocation/fought_over.h"

#include <algorithm>
#include <numeric>
#include <optional>
#include <tuple>
#include <utility>

#include "base/check.h"

namespace allocation {
namespace {

/// Share of the worth at which a priced row is taken for part of the fight to start with.
constexpr std::int64_t kWorthwhile = 200;
/// Of the rows that a choice exceeds, so many are added at once; each time twice as many.
constexpr std::size_t kAtOnce = 8;
/// Nodes per question; a question that needs more leaves its row in and the claim unproven.
constexpr std::int64_t kNodes = 500;

/// The question with the rows found so far, and every budget.
class Small {
 public:
  Small(Engine& whole, const std::vector<char>& members, const std::vector<int>& rows,
        const std::vector<std::int64_t>& caps, Control& control)
      : problem_(whole.with_rows(rows, members, origin_)), engine_(problem_, control), caps_(caps) {
    for (const HallRow& row : engine_.hall().rows) KW_CHECK(row.classes.size() == 1, "a row of several classes");
  }

  /// Which of the rows, then of the budgets, count. A choice found before answers where it keeps to all of them.
  Engine::Found find(const std::vector<char>& on) {
    for (const auto& [choice, exceeds] : found_) {
      const bool keeps = std::equal(on.begin(), on.end(), exceeds.begin(), [](char a, char b) { return !a || !b; });
      if (keeps) return {Outcome::found, choice};
    }
    std::vector<std::int64_t> caps;
    for (const HallRow& row : engine_.hall().rows) {
      const int i = row.classes[0];
      caps.push_back(on[i] ? caps_[i] : row.cap);
    }
    engine_.tighten_rows(std::move(caps));
    std::vector<Limit> limits;
    for (const Limit& limit : engine_.budget_limits()) {
      if (on[caps_.size() + limit.id]) limits.push_back(limit);
    }
    Engine::Found out = engine_.find(INT_MIN, limits, kNodes, Allowed(problem_.functions.size(), kAnyCandidate));
    if (out.outcome == Outcome::found) found_.emplace_back(out.choice, exceeded_by(out.choice));
    return out;
  }
  [[nodiscard]] std::size_t lines() const { return caps_.size() + problem_.budgets.size(); }
  /// In the whole problem: which candidate each member takes, functions that are no members skipped.
  [[nodiscard]] std::vector<int> choice_of(const std::vector<int>& small, const std::vector<char>& members) const {
    std::vector<int> out(members.size(), kSkipped);
    std::size_t at = 0;
    for (std::size_t f = 0; f < members.size(); ++f) {
      if (!members[f]) continue;
      out[f] = origin_[at][small[at]];
      ++at;
    }
    return out;
  }

 private:
  /// The lines that a choice exceeds.
  [[nodiscard]] std::vector<char> exceeded_by(const std::vector<int>& choice) const {
    std::vector<std::int64_t> left = caps_;
    for (const Budget& budget : problem_.budgets) left.push_back(budget.limit);
    for (std::size_t f = 0; f < choice.size(); ++f) {
      const Candidate& c = problem_.functions[f].candidates[static_cast<std::size_t>(choice[f])];
      for (const Need& need : c.needs) left[static_cast<std::size_t>(need.cls)] -= need.count;
      for (std::size_t b = 0; b < c.use.size(); ++b) left[caps_.size() + b] -= c.use[b];
    }
    std::vector<char> out;
    for (const std::int64_t room : left) out.push_back(room < 0 ? 1 : 0);
    return out;
  }

  std::vector<std::vector<int>> origin_;
  Problem problem_;
  Engine engine_;
  std::vector<std::int64_t> caps_;
  std::vector<std::pair<std::vector<int>, std::vector<char>>> found_;  ///< choices, and the lines they exceed
};

}  // namespace

Fight fought_over(Engine& engine, const std::vector<Engine::RowMeaning>& meanings, const std::vector<char>& members,
                  const Engine::Prices* proof, Control& control) {
  const auto width = [&](int r) { return meanings[r].types.size(); };
  std::vector<int> rows;
  if (proof != nullptr) {
    for (std::size_t r = 0; r < proof->row.size(); ++r) {
      if (proof->row[r] > 0 && proof->row[r] * meanings[r].cap > proof->worth / kWorthwhile) {
        rows.push_back(static_cast<int>(r));
      }
    }
  }
  // Rows that a choice without them exceeds are added until there is none.
  std::optional<Small> small;
  for (std::size_t at_once = kAtOnce;; at_once *= 2) {
    // Wide rows first: they are the first to be left out again.
    std::sort(rows.begin(), rows.end(),
              [&](int a, int b) { return std::tuple(width(b), a) < std::tuple(width(a), b); });
    std::vector<std::int64_t> caps;
    for (const int r : rows) caps.push_back(meanings[r].cap);
    small.emplace(engine, members, rows, caps, control);
    const Engine::Found found = small->find(std::vector<char>(small->lines(), 1));
    if (found.outcome == Outcome::refuted) break;
    if (found.outcome != Outcome::found) return {};
    std::vector<int> exceeded = engine.exceeded_rows(small->choice_of(found.choice, members));
    KW_CHECK(!exceeded.empty(), "the members of a conflict can be had together");
    std::stable_sort(exceeded.begin(), exceeded.end(), [&](int a, int b) { return width(a) < width(b); });
    exceeded.resize(std::min(exceeded.size(), at_once));
    rows.insert(rows.end(), exceeded.begin(), exceeded.end());
  }
  // Left out in halving chunks while the members stay infeasible; what remains is fought over.
  Fight out;
  out.irreducible = true;
  std::vector<char> on(small->lines(), 1);
  std::vector<std::size_t> open(on.size());
  std::iota(open.begin(), open.end(), 0);
  for (std::size_t chunk = std::max<std::size_t>(1, open.size() / 4);; chunk = std::max<std::size_t>(1, chunk / 2)) {
    std::vector<std::size_t> kept;
    for (std::size_t start = 0; start < open.size(); start += chunk) {
      const std::size_t end = std::min(open.size(), start + chunk);
      for (std::size_t i = start; i < end; ++i) on[open[i]] = 0;
      const Outcome without = small->find(on).outcome;
      if (without == Outcome::refuted) continue;
      if (without == Outcome::stopped) return {};
      out.irreducible = out.irreducible && (chunk > 1 || without == Outcome::found);
      for (std::size_t i = start; i < end; ++i) {
        on[open[i]] = 1;
        kept.push_back(open[i]);
      }
    }
    open = std::move(kept);
    if (chunk == 1) break;
  }
  for (const std::size_t i : open) {
    if (i < rows.size()) {
      out.rows.push_back(rows[i]);
    } else {
      out.budgets.push_back(engine.budget_limits()[i - rows.size()].id);
    }
  }
  return out;
}

}  // namespace allocation
