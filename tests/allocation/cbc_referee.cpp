#include "tests/allocation/cbc_referee.h"

#include <coin/Cbc_C_Interface.h>

#include <algorithm>
#include <chrono>
#include <climits>
#include <cmath>
#include <limits>
#include <map>
#include <string>
#include <vector>

namespace allocation::test {
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

  enum class Verdict { optimal, infeasible, none };

  /// Objective in `value`. `limit_s`: 0 = no limit.
  Verdict solve(double& value, double limit_s) {
    start_.push_back(static_cast<CoinBigIndex>(index_.size()));
    Cbc_Model* model = Cbc_newModel();
    Cbc_setParameter(model, "logLevel", "0");
    Cbc_setParameter(model, "allowableGap", "0");
    Cbc_setParameter(model, "ratioGap", "0");
    if (limit_s > 0) Cbc_setParameter(model, "seconds", std::to_string(limit_s).c_str());
    const int columns = static_cast<int>(cost_.size());
    const std::vector<double> lower(cost_.size(), 0.0);
    Cbc_loadProblem(model, columns, static_cast<int>(row_low_.size()), start_.data(), index_.data(), value_.data(),
                    lower.data(), upper_.data(), cost_.data(), row_low_.data(), row_high_.data());
    for (int c = 0; c < columns; ++c) Cbc_setInteger(model, c);
    Cbc_solve(model);
    const bool optimal = Cbc_isProvenOptimal(model) != 0;
    const bool infeasible = Cbc_isProvenInfeasible(model) != 0;
    if (optimal) value = Cbc_getObjValue(model);
    Cbc_deleteModel(model);
    return optimal ? Verdict::optimal : infeasible ? Verdict::infeasible : Verdict::none;
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

}  // namespace

Referee ask_cbc(const Problem& p, double limit_s) {
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
  const auto begin = std::chrono::steady_clock::now();
  const auto verdict_at = [&](std::size_t nth, bool with_cost) {
    double left = 0;
    if (limit_s > 0) {
      left = limit_s - std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
      if (left <= 0) return MilpModel::Verdict::none;
    }
    ++out.solves;
    return MilpModel(p, margins[nth], with_cost).solve(value, left);
  };
  // High thresholds leave few candidates, so the way down is quick: 3 %, 6 %, 12 % ... from the top until one is
  // feasible.
  std::size_t low = margins.size(), high = margins.size();  // feasible at low, not at high
  MilpModel::Verdict verdict{};
  for (double share = 0.03; low > 0; share *= 2) {
    high = low;
    low = share < 1 ? static_cast<std::size_t>((1 - share) * static_cast<double>(margins.size())) : 0;
    verdict = verdict_at(low, false);
    if (verdict == MilpModel::Verdict::none) return out;
    if (verdict == MilpModel::Verdict::optimal) break;
  }
  if (verdict != MilpModel::Verdict::optimal) {
    out.decided = true;
    return out;
  }
  while (high - low > 1) {
    const std::size_t middle = (low + high) / 2;
    verdict = verdict_at(middle, false);
    if (verdict == MilpModel::Verdict::none) return out;
    (verdict == MilpModel::Verdict::optimal ? low : high) = middle;
  }
  verdict = verdict_at(low, true);
  if (verdict == MilpModel::Verdict::none) return out;
  out.decided = true;
  out.feasible = verdict == MilpModel::Verdict::optimal;
  out.margin = margins[low];
  out.mass = std::llround(value);
  return out;
}

}  // namespace allocation::test
