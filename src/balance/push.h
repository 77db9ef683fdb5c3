// Can pushes balance a load? Internal to this folder.
#pragma once

#include <Eigen/Core>

namespace balance {

/// Whether some x >= 0 gives  columns x = target  (phase one of the simplex method with Bland's rule: never cycles,
/// same answer every time). Rows of comparable size; relative tolerance 1e-9.
[[nodiscard]] bool push_balances(const Eigen::MatrixXd& columns, const Eigen::VectorXd& target);

}  // namespace balance
