// Covers the position engine: textbook positions, every branch against closed forms, sweeps that stop at a dead point,
// turning points, mobility, and what is refused.
#include "linkage/assembly.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "linkage/fixture.h"
#include "linkage/four_bar.h"

using namespace linkage;
using fixture::kDeg;

namespace {

double folded(double rad) {
  return std::remainder(rad, 2 * std::numbers::pi);
}

/// Angle of a body in a position.
double angle(const Loops& loops, const Position& p, int body) {
  return poses(loops, p)[static_cast<std::size_t>(body)].angle_rad;
}

/// The largest gap between the two halves of any pin: measured on the poses, without the loop equations.
double largest_gap_mm(const Loops& loops, const Position& p) {
  const auto at = poses(loops, p);
  double gap = 0;
  for (const Joint& j : loops.mechanism().joints) {
    const Vec2 a = at[static_cast<std::size_t>(j.a)].world(j.at_a), b = at[static_cast<std::size_t>(j.b)].world(j.at_b);
    double x = b.x_mm - a.x_mm, z = b.z_mm - a.z_mm;
    if (j.kind == Joint::Kind::slider) {
      const double axis = at[static_cast<std::size_t>(j.a)].angle_rad + j.axis_rad;
      const double off = -std::sin(axis) * x + std::cos(axis) * z;
      x = off;
      z = folded(at[static_cast<std::size_t>(j.b)].angle_rad - at[static_cast<std::size_t>(j.a)].angle_rad -
                 j.turn_rad);
    }
    gap = std::max(gap, std::hypot(x, z));
  }
  return gap;
}

}  // namespace

TEST(FourBar, BothClosuresOfNortonsExample) {
  // LINK-01: Norton, Design of Machinery, Example 4-1 (from memory); 0.002 deg.
  const Loops loops(fixture::four_bar());
  const double input[] = {40 * kDeg};
  const Branches all = all_branches(loops, input);
  EXPECT_TRUE(all.complete);
  ASSERT_EQ(all.positions.size(), 2U);
  const double coupler[] = {-60.978, 20.298}, rocker[] = {-98.005, 57.325};
  for (int k = 0; k < 2; ++k) {
    std::vector<double> angles;
    const auto& p = all.positions[static_cast<std::size_t>(k)];
    const bool open = folded(angle(loops, p, 3)) > 0;
    EXPECT_NEAR(folded(angle(loops, p, 2)) / kDeg, coupler[open], 0.002);
    EXPECT_NEAR(folded(angle(loops, p, 3)) / kDeg, rocker[open], 0.002);
    EXPECT_LT(largest_gap_mm(loops, p), 1e-10);
  }
  EXPECT_EQ(all.orientation[0], -all.orientation[1]);
  const Freudenstein k = freudenstein({100, 40, 120, 80});
  EXPECT_DOUBLE_EQ(k.k1, 2.5);
  EXPECT_DOUBLE_EQ(k.k2, 1.25);
  EXPECT_DOUBLE_EQ(k.k3, 0.5625);
  const auto open = closure(FourBar{100, 40, 120, 80}, 40 * kDeg, Closure::open);
  const auto crossed = closure(FourBar{100, 40, 120, 80}, 40 * kDeg, Closure::crossed);
  ASSERT_TRUE(open && crossed);
  EXPECT_NEAR(open->rocker_rad / kDeg, 57.325, 0.002);
  EXPECT_NEAR(crossed->rocker_rad / kDeg, -98.005, 0.002);
}

