// solve(): equal to exhaustive search on small problems of every sort, published cases, determinism, limits.
#include "allocation/solve.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>

#include "allocation/checker.h"
#include "allocation/random_problem.h"

namespace allocation {
namespace {

using test::Exhaustive;
using test::Random;
using test::random_problem;
using test::Shape;

std::vector<std::vector<Stage>> all_orders() {
  const Stage weight{StageKind::least_dropped_weight, {}}, margin{StageKind::best_worst_margin, {}};
  const Stage mass{StageKind::least_budget, "mass"}, ports{StageKind::least_budget, "ports"};
  const Stage pieces{StageKind::fewest_parts, {}};
  return {{weight, margin, mass},         {margin, mass}, {mass, margin}, {pieces, margin, mass},
          {weight, mass, pieces},         {margin},       {ports},        {margin, ports, mass},
          {weight, ports, margin, pieces}};
}

void expect_equals_exhaustive(const Problem& p, const Options& options, std::uint64_t seed) {
  ASSERT_TRUE(validate(p).empty()) << validate(p).front();
  const Exhaustive want = test::solve_exhaustively(p, options.order);
  const Solution got = solve(p, options);
  ASSERT_EQ(got.status, want.found ? Status::optimal : Status::infeasible) << "seed " << seed;
  const auto violations = check_solution(p, got);
  ASSERT_TRUE(violations.empty()) << "seed " << seed << ": " << violations.front();
  if (!want.found) return;
  ASSERT_EQ(test::scores(p, options.order, got.choice), want.score) << "seed " << seed;
  ASSERT_TRUE(got.lexicographically_first) << "seed " << seed;
  ASSERT_EQ(got.choice, want.choice) << "seed " << seed;
}

TEST(Solve, EqualsExhaustiveSearchInEveryOrder) {
  const auto orders = all_orders();
  int infeasible = 0;
  for (std::uint64_t seed = 0; seed < 1800; ++seed) {
    const Problem p = random_problem(seed);
    Options options;
    options.order = orders[seed % orders.size()];
    expect_equals_exhaustive(p, options, seed);
    if (HasFatalFailure()) return;
    infeasible += test::feasible_exhaustively(p) ? 0 : 1;
  }
  EXPECT_GT(infeasible, 200);  // the sample holds enough of both
  EXPECT_LT(infeasible, 1600);
}

TEST(Solve, EqualsExhaustiveSearchWithPlentyOfStockAndTies) {
  Shape shape;
  shape.least_stock = 2;
  shape.most_stock = 6;
  shape.most_functions = 5;
  const auto orders = all_orders();
  for (std::uint64_t seed = 10000; seed < 10300; ++seed) {
    Options options;
    options.order = orders[seed % orders.size()];
    expect_equals_exhaustive(random_problem(seed, shape), options, seed);
    if (HasFatalFailure()) return;
  }
}

TEST(Solve, FindsMissingRowsByFlowWhenNoneAreListed) {
  const auto orders = all_orders();
  for (std::uint64_t seed = 20000; seed < 20400; ++seed) {
    Options options;
    options.order = orders[seed % orders.size()];
    options.max_listed_rows = 0;
    expect_equals_exhaustive(random_problem(seed), options, seed);
    if (HasFatalFailure()) return;
  }
}

TEST(Solve, StaysExactWithHugeBudgets) {
  Shape shape;
  shape.unit = (std::int64_t{1} << 50) + 12345;
  const auto orders = all_orders();
  for (std::uint64_t seed = 30000; seed < 30300; ++seed) {
    Problem p = random_problem(seed, shape);
    Random rng(seed);  // odd units so that rounding would show
    for (Function& f : p.functions) {
      for (Candidate& c : f.candidates) c.use[0] += rng.in(0, 3);
    }
    Options options;
    options.order = orders[seed % orders.size()];
    expect_equals_exhaustive(p, options, seed);
    if (HasFatalFailure()) return;
  }
}

TEST(Solve, FunctionOrderAndUnusedStockDoNotChangeTheValues) {
  for (std::uint64_t seed = 40000; seed < 40200; ++seed) {
    Problem p = random_problem(seed);
    Options options;
    options.order = all_orders()[seed % 9];
    const Solution before = solve(p, options);
    std::reverse(p.functions.begin(), p.functions.end());
    p.parts.push_back({"spare", 9});
    const Solution after = solve(p, options);
    ASSERT_EQ(before.status, after.status);
    ASSERT_EQ(before.stages.size(), after.stages.size());
    for (std::size_t s = 0; s < before.stages.size(); ++s) {
      ASSERT_EQ(before.stages[s].value, after.stages[s].value) << "seed " << seed;
    }
  }
}

TEST(Solve, SameBytesForOneAndTwoJobsAndOnRepetition) {
  for (std::uint64_t seed = 50000; seed < 50100; ++seed) {
    const Problem p = random_problem(seed);
    Options one, two;
    two.jobs = 2;
    const Solution a = solve(p, one), b = solve(p, two);
    ASSERT_EQ(a.choice, b.choice);
    ASSERT_EQ(a.parts, b.parts);
    ASSERT_EQ(a.reserves, b.reserves);
    ASSERT_EQ(a.stats.nodes, b.stats.nodes);
    ASSERT_EQ(a.stats.price_steps, b.stats.price_steps);
  }
}

// P. Hall, "On representatives of subsets", 1935 (deficiency form: Ore). Functions and the single parts each accepts.
Problem hall_case(const std::vector<std::vector<int>>& accepts, int parts) {
  Problem p;
  for (int i = 0; i < parts; ++i) p.parts.push_back({"part " + std::to_string(i + 1), 1});
  for (std::size_t f = 0; f < accepts.size(); ++f) {
    Class cls{"set " + std::to_string(f + 1), {}};
    for (int part : accepts[f]) cls.parts.push_back(part - 1);
    p.classes.push_back(cls);
    Candidate c;
    c.margin = 1000;
    c.needs = {{static_cast<int>(f), 1}};
    p.functions.push_back({"f" + std::to_string(f + 1), {c}, std::nullopt, 0, -1});
  }
  return p;
}

TEST(Solve, HallConditionDecidesCompleteAssignments) {  // OPT-06
  EXPECT_EQ(solve(hall_case({{1, 2}, {2, 3}, {1, 3}, {1, 2, 3}}, 4)).status, Status::infeasible);
  Problem wished = hall_case({{1, 2}, {2, 3}, {1, 3}, {1, 2, 3}}, 4);
  for (Function& f : wished.functions) f.skip = Skip{INT_MAX, 0, 1};
  const Solution best = solve(wished);
  EXPECT_EQ(best.status, Status::optimal);
  EXPECT_EQ(best.dropped_weight, 1);  // best 3 of 4
  const Problem b = hall_case({{1, 2}, {2, 3}, {1, 3}, {3, 4}}, 4);
  const Solution complete = solve(b);
  ASSERT_EQ(complete.status, Status::optimal);
  ASSERT_EQ(complete.parts.size(), 4U);
  EXPECT_EQ(complete.parts[3].takes, (std::vector<Take>{{3, 1}}));  // the fourth function must take part 4
  EXPECT_TRUE(check_solution(b, complete).empty());
}

// developers.google.com, "Solving an Assignment Problem": minimum 265, worker 0 task 3, 1 task 2, 2 task 1, 3 task 0.
TEST(Solve, AssignmentOfWorkersToTasksCosts265) {  // OPT-05
  const int cost[5][4] = {
      {90, 80, 75, 70}, {35, 85, 55, 65}, {125, 95, 90, 95}, {45, 110, 95, 115}, {50, 100, 90, 100}};
  Problem p;
  p.budgets.push_back({"cost", INT64_MAX});
  for (int w = 0; w < 5; ++w) {
    p.parts.push_back({"worker", 1});
    p.classes.push_back({"worker", {w}});
  }
  for (int t = 0; t < 4; ++t) {
    Function f;
    f.name = "task";
    for (int w = 0; w < 5; ++w) f.candidates.push_back({1000, {cost[w][t]}, {{w, 1}}, {}});
    p.functions.push_back(f);
  }
  Options options;
  options.order = {{StageKind::least_budget, "cost"}};
  const Solution s = solve(p, options);
  ASSERT_EQ(s.status, Status::optimal);
  EXPECT_EQ(s.budget_totals[0], 265);
  EXPECT_EQ(s.choice, (std::vector<int>{3, 2, 1, 0}));
  int second = INT_MAX;
  test::for_each_choice(p, [&](const std::vector<int>& choice) {
    const int total = static_cast<int>(test::scores(p, options.order, choice)[0]);
    if (choice != s.choice) second = std::min(second, total);
  });
  EXPECT_EQ(second, 270);
}

// Bradley, Hax & Magnanti, Applied Mathematical Programming, Fig. 8.1: minimum cost 150. Each unit of flow is a
// function, its simple paths are candidates, arcs are part types.
TEST(Solve, MinimumCostFlowCosts150) {  // OPT-04
  struct Arc {
    int from, to, capacity, cost;
  };
  const std::vector<Arc> arcs{{0, 1, 15, 4}, {0, 2, 8, 4}, {1, 2, 20, 2}, {1, 3, 4, 2}, {1, 4, 10, 6},
                              {2, 3, 15, 1}, {2, 4, 4, 3}, {3, 4, 20, 2}, {4, 2, 5, 3}};
  Problem p;
  p.budgets.push_back({"cost", INT64_MAX});
  for (std::size_t a = 0; a < arcs.size(); ++a) {
    p.parts.push_back({"arc", arcs[a].capacity});
    p.classes.push_back({"arc", {static_cast<int>(a)}});
  }
  auto paths_to = [&](int sink) {
    std::vector<Candidate> out;
    std::vector<char> seen(5, 0);
    std::vector<Need> needs;
    auto walk = [&](auto&& self, int at, int cost) -> void {
      if (at == sink) {
        Candidate c{1000, {cost}, needs, {}};
        out.push_back(c);
        return;
      }
      seen[at] = 1;
      for (std::size_t a = 0; a < arcs.size(); ++a) {
        if (arcs[a].from != at || seen[arcs[a].to]) continue;
        needs.push_back({static_cast<int>(a), 1});
        self(self, arcs[a].to, cost + arcs[a].cost);
        needs.pop_back();
      }
      seen[at] = 0;
    };
    walk(walk, 0, 0);
    return out;
  };
  for (int unit = 0; unit < 20; ++unit) {
    p.functions.push_back({"unit", paths_to(unit < 5 ? 3 : 4), std::nullopt, 0, -1});
  }
  Options options;
  options.order = {{StageKind::least_budget, "cost"}};
  const Solution s = solve(p, options);
  ASSERT_EQ(s.status, Status::optimal);
  EXPECT_EQ(s.budget_totals[0], 150);
  EXPECT_TRUE(check_solution(p, s).empty());
}

// S. Khan, K. F. Li, E. G. Manning, M. M. Akbar, "Solving the knapsack problem for adaptive multimedia systems",
// Studia Informatica Universalis 2(1), 2002: instances I01 and I02, "value (use of resources 1..5)".
struct Item {
  int value;
  int use[5];
};
const std::vector<std::vector<Item>> kGroups{
    {{7, {1, 3, 1, 1, 6}}, {17, {1, 4, 9, 9, 3}}, {25, {4, 3, 9, 8, 2}}, {35, {4, 5, 8, 0, 6}}, {36, {6, 8, 3, 0, 7}}},
    {{9, {0, 0, 4, 4, 2}}, {10, {0, 0, 1, 8, 7}}, {10, {1, 1, 6, 0, 6}}, {39, {9, 1, 2, 2, 4}}, {44, {8, 7, 0, 8, 2}}},
    {{15, {2, 0, 5, 5, 5}}, {19, {2, 3, 2, 6, 2}}, {20, {3, 1, 6, 4, 7}}, {44, {6, 7, 5, 6, 9}}, {50, {9, 5, 9, 2, 2}}},
    {{5, {0, 1, 3, 8, 0}}, {25, {2, 2, 7, 0, 8}}, {32, {5, 5, 6, 1, 9}}, {37, {6, 3, 6, 9, 1}}, {37, {7, 9, 7, 2, 3}}},
    {{24, {4, 0, 7, 0, 2}}, {30, {4, 8, 9, 0, 0}}, {32, {5, 2, 7, 2, 0}}, {43, {5, 5, 9, 5, 2}}, {44, {9, 2, 2, 2, 3}}},
    {{17, {1, 6, 0, 4, 0}}, {22, {5, 1, 2, 7, 0}}, {31, {5, 2, 7, 9, 9}}, {36, {5, 3, 6, 1, 8}}, {41, {5, 7, 9, 9, 6}}},
    {{15, {0, 2, 6, 5, 5}}, {23, {1, 3, 7, 2, 5}}, {25, {2, 2, 6, 1, 9}}, {25, {2, 8, 2, 3, 2}}, {27, {6, 3, 4, 9, 4}}},
    {{25, {0, 9, 5, 0, 2}}, {27, {6, 5, 2, 2, 8}}, {34, {8, 2, 5, 9, 4}}, {36, {8, 5, 4, 2, 2}}, {42, {6, 2, 9, 0, 3}}},
    {{24, {5, 3, 4, 2, 9}}, {28, {5, 9, 2, 2, 9}}, {33, {3, 4, 9, 7, 7}}, {38, {5, 7, 7, 4, 6}}, {44, {7, 7, 6, 0, 8}}},
    {{13, {0, 5, 4, 5, 1}},
     {35, {5, 9, 4, 0, 6}},
     {38, {8, 8, 2, 1, 0}},
     {40, {5, 4, 8, 0, 1}},
     {42, {9, 4, 8, 7, 8}}}};

Problem knapsack(int groups, int capacity) {
  Problem p;
  p.budgets.push_back({"value missed", INT64_MAX});
  for (int r = 0; r < 5; ++r) p.budgets.push_back({"resource " + std::to_string(r + 1), capacity});
  for (int g = 0; g < groups; ++g) {
    Function f;
    f.name = "group";
    for (const Item& item : kGroups[g]) {
      Candidate c;
      c.margin = 1000;
      c.use.push_back(100 - item.value);
      c.use.insert(c.use.end(), item.use, item.use + 5);
      f.candidates.push_back(c);
    }
    p.functions.push_back(f);
  }
  return p;
}

TEST(Solve, MultipleChoiceKnapsackI01HasValue173) {  // OPT-01
  const Problem p = knapsack(5, 25);
  Options options;
  options.order = {{StageKind::least_budget, "value missed"}};
  const Solution s = solve(p, options);
  ASSERT_EQ(s.status, Status::optimal);
  EXPECT_EQ(500 - s.budget_totals[0], 173);
  EXPECT_EQ(s.choice, (std::vector<int>{3, 4, 1, 2, 3}));
  int equal = 0;
  test::for_each_choice(p, [&](const std::vector<int>& choice) {
    equal += 500 - test::scores(p, options.order, choice)[0] == 173 ? 1 : 0;
  });
  EXPECT_EQ(equal, 1);  // unique
}

TEST(Solve, MultipleChoiceKnapsackI02HasValue364) {  // OPT-02
  const Problem p = knapsack(10, 50);
  Options options;
  options.order = {{StageKind::least_budget, "value missed"}};
  Solution s = solve(p, options);
  ASSERT_EQ(s.status, Status::optimal);
  EXPECT_EQ(1000 - s.budget_totals[0], 364);
  EXPECT_EQ(s.choice, (std::vector<int>{4, 4, 3, 3, 4, 3, 2, 0, 2, 3}));
  // Unique: forbidding any one of its items costs value.
  for (int g = 0; g < 10; ++g) {
    Problem other = p;
    other.functions[g].candidates.erase(other.functions[g].candidates.begin() + s.choice[g]);
    EXPECT_LT(1000 - solve(other, options).budget_totals[0], 364);
  }
}

TEST(Solve, StoppedSearchSaysSoAndItsGapHolds) {
  Shape shape;
  shape.most_functions = 5;
  shape.least_stock = 1;
  shape.most_stock = 6;
  int gaps = 0;
  for (std::uint64_t seed = 60000; seed < 60300; ++seed) {
    const Problem p = random_problem(seed, shape);
    Options options;
    options.order = all_orders()[seed % 9];
    options.node_limit = 1 + static_cast<std::int64_t>(seed % 7);
    const Solution s = solve(p, options);
    const auto violations = check_solution(p, s);
    ASSERT_TRUE(violations.empty()) << "seed " << seed << ": " << violations.front();
    const Exhaustive best = test::solve_exhaustively(p, options.order);
    if (s.status == Status::infeasible || s.status == Status::optimal) {
      ASSERT_EQ(s.status == Status::optimal, best.found) << "seed " << seed;
    }
    if (s.status == Status::optimal) {
      ASSERT_EQ(test::scores(p, options.order, s.choice), best.score);
    }
    if (s.status != Status::feasible_with_gap) continue;
    ++gaps;
    // Up to the first unproven stage values are optimal; there the true value lies between value and bound.
    for (std::size_t i = 0; i < s.stages.size(); ++i) {
      const std::int64_t sign = s.stages[i].stage.kind == StageKind::best_worst_margin ? -1 : 1;
      ASSERT_LE(best.score[i], sign * s.stages[i].value) << "seed " << seed;
      ASSERT_GE(best.score[i], sign * s.stages[i].bound) << "seed " << seed;
      if (!s.stages[i].proven) break;
    }
  }
  EXPECT_GT(gaps, 3);
}

TEST(Solve, CancelledBeforeItStartsGivesNoAnswer) {
  std::atomic<bool> cancel{true};
  Options options;
  options.cancel = &cancel;
  const Solution s = solve(random_problem(40003, {}), options);
  EXPECT_NE(s.status, Status::optimal);
}

TEST(Solve, NoFunctionsAtAllIsSolvedByTheReservesAlone) {
  Problem p;
  p.parts = {{"axle 5", 2}};
  p.classes = {{"axle 5", {0}}};
  p.reserves = {{0, 2, "chassis"}};
  Solution s = solve(p);
  EXPECT_EQ(s.status, Status::optimal);
  EXPECT_TRUE(check_solution(p, s).empty());
  p.reserves[0].count = 3;
  s = solve(p);
  EXPECT_EQ(s.status, Status::infeasible);
}

TEST(Validate, NamesEveryDefectAtOnce) {
  Problem p;
  p.parts = {{"axle", -1}};
  p.classes = {{"axle", {0, 0}}, {"gear", {7}}};
  p.budgets = {{"mass", -5}, {"mass", 1}};
  Function f;
  f.name = "lift";
  f.candidates.push_back({1000, {1}, {{0, 0}, {9, 1}}, {3, 3}});
  f.candidates.push_back({1000, {-1, 2}, {{0, 1}, {0, 1}}, {}});
  f.skip = Skip{1000, -1, -1};
  f.locked = 5;
  p.functions = {f};
  p.reserves = {{4, -2, "looks"}};
  EXPECT_EQ(validate(p).size(), 16U);
  Options options;
  options.order = {{StageKind::least_budget, "volume"}, {StageKind::fewest_parts, {}}, {StageKind::fewest_parts, {}}};
  options.jobs = 0;
  options.node_limit = -1;
  options.time_limit_s = -1;
  options.max_listed_rows = -1;
  EXPECT_EQ(validate(p, options).size(), 6U);
  EXPECT_THROW((void)solve(p), std::logic_error);
}

TEST(Validate, RefusesSumsThatWouldOverflow) {
  Problem p;
  p.parts = {{"axle", INT_MAX}};
  p.classes = {{"axle", {0}}};
  p.budgets = {{"mass", INT64_MAX}};
  for (int i = 0; i < 3; ++i) {
    Function f;
    f.name = "f";
    f.candidates.push_back({1000, {INT64_MAX / 2}, {{0, INT_MAX}}, {}});
    p.functions.push_back(f);
  }
  EXPECT_EQ(validate(p).size(), 2U);
  for (Function& f : p.functions) f.candidates[0] = {1000, {std::int64_t{1} << 58}, {{0, 1 << 26}}, {}};
  ASSERT_TRUE(validate(p).empty());
  const Solution s = solve(p);
  EXPECT_EQ(s.status, Status::optimal);
  EXPECT_EQ(s.budget_totals[0], 3 * (std::int64_t{1} << 58));
}

}  // namespace
}  // namespace allocation
