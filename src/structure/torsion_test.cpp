// Covers torsion constants and twist: tabulated values, an independent finite-difference solution of Prandtl's
// equation, and sand heaps summed cell by cell.
#include "structure/torsion.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "base/check.h"

using structure::Form;
using structure::full_yield_torque_nmm;
using structure::peak_shear_mpa;
using structure::Section;
using structure::torsion_constant_mm4;
using structure::twist_rad;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

/// K/w^4 of a cross by finite differences: laplace(phi) = -2, phi = 0 on the border, K = 2 x volume. One quarter of the
/// unit square with mirror lines, 2n steps over the width; the arm must fall on grid lines. Successive over-relaxation.
double finite_difference_k(double arm, int n) {
  const double step = 0.5 / n;
  const int half_arm = static_cast<int>(std::lround(arm / 2 / step));
  EXPECT_NEAR(half_arm * step, arm / 2, 1e-9);
  const int side = n + 1;
  std::vector<double> phi(static_cast<std::size_t>(side * side), 0.0);
  const auto at = [&](int i, int j) -> double& { return phi[static_cast<std::size_t>(i * side + j)]; };
  const auto inside = [&](int i, int j) { return i < n && j < n && (i < half_arm || j < half_arm); };
  const double relax = 2 / (1 + std::sin(std::numbers::pi / (2 * n)));
  for (int sweep = 0; sweep < 12 * n; ++sweep) {
    for (int i = 0; i < n; ++i) {
      for (int j = 0; j < n; ++j) {
        if (!inside(i, j)) continue;
        const double left = i > 0 ? at(i - 1, j) : at(1, j), below = j > 0 ? at(i, j - 1) : at(i, 1);
        const double mean = (left + at(i + 1, j) + below + at(i, j + 1) + 2 * step * step) / 4;
        at(i, j) += relax * (mean - at(i, j));
      }
    }
  }
  double sum = 0;
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      sum += at(i, j) * (i == 0 ? 0.5 : 1) * (j == 0 ? 0.5 : 1);
    }
  }
  return 2 * 4 * sum * step * step;
}

/// Richardson with the exponent of a re-entrant right-angled corner, 4/3.
double extrapolated_k(double arm, int n) {
  const double coarse = finite_difference_k(arm, n), fine = finite_difference_k(arm, 2 * n);
  return fine + (fine - coarse) / (std::pow(2.0, 4.0 / 3) - 1);
}

}  // namespace

TEST(Torsion, RectangleFactorsMatchTheTable) {
  // STRUCT-03: Timoshenko & Goodier series, table from memory and recomputed; 1e-4.
  struct Row {
    double ratio, c2, c1;
  };
  for (const Row r :
       {Row{1, 0.1406, 0.2082}, Row{1.2, 0.1661, 0.2189}, Row{1.5, 0.1958, 0.2310}, Row{2, 0.2287, 0.2459},
        Row{3, 0.2633, 0.2672}, Row{5, 0.2913, 0.2915}, Row{10, 0.3123, 0.3123}}) {
    const Section bar{Form::rectangle, r.ratio, 1};
    EXPECT_NEAR(torsion_constant_mm4(bar) / r.ratio, r.c2, 1e-4) << r.ratio;
    EXPECT_NEAR(1 / (peak_shear_mpa(bar, 1) * r.ratio), r.c1, 1e-4) << r.ratio;
  }
}

TEST(Torsion, HandbookFormulasForSquareAndRectangleAgree) {
  // STRUCT-04: Roark's Formulas for Stress and Strain, torsion cases (from memory); 0.2 %, exact series values closer.
  const auto roark = [](double a, double b) {
    return a * b * b * b * (16.0 / 3 - 3.36 * b / a * (1 - std::pow(b, 4) / (12 * std::pow(a, 4))));
  };
  const double square = torsion_constant_mm4({Form::rectangle, 6, 6});
  const double oblong = torsion_constant_mm4({Form::rectangle, 6, 12});
  EXPECT_NEAR(square, 182.19, 0.01);
  EXPECT_NEAR(oblong, 592.74, 0.01);
  EXPECT_NEAR(2.25 * 81, square, 0.002 * square);
  EXPECT_NEAR(roark(6, 3), oblong, 0.002 * oblong);
}

TEST(Torsion, CrossFollowsTheFiniteDifferenceTable) {
  // STRUCT-05, recomputed by finite differences, 0.3 %.
  struct Row {
    double arm, k;
  };
  for (const Row r : {Row{0.25, 0.01005}, Row{0.30, 0.01712}, Row{0.40, 0.03823}, Row{0.50, 0.06651},
                      Row{0.60, 0.09598}, Row{0.75, 0.12835}, Row{1, 0.14058}}) {
    EXPECT_NEAR(torsion_constant_mm4({Form::cross, 1, r.arm}), r.k, 0.003 * r.k);
  }
}