TEST(FourBar, VelocitiesTorqueRatioAndTransmissionAngle) {
  // LINK-02 (Norton, velocity example, from memory), LINK-03 (recomputed): 25 rad/s at the crank, 1e-4 relative.
  const Loops loops(fixture::four_bar());
  const double input[] = {40 * kDeg};
  for (const Position& p : all_branches(loops, input).positions) {
    const bool open = folded(angle(loops, p, 3)) > 0;
    const Motion m = motion(loops, p, 0);
    const double coupler = 25 * m.bodies[2].turn, rocker = 25 * m.bodies[3].turn;
    EXPECT_NEAR(coupler, open ? -4.1209 : -9.2588, 1e-4 * 9.3);
    EXPECT_NEAR(rocker, open ? 6.9980 : -20.3777, 1e-4 * 20.4);
    if (!open) continue;
    const Vec2 crank_pin = m.velocity(1, {40, 0}), rocker_pin = m.velocity(3, {80, 0});
    EXPECT_NEAR(25 * crank_pin.x_mm, -642.79, 0.07);
    EXPECT_NEAR(25 * crank_pin.z_mm, 766.04, 0.08);
    EXPECT_NEAR(25 * rocker_pin.x_mm, -471.24, 0.05);
    EXPECT_NEAR(25 * rocker_pin.z_mm, 302.24, 0.03);
    EXPECT_NEAR(mechanical_advantage(m, 1), 3.5725, 1e-4);
    EXPECT_NEAR(transmission_angle_rad(loops, p, 2, 3, 1) / kDeg, 37.027, 0.002);
  }
}

TEST(FourBar, ExtremeTransmissionAngles) {
  // LINK-04: cosine rule, recomputed; 0.002 deg.
  const Loops loops(fixture::four_bar());
  for (const auto& [crank, expected] : {std::pair{0.0, 26.384}, {180.0, 86.417}}) {
    const double input[] = {crank * kDeg};
    for (const Position& p : all_branches(loops, input).positions) {
      EXPECT_NEAR(transmission_angle_rad(loops, p, 2, 3, 1) / kDeg, expected, 0.002);
    }
  }
  EXPECT_NEAR(*least_transmission_angle_rad({100, 40, 120, 80}) / kDeg, 26.384, 0.002);
  EXPECT_FALSE(least_transmission_angle_rad({100, 50, 60, 70}));
}

TEST(FourBar, GrashofClasses) {
  // LINK-05, exact.
  EXPECT_EQ(grashof({100, 40, 120, 80}), Grashof::crank_rocker);
  EXPECT_EQ(grashof({40, 100, 120, 80}), Grashof::double_crank);
  EXPECT_EQ(grashof({100, 120, 40, 80}), Grashof::double_rocker);
  EXPECT_EQ(grashof({100, 80, 120, 40}), Grashof::rocker_crank);
  for (const FourBar& bar : {FourBar{50, 60, 70, 100}, {100, 50, 60, 70}, {70, 100, 50, 60}, {60, 70, 100, 50}}) {
    EXPECT_EQ(grashof(bar), Grashof::triple_rocker);
  }
  EXPECT_EQ(grashof({50, 50, 80, 80}), Grashof::change_point);
}

TEST(FourBar, AllBranchesAreFreudensteinsAllRound) {
  // Second route for the branch search: closed form on random link lengths and crank angles.
  int none = 0;
  for (std::uint64_t k = 0; k < 300; ++k) {
    const auto draw = [&](std::uint64_t s) { return 20 + 100 * base::uniform_draw(3, s, k); };
    const FourBar bar{draw(0), draw(1), draw(2), draw(3)};
    const double input[] = {6.28 * base::uniform_draw(3, 4, k) - 3.14};
    const Loops loops(fixture::four_bar(bar.ground_mm, bar.crank_mm, bar.coupler_mm, bar.rocker_mm));
    const Branches all = all_branches(loops, input);
    EXPECT_TRUE(all.complete) << k;
    const auto open = closure(bar, input[0], Closure::open), crossed = closure(bar, input[0], Closure::crossed);
    ASSERT_EQ(all.positions.size(), open ? 2U : 0U) << k;
    none += open ? 0 : 1;
    for (const auto& expected : {open, crossed}) {
      if (!expected) continue;
      EXPECT_TRUE(std::any_of(all.positions.begin(), all.positions.end(), [&](const Position& p) {
        return std::fabs(folded(angle(loops, p, 2) - expected->coupler_rad)) < 1e-9 &&
               std::fabs(folded(angle(loops, p, 3) - expected->rocker_rad)) < 1e-9;
      })) << k;
    }
  }
  EXPECT_GT(none, 30);
}

