// The solver against CBC on a model of its own: flow variables instead of Hall rows, one MILP per threshold of a
// bisection, then one for the mass. Equal status, worst margin and mass on a few hundred instances.
#include <gtest/gtest.h>

#include "allocation/checker.h"
#include "allocation/random_problem.h"
#include "allocation/solve.h"
#include "tests/allocation/cbc_referee.h"
#include "tests/allocation/instance_file.h"

namespace allocation {
namespace {

void expect_same(const Problem& p, const std::string& name) {
  ASSERT_TRUE(validate(p).empty());
  const test::Referee want = test::ask_cbc(p);
  ASSERT_TRUE(want.decided) << name << ": CBC stopped without a verdict";
  Options options;
  options.order = {{StageKind::best_worst_margin, {}}, {StageKind::least_budget, "mass"}};
  const Solution got = solve(p, options);
  ASSERT_EQ(got.status, want.feasible ? Status::optimal : Status::infeasible) << name;
  ASSERT_TRUE(check_solution(p, got).empty()) << name << ": " << check_solution(p, got).front();
  if (!want.feasible) return;
  ASSERT_EQ(got.worst_margin, want.margin) << name;
  ASSERT_EQ(got.stages[1].value, want.mass) << name;
}

TEST(AgainstCbc, EqualOnRandomProblemsOfMediumSize) {
  test::Shape shape;
  shape.most_functions = 7;
  shape.most_candidates = 14;
  shape.most_parts = 14;
  shape.most_classes = 14;
  shape.least_stock = 1;
  shape.most_stock = 6;
  shape.lock_percent = 5;
  int infeasible = 0;
  for (std::uint64_t seed = 70000; seed < 70220; ++seed) {
    const Problem p = test::random_problem(seed, shape);
    expect_same(p, "seed " + std::to_string(seed));
    if (HasFatalFailure()) return;
    infeasible += solve(p).status == Status::infeasible ? 1 : 0;
  }
  EXPECT_GT(infeasible, 20);
  EXPECT_LT(infeasible, 180);
}

TEST(AgainstCbc, EqualOnGeneratedSmallInstancesOfEveryKind) {
  for (int seed = 501; seed < 517; ++seed) {
    const std::string name = "small-" + std::to_string(seed);
    expect_same(test::read_instance(std::string(KW_INSTANCES) + "/" + name + ".json"), name);
    if (HasFatalFailure()) return;
  }
}

}  // namespace
}  // namespace allocation
