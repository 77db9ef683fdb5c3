// Least squares with priors: what readings say about uncertain inputs, and which reading cannot be true.
//
//   minimise  sum ((x_j - m_j)/s_j)^2 + sum ((y_i - h_i(x))/e_i)^2
// by Gauss-Newton steps with damping; P = (S^-2 + J' E^-2 J)^-1 is the spread of the answer, J by differences. A
// reading is held against what all together say: r_i / sqrt(e_i^2 - (J P J')_ii) is standard normal when it is sound.
// Source: any text on adjustment of observations; A. Tarantola, Inverse Problem Theory, SIAM, 2005, ch. 3 (from
// memory).
#pragma once

#include <functional>
#include <vector>

namespace calibration {

struct Prior {
  double mean = 0, sigma = 1;         ///< sigma > 0
  double low = -1e300, high = 1e300;  ///< the answer stays within
};
struct Measured {
  double value = 0, sigma = 1;  ///< sigma > 0
};
struct Fit {
  std::vector<double> estimate, sigma;  ///< per input
  std::vector<double> before, after;    ///< per reading: what is predicted
  std::vector<double> normalised;       ///< per reading: residual over what it may be, see above
  std::vector<double> told_sigma;       ///< per reading: spread of the prediction before
  bool converged = false;
};
using Model = std::function<std::vector<double>(const std::vector<double>& inputs)>;

/// Predictions that are not finite make their reading count for nothing at that point.
[[nodiscard]] Fit fit(const std::vector<Prior>& priors, const std::vector<Measured>& readings, const Model& model);

}  // namespace calibration
