// Generated instances with known optima (goldens.txt), each answer confirmed by the independent checker.
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "allocation/checker.h"
#include "allocation/solve.h"
#include "tests/allocation/instance_file.h"

namespace allocation {
namespace {

struct Golden {
  std::string name;
  bool feasible = true;
  int margin = 0;
  std::int64_t mass = 0;
};

std::vector<Golden> read_goldens() {
  std::vector<Golden> out;
  std::ifstream in(KW_GOLDENS);
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#') continue;
    std::istringstream words(line);
    Golden g;
    std::string margin;
    words >> g.name >> margin >> g.mass;
    g.feasible = margin != "infeasible";
    if (g.feasible) g.margin = std::stoi(margin);
    out.push_back(g);
  }
  return out;
}

void PrintTo(const Golden& g, std::ostream* out) {
  *out << g.name;
}

class GoldenTest : public testing::TestWithParam<Golden> {};

TEST_P(GoldenTest, OptimumIsReachedAndProven) {
  const Golden& g = GetParam();
  const Problem p = test::read_instance(std::string(KW_INSTANCES) + "/" + g.name + ".json");
  ASSERT_TRUE(validate(p).empty()) << validate(p).front();
  Options options;
  options.order = {{StageKind::best_worst_margin, {}}, {StageKind::least_budget, "mass"}};
  const Solution s = solve(p, options);
  ASSERT_EQ(s.status, g.feasible ? Status::optimal : Status::infeasible);
  const auto violations = check_solution(p, s);
  EXPECT_TRUE(violations.empty()) << violations.front();
  if (!g.feasible) return;
  EXPECT_EQ(s.worst_margin, g.margin);
  EXPECT_EQ(s.budget_totals[1] + s.penalty, g.mass);
}

INSTANTIATE_TEST_SUITE_P(Allocation, GoldenTest, testing::ValuesIn(read_goldens()), [](const auto& test) {
  std::string name = test.param.name;
  for (char& c : name) c = c == '-' ? '_' : c;
  return name;
});

}  // namespace
}  // namespace allocation
