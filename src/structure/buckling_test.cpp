// Covers buckling: Euler's struts and portals in closed form, a dense eigenvalue solver as second route, Johnson's
// parabola, and a timber column that strength governs.
#include "structure/buckling.h"

#include <gtest/gtest.h>

#include <Eigen/Eigenvalues>
#include <cmath>
#include <numbers>

#include "structure/beam.h"
#include "structure/frame_matrices.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

constexpr double kPi = std::numbers::pi;
constexpr Material kPlastic{2300, 850};
constexpr BarSection kBar{50, 200, 300, 150};

Frame column(EndsHeld ends, double length_mm) {
  Frame f;
  SixFlags low = kFixed, high = {false, true, true, true, true, true};
  if (ends == EndsHeld::both_pinned) low[4] = low[5] = high[4] = high[5] = false;
  if (ends == EndsHeld::one_clamped_other_free) high = {};
  if (ends == EndsHeld::one_clamped_other_pinned) high[4] = high[5] = false;
  f.nodes = {{"low", {0, 0, 0}, low}, {"high", {length_mm, 0, 0}, high}};
  f.members = {{"column", 0, 1, kBar, kPlastic}};
  return f;
}

/// Lowest positive factor by a dense solver of -G x = (1/f) K x; nothing loose.
double dense_factor(const FrameModel& model, const Loads& loads) {
  const internal::FrameMatrices& m = model.matrices();
  const FrameState s = model.solve(loads);
  std::vector<internal::Matrix12> g;
  Frame bare = m.frame;
  bare.joints.clear();
  for (std::size_t i = 0; i < m.frame.members.size(); ++i) {
    g.push_back((s.end_force[i][6] - s.end_force[i][0]) / 2 *
                internal::geometric_stiffness(m.frame.members[i], m.axes[i].length_mm));
  }
  const FrameModel without(bare);
  const Eigen::MatrixXd k(m.assemble(m.condensed, m.springs)),
      minus_g = -Eigen::MatrixXd(without.matrices().assemble(g, {}));
  const Eigen::GeneralizedSelfAdjointEigenSolver<Eigen::MatrixXd> eigen(minus_g, k);
  return 1 / eigen.eigenvalues().maxCoeff();
}

}  // namespace

TEST(Buckling, FrameFindsEulersFourColumns) {
  for (const EndsHeld ends : {EndsHeld::both_pinned, EndsHeld::one_clamped_other_free, EndsHeld::both_clamped,
                              EndsHeld::one_clamped_other_pinned}) {
    const FrameModel model(subdivided(column(ends, 200), 8));
    Loads l;
    l.nodes = {{1, {-2, 0, 0, 0, 0, 0}}};
    const Buckling b = buckling(model, l);
    ASSERT_TRUE(b.found);
    // Weaker axis: second_y. Eight cubic elements overestimate by 0.05 % when clamped (half a wave on four), else less.
    const double expected = euler_load_n(200, kPlastic.e_mpa, kBar.second_y_mm4, length_factor(ends)) / 2;
    EXPECT_NEAR(b.factor, expected, 6e-4 * expected);
    EXPECT_GE(b.factor, expected * (1 - 1e-9));  // consistent elements never underestimate
    EXPECT_NEAR(b.factor, dense_factor(model, l), 1e-8 * expected);
    double side = 0, weak = 0;
    for (const Six& u : b.shape) {
      side = std::max(side, std::fabs(u[1]));
      weak = std::max(weak, std::fabs(u[2]));
    }
    EXPECT_GT(weak, 1e6 * side);
  }
}

TEST(Buckling, PortalsSwaySideways) {
  // Timoshenko & Gere, Theory of Elastic Stability, chapter 2 (from memory), equal loads on both columns, sway in
  // plane: fixed feet u/tan u = -6 b, hinged feet u tan u = 6 b, with u = h sqrt(P/(E I_c)) and b = I_b h/(I_c l).
  const double h = 100, l = 160;
  const BarSection post{1e6, 1e6, 200, 1e6}, lintel{1e6, 1e6, 340, 1e6};
  const double b = 340.0 / 200 * h / l;
  for (const bool fixed : {true, false}) {
    Frame f;
    const SixFlags plane{false, false, true, true, true, false};
    SixFlags foot = kFixed;
    foot[5] = fixed;
    f.nodes = {{"a", {0, 0, 0}, foot}, {"b", {0, h, 0}, plane}, {"c", {l, h, 0}, plane}, {"d", {l, 0, 0}, foot}};
    f.members = {{"left", 0, 1, post, kPlastic}, {"top", 1, 2, lintel, kPlastic}, {"right", 3, 2, post, kPlastic}};
    const Frame cut_plain = subdivided(f, 8);
    Frame cut = cut_plain;
    for (FrameNode& n : cut.nodes) n.held[2] = n.held[3] = n.held[4] = true;
    const FrameModel model(cut);
    Loads load;
    load.nodes = {{1, {0, -1, 0, 0, 0, 0}}, {2, {0, -1, 0, 0, 0, 0}}};
    const Buckling got = buckling(model, load);
    ASSERT_TRUE(got.found);
    // Root by halving: fixed in (pi/2, pi), hinged in (0, pi/2).
    double low = fixed ? kPi / 2 + 1e-9 : 1e-9, high = fixed ? kPi - 1e-9 : kPi / 2 - 1e-9;
    const auto residual = [&](double u) {
      return fixed ? u * std::cos(u) + 6 * b * std::sin(u) : 6 * b * std::cos(u) - u * std::sin(u);
    };
    for (int i = 0; i < 100; ++i) {
      const double middle = (low + high) / 2;
      ((residual(middle) > 0) ? low : high) = middle;
    }
    const double expected = low * low * kPlastic.e_mpa * 200 / (h * h);
    EXPECT_NEAR(got.factor, expected, 2e-4 * expected);
    EXPECT_GT(std::fabs(got.shape[1][0]), 0.2);
  }
}

