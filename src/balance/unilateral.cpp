#include "balance/unilateral.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "base/text.h"

namespace balance {
namespace {

/// Step length to the minimum along u + s du: the slope sum max(0, u + s du) du - pull is piecewise linear and rising.
double exact_step(const Eigen::VectorXd& u, const Eigen::VectorXd& du, double pull) {
  std::vector<double> kinks;
  for (Eigen::Index i = 0; i < u.size(); ++i) {
    if (du[i] != 0 && -u[i] / du[i] > 0) kinks.push_back(-u[i] / du[i]);
  }
  std::sort(kinks.begin(), kinks.end());
  const auto slope_at = [&](double s) {
    double sum = -pull;
    for (Eigen::Index i = 0; i < u.size(); ++i) sum += std::max(0.0, u[i] + s * du[i]) * du[i];
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

std::vector<double> share_between_springs(std::span<const Point2> contacts, Point2 at, double weight_n) {
  const auto n = static_cast<Eigen::Index>(contacts.size());
  std::vector<double> loads(contacts.size(), 0);
  if (weight_n == 0) return loads;
  // Rows (1, x, y), coordinates scaled to about 1.
  double span = 0;
  for (const Point2 p : contacts) span = std::max(span, std::hypot(p.x_mm - at.x_mm, p.y_mm - at.y_mm));
  if (span == 0) span = 1;
  Eigen::MatrixXd rows(n, 3);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Point2 p = contacts[static_cast<std::size_t>(i)];
    rows.row(i) << 1, (p.x_mm - at.x_mm) / span, (p.y_mm - at.y_mm) / span;
  }

  const Eigen::Vector3d target(1, 0, 0);  // unit weight, no moment
  constexpr double kExact = 1e-11;
  // Newton on a piecewise quadratic ends in finitely many steps; each changes the set of contacts, of which a machine
  // has at most a few dozen.
  constexpr int kMostSteps = 500;
  Eigen::Vector3d settling(1.0 / static_cast<double>(n), 0, 0);
  Eigen::VectorXd u = rows * settling;
  double error = 0;
  for (int step = 0; step < kMostSteps; ++step) {
    Eigen::Matrix3d stiffness = Eigen::Matrix3d::Zero();
    Eigen::Vector3d balance_of = Eigen::Vector3d::Zero();
    for (Eigen::Index i = 0; i < n; ++i) {
      if (u[i] <= 0) continue;
      stiffness += rows.row(i).transpose() * rows.row(i);
      balance_of += rows.row(i).transpose() * u[i];
    }
    const Eigen::Vector3d rest = target - balance_of;
    error = rest.norm();
    if (error < kExact) break;
    // One or two contacts (or a row of them) leave a tilt free; the small term keeps the step finite there.
    constexpr double kFree = 1e-9;
    const Eigen::Vector3d direction = (stiffness + kFree * Eigen::Matrix3d::Identity()).ldlt().solve(rest);
    const Eigen::VectorXd du = rows * direction;
    const double s = exact_step(u, du, direction[0]);
    settling += s * direction;
    u = rows * settling;
  }
  KW_CHECK(error < 1e-8, "support loads did not settle, residual " + base::plain(error, 3));
  for (Eigen::Index i = 0; i < n; ++i) loads[static_cast<std::size_t>(i)] = weight_n * std::max(0.0, u[i]);
  return loads;
}

}  // namespace balance
