#include "calibration/fit.h"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace calibration {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr int kMostSteps = 30;
constexpr double kDifference = 1e-3;  // of a prior's sigma: far above rounding, far below curvature
constexpr double kSettled = 1e-6;     // of a sigma

/// The problem in units of the sigmas: residuals of priors and readings together.
class Whitened {
 public:
  Whitened(const std::vector<Prior>& priors, const std::vector<Measured>& readings, const Model& model)
      : priors_(priors), readings_(readings), model_(model) {}

  [[nodiscard]] std::vector<double> inputs(const VectorXd& z) const {
    std::vector<double> x(priors_.size());
    for (std::size_t j = 0; j < x.size(); ++j)
      x[j] = std::clamp(priors_[j].mean + priors_[j].sigma * z[static_cast<Index>(j)], priors_[j].low, priors_[j].high);
    return x;
  }
  [[nodiscard]] VectorXd predicted(const VectorXd& z) const {
    const std::vector<double> y = model_(inputs(z));
    KW_CHECK(y.size() == readings_.size(), "one prediction a reading");
    VectorXd out(static_cast<Index>(y.size()));
    for (std::size_t i = 0; i < y.size(); ++i) out[static_cast<Index>(i)] = y[i] / readings_[i].sigma;
    return out;
  }
  [[nodiscard]] VectorXd residual(const VectorXd& prediction) const {
    VectorXd out(prediction.size());
    for (Index i = 0; i < out.size(); ++i) {
      const Measured& m = readings_[static_cast<std::size_t>(i)];
      out[i] = std::isfinite(prediction[i]) ? m.value / m.sigma - prediction[i] : 0;
    }
    return out;
  }
  [[nodiscard]] MatrixXd slopes(const VectorXd& z, const VectorXd& here) const {
    MatrixXd out(here.size(), z.size());
    for (Index j = 0; j < z.size(); ++j) {
      VectorXd moved = z;
      // Away from the nearer bound, so that the clamp does not hide the slope.
      const Prior& p = priors_[static_cast<std::size_t>(j)];
      const double at = p.mean + p.sigma * z[j];
      const double step = p.high - at < at - p.low ? -kDifference : kDifference;
      moved[j] += step;
      const VectorXd there = predicted(moved);
      for (Index i = 0; i < here.size(); ++i)
        out(i, j) = std::isfinite(there[i]) && std::isfinite(here[i]) ? (there[i] - here[i]) / step : 0;
    }
    return out;
  }

 private:
  const std::vector<Prior>& priors_;
  const std::vector<Measured>& readings_;
  const Model& model_;
};

}  // namespace

Fit fit(const std::vector<Prior>& priors, const std::vector<Measured>& readings, const Model& model) {
  for (const Prior& p : priors) KW_CHECK(p.sigma > 0, "a prior has a spread");
  for (const Measured& m : readings) KW_CHECK(m.sigma > 0, "a reading has a spread");
  const Whitened w(priors, readings, model);
  const auto n = static_cast<Index>(priors.size());
  VectorXd z = VectorXd::Zero(n);
  VectorXd here = w.predicted(z);
  const VectorXd first = here;
  const MatrixXd first_slopes = w.slopes(z, here);
  MatrixXd j = first_slopes;
  Fit out;
  double damping = 0;
  const auto cost = [&](const VectorXd& at, const VectorXd& p) {
    return at.squaredNorm() + w.residual(p).squaredNorm();
  };
  for (int k = 0; k < kMostSteps && !out.converged; ++k) {
    const MatrixXd normal = MatrixXd::Identity(n, n) * (1 + damping) + j.transpose() * j;
    const VectorXd step = normal.ldlt().solve(j.transpose() * w.residual(here) - z);
    VectorXd next = z + step;
    for (Index i = 0; i < n; ++i) {
      const Prior& p = priors[static_cast<std::size_t>(i)];
      next[i] = std::clamp(next[i], (p.low - p.mean) / p.sigma, (p.high - p.mean) / p.sigma);
    }
    const VectorXd there = w.predicted(next);
    if (cost(next, there) <= cost(z, here) * (1 + 1e-12)) {
      out.converged = (next - z).norm() < kSettled;
      z = next;
      here = there;
      j = w.slopes(z, here);
      damping /= 4;
      if (damping < 1e-6) damping = 0;
    } else {
      damping = damping > 0 ? damping * 8 : 1;
      out.converged = step.norm() < kSettled;
    }
  }
  const MatrixXd spread = (MatrixXd::Identity(n, n) + j.transpose() * j).inverse();
  out.estimate = w.inputs(z);
  for (Index i = 0; i < n; ++i)
    out.sigma.push_back(priors[static_cast<std::size_t>(i)].sigma * std::sqrt(spread(i, i)));
  const VectorXd residual = w.residual(here);
  const MatrixXd hat = j * spread * j.transpose();
  for (Index i = 0; i < residual.size(); ++i) {
    const double sigma = readings[static_cast<std::size_t>(i)].sigma;
    out.before.push_back(first[i] * sigma);
    out.after.push_back(here[i] * sigma);
    out.told_sigma.push_back(first_slopes.row(i).norm() * sigma);
    out.normalised.push_back(residual[i] / std::sqrt(std::max(1e-9, 1 - hat(i, i))));
  }
  return out;
}

}  // namespace calibration
