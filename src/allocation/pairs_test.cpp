// Covers pairs_out: every pair of changes that works where no single one does, by trying all of them; that neither of a
// pair can be smaller; and that a search that ended early says so.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "allocation/checker.h"
#include "allocation/conflict.h"
#include "allocation/random_problem.h"
#include "allocation/ways_out.h"

namespace allocation {
namespace {

using test::feasible_exhaustively;

/// A change by its sort and whom it concerns, as the page would name it.
using Key = std::pair<WayOutKind, int>;

Key key_of(const WayOut& way) {
  switch (way.kind) {
    case WayOutKind::more_parts:
      return {way.kind, -1};
    case WayOutKind::release_reserve:
      return {way.kind, way.reserve};
    case WayOutKind::raise_budget:
      return {way.kind, way.budget};
    default:
      return {way.kind, way.functions.at(0)};
  }
}

/// Everything that could be changed, whatever stands in the way.
std::vector<Key> all_changes(const Problem& p) {
  std::vector<Key> out{{WayOutKind::more_parts, -1}};
  for (int f = 0; f < static_cast<int>(p.functions.size()); ++f) {
    out.emplace_back(WayOutKind::loosen_target, f);
    out.emplace_back(WayOutKind::drop_functions, f);
    if (p.functions[f].locked >= 0) out.emplace_back(WayOutKind::unlock, f);
  }
  for (int r = 0; r < static_cast<int>(p.reserves.size()); ++r) out.emplace_back(WayOutKind::release_reserve, r);
  for (int b = 0; b < static_cast<int>(p.budgets.size()); ++b) out.emplace_back(WayOutKind::raise_budget, b);
  return out;
}

void relax(Problem& p, const Key& change) {
  switch (change.first) {
    case WayOutKind::more_parts:
      for (Part& part : p.parts) part.stock = 1000;
      break;
    case WayOutKind::loosen_target:
      p.functions[change.second].floor = -1;
      break;
    case WayOutKind::unlock:
      p.functions[change.second].locked = -1;
      break;
    case WayOutKind::drop_functions:
      p.functions[change.second].locked = -1;
      p.functions[change.second].candidates.clear();
      p.functions[change.second].skip = Skip{};
      break;
    case WayOutKind::release_reserve:
      p.reserves[change.second].count = 0;
      break;
    case WayOutKind::raise_budget:
      p.budgets[change.second].limit = INT64_MAX;
      break;
  }
}

bool works(Problem p, const std::vector<Key>& changes) {
  for (const Key& k : changes) relax(p, k);
  return feasible_exhaustively(p);
}

/// The pairs that work where neither does alone; two left out, and a target of what is left out, are none.
std::set<std::pair<Key, Key>> pairs_by_trying(const Problem& p) {
  std::set<std::pair<Key, Key>> out;
  const std::vector<Key> all = all_changes(p);
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (works(p, {all[i]})) continue;
    for (std::size_t j = i + 1; j < all.size(); ++j) {
      const bool a = all[i].first == WayOutKind::drop_functions, b = all[j].first == WayOutKind::drop_functions;
      const auto of_function = [](const Key& k) {
        return k.first == WayOutKind::loosen_target || k.first == WayOutKind::unlock ||
               k.first == WayOutKind::drop_functions;
      };
      if (a && b) continue;
      if ((a || b) && all[i].second == all[j].second && of_function(all[i]) && of_function(all[j])) continue;
      if (!works(p, {all[j]}) && works(p, {all[i], all[j]})) out.insert(std::minmax(all[i], all[j]));
    }
  }
  return out;
}

/// Whether a change that is one step smaller would do as well.
bool smaller_works(const Problem& with_other, const WayOut& way) {
  switch (way.kind) {
    case WayOutKind::more_parts: {
      // One piece less in total, spread in every way over the part types.
      int pieces = -1;
      for (const Take& t : way.extra) pieces += t.count;
      Problem q = with_other;
      const auto spread = [&](auto&& self, std::size_t part, int left) -> bool {
        for (int n = part + 1 == q.parts.size() ? left : 0; n <= left; ++n) {
          q.parts[part].stock += n;
          const bool ok = part + 1 == q.parts.size() ? feasible_exhaustively(q) : self(self, part + 1, left - n);
          q.parts[part].stock -= n;
          if (ok) return true;
        }
        return false;
      };
      return spread(spread, 0, pieces);
    }
    case WayOutKind::loosen_target: {
      Problem q = with_other;
      q.functions[way.functions[0]].floor = static_cast<int>(way.after) + 1;
      return feasible_exhaustively(q);
    }
    case WayOutKind::raise_budget: {
      Problem q = with_other;
      q.budgets[way.budget].limit = way.after - 1;
      return feasible_exhaustively(q);
    }
    default:
      return feasible_exhaustively(with_other);
  }
}

TEST(PairsOut, AreAllThatWorkAndNeitherChangeCanBeSmaller) {
  test::Shape shape;
  shape.most_functions = 3;
  shape.most_candidates = 3;
  shape.most_parts = 4;
  shape.most_classes = 4;
  shape.lock_percent = 20;
  shape.skip_percent = 10;
  shape.floor_percent = 60;
  int looked = 0, pairs = 0;
  std::set<WayOutKind> kinds;
  for (std::uint64_t seed = 7000; seed < 7500; ++seed) {
    const Problem p = test::random_problem(seed, shape);
    const Conflict c = explain_conflict(p);
    if (!c.found) continue;
    const std::vector<WayOut> singles = ways_out(p, c);
    const PairsOut out = pairs_out(p, c, singles, {}, 1000000, 1000);
    const bool only_dropping = std::all_of(singles.begin(), singles.end(),
                                           [](const WayOut& way) { return way.kind == WayOutKind::drop_functions; });
    ASSERT_EQ(out.looked_for, only_dropping) << "seed " << seed;
    if (!out.looked_for) continue;
    ++looked;
    ASSERT_TRUE(out.complete && out.text.empty()) << "seed " << seed;
    std::set<std::pair<Key, Key>> found;
    std::int64_t last = 0;
    for (const PairOut& pair : out.pairs) {
      ASSERT_GE(pair.cost, last);
      last = pair.cost;
      ASSERT_TRUE(found.insert(std::minmax(key_of(pair.first), key_of(pair.second))).second) << "twice, seed " << seed;
      const Problem with_first = apply(p, pair.first), with_second = apply(p, pair.second);
      ASSERT_FALSE(feasible_exhaustively(with_first)) << "seed " << seed << ": " << pair.first.text;
      ASSERT_FALSE(feasible_exhaustively(with_second)) << "seed " << seed << ": " << pair.second.text;
      const Problem both = apply(with_first, pair.second);
      ASSERT_TRUE(feasible_exhaustively(both)) << "seed " << seed;
      ASSERT_TRUE(check_solution(both, pair.first.solution).empty()) << "seed " << seed;
      ASSERT_TRUE(pair.first.proven_least && pair.second.proven_least) << "seed " << seed;
      ASSERT_FALSE(smaller_works(with_first, pair.second)) << "seed " << seed << ": " << pair.second.text;
      ASSERT_FALSE(smaller_works(with_second, pair.first)) << "seed " << seed << ": " << pair.first.text;
      kinds.insert(pair.first.kind);
      kinds.insert(pair.second.kind);
      ++pairs;
    }
    ASSERT_EQ(found, pairs_by_trying(p)) << "seed " << seed;
  }
  EXPECT_GT(looked, 30);
  EXPECT_GT(pairs, 60);
  EXPECT_EQ(kinds.size(), 6u);  // every sort of change takes part in some pair
}

/// One gear too few, and the sum of the masses too great: each change alone leaves the other conflict.
Problem two_lacks() {
  Problem p;
  p.parts = {{"gear 40 teeth", 3}};
  p.classes = {{"gear 40 teeth", {0}}};
  p.budgets = {{"mass", 250}};
  for (const char* name : {"slew", "travel", "hoist"}) {
    Function f;
    f.name = name;
    f.floor = 1000;
    f.candidates.push_back({1200, {100}, {{0, name == std::string("hoist") ? 1 : 2}}, {}});
    p.functions.push_back(f);
  }
  return p;
}

TEST(PairsOut, NamesBothChangesWithTheirLeastFigures) {
  const Problem p = two_lacks();
  const Conflict c = explain_conflict(p);
  ASSERT_TRUE(c.found);
  const std::vector<WayOut> singles = ways_out(p, c);
  const PairsOut out = pairs_out(p, c, singles);
  ASSERT_EQ(out.pairs.size(), 2u);  // leaving out slew or travel is enough alone, leaving out the hoist is not
  EXPECT_EQ(out.pairs[0].first.text, "2 more of 'gear 40 teeth'");
  EXPECT_EQ(out.pairs[0].second.text, "limit of mass raised from 250 to 300");
  EXPECT_EQ(out.pairs[0].cost, 2 * way_out_cost::kPiece + 200);
  EXPECT_EQ(out.pairs[1].first.text, "1 more of 'gear 40 teeth'");
  EXPECT_EQ(out.pairs[1].second.text, "hoist dropped");
  EXPECT_TRUE(out.complete);
}

TEST(PairsOut, SayWhenTheSearchEndedOrNotAllAreListed) {
  const Problem p = two_lacks();
  const Conflict c = explain_conflict(p);
  const PairsOut ended = pairs_out(p, c, ways_out(p, c), {}, 1);
  EXPECT_TRUE(ended.looked_for);
  EXPECT_FALSE(ended.complete);
  EXPECT_NE(ended.text.find("was ended after"), std::string::npos);
  const PairsOut none_listed = pairs_out(p, c, ways_out(p, c), {}, 200, 0);
  EXPECT_EQ(none_listed.found, 2);
  EXPECT_EQ(none_listed.text, "The cheapest 0 of 2 pairs that work are listed.");
  // Stopped from outside: the same.
  std::atomic<bool> stop{true};
  Options stopped;
  stopped.cancel = &stop;
  EXPECT_FALSE(pairs_out(p, c, {}, stopped).complete);
}

}  // namespace
}  // namespace allocation
