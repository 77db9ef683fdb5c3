// Covers the actuator triangle: published cases, virtual work by numeric differences, time by another quadrature.
#include "linkage/actuator.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

using linkage::ActuatorTriangle;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

/// Base mount on the x axis at p, rod mount at q; the body's angle is then the angle between the two.
ActuatorTriangle plain(double p, double q) {
  return {{0, 0}, {p, 0}, {q, 0}};
}

/// An invented boom: pivot high, actuator below and ahead.
ActuatorTriangle boom() {
  return {{10, 60}, {46, 12}, {70, 66}};
}

}  // namespace

TEST(ActuatorTriangle, LiftTableCylinderForce) {
  // ACT-01: Beer & Johnston, Statics, lift-table problem (from memory): 2.9138 m and 5157 N per cylinder, 1e-4. Each of
  // the two linkages lifts half the crate by 2 a sin(theta), hence the moment W/2 2 a cos(theta) about the link's
  // pivot.
  const double a = 700, length = 3200, theta = 60 * kDeg, weight = 9810;
  const auto at = pose(plain(a, length), theta);
  EXPECT_NEAR(at.length_mm, 2913.8, 0.3);
  EXPECT_NEAR(actuator_force_n(at, weight * a * std::cos(theta)), 5157, 0.6);
}

TEST(ActuatorTriangle, ExcavatorBoomCylinder) {
  // ACT-02: askfilo.com 3338363738353338; lever 0.16971 m, force 75.09 kN (source 75.0).
  const ActuatorTriangle t{{0, 0}, {0, 240}, {720, 960}};
  const auto at = pose(t, 0);
  EXPECT_NEAR(std::fabs(at.lever_mm), 169.71, 0.02);
  EXPECT_NEAR(std::fabs(actuator_force_n(at, 433 * 9.81 * 3000)), 75090, 8);
}

TEST(ActuatorTriangle, LoaderCylinderAndBoomReach) {
  // ACT-03: Myszka, Machines and Mechanisms, Example Problems 3.1 and 3.2 (scribd document 433079341), 0.01 in.
  const double base = 96 * std::cos(35 * kDeg);
  EXPECT_NEAR(base, 78.64, 0.01);
  EXPECT_NEAR(pose(plain(base, 96), 35 * kDeg).length_mm, 55.06, 0.01);
  EXPECT_NEAR(8 * std::cos(25 * kDeg), 7.25, 0.01);
}

TEST(ActuatorTriangle, LengthLeverAndSpeedByTheCosineRule) {
  // ACT-04, recomputed, 1e-5 relative.
  struct Case {
    double deg, length, lever, speed;
  };
  for (const Case c : {Case{40, 51.4390, 59.9813, 0.0833593}, Case{90, 100.0000, 48.0000, 0.1041667},
                       Case{120, 121.6553, 34.1697, 0.1463285}}) {
    const auto at = pose(plain(60, 80), c.deg * kDeg);
    EXPECT_NEAR(at.length_mm, c.length, c.length * 1e-5);
    EXPECT_NEAR(at.lever_mm, c.lever, c.lever * 1e-5);
    EXPECT_NEAR(angular_speed_rad_s(at, 5), c.speed, c.speed * 1e-5);
  }
}

TEST(ActuatorTriangle, GreatestLeverIsTheShorterMountDistance) {
  // ACT-05, recomputed, 1e-5 relative.
  EXPECT_DOUBLE_EQ(greatest_lever_mm(plain(60, 80)), 60);
  const double angle = angle_at_length(plain(60, 80), 52.9150, 0.5);
  EXPECT_NEAR(angle / kDeg, 41.4096, 4e-4);
  EXPECT_NEAR(pose(plain(60, 80), angle).lever_mm, 60, 1e-6);
}