TEST(Buckling, LooseEndsCountInsideTheMember) {
  // The same strut pinned by its own ends instead of by the ground: one uncut member buckles as the two-element model
  // of a pinned strut whose ends turn, 12 E I/L^2 for a single cubic element.
  Frame f = column(EndsHeld::both_clamped, 150);
  f.members[0].loose_a = f.members[0].loose_b = {false, false, false, false, true, true};
  Loads l;
  l.nodes = {{1, {-1, 0, 0, 0, 0, 0}}};
  const Buckling one = buckling(FrameModel(f), l);
  ASSERT_TRUE(one.found);
  EXPECT_NEAR(one.factor, 12 * kPlastic.e_mpa * kBar.second_y_mm4 / (150.0 * 150), 1e-6 * one.factor);
  const Buckling many = buckling(FrameModel(subdivided(f, 8)), l);
  const double euler = euler_load_n(150, kPlastic.e_mpa, kBar.second_y_mm4);
  EXPECT_NEAR(many.factor, euler, 1e-4 * euler);
}

TEST(Buckling, PullingNeverBucklesAndTheLimitIsSaid) {
  const FrameModel model(subdivided(column(EndsHeld::both_pinned, 200), 4));
  Loads pull, push;
  pull.nodes = {{1, {5, 0, 0, 0, 0, 0}}};
  push.nodes = {{1, {-1e-9, 0, 0, 0, 0, 0}}};
  EXPECT_FALSE(buckling(model, pull).found);
  const Buckling light = buckling(model, push, {1e4});
  EXPECT_FALSE(light.found);
  EXPECT_DOUBLE_EQ(light.factor, 1e4);
}

TEST(Buckling, TimberColumnGovernedByBucklingThenByStrength) {
  // STRUCT-07: Beer & Johnston, Mechanics of Materials (statement askfilo.com 3335323039353136, numbers from memory);
  // 0.01 mm; stresses to the digits given.
  const SquareStrut light = square_strut(100e3, 2000, 13000, 2.5, 12),
                    heavy = square_strut(200e3, 2000, 13000, 2.5, 12);
  EXPECT_NEAR(light.buckling_side_mm, 98.34, 0.01);
  EXPECT_NEAR(100e3 / (light.side_mm * light.side_mm), 10.3, 0.05);
  EXPECT_NEAR(light.side_mm, 98.34, 0.01);
  EXPECT_NEAR(heavy.buckling_side_mm, 116.95, 0.01);
  EXPECT_NEAR(200e3 / (heavy.buckling_side_mm * heavy.buckling_side_mm), 14.6, 0.05);
  EXPECT_NEAR(heavy.side_mm, 129.1, 0.05);
}

TEST(Buckling, StrutPassesFromJohnsonToEulerWithoutAStep) {
  // Shigley, 4-12 and 4-13: both curves meet at half the yield stress with one tangent.
  Strut s{0, kBar, 2300, 44, EndsHeld::both_pinned};
  const double gyration = std::sqrt(kBar.second_y_mm4 / kBar.area_mm2);
  const double meeting = std::sqrt(2 * kPi * kPi * 2300 / 44) * gyration;
  s.length_mm = meeting * (1 - 1e-9);
  const StrutStrength below = strut_strength(s);
  s.length_mm = meeting * (1 + 1e-9);
  const StrutStrength above = strut_strength(s);
  EXPECT_EQ(below.limit, StrutLimit::johnson);
  EXPECT_EQ(above.limit, StrutLimit::euler);
  EXPECT_NEAR(below.critical_n, 22 * kBar.area_mm2, 1e-4);
  EXPECT_NEAR(below.critical_n, above.critical_n, 1e-4);
  s.length_mm = 1;
  EXPECT_NEAR(strut_strength(s).critical_n, 44 * kBar.area_mm2, 0.01 * 44 * kBar.area_mm2);
  for (const EndsHeld ends : {EndsHeld::both_pinned, EndsHeld::one_clamped_other_free, EndsHeld::both_clamped}) {
    s = {300, kBar, 2300, 44, ends};
    EXPECT_NEAR(strut_strength(s).euler_n, euler_load_n(300, 2300, kBar.second_y_mm4, length_factor(ends)), 1e-9);
  }
  // tan u = u
  const double u = kPi / length_factor(EndsHeld::one_clamped_other_pinned);
  EXPECT_NEAR(std::tan(u), u, 1e-9);
}
