// The solver against CBC on a model of its own: flow variables instead of Hall rows, one MILP per threshold of a
// bisection, then one for the mass. Equal status, worst margin and mass on a few hundred instances.
#include <coin/Cbc_C_Interface.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <map>

#include "allocation/checker.h"
#include "allocation/random_problem.h"
#include "allocation/solve.h"
#include "tests/allocation/instance_file.h"

namespace allocation {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::max();  // what CBC's interface takes as no limit

/// Minimise mass (or nothing) over choices with every margin >= threshold.
class MilpModel {
 public:
  MilpModel(const Problem& p, int threshold, bool with_cost) {
    std::vector<std::vector<int>> choose(p.functions.size());
    std::vector<int> class_row(p.classes.size()), part_row(p.parts.size());
    for (std::size_t k = 0; k < p.classes.size(); ++k) {
      double reserved = 0;
      for (const Reserve& r : p.reserves) reserved += r.cls == static_cast<int>(k) ? r.count : 0;
      class_row[k] = add_row(reserved, reserved);
    }
    for (std::size_t i = 0; i < p.parts.size(); ++i) part_row[i] = add_row(-kInfinity, p.parts[i].stock);
    std::vector<int> budget_row(p.budgets.size(), -1);
    for (std::size_t b = 0; b < p.budgets.size(); ++b) {
      if (p.budgets[b].limit != INT64_MAX) {
        budget_row[b] = add_row(-kInfinity, static_cast<double>(p.budgets[b].limit));
      }
    }
    std::map<int, int> cell_row;
    for (const Function& f : p.functions) {
      for (const Candidate& c : f.candidates) {
        for (int cell : c.cells) {
          if (!cell_row.contains(cell)) cell_row[cell] = add_row(-kInfinity, 1);
        }
      }
    }
    std::size_t mass = 0;
    while (p.budgets[mass].name != "mass") ++mass;
    for (const Function& f : p.functions) {
      const int one = add_row(1, 1);
      for (int c = 0; c < static_cast<int>(f.candidates.size()); ++c) {
        const Candidate& candidate = f.candidates[c];
        if (candidate.margin < std::max(threshold, f.floor) || (f.locked >= 0 && c != f.locked)) continue;
        start_column(1, with_cost ? static_cast<double>(candidate.use[mass]) : 0);
        entry(one, 1);
        for (const Need& need : candidate.needs) entry(class_row[need.cls], -need.count);
        for (std::size_t b = 0; b < p.budgets.size(); ++b) {
          if (budget_row[b] >= 0) entry(budget_row[b], static_cast<double>(candidate.use[b]));
        }
        for (int cell : candidate.cells) entry(cell_row[cell], 1);
      }
      if (f.skip && f.locked < 0 && f.skip->margin >= threshold) {
        start_column(1, with_cost ? static_cast<double>(f.skip->penalty) : 0);
        entry(one, 1);
      }
    }
    for (std::size_t k = 0; k < p.classes.size(); ++k) {
      for (int part : p.classes[k].parts) {
        start_column(p.parts[part].stock, 0);
        entry(class_row[k], 1);
        entry(part_row[part], 1);
      }
    }
  }

  /// False = infeasible. Objective in `value`.
  bool solve(double& value) {
    start_.push_back(static_cast<CoinBigIndex>(index_.size()));
    Cbc_Model* model = Cbc_newModel();
    Cbc_setParameter(model, "logLevel", "0");
    Cbc_setParameter(model, "allowableGap", "0");
    Cbc_setParameter(model, "ratioGap", "0");
    const int columns = static_cast<int>(cost_.size());
    const std::vector<double> lower(cost_.size(), 0.0);
    Cbc_loadProblem(model, columns, static_cast<int>(row_low_.size()), start_.data(), index_.data(), value_.data(),
                    lower.data(), upper_.data(), cost_.data(), row_low_.data(), row_high_.data());
    for (int c = 0; c < columns; ++c) Cbc_setInteger(model, c);
    Cbc_solve(model);
    const bool optimal = Cbc_isProvenOptimal(model) != 0;
    EXPECT_TRUE(optimal || Cbc_isProvenInfeasible(model) != 0) << "CBC stopped without a verdict";
    if (optimal) value = Cbc_getObjValue(model);
    Cbc_deleteModel(model);
    return optimal;
  }

 private:
  int add_row(double low, double high) {
    row_low_.push_back(low);
    row_high_.push_back(high);
    return static_cast<int>(row_low_.size()) - 1;
  }
  void start_column(double upper, double cost) {
    start_.push_back(static_cast<CoinBigIndex>(index_.size()));
    upper_.push_back(upper);
    cost_.push_back(cost);
  }
  void entry(int row, double value) {
    if (value == 0) return;
    index_.push_back(row);
    value_.push_back(value);
  }

  std::vector<double> row_low_, row_high_, upper_, cost_, value_;
  std::vector<CoinBigIndex> start_;
  std::vector<int> index_;
};

struct Referee {
  bool feasible = false;
  int margin = 0;
  std::int64_t mass = 0;
};

Referee ask_cbc(const Problem& p) {
  std::vector<int> margins;
  for (const Function& f : p.functions) {
    for (const Candidate& c : f.candidates) margins.push_back(c.margin);
    if (f.skip) margins.push_back(f.skip->margin);
  }
  margins.push_back(INT_MIN);
  std::sort(margins.begin(), margins.end());
  margins.erase(std::unique(margins.begin(), margins.end()), margins.end());
  Referee out;
  double value = 0;
  std::size_t low = 0, high = margins.size();  // feasible at low, not at high
  if (!MilpModel(p, margins[0], false).solve(value)) return out;
  while (high - low > 1) {
    const std::size_t middle = (low + high) / 2;
    (MilpModel(p, margins[middle], false).solve(value) ? low : high) = middle;
  }
  out.feasible = MilpModel(p, margins[low], true).solve(value);
  out.margin = margins[low];
  out.mass = std::llround(value);
  return out;
}

void expect_same(const Problem& p, const std::string& name) {
  ASSERT_TRUE(validate(p).empty());
  const Referee want = ask_cbc(p);
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