TEST(SliderCrank, BothClosuresOfNortonsExample) {
  // LINK-06: Norton, Example 4-2 (from memory). Our coupler angle is at the crank end: Norton's turned by 180 deg.
  const Loops loops(fixture::slider_crank(40, 120, -20));
  const double input[] = {60 * kDeg};
  const Branches all = all_branches(loops, input);
  EXPECT_TRUE(all.complete);
  ASSERT_EQ(all.positions.size(), 2U);
  for (const Position& p : all.positions) {
    const double x = joint_value(loops, p, 3);
    const bool open = x > 0;
    EXPECT_NEAR(x, open ? 126.838 : -86.838, 0.002);
    EXPECT_NEAR(folded(angle(loops, p, 2) + std::numbers::pi - (open ? 152.913 : 27.087) * kDeg), 0, 0.002 * kDeg);
    const auto closed = closure(SliderCrank{40, 120, -20}, input[0], open ? Closure::open : Closure::crossed);
    ASSERT_TRUE(closed);
    EXPECT_NEAR(closed->slider_mm, x, 1e-9);
    EXPECT_NEAR(closed->coupler_rad / kDeg, open ? 152.913 : 27.087, 0.002);
  }
}

TEST(SliderCrank, LimitsStrokeAndTimeRatio) {
  // LINK-07: geometry, recomputed; 0.002 mm, 1e-4.
  const Loops loops(fixture::slider_crank(40, 120, -20));
  const double input[] = {60 * kDeg};
  const auto all = all_branches(loops, input);
  const Position& start = joint_value(loops, all.positions[0], 3) > 0 ? all.positions[0] : all.positions[1];
  const Sweep turn = sweep(loops, start, 0, 420 * kDeg, 90);
  ASSERT_TRUE(turn.arrives);
  const auto ends = turning_points(loops, turn, 0, 3);
  ASSERT_EQ(ends.size(), 2U);
  EXPECT_NEAR(ends[0].output, 77.460, 0.002);
  EXPECT_NEAR(ends[1].output, 158.745, 0.002);
  EXPECT_NEAR(ends[1].output - ends[0].output, 81.285, 0.002);
  const double stroke = ends[1].input - ends[0].input;  // crank angle from the inner to the outer end
  EXPECT_NEAR(std::fabs(stroke / kDeg - 180), 2 * 7.297 / 2 * 1.0, 0.002);
  const double longer = std::max(stroke, 2 * std::numbers::pi - stroke);
  EXPECT_NEAR(longer / (2 * std::numbers::pi - longer), 1.0845, 1e-4);
}

TEST(InvertedSliderCrank, BothClosuresOfNortonsExample) {
  // LINK-08: Norton, Example 4-3 (from memory): ground 6, crank 2, link 4 c = 4, the slide square to it.
  Mechanism m;
  const int crank = m.add_body("crank"), block = m.add_body("block"), arm = m.add_body("arm");
  m.drive(m.add_pin(0, {}, crank, {}));
  m.add_pin(crank, {2, 0}, block, {});
  m.add_pin(0, {6, 0}, arm, {});
  const int slide = m.add_slider(arm, {4, 0}, block, {}, 90 * kDeg);
  const Loops loops(m);
  const double input[] = {30 * kDeg};
  const Branches all = all_branches(loops, input);
  EXPECT_TRUE(all.complete);
  ASSERT_EQ(all.positions.size(), 2U);
  for (const Position& p : all.positions) {
    const double theta = folded(angle(loops, p, arm)) / kDeg;
    EXPECT_NEAR(theta, theta > 0 ? 142.667 : -169.041, 0.002);
    EXPECT_NEAR(std::fabs(joint_value(loops, p, slide)), 1.7932, 1e-4);
  }
}