TEST(ActuatorTriangle, ForceDoesTheWorkOfTheMoment) {
  // Second route: F dL = M dtheta by central differences.
  for (double angle = -1; angle < 1.2; angle += 0.1) {
    const double h = 1e-6;
    const double rate = (pose(boom(), angle + h).length_mm - pose(boom(), angle - h).length_mm) / (2 * h);
    EXPECT_NEAR(pose(boom(), angle).lever_mm, rate, 1e-6);
    EXPECT_NEAR(actuator_force_n(pose(boom(), angle), 500) * rate, 500, 1e-3);
  }
}

TEST(ActuatorTriangle, PushesOrPullsBySideOfTheDeadCentre) {
  EXPECT_GT(actuator_force_n(pose(plain(60, 80), 40 * kDeg), 1), 0);
  EXPECT_LT(actuator_force_n(pose(plain(60, 80), -40 * kDeg), 1), 0);
  EXPECT_NEAR(dead_centre_distance_rad(plain(60, 80), 170 * kDeg), 10 * kDeg, 1e-12);
  EXPECT_NEAR(dead_centre_distance_rad(plain(60, 80), -20 * kDeg), 20 * kDeg, 1e-12);
  EXPECT_TRUE(std::isinf(actuator_force_n(pose(plain(60, 80), 0), 1)));
}

TEST(ActuatorTriangle, AngleAtALengthInvertsThePose) {
  for (double angle = -0.9; angle < 1.3; angle += 0.1) {
    EXPECT_NEAR(angle_at_length(boom(), pose(boom(), angle).length_mm, angle + 0.05), angle, 1e-9);
  }
  EXPECT_TRUE(std::isnan(angle_at_length(plain(60, 80), 141, 1)));
  EXPECT_NEAR(angle_at_length(plain(60, 80), 140, 1), std::numbers::pi, 1e-6);
}

TEST(Travel, TimeAtConstantSpeedIsStrokeOverSpeed) {
  const auto t = travel(
      boom(), -0.3, 0.9, 64, [](double) { return 300.0; }, [](double) { return 5.0; });
  ASSERT_TRUE(t.arrives);
  EXPECT_NEAR(t.time_s, (t.steps.back().length_mm - t.steps.front().length_mm) / 5, 1e-6);
}

TEST(Travel, TimeWithAFallingSpeedMatchesSteppingTheLength) {
  const auto moment = [](double angle) { return 4000 * std::cos(angle); };
  const auto speed = [](double force) { return 8 - 0.03 * force; };
  const auto t = travel(boom(), -0.3, 0.9, 64, moment, speed);
  double time = 0;
  const double from = pose(boom(), -0.3).length_mm, to = pose(boom(), 0.9).length_mm;
  constexpr int kSteps = 20000;
  for (int i = 0; i < kSteps; ++i) {
    const double length = from + (i + 0.5) * (to - from) / kSteps;
    const double angle = angle_at_length(boom(), length, -0.3 + (i + 0.5) * 1.2 / kSteps);
    time += (to - from) / kSteps / speed(actuator_force_n(pose(boom(), angle), moment(angle)));
  }
  ASSERT_TRUE(t.arrives);
  EXPECT_NEAR(t.time_s, time, 1e-5 * time);
  // Lowering with the same moment helps: faster, and the resisting force is the negative one.
  const auto down = travel(boom(), 0.9, -0.3, 64, moment, speed);
  EXPECT_LT(down.time_s, t.time_s);
  EXPECT_NEAR(down.steps.front().resisting_n, -t.steps.back().resisting_n, 1e-9);
}

TEST(Travel, StallIsFoundWhereTheForceExceedsTheDrive) {
  const auto t = travel(
      boom(), -0.3, 0.9, 64, [](double a) { return 3000 * (1 + a); },
      [](double force) { return force < 95 ? 4.0 : 0.0; });
  ASSERT_FALSE(t.arrives);
  EXPECT_TRUE(std::isinf(t.time_s));
  EXPECT_GE(actuator_force_n(pose(boom(), t.stall_angle_rad), 3000 * (1 + t.stall_angle_rad)), 95);
}
