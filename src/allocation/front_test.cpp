// The trade-off front equals the one found by trying every choice; stopped fronts state a gap that holds.
#include "allocation/front.h"

#include <gtest/gtest.h>

#include <set>

#include "allocation/checker.h"
#include "allocation/random_problem.h"
#include "allocation/solve.h"

namespace allocation {
namespace {

using Vector = std::array<std::int64_t, 3>;  // margin, cost, pieces

Vector vector_of(const Problem& p, const std::vector<int>& choice, bool with_parts) {
  const auto s = test::scores(
      p, {{StageKind::best_worst_margin, {}}, {StageKind::least_budget, "mass"}, {StageKind::fewest_parts, {}}},
      choice);
  return {-s[0], s[1], with_parts ? s[2] : 0};
}

bool dominates(const Vector& a, const Vector& b) {
  return a != b && a[0] >= b[0] && a[1] <= b[1] && a[2] <= b[2];
}

/// All non-dominated vectors among choices of least dropped weight.
std::set<Vector> exhaustive_front(const Problem& p, bool with_parts) {
  std::int64_t least = INT64_MAX;
  std::set<Vector> all;
  test::for_each_choice(p, [&](const std::vector<int>& choice) {
    const std::int64_t weight = test::scores(p, {{StageKind::least_dropped_weight, {}}}, choice)[0];
    if (weight < least) all.clear();
    least = std::min(least, weight);
    if (weight == least) all.insert(vector_of(p, choice, with_parts));
  });
  std::set<Vector> out;
  for (const Vector& v : all) {
    if (std::none_of(all.begin(), all.end(), [&](const Vector& w) { return dominates(w, v); })) out.insert(v);
  }
  return out;
}

void expect_exact(const Problem& p, bool with_parts, std::uint64_t seed, std::size_t& largest) {
  FrontOptions options;
  options.with_parts = with_parts;
  const Front front = trade_off_front(p, options);
  ASSERT_TRUE(front.complete);
  ASSERT_TRUE(front.open.empty());
  std::set<Vector> got;
  for (const FrontPoint& point : front.points) {
    ASSERT_TRUE(check_solution(p, point.solution).empty()) << check_solution(p, point.solution).front();
    const Vector v{point.worst_margin, point.cost, with_parts ? point.pieces : 0};
    ASSERT_EQ(v, vector_of(p, point.solution.choice, with_parts)) << "seed " << seed;
    ASSERT_TRUE(got.insert(v).second) << "seed " << seed << ": a point twice";
  }
  ASSERT_EQ(got, exhaustive_front(p, with_parts)) << "seed " << seed;
  ASSERT_EQ(front.status, got.empty() ? Status::infeasible : Status::optimal);
  for (std::size_t i = 1; i < front.points.size(); ++i) {
    ASSERT_GE(front.points[i - 1].worst_margin, front.points[i].worst_margin) << "seed " << seed;
  }
  largest = std::max(largest, got.size());
}

TEST(Front, EqualsExhaustiveFrontInTwoAndThreeAxes) {
  std::size_t largest = 0;
  for (std::uint64_t seed = 0; seed < 500; ++seed) {
    test::Shape shape;
    shape.lock_percent = 5;
    if (seed % 2 == 1) {
      shape.least_stock = 1;
      shape.most_stock = 5;
    }
    const Problem p = test::random_problem(seed, shape);
    expect_exact(p, seed % 4 < 2, seed, largest);
    if (HasFatalFailure()) return;
  }
  EXPECT_GT(largest, 5U);
}

// Many boxes at once, as margins are few and pieces vary.
TEST(Front, EqualsExhaustiveFrontWithManyTies) {
  std::size_t largest = 0;
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    test::Shape shape;
    shape.most_functions = 7;
    shape.most_candidates = 5;
    shape.skip_percent = shape.lock_percent = shape.floor_percent = shape.reserve_percent = 0;
    shape.least_stock = 4;
    shape.most_stock = 9;
    Problem p = test::random_problem(seed, shape);
    for (Function& f : p.functions) {
      for (Candidate& c : f.candidates) c.margin = c.margin / 400 * 400;
    }
    for (Budget& b : p.budgets) b.limit = INT64_MAX;
    expect_exact(p, true, seed, largest);
    if (HasFatalFailure()) return;
  }
  EXPECT_GT(largest, 8U);
}

// Too large to try every choice: the least mass with every margin at a threshold or above, threshold by threshold, is
// the same staircase.
TEST(Front, IsTheStaircaseOfTheLeastMassAtEveryThreshold) {
  test::Shape shape;
  shape.most_functions = 9;
  shape.most_candidates = 16;
  shape.most_parts = 9;
  shape.skip_percent = shape.lock_percent = shape.floor_percent = 0;
  shape.least_stock = 2;
  shape.most_stock = 9;
  std::size_t points = 0, most_functions = 0;
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    const Problem p = test::random_problem(seed, shape);
    FrontOptions options;
    options.with_parts = false;
    const Front front = trade_off_front(p, options);
    std::set<int, std::greater<>> thresholds;
    for (const Function& f : p.functions) {
      for (const Candidate& c : f.candidates) thresholds.insert(c.margin);
    }
    std::vector<std::pair<int, std::int64_t>> want;
    Options only_mass;
    only_mass.order = {{StageKind::least_budget, "mass"}};
    for (const int threshold : thresholds) {
      Problem q = p;
      for (Function& f : q.functions) f.floor = threshold;
      const Solution s = solve(q, only_mass);
      if (s.status == Status::infeasible) continue;
      ASSERT_EQ(s.status, Status::optimal) << "seed " << seed;
      const std::int64_t mass = s.budget_totals[0];
      if (want.empty() || mass < want.back().second) want.emplace_back(threshold, mass);
    }
    std::vector<std::pair<int, std::int64_t>> got;
    for (const FrontPoint& point : front.points) got.emplace_back(point.worst_margin, point.cost);
    ASSERT_EQ(got, want) << "seed " << seed;
    points += got.size();
    if (got.size() > 4) most_functions = std::max(most_functions, p.functions.size());
  }
  EXPECT_GT(points, 100U);
  EXPECT_GT(most_functions, 6U);
}