TEST(Mobility, OfTheTextbookMechanisms) {
  // LINK-09: M = 3(L-1) - 2 J1 - J2; (a), (b) engineersedge.com, modified Gruebler page; the rest recomputed.
  EXPECT_EQ(mobility(fixture::four_bar()).value, 1);
  EXPECT_EQ(mobility(fixture::slider_crank(40, 120, 0)).value, 1);
  EXPECT_EQ(mobility(fixture::stephenson()).value, 1);
  const auto ring = [](int links) {
    Mechanism m;
    for (int i = 1; i < links; ++i) m.add_body("link");
    for (int i = 0; i < links; ++i) m.add_pin(i, {10, 0}, (i + 1) % links, {});
    return m;
  };
  EXPECT_EQ(mobility(ring(5)).value, 2);
  EXPECT_EQ(mobility(ring(3)).value, 0);
  Mechanism watt = ring(4);  // two four-bars in series
  const int a = watt.add_body("link"), b = watt.add_body("link");
  watt.add_pin(3, {20, 5}, a, {});
  watt.add_pin(a, {30, 0}, b, {});
  watt.add_pin(b, {20, 0}, 0, {90, 0});
  EXPECT_EQ(mobility(watt).value, 1);
  Mechanism gears;
  const int p = gears.add_pin(0, {}, gears.add_body("gear"), {});
  const int q = gears.add_pin(0, {20, 0}, gears.add_body("gear"), {});
  gears.add_gear(p, q, -1.5);
  EXPECT_EQ(mobility(gears).value, 1);
  EXPECT_EQ(mobility(gears).links, 3);
}

TEST(Sweep, StopsWhereTheCosineRuleSaysItMust) {
  // Triple rocker 50/60/70/100: the crank stops where coupler and rocker are in line, reach b + c or |b - c|.
  const double a = 50, b = 60, c = 70, d = 100;
  const Loops loops(fixture::four_bar(d, a, b, c));
  const double input[] = {60 * kDeg};
  for (const Position& start : all_branches(loops, input).positions) {
    const Sweep up = sweep(loops, start, 0, 179 * kDeg, 40);
    ASSERT_FALSE(up.arrives);
    const double limit = std::acos((a * a + d * d - (b + c) * (b + c)) / (2 * a * d));
    EXPECT_NEAR(up.stop_value, limit, 1e-9);
    EXPECT_EQ(up.text.substr(0, 22), "does not close beyond ");
    EXPECT_LT(up.positions.size(), 41U);
    for (const Position& p : up.positions) EXPECT_LT(largest_gap_mm(loops, p), 1e-9);
  }
}

TEST(Sweep, KeepsItsBranchAllRoundAndComesBack) {
  const Loops loops(fixture::four_bar());
  const double input[] = {40 * kDeg};
  for (const Position& start : all_branches(loops, input).positions) {
    const Closure which = folded(angle(loops, start, 3)) > 0 ? Closure::open : Closure::crossed;
    for (const int steps : {8, 100}) {
      const Sweep turn = sweep(loops, start, 0, 400 * kDeg, steps);
      ASSERT_TRUE(turn.arrives);
      for (std::size_t k = 0; k < turn.value.size(); ++k) {
        const auto expected = closure(FourBar{100, 40, 120, 80}, turn.value[k], which);
        EXPECT_NEAR(folded(angle(loops, turn.positions[k], 3) - expected->rocker_rad), 0, 1e-9);
      }
      EXPECT_NEAR(folded(turn.positions.back().free[0] - start.free[0]), 0, 1e-9);
    }
  }
}