TEST(Torsion, CrossBetweenTheRowsMatchesAFreshFiniteDifferenceSolution) {
  // Second route, between the rows where the interpolation is weakest.
  for (const double arm : {0.275, 0.35, 0.45, 0.55, 0.65, 0.7, 0.8, 0.9}) {
    const double k = extrapolated_k(arm, 40);
    EXPECT_NEAR(torsion_constant_mm4({Form::cross, 1, arm}), k, 0.003 * k) << arm;
  }
}

TEST(Torsion, TheHandbookCrossShaftWouldBeFarTooStiff) {
  // Traps: at t/w = 0.5 that case gives 1.526 s^4 against 1.064 s^4, s = w/2.
  EXPECT_NEAR(torsion_constant_mm4({Form::cross, 2, 1}), 1.064, 0.003);
}

TEST(Torsion, AxleTwist) {
  // STRUCT-08: T = 50 N mm, L = 100 mm, G = 1000 MPa; 0.1 % and 0.4 %.
  EXPECT_NEAR(twist_rad({Form::round, 5}, 50, 100, 1000) / kDeg, 4.669, 4.7e-3);
  EXPECT_NEAR(twist_rad({Form::cross, 5, 2.5}, 50, 100, 1000) / kDeg, 6.892, 2.8e-2);
}

TEST(Torsion, FullyYieldedTorqueIsTwiceTheSandHeap) {
  // Second route: distance to the border summed cell by cell over the whole section, every form by its own outline.
  const auto heap = [](const Section& s) {
    constexpr int kCells = 300;
    const double w = s.width_mm, cell = w / 2 / kCells;
    const double t = s.thick_mm / 2;
    double sum = 0;
    for (int i = 0; i < kCells; ++i) {
      for (int j = 0; j < kCells; ++j) {
        const double x = (i + 0.5) * cell, y = (j + 0.5) * cell;
        double d = 0;
        if (s.form == Form::round) {
          d = w / 2 - std::hypot(x, y);
        } else if (s.form == Form::rectangle) {
          d = std::min(w / 2 - x, t - y);
        } else if (x < t || y < t) {
          // Border of a quarter: the two tips and the two sides that meet in the inner corner (t, t).
          d = std::min({std::hypot(w / 2 - x, std::max(0.0, y - t)), std::hypot(w / 2 - y, std::max(0.0, x - t)),
                        std::hypot(std::max(0.0, t - x), t - y), std::hypot(t - x, std::max(0.0, t - y))});
        }
        sum += std::max(0.0, d);
      }
    }
    return 4 * sum * cell * cell;
  };
  for (const Section s : {Section{Form::round, 5}, Section{Form::rectangle, 6, 4}, Section{Form::cross, 5, 1.5},
                          Section{Form::cross, 4.8, 1.8}, Section{Form::cross, 5, 2.5}, Section{Form::cross, 5, 3.5}}) {
    const double expected = 2 * 10 * heap(s);
    EXPECT_NEAR(full_yield_torque_nmm(s, 10), expected, 0.005 * expected) << s.thick_mm;
  }
  EXPECT_NEAR(full_yield_torque_nmm({Form::cross, 5, 5}, 10), full_yield_torque_nmm({Form::rectangle, 5, 5}, 10), 0.1);
}

TEST(Torsion, FullYieldNeedsMoreThanFirstYield) {
  for (const Section s : {Section{Form::round, 5}, Section{Form::rectangle, 6, 4}}) {
    const double full = full_yield_torque_nmm(s, 10);
    EXPECT_GT(peak_shear_mpa(s, full), 10);
  }
  EXPECT_NEAR(peak_shear_mpa({Form::round, 5}, full_yield_torque_nmm({Form::round, 5}, 10)), 40.0 / 3, 1e-9);
}

TEST(Torsion, MarginIsYieldOverTorque) {
  const Section axle = structure::section_of({true, 4.8, 1.8});
  EXPECT_NEAR(torsion_margin(axle, -50, 20) * 50, full_yield_torque_nmm(axle, 20), 1e-9);
  EXPECT_TRUE(std::isinf(torsion_margin(axle, 0, 20)));
}

TEST(Torsion, CrossOutsideTheTableIsAFault) {
  EXPECT_THROW((void)torsion_constant_mm4({Form::cross, 5, 1}), base::InternalFault);
  EXPECT_THROW((void)peak_shear_mpa({Form::cross, 5, 2}, 1), base::InternalFault);
}
