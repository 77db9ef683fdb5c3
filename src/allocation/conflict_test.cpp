// Conflicts are minimal and smallest, their texts name the right figures, and every way out works and is the least.
#include "allocation/conflict.h"

#include <gtest/gtest.h>

#include <set>

#include "allocation/checker.h"
#include "allocation/random_problem.h"
#include "allocation/solve.h"
#include "allocation/ways_out.h"

namespace allocation {
namespace {

using test::feasible_exhaustively;
using test::random_problem;

/// The problem reduced to some functions and reserves.
Problem restricted(const Problem& p, const std::set<int>& functions, const std::set<int>& reserves) {
  Problem out = p;
  out.functions.clear();
  out.reserves.clear();
  for (int f : functions) out.functions.push_back(p.functions[f]);
  for (int r : reserves) out.reserves.push_back(p.reserves[r]);
  return out;
}

/// Smallest number of functions and reserves that are infeasible together, by trying all subsets.
int smallest_conflict(const Problem& p) {
  const int n = static_cast<int>(p.functions.size()), m = static_cast<int>(p.reserves.size());
  int best = INT_MAX;
  for (unsigned set = 0; set < (1U << (n + m)); ++set) {
    std::set<int> functions, reserves;
    for (int i = 0; i < n; ++i) {
      if (set >> i & 1U) functions.insert(i);
    }
    for (int i = 0; i < m; ++i) {
      if (set >> (n + i) & 1U) reserves.insert(i);
    }
    const int size = static_cast<int>(functions.size() + reserves.size());
    if (size < best && !feasible_exhaustively(restricted(p, functions, reserves))) best = size;
  }
  return best;
}

TEST(Conflict, SaysWhereFunctionsStandInEachOther) {
  Problem p;
  p.places = {"upper at (3, 0, 4.5) p", "upper at (1, 1, 2) p"};
  p.functions = {{"slewing", {{1000, {}, {}, {0}}}, {}, 0, -1}, {"winch", {{1000, {}, {}, {0, 1}}}, {}, 0, -1}};
  EXPECT_EQ(explain_conflict(p).text,
            "slewing and winch would always stand in the same place: upper at (3, 0, 4.5) p.");
  // Each has two places to stand in, and every pair of them meets somewhere else.
  p.functions[0].candidates = {{1000, {}, {}, {0, 1}}, {1000, {}, {}, {2, 3}}};
  p.functions[1].candidates = {{1000, {}, {}, {0, 2}}, {1000, {}, {}, {1, 3}}};
  p.places = {"a", "b", "c", "d"};
  const Conflict c = explain_conflict(p);
  ASSERT_EQ(c.functions.size(), 2U);
  EXPECT_EQ(c.text,
            "slewing and winch cannot be had together: no combination of their candidates fits within the room at a, "
            "the room at b, the room at c and the room at d.");
}

TEST(Conflict, IsMinimalAndSmallestOnEveryInfeasibleProblem) {
  int seen = 0, combinations = 0;
  for (std::uint64_t seed = 0; seed < 1200; ++seed) {
    const Problem p = random_problem(seed);
    const bool feasible = feasible_exhaustively(p);
    const Conflict c = explain_conflict(p);
    ASSERT_EQ(c.found, !feasible) << "seed " << seed;
    if (feasible) continue;
    ++seen;
    const std::set<int> functions(c.functions.begin(), c.functions.end());
    const std::set<int> reserves(c.reserves.begin(), c.reserves.end());
    ASSERT_TRUE(c.irreducible && c.proven_smallest) << "seed " << seed;
    ASSERT_FALSE(feasible_exhaustively(restricted(p, functions, reserves))) << "seed " << seed;
    for (int f : functions) {
      std::set<int> rest = functions;
      rest.erase(f);
      ASSERT_TRUE(feasible_exhaustively(restricted(p, rest, reserves))) << "seed " << seed << ": " << c.text;
    }
    for (int r : reserves) {
      std::set<int> rest = reserves;
      rest.erase(r);
      ASSERT_TRUE(feasible_exhaustively(restricted(p, functions, rest))) << "seed " << seed << ": " << c.text;
    }
    ASSERT_EQ(static_cast<int>(functions.size() + reserves.size()), smallest_conflict(p)) << "seed " << seed;
    ASSERT_FALSE(c.text.empty());
    combinations += c.resources.size() > 1 ? 1 : 0;
    for (const Resource& r : c.resources) {
      std::int64_t sum = 0;
      for (const Share& s : r.shares) sum += s.least;
      ASSERT_EQ(sum, r.needed);
      if (r.kind == ResourceKind::parts) {
        std::int64_t stock = 0;
        for (int part : r.parts) stock += p.parts[part].stock;
        ASSERT_EQ(stock, r.have) << "seed " << seed;
      }
    }
    if (c.resources.size() == 1 && c.functions.size() > 1) {
      ASSERT_TRUE(c.resources[0].enough_alone()) << seed;
    }
  }
  EXPECT_GT(seen, 300);
  EXPECT_GT(combinations, 3);
}

// With everything not named made endless the members still do not fit; with any one named budget freed as well, they do
// (checked where the named parts are single types, so that no other Hall set hides inside a named one).
TEST(Conflict, NamedResourcesAreIrreducible) {
  int checked = 0, freed_budgets = 0;
  for (std::uint64_t seed = 0; seed < 2500; ++seed) {
    const Problem p = random_problem(seed);
    const Conflict c = explain_conflict(p);
    if (!c.found || !c.resources_irreducible || c.resources.size() < 2) continue;
    const Problem members =
        restricted(p, {c.functions.begin(), c.functions.end()}, {c.reserves.begin(), c.reserves.end()});
    // Everything that is not named is made endless; the members must still not fit.
    Problem rest = members;
    std::set<int> parts, budgets;
    bool place = false;
    for (const Resource& r : c.resources) {
      parts.insert(r.parts.begin(), r.parts.end());
      if (r.budget >= 0) budgets.insert(r.budget);
      place |= r.kind == ResourceKind::place;
    }
    for (int i = 0; i < static_cast<int>(rest.parts.size()); ++i) {
      if (!parts.contains(i)) rest.parts[i].stock = 1000;
    }
    for (int b = 0; b < static_cast<int>(rest.budgets.size()); ++b) {
      if (!budgets.contains(b)) rest.budgets[b].limit = INT64_MAX;
    }
    if (!place) {
      for (Function& f : rest.functions) {
        for (Candidate& candidate : f.candidates) candidate.cells.clear();
      }
    }
    ASSERT_FALSE(feasible_exhaustively(rest)) << "seed " << seed << ": " << c.text;
    for (const Resource& r : c.resources) {
      const bool single =
          std::all_of(c.resources.begin(), c.resources.end(), [](const Resource& x) { return x.parts.size() <= 1; });
      if (r.kind != ResourceKind::budget || !single) continue;
      ++freed_budgets;
      Problem freed = rest;
      freed.budgets[r.budget].limit = INT64_MAX;
      ASSERT_TRUE(feasible_exhaustively(freed)) << "seed " << seed << ": " << c.text;
    }
    ++checked;
  }
  EXPECT_GT(checked, 3);
  EXPECT_GT(freed_budgets, 3);
}

/// Fewest extra pieces, by trying every way to spread 0, 1, 2, ... pieces over the part types.
int fewest_extra(const Problem& p, int most) {
  for (int total = 0; total <= most; ++total) {
    Problem q = p;
    auto spread = [&](auto&& self, std::size_t part, int left) -> bool {
      if (part + 1 == q.parts.size()) {
        q.parts[part].stock += left;
        const bool ok = feasible_exhaustively(q);
        q.parts[part].stock -= left;
        return ok;
      }
      for (int n = 0; n <= left; ++n) {
        q.parts[part].stock += n;
        const bool ok = self(self, part + 1, left - n);
        q.parts[part].stock -= n;
        if (ok) return true;
      }
      return false;
    };
    if (spread(spread, 0, total)) return total;
  }
  return INT_MAX;
}

TEST(WaysOut, EachOneWorksAndIsTheLeast) {
  int count[6] = {};
  test::Shape shape;
  shape.most_functions = 3;
  shape.most_parts = 4;
  shape.most_classes = 5;
  shape.lock_percent = 15;
  for (std::uint64_t seed = 5000; seed < 5900; ++seed) {
    const Problem p = random_problem(seed, shape);
    const Conflict c = explain_conflict(p);
    if (!c.found) continue;
    std::int64_t last = 0;
    bool parts_way = false;
    const std::vector<WayOut> ways = ways_out(p, c);
    if (seed % 10 == 0) {  // shared among threads they are the same
      Options options;
      options.jobs = 3;
      const std::vector<WayOut> shared = ways_out(p, c, options);
      ASSERT_EQ(shared.size(), ways.size()) << "seed " << seed;
      for (std::size_t i = 0; i < ways.size(); ++i) {
        ASSERT_EQ(shared[i].text, ways[i].text) << "seed " << seed;
        ASSERT_EQ(shared[i].solution.choice, ways[i].solution.choice) << "seed " << seed;
      }
    }
    for (const WayOut& way : ways) {
      ++count[static_cast<int>(way.kind)];
      ASSERT_GE(way.cost, last);
      last = way.cost;
      ASSERT_TRUE(way.proven_least) << "seed " << seed << ": " << way.text;
      const Problem changed = apply(p, way);
      ASSERT_TRUE(feasible_exhaustively(changed)) << "seed " << seed << ": " << way.text;
      ASSERT_EQ(way.solution.status, Status::optimal);
      ASSERT_TRUE(check_solution(changed, way.solution).empty()) << "seed " << seed << ": " << way.text;
      switch (way.kind) {
        case WayOutKind::more_parts: {
          int pieces = 0;
          for (const Take& t : way.extra) pieces += t.count;
          ASSERT_EQ(pieces, fewest_extra(p, pieces)) << "seed " << seed << ": " << way.text;
          parts_way = true;
          break;
        }
        case WayOutKind::loosen_target: {
          Problem tighter = p;  // the next better margin of that function is out of reach
          tighter.functions[way.functions[0]].floor = static_cast<int>(way.after) + 1;
          ASSERT_FALSE(feasible_exhaustively(tighter)) << "seed " << seed << ": " << way.text;
          break;
        }
        case WayOutKind::raise_budget: {
          Problem tighter = p;
          tighter.budgets[way.budget].limit = way.after - 1;
          ASSERT_FALSE(feasible_exhaustively(tighter)) << "seed " << seed << ": " << way.text;
          break;
        }
        default:
          break;
      }
    }
    if (!parts_way) {
      ASSERT_EQ(fewest_extra(p, 3), INT_MAX) << "seed " << seed << ": a few parts would help";
    }
  }
  for (int kind = 0; kind < 6; ++kind) EXPECT_GT(count[kind], 10) << "kind " << kind;
}

Problem two_drives() {
  Problem p;
  p.parts = {{"gear 40 teeth", 3}, {"axle 5", 9}};
  p.classes = {{"gear 40 teeth", {0}}, {"axle 5", {1}}};
  p.budgets = {{"mass", INT64_MAX}};
  for (const char* name : {"slew", "travel", "hoist"}) {
    Function f;
    f.name = name;
    f.floor = 1000;
    f.candidates.push_back({1200, {100}, {{0, 2}, {1, 1}}, {}});
    f.candidates.push_back({870, {80}, {{0, 1}, {1, 1}}, {}});
    if (p.functions.size() == 2) f.candidates = {{1500, {10}, {{1, 1}}, {}}};
    p.functions.push_back(f);
  }
  return p;
}

TEST(Conflict, TextNamesMembersPartsStockAndShares) {
  const Conflict c = explain_conflict(two_drives());
  ASSERT_TRUE(c.found);
  EXPECT_EQ(c.text, "slew and travel need at least 4 of 'gear 40 teeth'; stock has 3: slew 2, travel 2.");
  const auto ways = ways_out(two_drives(), c);
  ASSERT_EQ(ways.size(), 5U);
  EXPECT_EQ(ways[0].text, "1 more of 'gear 40 teeth'");
  EXPECT_EQ(ways[1].text, "target of slew loosened from 1.00 to 0.87");
  EXPECT_EQ(ways[2].text, "target of travel loosened from 1.00 to 0.87");
  EXPECT_EQ(ways[3].text, "slew dropped");
  EXPECT_EQ(ways[4].text, "travel dropped");
}

TEST(WaysOut, RaisingALimitIsWeighedByTheLimitThatPeopleSee) {
  Problem p = two_drives();
  p.parts[0].stock = 9;
  p.budgets[0].limit = 150;
  const auto raise = [&] {
    for (const WayOut& way : ways_out(p, explain_conflict(p)))
      if (way.kind == WayOutKind::raise_budget) return way.cost;
    return std::int64_t{-1};
  };
  // Slew, travel and hoist take 210: 60 more than the limit.
  EXPECT_EQ(raise(), 60 * way_out_cost::kWhole / 150);
  p.budgets[0].whole = 1150;
  p.budgets[0].taken = 1000;
  EXPECT_EQ(raise(), 60 * way_out_cost::kWhole / 1150);
  // Nothing is left and 350 are lacking before anything is taken.
  p.budgets[0].limit = 0;
  p.budgets[0].taken = 1500;
  EXPECT_EQ(raise(), (350 + 210) * way_out_cost::kWhole / 1150);
}

TEST(Conflict, TextSaysWhenNoCandidateReachesTheTarget) {
  Problem p = two_drives();
  p.functions[1].floor = 2000;
  EXPECT_EQ(explain_conflict(p).text, "No candidate of travel reaches 2.00; the best reaches 1.20.");
  p.functions[1].candidates.clear();
  EXPECT_EQ(explain_conflict(p).text, "travel has no candidate at all.");
}

TEST(Conflict, TextNamesReservesAndBudgets) {
  Problem p = two_drives();
  p.functions.pop_back();
  p.functions.pop_back();
  p.reserves = {{0, 2, "chassis"}};
  EXPECT_EQ(explain_conflict(p).text,
            "slew and the reserve for chassis need at least 4 of 'gear 40 teeth'; stock has 3: slew 2, the reserve "
            "for chassis 2.");
  p = two_drives();
  p.parts[0].stock = 9;
  p.budgets[0].limit = 150;
  EXPECT_EQ(explain_conflict(p).text,
            "slew and travel need at least 200 mass; the limit is 150: slew 100, travel 100.");
  p.budgets[0].unit = "g";
  p.budgets[0].per_unit = 8;
  p.budgets[0].why = "bodies weigh 81.25 g of the 100 g allowed";
  EXPECT_EQ(explain_conflict(p).text,
            "slew and travel need at least 25 g of mass; the limit is 18.75 g (bodies weigh 81.25 g of the 100 g "
            "allowed): slew 12.5 g, travel 12.5 g.");
}

}  // namespace
}  // namespace allocation