TEST(Sweep, StaysOffTheOtherBranchWhereTwoComeClose) {
  // Almost a change point: the two closures pass within a degree of each other; steps of ten degrees must not hop.
  const FourBar bar{100, 40, 100.02, 40};
  const Loops loops(fixture::four_bar(bar.ground_mm, bar.crank_mm, bar.coupler_mm, bar.rocker_mm));
  const double input[] = {90 * kDeg};
  for (const Position& start : all_branches(loops, input).positions) {
    const bool open =
        std::fabs(folded(angle(loops, start, 3) - closure(bar, input[0], Closure::open)->rocker_rad)) < 1e-6;
    const Sweep turn = sweep(loops, start, 0, 178 * kDeg, 9);
    for (std::size_t k = 0; k < turn.value.size(); ++k) {
      const auto expected = closure(bar, turn.value[k], open ? Closure::open : Closure::crossed);
      ASSERT_TRUE(expected);
      EXPECT_NEAR(folded(angle(loops, turn.positions[k], 3) - expected->rocker_rad), 0, 1e-6) << turn.value[k] / kDeg;
    }
  }
}

TEST(Branches, OfTheSixBarAreThoseOfADenseScan) {
  // Second route: the dyad's coupler pin runs round its circle in small steps; the four-bar is closed by circles, the
  // last distance changes sign at every position.
  const Loops loops(fixture::stephenson());
  for (const double input : {0.0, 0.2, -0.4, 0.35, -0.15, 2.5}) {
    const double inputs[] = {input};
    const Branches all = all_branches(loops, inputs);
    EXPECT_TRUE(all.complete);
    const auto pin = Vec2{12 * std::cos(input) - 28 * std::sin(input), 12 * std::sin(input) + 28 * std::cos(input)};
    const double link = std::hypot(48, 16), rocker = std::hypot(8, 40), plate = std::hypot(12, 20);
    const double leg = std::hypot(8, 40);
    const double turn = std::atan2(32 - 44, 96 - 60) - std::atan2(24 - 44, 48 - 60), arm = std::hypot(36, 12);
    std::size_t found = 0;
    constexpr int kSteps = 400000;
    for (const int side : {1, -1}) {
      double before = 0;
      bool there_before = false;
      for (int k = 0; k <= kSteps; ++k) {
        const double t = 2 * std::numbers::pi * k / kSteps + 0.001;
        const double px = pin.x_mm + link * std::cos(t), pz = pin.z_mm + link * std::sin(t);
        const double dx = 40 - px, dz = -16 - pz, distance = std::hypot(dx, dz);
        const double along = (plate * plate - rocker * rocker + distance * distance) / (2 * distance);
        const double square = plate * plate - along * along;
        // The step at which the circles part counts too, with the circles just touching.
        const bool there = square >= 0;
        const double off = side * std::sqrt(std::max(0.0, square));
        const double qx = px + (along * dx - off * dz) / distance, qz = pz + (along * dz + off * dx) / distance;
        const double at = std::atan2(qz - pz, qx - px) + turn;
        const double gap = std::hypot(px + arm * std::cos(at) - 104, pz + arm * std::sin(at) + 8) - leg;
        if ((there || there_before) && gap * before < 0) ++found;
        before = gap;
        there_before = there;
      }
    }
    EXPECT_EQ(all.positions.size(), found) << input;
    EXPECT_EQ(found == 0, input == 2.5);
    for (const Position& p : all.positions) EXPECT_LT(largest_gap_mm(loops, p), 1e-9);
  }
}

TEST(Branches, DeadPointIsOneUndecidedPosition) {
  // Coupler and rocker in line at the crank's limit: the two branches meet.
  const double limit = std::acos((50.0 * 50 + 100 * 100 - 130 * 130) / (2 * 50 * 100));
  const Loops loops(fixture::four_bar(100, 50, 60, 70));
  const double input[] = {limit};
  const Branches all = all_branches(loops, input);
  ASSERT_GE(all.positions.size(), 1U);
  EXPECT_LE(all.positions.size(), 2U);
  EXPECT_LT(all.boxes, 100000);
  const double beyond[] = {limit + 1e-3};
  const Branches none = all_branches(loops, beyond);
  EXPECT_TRUE(none.positions.empty());
  EXPECT_TRUE(none.complete);
}

