// Covers shaft_load.h: a published countershaft, closed forms of continuous beams, a stiffness method as second route,
// balance of whole gear trains.
#include "routing/shaft_load.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <numbers>
#include <random>

#include "routing/samples.h"

namespace {

using routing::bearing_reactions;
using routing::PointLoad;

constexpr double kAngle_rad = 20 * std::numbers::pi / 180;

/// Direct stiffness method, one plane, EI = 1: nodes at supports and loads, two freedoms each.
std::vector<double> by_stiffness(const std::vector<double>& supports, const std::vector<std::array<double, 3>>& loads) {
  std::vector<double> nodes = supports;
  for (const auto& q : loads) nodes.push_back(q[0]);
  std::sort(nodes.begin(), nodes.end());
  nodes.erase(std::unique(nodes.begin(), nodes.end()), nodes.end());
  const auto n = static_cast<Eigen::Index>(nodes.size());
  const auto node = [&](double s) {
    return static_cast<Eigen::Index>(std::lower_bound(nodes.begin(), nodes.end(), s) - nodes.begin());
  };
  Eigen::MatrixXd k = Eigen::MatrixXd::Zero(2 * n, 2 * n);
  for (Eigen::Index i = 0; i + 1 < n; ++i) {
    const double h = nodes[static_cast<std::size_t>(i) + 1] - nodes[static_cast<std::size_t>(i)];
    Eigen::Matrix4d e;
    e << 12, 6 * h, -12, 6 * h, 6 * h, 4 * h * h, -6 * h, 2 * h * h, -12, -6 * h, 12, -6 * h, 6 * h, 2 * h * h, -6 * h,
        4 * h * h;
    k.block<4, 4>(2 * i, 2 * i) += e / (h * h * h);
  }
  Eigen::VectorXd f = Eigen::VectorXd::Zero(2 * n);
  for (const auto& q : loads) {
    f(2 * node(q[0])) += q[1];
    f(2 * node(q[0]) + 1) += q[2];
  }
  const Eigen::MatrixXd whole = k;
  for (const double s : supports) {
    const Eigen::Index d = 2 * node(s);
    k.row(d).setZero();
    k.col(d).setZero();
    k(d, d) = 1;
  }
  Eigen::VectorXd g = f;
  for (const double s : supports) g(2 * node(s)) = 0;
  const Eigen::VectorXd r = whole * k.fullPivLu().solve(g) - f;
  std::vector<double> out;
  for (const double s : supports) out.push_back(r(2 * node(s)));
  return out;
}

TEST(BearingReactions, OfThePublishedCountershaft) {
  // Budynas & Nisbett, Shigley's Mechanical Engineering Design, 9th ed. (2011), Example 7-2, page 375: gear 3 at 2.0 in
  // and gear 4 at 7.75 in from bearing A, bearings 10 in apart; tangential 540 and 2431 lbf, radial 197 and 885 lbf.
  // Printed: R_Az = 115.0, R_Ay = 356.7, R_Bz = 1776.0, R_By = 725.3 lbf, greatest moment 4316 lbf in at gear 4. The
  // distances are from memory; they give the printed figures.
  const std::vector<PointLoad> loads{{2.0, -197, 540, 0, 0, 0}, {7.75, -885, -2431, 0, 0, 0}};
  const auto r = bearing_reactions({0, 10}, loads);
  EXPECT_NEAR(r[0].v_n, 115.0, 0.05);
  EXPECT_NEAR(r[0].u_n, 356.7, 0.05);
  EXPECT_NEAR(r[1].v_n, 1776.0, 0.05);
  EXPECT_NEAR(r[1].u_n, 725.3, 0.05);
  EXPECT_NEAR(routing::most_bending_nmm(r, loads), 4316, 1);
}

TEST(ToothLoads, GiveThePublishedCountershaftFromItsLayout) {
  // The same example as a layout on a lattice of half-pitches of a quarter inch: motor shaft and output shaft on one
  // line above the countershaft, gears of 2.667 and 12 in. Forces in lbf, the unit passes through.
  routing::Problem p;
  p.kit = routing::samples::kit();
  p.kit.pitch_mm = 12.7;
  for (const double d_in : {2.66667, 12.0}) {
    routing::Wheel w;
    w.name = d_in > 5 ? "large" : "small";
    w.teeth = d_in > 5 ? 72 : 16;
    w.pitch_radius_mm = d_in * 25.4 / 2;
    w.outer_radius_mm = w.pitch_radius_mm + 1;
    p.kit.wheels.push_back(w);
  }
  const int in = routing::samples::pair(p.kit, 0, 1, routing::PairType::spur, {-2, 9});
  p.inputs.push_back({});
  routing::Layout l;
  using routing::Axis;
  using routing::samples::shaft;
  using routing::samples::wheel;
  const int apart_hp = 29;  // 7.33 in
  l.shafts.push_back(shaft(Axis::x, {apart_hp, 0}, 0, 20, {0, 16}, {}));
  l.shafts.push_back(shaft(Axis::x, {0, 0}, 0, 46, {0, 40}, {}));
  l.shafts.push_back(shaft(Axis::x, {apart_hp, 0}, 24, 46, {24, 44}, {}));
  for (auto& s : l.shafts) s.axle = 0;
  l.wheels = {wheel(0, 0, l, 7, 9), wheel(1, 1, l, 7, 9), wheel(0, 1, l, 30, 32), wheel(1, 2, l, 30, 32)};
  l.meshes = {{in, 0, 1, 0}, {in, 2, 3, 0}};
  // The printed radial forces are 197 and 885: F tan 20 deg = 196.5 and 884.8.
  const auto loads = routing::tooth_loads(p, l, {540, 2431}, kAngle_rad);
  const auto spans = routing::shaft_spans(p, l);
  const auto r = bearing_reactions(spans[1].supports_mm, loads[1]);
  EXPECT_NEAR(std::fabs(r[0].v_n), 115.0, 0.5);
  EXPECT_NEAR(std::fabs(r[0].u_n), 356.7, 0.5);
  EXPECT_NEAR(std::fabs(r[1].v_n), 1776.0, 0.5);
  EXPECT_NEAR(std::fabs(r[1].u_n), 725.3, 0.5);
  EXPECT_GT(r[0].u_n, 0);  // both meshes press the countershaft down, away from the line above
  EXPECT_NEAR(spans[1].spacing_mm, 254, 1e-9);
  ASSERT_EQ(spans[1].twists.size(), 1U);
  EXPECT_NEAR(spans[1].twists[0].length_mm, 5.75 * 25.4, 1e-9);
}

TEST(BearingReactions, TwoEqualSpansLoadedInTheMiddle) {
  // Continuous beam, both spans with P in the middle: 5/16, 22/16, 5/16 P (Roark's and every handbook; from memory).
  const auto r = bearing_reactions({0, 8, 16}, {{4, -16, 0, 0, 0, 0}, {12, -16, 0, 0, 0, 0}});
  EXPECT_NEAR(r[0].u_n, 5, 1e-12);
  EXPECT_NEAR(r[1].u_n, 22, 1e-12);
  EXPECT_NEAR(r[2].u_n, 5, 1e-12);
}

TEST(BearingReactions, OverhungLoadPullsTheFarBearingDown) {
  // Lever: load 3 mm beyond a bearing, the other 6 mm behind it.
  const auto r = bearing_reactions({0, 6}, {{9, -10, 0, 0, 0, 0}});
  EXPECT_NEAR(r[0].u_n, -5, 1e-12);
  EXPECT_NEAR(r[1].u_n, 15, 1e-12);
}

TEST(BearingReactions, AgreeWithTheStiffnessMethodOnRandomBeams) {
  std::mt19937 draw(17);
  // Halves: places a hair apart would make the stiffness matrix, not the reactions, inexact.
  const auto number = [&](int low, int high) {
    return low + static_cast<double>(draw() % static_cast<unsigned>(2 * (high - low) + 1)) / 2;
  };
  for (int trial = 0; trial < 300; ++trial) {
    std::vector<double> supports{number(0, 5)};
    for (int i = 1 + static_cast<int>(draw() % 5); i > 0; --i) supports.push_back(supports.back() + number(4, 30));
    std::vector<PointLoad> loads;
    std::vector<std::array<double, 3>> plain;
    for (int i = 1 + static_cast<int>(draw() % 5); i > 0; --i) {
      const double at =
          draw() % 6 == 0 ? supports[draw() % supports.size()] : number(-15, static_cast<int>(supports.back()) + 15);
      loads.push_back({at, number(-20, 20), 0, number(-90, 90), 0, 0});
      plain.push_back({at, loads.back().u_n, loads.back().couple_u_nmm});
    }
    const auto r = bearing_reactions(supports, loads);
    const auto other = by_stiffness(supports, plain);
    for (std::size_t i = 0; i < supports.size(); ++i) EXPECT_NEAR(r[i].u_n, other[i], 1e-7) << trial;
  }
}

TEST(ToothLoads, PressDriverAndDrivenOppositely) {
  // All forces of a train are inner ones, so they sum to nothing, whatever the kind of mesh.
  for (const auto& [name, s] : routing::samples::all()) {
    std::vector<double> forces(s.layout.meshes.size(), 10.0);
    const auto loads = routing::tooth_loads(s.problem, s.layout, forces, kAngle_rad);
    std::array<double, 3> sum{};
    bool ring = false;
    for (std::size_t i = 0; i < s.layout.shafts.size(); ++i) {
      const routing::Axis axis = s.layout.shafts[i].axis;
      for (const PointLoad& q : loads[i]) {
        sum[static_cast<std::size_t>(index(axis))] += q.axial_n;
        sum[static_cast<std::size_t>(index(u_axis(axis)))] += q.u_n;
        sum[static_cast<std::size_t>(index(v_axis(axis)))] += q.v_n;
      }
    }
    for (const auto& w : s.layout.wheels) ring = ring || w.shaft < 0;
    if (ring) continue;
    for (const double component : sum) EXPECT_NEAR(component, 0, 1e-9) << name;
  }
}

TEST(ToothLoads, PressABevelOutOfMesh) {
  // Equal bevels: F tan a cos 45 both radial and axial; the axial part points away from where the shafts meet
  // (Shigley, section 13-15).
  const auto s = routing::samples::bevel();
  const auto loads = routing::tooth_loads(s.problem, s.layout, {0, 10}, kAngle_rad);
  const double part_n = 10 * std::tan(kAngle_rad) / std::numbers::sqrt2;
  const PointLoad& driven = loads[2].back();
  EXPECT_NEAR(driven.axial_n, part_n, 1e-9);     // towards +x
  EXPECT_NEAR(driven.u_n, part_n, 1e-9);         // off the driver, which stands on the low side of y
  EXPECT_NEAR(std::fabs(driven.v_n), 10, 1e-9);  // tangential
  const PointLoad& driver = loads[1].back();
  EXPECT_NEAR(driver.axial_n, -part_n, 1e-9);  // towards -y, away from the meeting point too
  // The axial force acts at the pitch radius of 10 mm and bends the shaft.
  EXPECT_NEAR(std::fabs(driven.couple_u_nmm), 10 * part_n, 1e-9);
}

TEST(ToothLoads, WormPushesItsWheelAlongItself) {
  const auto s = routing::samples::worm();
  const auto right = routing::tooth_loads(s.problem, s.layout, {24}, kAngle_rad, 1);
  const auto left = routing::tooth_loads(s.problem, s.layout, {24}, kAngle_rad, -1);
  // A right-handed worm turning right-handed about +x pulls the wheel's teeth towards -x and is pushed towards +x.
  EXPECT_NEAR(right[0][0].axial_n, 24, 1e-9);
  EXPECT_NEAR(left[0][0].axial_n, -24, 1e-9);
  EXPECT_NEAR(right[1][0].u_n, -24, 1e-9);
  // One start of module 1 on a pitch radius of 4 mm: tan of the lead 1/8, so the worm is turned by 24/8 N.
  EXPECT_NEAR(std::fabs(right[0][0].u_n), 3, 1e-9);
  // Both senses press wheel and worm apart.
  EXPECT_GT(right[1][0].v_n, 0);
  EXPECT_GT(left[1][0].v_n, 0);
}

TEST(ShaftSpans, OfTheHandMadeLayouts) {
  const auto two = routing::samples::two_stage();
  const auto spans = routing::shaft_spans(two.problem, two.layout);
  ASSERT_EQ(spans.size(), 3U);
  EXPECT_EQ(spans[0].supports_mm, (std::vector<double>{-4, 4, 28}));  // motor, two bearings
  ASSERT_EQ(spans[0].twists.size(), 1U);
  EXPECT_DOUBLE_EQ(spans[0].twists[0].length_mm, 18);  // face at -4, middle of the wheel at 14
  ASSERT_EQ(spans[2].twists.size(), 1U);
  EXPECT_DOUBLE_EQ(spans[2].twists[0].length_mm, 22);  // 18 to the hub's middle at 40
  EXPECT_DOUBLE_EQ(spans[2].spacing_mm, 48);
  const auto bevel = routing::samples::bevel();
  const auto hung = routing::shaft_spans(bevel.problem, bevel.layout);
  EXPECT_DOUBLE_EQ(hung[0].wheels[0].overhang_mm, 6);   // middle 10, bearing 4
  EXPECT_DOUBLE_EQ(hung[2].wheels[0].overhang_mm, 34);  // middle 10, bearing 44
  EXPECT_DOUBLE_EQ(hung[1].wheels[0].overhang_mm, 0);
}

TEST(Overhangs, BendTheAxleByForceTimesArm) {
  // A wheel 10 mm below the first of two supports and one 7 mm beyond the last: statics of a cantilever, by hand.
  routing::ShaftSpan span;
  span.supports_mm = {20, 60};
  span.wheels = {{4, 10, 10}, {5, 40, 0}, {6, 67, 7}};
  std::vector<routing::PointLoad> loads(3);
  loads[0] = {10, 3, 4, 0, 0, 0, 4};
  loads[1] = {40, 100, 0, 0, 0, 0, 5};
  loads[2] = {67, 0, -2, 0, 6, 1, 6};
  const auto hung = routing::overhangs(span, loads);
  ASSERT_EQ(hung.size(), 2U);
  EXPECT_EQ(hung[0].wheel, 4);
  EXPECT_DOUBLE_EQ(hung[0].force_n, 5);
  EXPECT_DOUBLE_EQ(hung[0].bending_nmm, 50);
  EXPECT_EQ(hung[1].wheel, 6);
  EXPECT_DOUBLE_EQ(hung[1].force_n, 2);
  EXPECT_DOUBLE_EQ(hung[1].bending_nmm, 2 * 7 - 6);
}

TEST(Overhangs, OfTheBevelsAreTheGreatestBendingOfTheirShafts) {
  // With one load, beyond the bearings, the moment is greatest at the last of them: the other route is the moment along
  // the whole beam, from its reactions.
  const auto s = routing::samples::bevel();
  const auto spans = routing::shaft_spans(s.problem, s.layout);
  int met = 0;
  for (const int sense : {1, -1}) {
    const std::vector<double> tangential_n(s.layout.meshes.size(), 8.0);
    const auto loads = routing::tooth_loads(s.problem, s.layout, tangential_n, kAngle_rad, sense);
    for (std::size_t i = 0; i < spans.size(); ++i) {
      const auto hung = routing::overhangs(spans[i], loads[i]);
      if (hung.size() != 1 || loads[i].size() != 1 || spans[i].supports_mm.size() < 2) continue;
      const auto reactions = routing::bearing_reactions(spans[i].supports_mm, loads[i]);
      const routing::PointLoad& q = loads[i][0];
      EXPECT_NEAR(hung[0].force_n, std::hypot(q.u_n, q.v_n), 1e-9);
      // A couple may be greater at the wheel than at the bearing.
      const double at_wheel = std::hypot(q.couple_u_nmm, q.couple_v_nmm);
      EXPECT_NEAR(std::max(hung[0].bending_nmm, at_wheel), routing::most_bending_nmm(reactions, loads[i]), 1e-6);
      ++met;
    }
  }
  EXPECT_GT(met, 1);
}

TEST(ShaftSpans, AnIdlerTwistsNoAxle) {
  const auto s = routing::samples::two_outputs();
  const auto spans = routing::shaft_spans(s.problem, s.layout);
  EXPECT_TRUE(spans[1].twists.empty());
  EXPECT_EQ(spans[0].twists.size(), 2U);
}

/// Three wheels of 16 teeth, module 1, in a row over the middle one: the driver to its left, the driven one at `last`.
std::vector<PointLoad> loads_on_idler(routing::Cross last, double tangential_n, int sense) {
  routing::Problem p;
  routing::Wheel w;
  w.teeth = 16;
  w.pitch_radius_mm = 8;
  w.outer_radius_mm = 9;
  p.kit.wheels = {w};
  p.kit.pairs = {{0, 0, routing::PairType::spur, base::Rational(-1), {{4, 0, 0}}}};
  routing::Layout l;
  const routing::Cross at[] = {{-4, 0}, {0, 0}, last};
  for (int i = 0; i < 3; ++i) {
    routing::PlacedShaft shaft;
    shaft.at = at[i];
    l.shafts.push_back(shaft);
    l.wheels.push_back({0, i, routing::Axis::y, at[i], 2, 3, false});
  }
  l.meshes = {{0, 0, 1, 0}, {0, 1, 2, 0}};
  return routing::tooth_loads(p, l, {tangential_n, tangential_n}, kAngle_rad, sense)[1];
}

TEST(ToothLoads, AnIdlerBearsTheSumOfBothToothForces) {
  // By hand. Statics of the free wheel: both forces turn against each other about its axis, so the teeth press it the
  // same way across the line of centres when the three stand in line: 2 F, and what presses apart cancels. Round a
  // corner each component is F (1 - tan a) one way or F (1 + tan a) the other, as the wheel turns.
  constexpr double kForce_n = 10;
  const double apart_n = kForce_n * std::tan(kAngle_rad);
  const auto sum = [](const std::vector<PointLoad>& loads) {
    double u = 0, v = 0;
    for (const PointLoad& q : loads) {
      u += q.u_n;
      v += q.v_n;
    }
    return std::hypot(u, v);
  };
  for (const int sense : {1, -1}) {
    const std::vector<PointLoad> in_line = loads_on_idler({4, 0}, kForce_n, sense);
    ASSERT_EQ(in_line.size(), 2U);
    EXPECT_NEAR(sum(in_line), 2 * kForce_n, 1e-9);
  }
  const double one_way = sum(loads_on_idler({0, 4}, kForce_n, 1)),
               other_way = sum(loads_on_idler({0, 4}, kForce_n, -1));
  EXPECT_NEAR(std::min(one_way, other_way), std::numbers::sqrt2 * (kForce_n - apart_n), 1e-9);
  EXPECT_NEAR(std::max(one_way, other_way), std::numbers::sqrt2 * (kForce_n + apart_n), 1e-9);
  // On two bearings either side of the wheel each bears half of it.
  const auto held = routing::bearing_reactions({0, 20}, loads_on_idler({4, 0}, kForce_n, 1));
  EXPECT_NEAR(held[0].size_n() + held[1].size_n(), 2 * kForce_n, 1e-9);
  EXPECT_NEAR(held[0].size_n(), kForce_n, 1e-9);
}

}  // namespace
