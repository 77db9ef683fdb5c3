#include "balance/push.h"

#include <cmath>
#include <vector>

#include "base/check.h"

namespace balance {

bool push_balances(const Eigen::MatrixXd& columns, const Eigen::VectorXd& target) {
  constexpr double kZero = 1e-9;
  const Eigen::Index m = columns.rows(), n = columns.cols();
  // Tableau of columns | target with target >= 0; one artificial unknown a row, whose sum is driven to zero.
  Eigen::MatrixXd t(m + 1, n + 1);
  for (Eigen::Index r = 0; r < m; ++r) {
    const double sign = target[r] < 0 ? -1 : 1;
    t.row(r).head(n) = sign * columns.row(r);
    t(r, n) = sign * target[r];
  }
  t.row(m) = -t.topRows(m).colwise().sum();
  std::vector<Eigen::Index> basis(static_cast<std::size_t>(m), -1);  // -1: artificial, never enters again
  const double scale = 1 + target.cwiseAbs().maxCoeff();
  // Bland's rule ends; the bound is a guard against a fault of ours, far above what a few dozen columns need.
  for (int pivot = 0; pivot < 10000; ++pivot) {
    if (-t(m, n) <= kZero * scale) return true;
    Eigen::Index enter = 0;
    while (enter < n && t(m, enter) >= -kZero) ++enter;
    if (enter == n) return false;
    Eigen::Index leave = -1;
    for (Eigen::Index r = 0; r < m; ++r) {
      if (t(r, enter) <= kZero) continue;
      if (leave < 0) {
        leave = r;
        continue;
      }
      const double here = t(r, n) / t(r, enter), best = t(leave, n) / t(leave, enter);
      const bool earlier = basis[static_cast<std::size_t>(r)] < basis[static_cast<std::size_t>(leave)];
      if (here < best || (here == best && earlier)) leave = r;
    }
    if (leave < 0) return false;  // cannot happen: the sum of the artificials is bounded below
    t.row(leave) /= t(leave, enter);
    for (Eigen::Index r = 0; r <= m; ++r) {
      if (r != leave && t(r, enter) != 0) t.row(r) -= t(r, enter) * t.row(leave);
    }
    basis[static_cast<std::size_t>(leave)] = enter;
  }
  KW_CHECK(false, "the balance of pushes did not end");
  return false;
}

}  // namespace balance