TEST(Branches, FoldedKiteIsLoose) {
  // Crank as long as the ground link and folded onto it: coupler and rocker of one length then turn freely together.
  const Loops loops(fixture::four_bar(100, 100, 60, 60));
  const double folded_up[] = {0.0}, open[] = {0.5};
  const Branches loose = all_branches(loops, folded_up);
  EXPECT_TRUE(loose.loose);
  EXPECT_FALSE(loose.complete);
  EXPECT_LT(loose.boxes, 200000);
  const Branches two = all_branches(loops, open);
  EXPECT_FALSE(two.loose);
  EXPECT_EQ(two.positions.size(), 2U);
}

TEST(Branches, ActuatorTriangleHasItsTwoMirrorImages) {
  // ACT-04's triangle as a mechanism: p = 60, q = 80 mm, length 100 mm closes at +-90 deg; cosine rule.
  Mechanism m;
  const int boom = m.add_body("boom");
  m.add_pin(0, {}, boom, {});
  const auto actuator = m.add_actuator(0, {60, 0}, boom, {80, 0});
  const Loops loops(m);
  EXPECT_EQ(mobility(m).value, 1);
  for (const auto& [length, between] : {std::pair{51.4390, 40.0}, {100.0, 90.0}, {121.6553, 120.0}}) {
    const double input[] = {length};
    const Branches all = all_branches(loops, input, {200, 100000});
    // A negative length turns the barrel round: the same triangle is met with the barrel either way, travel fixed.
    ASSERT_EQ(all.positions.size(), 2U);
    EXPECT_TRUE(all.complete);
    for (const Position& p : all.positions) {
      EXPECT_NEAR(std::fabs(folded(angle(loops, p, boom))) / kDeg, between, 1e-4 * 120);
      // ACT-04: angular speed at 5 mm/s is 5/lever.
      const double lever = 60 * 80 * std::sin(between * kDeg) / length;
      EXPECT_NEAR(std::fabs(motion(loops, p, actuator.input).bodies[1].turn), 1 / lever, 1e-5 / lever);
    }
  }
}

TEST(Solver, EveryRandomMechanismClosesFromItsDrawing) {
  int closed = 0;
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    const auto sample = fixture::random_mechanism(seed);
    ASSERT_TRUE(problems(sample.mechanism).empty()) << seed << ": " << problems(sample.mechanism).front();
    const Loops loops(sample.mechanism);
    EXPECT_EQ(mobility(sample.mechanism).value, loops.inputs());
    Position p = read(loops, sample.drawing);
    EXPECT_LT(largest_gap_mm(loops, p), 1e-9) << seed;
    Solver solver(loops);
    EXPECT_TRUE(solver.close(p));
    for (double& v : p.input) v += 0.002;
    if (!solver.close(p)) {
      Position start = read(loops, sample.drawing);
      bool ok = true;
      for (int k = 0; k < loops.inputs() && ok; ++k) {
        const Sweep s = sweep(loops, start, k, p.input[static_cast<std::size_t>(k)], 4);
        ok = s.arrives;
        start = s.positions.back();
      }
      EXPECT_FALSE(ok) << seed;  // a dead point lies in between: the sweep in small steps ends there as well
      continue;
    }
    ++closed;
    EXPECT_LT(largest_gap_mm(loops, p), 1e-8) << seed;
    // Rates against differences of two more positions.
    Position low = p, high = p;
    const double h = 1e-5;
    low.input[0] -= h;
    high.input[0] += h;
    std::vector<double> rates(p.free.size());
    if (!solver.close(low) || !solver.close(high) || !solver.rates(p, 0, rates)) continue;
    for (std::size_t i = 0; i < rates.size(); ++i) {
      const double difference = (high.free[i] - low.free[i]) / (2 * h);
      EXPECT_NEAR(rates[i], difference, 1e-4 * (1 + std::fabs(rates[i]) * (1 + std::fabs(rates[i])))) << seed;
    }
  }
  EXPECT_GT(closed, 250);
}

