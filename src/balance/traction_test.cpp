// Covers climbing, turning, steps and steering: published cases and force balances solved numerically.
#include "balance/traction.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

using balance::Driven;
using balance::Stance;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

}  // namespace

TEST(Traction, PullOverAStep) {
  // VEH-03: Halliday, Resnick & Walker, ch. 12 problem 21 (coursehero.com ch12-p021), g = 9.80; 0.01 N.
  EXPECT_NEAR(balance::step_pull_n(0.8 * 9.8, 60, 30), 13.58, 0.01);
  EXPECT_TRUE(std::isinf(balance::step_pull_n(1, 60, 60)));
  EXPECT_EQ(balance::step_pull_n(1, 60, 0), 0);
}

TEST(Traction, SkidSteerMomentAndTrackForces) {
  // VEH-04: J. Y. Wong, Theory of Ground Vehicles, ch. 6 (formula from memory, recomputed); 1e-4 relative.
  const auto turn = balance::skid_turn({20, 160, 120, 0.7, 0.08});
  EXPECT_NEAR(turn.resisting_moment_nmm, 560, 0.056);
  EXPECT_NEAR(turn.outer_force_n, 5.4667, 5e-4);
  EXPECT_NEAR(turn.inner_force_n, -3.8667, 4e-4);
  EXPECT_NEAR(turn.needed_friction, 0.54667, 5e-5);
}

TEST(Traction, EvenTrackMomentIsTheSumOverManyWheels) {
  EXPECT_NEAR(balance::skid_contact_length_mm(2001, 160), 160, 0.1);
  // Two contacts a side at the ends of L: moment mu W L/2, as an even track of twice the length.
  EXPECT_DOUBLE_EQ(balance::skid_contact_length_mm(2, 100), 200);
  EXPECT_DOUBLE_EQ(balance::skid_contact_length_mm(3, 100), 400.0 / 3);
  EXPECT_EQ(balance::skid_contact_length_mm(1, 100), 0);
}

TEST(Traction, AckermannAngles) {
  // VEH-05: askfilo.com 3433313337383839; 0.002 deg, 1 mm.
  const double inner = 28 * kDeg;
  EXPECT_NEAR(balance::ackermann_outer_rad(inner, 1500, 2600) / kDeg, 22.141, 2e-3);
  EXPECT_NEAR(balance::turning_radius_mm(inner, 1500, 2600), 5640, 1);
}

TEST(Traction, SteepestSlopeByAdhesion) {
  // VEH-06: statics, recomputed; 0.001 deg.
  const Stance s{120, 50, 60};
  EXPECT_NEAR(balance::adhesion_slope_rad(s, Driven::all, 0.6) / kDeg, 30.964, 1e-3);
  EXPECT_NEAR(balance::adhesion_slope_rad(s, Driven::rear, 0.6) / kDeg, 26.565, 1e-3);
  EXPECT_NEAR(balance::adhesion_slope_rad(s, Driven::front, 0.6) / kDeg, 10.886, 1e-3);
  EXPECT_NEAR(balance::backward_tip_slope_rad(s) / kDeg, 39.806, 1e-3);
}

TEST(Traction, AdhesionSlopeMatchesBisectionOnTheForceBalance) {
  // Second route: axle loads from the moment balance at each angle; spare friction falls through zero.
  for (const double c : {0.0, 0.03, 0.1}) {
    for (const double mu : {0.3, 0.6, 0.9}) {
      const Stance s{120, 50, 40};
      for (const Driven driven : {Driven::rear, Driven::front}) {
        const auto spare = [&](double a) {
          const double front = (std::cos(a) * s.ahead_of_rear_mm - std::sin(a) * s.height_mm) / s.wheelbase_mm;
          const double rear = std::cos(a) - front;
          const double on = driven == Driven::rear ? rear : front, off = driven == Driven::rear ? front : rear;
          return mu * on - c * off - std::sin(a);
        };
        double low = 0, high = 1.4;
        for (int i = 0; i < 100; ++i) {
          const double middle = (low + high) / 2;
          (spare(middle) > 0 ? low : high) = middle;
        }
        EXPECT_NEAR(balance::adhesion_slope_rad(s, driven, mu, c), low, 1e-9) << c << " " << mu;
      }
    }
  }
}

TEST(Traction, EffortOnAGrade) {
  // VEH-07: F = W (sin + c cos), recomputed; 1e-4 relative.
  EXPECT_NEAR(balance::tractive_effort_n(20, std::atan(0.2), 0.05), 4.9029, 5e-4);
  for (double slope = 0; slope < 1.2; slope += 0.1) {
    EXPECT_NEAR(balance::effort_slope_rad(balance::tractive_effort_n(20, slope, 0.05), 20, 0.05), slope, 1e-12);
  }
  EXPECT_EQ(balance::effort_slope_rad(0.5, 20, 0.05), 0);
  EXPECT_NEAR(balance::effort_slope_rad(30, 20, 0.05), std::numbers::pi / 2, 1e-12);
  EXPECT_NEAR(balance::adhesion_limit_n(20, 0.3, 0.6), 20 * 0.6 * std::cos(0.3), 1e-12);
}

TEST(Traction, GroundPressureOfTwoTracks) {
  // VEH-08: p = W/(2 b l); 1e-4 relative.
  EXPECT_NEAR(balance::ground_pressure_kpa(20, 15, 160), 4.1667, 4e-4);
}

TEST(Traction, FrictionStepIsWhereTheContactForceIsVertical) {
  // The weight alone presses the wheel on the edge; the contact's normal leans by acos((r - h)/r) = atan(mu).
  for (const double mu : {0.2, 0.6, 1.0}) {
    const double h = balance::friction_step_mm(20, mu);
    EXPECT_NEAR(std::acos((20 - h) / 20), std::atan(mu), 1e-12);
  }
}

TEST(Traction, StabilityFactor) {
  // VEH-01.
  EXPECT_NEAR(balance::static_stability_factor(1550, 560), 1.3839, 1e-4);
  EXPECT_NEAR(balance::static_stability_factor(1600, 750), 1.0667, 1e-4);
}

TEST(Traction, RolloverRatingBands) {
  // VEH-02: NHTSA star rating (money.cnn.com 2004-06-14, archived safercar.gov); exact.
  EXPECT_EQ(balance::rollover_stars(0.06), 5);
  EXPECT_EQ(balance::rollover_stars(0.15), 4);
  EXPECT_EQ(balance::rollover_stars(0.19), 4);
  EXPECT_EQ(balance::rollover_stars(0.25), 3);
  EXPECT_EQ(balance::rollover_stars(0.35), 2);
  EXPECT_EQ(balance::rollover_stars(0.41), 1);
}