TEST(Front, StoppedFrontIsPartOfTheTrueOneAndItsGapCoversTheRest) {
  int incomplete = 0;
  for (std::uint64_t seed = 1000; seed < 1200; ++seed) {
    test::Shape shape;
    shape.least_stock = 1;
    shape.most_stock = 5;
    const Problem p = test::random_problem(seed, shape);
    FrontOptions options;
    if (seed % 2 == 0) {
      options.max_points = 1 + static_cast<int>(seed % 3);
    } else {
      options.search.node_limit = 3 + static_cast<std::int64_t>(seed % 11);
    }
    const Front front = trade_off_front(p, options);
    const std::set<Vector> want = exhaustive_front(p, true);
    std::set<Vector> got;
    for (const FrontPoint& point : front.points) got.insert({point.worst_margin, point.cost, point.pieces});
    for (const Vector& v : got) ASSERT_TRUE(want.contains(v)) << "seed " << seed;
    if (front.complete) {
      ASSERT_EQ(got, want);
      continue;
    }
    if (front.status == Status::stopped_without_answer) continue;
    ++incomplete;
    for (const Vector& v : want) {
      if (got.contains(v)) continue;
      const bool covered = std::any_of(front.open.begin(), front.open.end(), [&](const OpenRegion& r) {
        return v[0] <= r.margin_bound && v[1] <= r.most_cost && v[2] <= r.most_pieces;
      });
      ASSERT_TRUE(covered) << "seed " << seed;
    }
  }
  EXPECT_GT(incomplete, 20);
}

}  // namespace
}  // namespace allocation