TEST(Solver, FarFromAnyPositionItSaysSoWithinItsCap) {
  const Loops loops(fixture::four_bar(100, 50, 60, 70));
  Solver solver(loops);
  Position p{{0.3, 0.7}, {179 * kDeg}};
  EXPECT_FALSE(solver.close(p));
  EXPECT_LE(solver.evaluations(), kNewtonCap);
  EXPECT_EQ(p.free, (std::vector<double>{0.3, 0.7}));
}

TEST(Problems, AreNamed) {
  Mechanism m = fixture::four_bar();
  EXPECT_TRUE(problems(m).empty());
  m.inputs.clear();
  EXPECT_EQ(problems(m).at(0), "mobility is 1 but 0 inputs are given: drive 1 more");
  m.inputs = {0, 1};
  EXPECT_EQ(problems(m).at(0), "mobility is 1 but 2 inputs are given: drive 1 less");
  m.inputs = {0};
  m.add_body("loose");
  EXPECT_EQ(problems(m).at(0), "loose hangs on no joint that leads to the frame");
  m = fixture::four_bar();
  m.joints[2].b = 9;
  EXPECT_EQ(problems(m).at(0), "joint 3 (crank pin) names a body that does not exist");
  m = fixture::four_bar();
  m.add_gear(0, 3, -1);
  EXPECT_EQ(problems(m).at(0), "gear pair 1: its two pins must share exactly one body, the carrier");
  m = fixture::four_bar();
  m.add_gear(0, 1, 1);
  EXPECT_EQ(problems(m).at(0).substr(0, 39), "gear pair 1: ratio must be finite, not ");
  m = fixture::slider_crank(40, 120, 0);
  m.add_slider(0, {}, 3, {}, 1);
  EXPECT_EQ(problems(m).at(0), "joint 5 closes a ring of sliders: the turn of its bodies would be held twice");
  EXPECT_THROW(Loops{m}, base::InternalFault);
}

TEST(Gears, GearedFiveBarKeepsItsRatio) {
  // Two cranks geared 1 : -1 on the frame, a dyad between: its pin moves on the line of symmetry.
  Mechanism m;
  const int a = m.add_body("crank a"), b = m.add_body("crank b"), c = m.add_body("rod a"), d = m.add_body("rod b");
  const int pa = m.add_pin(0, {-20, 0}, a, {}), pb = m.add_pin(0, {20, 0}, b, {});
  m.add_pin(a, {15, 0}, c, {});
  m.add_pin(b, {15, 0}, d, {});
  m.add_pin(c, {50, 0}, d, {50, 0}, "top");
  m.add_gear(pa, pb, -1, 180 * kDeg);  // mirror image: 180 deg - angle
  m.drive(pa);
  const Loops loops(m);
  const double input[] = {0.7};
  const Branches all = all_branches(loops, input);
  EXPECT_TRUE(all.complete);
  ASSERT_EQ(all.positions.size(), 2U);
  for (const Position& p : all.positions) {
    const auto at = poses(loops, p);
    EXPECT_NEAR(at[3].world({50, 0}).x_mm, 0, 1e-9);
    EXPECT_NEAR(folded(at[2].angle_rad - (180 * kDeg - 0.7)), 0, 1e-12);
    const Motion m1 = motion(loops, p, 0);
    EXPECT_NEAR(m1.velocity(3, {50, 0}).x_mm, 0, 1e-9);
  }
}
