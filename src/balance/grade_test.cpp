// Covers climbing and turning on actual supports: published slopes and moments, closed forms, searches by hand.
#include "balance/grade.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "balance/traction.h"

using balance::Climber;
using balance::GradeStop;
using balance::Support;
using balance::SupportState;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

/// VEH-06: wheelbase 120, centre 50 ahead of the rear axle and 60 high.
Climber car(bool front, bool rear) {
  Climber c;
  c.state.name = "wheels";
  for (const double x : {120.0, 0.0}) {
    for (const double y : {40.0, -40.0}) c.state.supports.push_back({"wheel", {x, y}, {x, y}, 0, 0, 50, 0});
  }
  c.driven = {front, front, rear, rear};
  c.weight_n = 20;
  c.centre = {50, 0, 60};
  c.friction = 0.6;
  return c;
}

SupportState tracks() {
  return {
      "tracks", {{"left", {-80, 60}, {80, 60}, 15, 0, 200, 0}, {"right", {-80, -60}, {80, -60}, 15, 0, 200, 0}}, {}};
}

}  // namespace

TEST(Grade, SteepestSlopesByAdhesionOnActualSupports) {
  // VEH-06: statics, recomputed; 0.001 deg.
  EXPECT_NEAR(gradeability(car(true, true)).slope_rad / kDeg, 30.964, 1e-3);
  EXPECT_NEAR(gradeability(car(false, true)).slope_rad / kDeg, 26.565, 1e-3);
  EXPECT_NEAR(gradeability(car(true, false)).slope_rad / kDeg, 10.886, 1e-3);
  Climber grippy = car(true, true);
  grippy.friction = 3;
  const auto tips = gradeability(grippy);
  EXPECT_NEAR(tips.slope_rad / kDeg, 39.806, 1e-3);
  EXPECT_EQ(tips.stop, GradeStop::tipping);
  // Backwards the other axle is the lower one.
  EXPECT_NEAR(gradeability(grippy, std::numbers::pi).slope_rad, std::atan(70 / 60.0), 1e-6);
}

TEST(Grade, EffortAndRollingResistance) {
  // VEH-07: F = W (sin + c cos), recomputed; 1e-4 relative.
  Climber c = car(true, true);
  c.rolling_resistance = 0.05;
  c.effort_n = 4.9029;
  const auto grade = gradeability(c);
  EXPECT_EQ(grade.stop, GradeStop::effort);
  EXPECT_NEAR(std::tan(grade.slope_rad), 0.2, 1e-4);
  c.effort_n = 0.5;
  EXPECT_EQ(gradeability(c).slope_rad, 0);
  // Rear drive pulls the front axle's rolling resistance: closed form of traction.h.
  Climber rear = car(false, true);
  rear.rolling_resistance = 0.05;
  EXPECT_NEAR(gradeability(rear).slope_rad,
              balance::adhesion_slope_rad({120, 50, 60}, balance::Driven::rear, 0.6, 0.05), 1e-7);
}

TEST(Grade, OwnMotorsDoNotPullForAWheelThatSlips) {
  // Closed form: the front axle slips at mu N_front, the rear one gives its half of the effort:
  // mu (b cos - h sin)/L + P/2W = sin.
  Climber c = car(true, true);
  c.own_motors = true;
  c.effort_n = 0.5 * c.weight_n;
  const auto grade = gradeability(c);
  EXPECT_EQ(grade.stop, GradeStop::effort);
  const double front = (50 * std::cos(grade.slope_rad) - 60 * std::sin(grade.slope_rad)) / 120;
  ASSERT_LT(0.6 * front, 0.25);
  EXPECT_NEAR(0.6 * front + 0.25, std::sin(grade.slope_rad), 1e-8);
  Climber shared = c;
  shared.own_motors = false;
  EXPECT_NEAR(std::sin(gradeability(shared).slope_rad), 0.5, 1e-8);
  // Strong motors leave it to the grip.
  c.effort_n = 10 * c.weight_n;
  EXPECT_NEAR(gradeability(c).slope_rad / kDeg, 30.964, 1e-3);
  EXPECT_EQ(gradeability(c).stop, GradeStop::adhesion);
}

TEST(Grade, RockersMoveTheLoadByTheirPins) {
  // A rear bogie and a front axle: the same slope as with one rear axle in the bogie's place, but for the pin's height.
  Climber c = car(true, true);
  c.state.supports.clear();
  for (const double x : {120.0, 20.0, -20.0}) {
    for (const double y : {40.0, -40.0}) c.state.supports.push_back({"wheel", {x, y}, {x, y}, 0, 0, 50, 0});
  }
  c.state.rockers = {{"left", 2, 4, {0, 40, 0}}, {"right", 3, 5, {0, -40, 0}}};
  c.driven = {false, false, true, true, true, true};
  EXPECT_NEAR(gradeability(c).slope_rad / kDeg, 26.565, 1e-3);
}

TEST(Grade, TracksTurnAgainstTheirWholeLength) {
  // VEH-04: M = mu W l/4, J. Y. Wong, Theory of Ground Vehicles, ch. 6 (formula from memory, recomputed); 1e-4
  // relative.
  const auto even = spot_turn(tracks(), stand(tracks(), 20, {0, 0, 40}), 0.7);
  EXPECT_NEAR(even.moment_nmm, 560, 0.056);
  EXPECT_NEAR(even.about_x_mm, 0, 0.2);
  // Loaded in front, it turns about a place further ahead and more easily (by halving over the place).
  const auto standing = stand(tracks(), 20, {20, 0, 40});
  const auto ahead = spot_turn(tracks(), standing, 0.7);
  EXPECT_GT(ahead.about_x_mm, 10);
  EXPECT_LT(ahead.moment_nmm, 560);
  // Trapezoid 2 q0 (1 + k x): least over the place of the integral, by brute force.
  const double q = 20.0 / 160, k = 12 * 20 / (160.0 * 160.0);
  double least = 1e9;
  for (double at = -80; at <= 80; at += 0.5) {
    double sum = 0;
    for (double x = -80 + 0.05; x < 80; x += 0.1) sum += 0.1 * q * (1 + k * x) * std::fabs(x - at);
    least = std::min(least, 0.7 * sum);
  }
  EXPECT_NEAR(ahead.moment_nmm, least, 0.01 * least);
}
