#include "balance/unilateral.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "base/text.h"

namespace balance {
namespace {

/// Step length to the minimum along u + s du: the slope sum k max(0, u + s du) du - pull is piecewise linear and
/// rising.
double exact_step(const Eigen::VectorXd& stiffness, const Eigen::VectorXd& u, const Eigen::VectorXd& du, double pull) {
  std::vector<double> kinks;
  for (Eigen::Index i = 0; i < u.size(); ++i) {
    if (du[i] != 0 && -u[i] / du[i] > 0) kinks.push_back(-u[i] / du[i]);
  }
  std::sort(kinks.begin(), kinks.end());
  const auto slope_at = [&](double s) {
    double sum = -pull;
    for (Eigen::Index i = 0; i < u.size(); ++i) sum += stiffness[i] * std::max(0.0, u[i] + s * du[i]) * du[i];
    return sum;
  };
  double low = 0, low_slope = slope_at(0);
  for (const double kink : kinks) {
    const double slope = slope_at(kink);
    if (slope >= 0) return slope == low_slope ? low : low + (kink - low) * -low_slope / (slope - low_slope);
    low = kink;
    low_slope = slope;
  }
  const double beyond = slope_at(low + 1) - low_slope;  // last piece
  return beyond > 0 ? low - low_slope / beyond : low;
}

}  // namespace

Settled settle(std::span<const SpringContact> contacts, Point2 at, double weight_n) {
  const auto n = static_cast<Eigen::Index>(contacts.size());
  Settled out;
  out.load_n.assign(contacts.size(), 0);
  if (weight_n == 0) return out;
  // Rows (1, x, y), coordinates scaled to about 1; stiffness scaled to at most 1, heights by weight and stiffness.
  double span = 0, stiffest = 0;
  for (const SpringContact& c : contacts) {
    span = std::max(span, std::hypot(c.at.x_mm - at.x_mm, c.at.y_mm - at.y_mm));
    stiffest = std::max(stiffest, c.stiffness_n_per_mm);
  }
  if (span == 0) span = 1;
  KW_CHECK(stiffest > 0, "supports have a stiffness");
  const double height_scale = stiffest / weight_n;
  Eigen::MatrixXd rows(n, 3);
  Eigen::VectorXd stiffness(n), proud(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const SpringContact& c = contacts[static_cast<std::size_t>(i)];
    rows.row(i) << 1, (c.at.x_mm - at.x_mm) / span, (c.at.y_mm - at.y_mm) / span;
    stiffness[i] = c.stiffness_n_per_mm / stiffest;
    proud[i] = c.proud_mm * height_scale;
  }

  const Eigen::Vector3d target(1, 0, 0);  // unit weight, no moment
  const double exact = 1e-11 * (1 + proud.cwiseAbs().maxCoeff());
  // Newton on a piecewise quadratic ends in finitely many steps; each changes the set of contacts, of which a machine
  // has at most a few dozen.
  constexpr int kMostSteps = 500;
  // All touching at first.
  Eigen::Vector3d settling(1.0 / stiffness.sum() - proud.minCoeff(), 0, 0);
  Eigen::VectorXd u = rows * settling + proud;
  double error = 0;
  for (int step = 0; step < kMostSteps; ++step) {
    Eigen::Matrix3d matrix = Eigen::Matrix3d::Zero();
    Eigen::Vector3d balance_of = Eigen::Vector3d::Zero();
    for (Eigen::Index i = 0; i < n; ++i) {
      if (u[i] <= 0) continue;
      matrix += stiffness[i] * rows.row(i).transpose() * rows.row(i);
      balance_of += stiffness[i] * rows.row(i).transpose() * u[i];
    }
    const Eigen::Vector3d rest = target - balance_of;
    error = rest.norm();
    if (error < exact) break;
    // One or two contacts (or a row of them) leave a tilt free; the small term keeps the step finite there.
    constexpr double kFree = 1e-9;
    const Eigen::Vector3d direction = (matrix + kFree * Eigen::Matrix3d::Identity()).ldlt().solve(rest);
    const Eigen::VectorXd du = rows * direction;
    const double s = exact_step(stiffness, u, du, direction[0]);
    settling += s * direction;
    u = rows * settling + proud;
  }
  KW_CHECK(error < 1e-8 * (1 + proud.cwiseAbs().maxCoeff()),
           "support loads did not settle, residual " + base::plain(error, 3));
  for (Eigen::Index i = 0; i < n; ++i) {
    out.load_n[static_cast<std::size_t>(i)] = weight_n * stiffness[i] * std::max(0.0, u[i]);
  }
  out.sink_mm = settling[0] / height_scale;
  out.slope_x = -settling[1] / height_scale / span;
  out.slope_y = -settling[2] / height_scale / span;
  return out;
}

std::vector<double> share_between_springs(std::span<const Point2> contacts, Point2 at, double weight_n) {
  std::vector<SpringContact> springs;
  for (const Point2 p : contacts) springs.push_back({p, 1, 0});
  return settle(springs, at, weight_n).load_n;
}

}  // namespace balance
