// Covers the linear motor model against a maker's worked example and closed forms, and its energy balance.
#include "motor/motor.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "motor/thermal.h"

using motor::Constants;
using motor::Feed;

namespace {

constexpr double kRpm = std::numbers::pi / 30;

/// MOTOR-01: 22DCP 32G1 213P.1, Portescap catalogue "Examples of DC coreless motor calculations", p. 224.
Constants coreless() {
  Constants c;
  c.resistance_ohm = 4.3;
  c.torque_nmm_per_a = 8.48;
  c.emf_v_s = 8.48e-3;
  c.no_load_current_a = 0.053;
  c.nominal_voltage_v = 9;
  return c;
}

/// MOTOR-04: homeworklib.com question 1976071; the stall current is not part of it and does not matter there.
Constants twelve_volt() {
  return constants(motor::ratings(12, 30, 3800, 0, 994.84));
}

/// An invented geared motor whose k_t and k_e differ.
Constants geared() {
  return constants(motor::ratings(9, 120, 380, 90, 1300));
}

void expect_relative(double value, double expected, double relative) {
  EXPECT_NEAR(value, expected, std::fabs(expected) * relative);
}

}  // namespace

TEST(Motor, CorelessExampleNeedsTheMakersCurrentAndVoltage) {
  // MOTOR-01, tolerance 1e-4 on the exact values; source prints 0.76 A and 5.0 V.
  const double voltage_v = voltage_for(coreless(), 6, 2000 * kRpm);
  EXPECT_NEAR(voltage_v, 5.0464, 1e-4);
  const auto there = operate(coreless(), Feed{voltage_v}, 6);
  expect_relative(there.speed_rad_s, 2000 * kRpm, 1e-12);
  EXPECT_NEAR(there.current_a, 0.7605, 1e-4);
}

TEST(Motor, LineOfTheCorelessMotorMatchesTheClosedForms) {
  // MOTOR-02, recomputed from the maker's data; 1e-4 relative.
  const auto line = motor::line(coreless(), Feed{9});
  expect_relative(line.no_load_speed_rad_s / kRpm, 9878.2, 1e-4);
  expect_relative(line.stall_current_a, 2.0930, 1e-4);
  expect_relative(line.stall_torque_nmm, 17.299, 1e-4);
  expect_relative(line.max_power_w, 4.4738, 1e-4);
  expect_relative(line.max_power_torque_nmm, 17.299 / 2, 1e-4);
  expect_relative(line.best_efficiency, 0.70706, 1e-4);
  expect_relative(line.best_efficiency_current_a, 0.33306, 1e-4);
  expect_relative(line.best_efficiency_torque_nmm, 2.3749, 1e-4);
}

TEST(Motor, ShaftPowerIsTorqueTimesSpeed) {
  // MOTOR-03: MicroMo "DC motor calculations", 3 oz in at 500 rev/min = 1.109 W (source 1.11 from a rounded factor).
  constexpr double kOunceInchNmm = 0.45359237 / 16 * 9.80665 * 25.4;
  const double torque_nmm = 3 * kOunceInchNmm;
  const auto there = operate(coreless(), Feed{voltage_for(coreless(), torque_nmm, 500 * kRpm)}, torque_nmm);
  expect_relative(there.shaft_power_w, 1.109, 2e-3);
}

TEST(Motor, TorqueOnTheLineAtASpeed) {
  // MOTOR-04, 1e-4 relative; law confirmed (expertsmind.com 30148211).
  const auto there = at_speed(twelve_volt(), Feed{12}, 2500 * kRpm);
  expect_relative(there.torque_nmm, 10.263, 1e-4);
  expect_relative(there.shaft_power_w, 2.68689, 1e-4);
  const auto line = motor::line(twelve_volt(), Feed{12});
  expect_relative(line.max_power_w, 2.9845, 1e-4);
  expect_relative(line.max_power_torque_nmm, 15, 1e-9);
  expect_relative(operate(twelve_volt(), Feed{12}, line.max_power_torque_nmm).speed_rad_s, 1900 * kRpm, 1e-9);
}

TEST(Motor, StallTorqueAndNoLoadSpeedScaleWithVoltage) {
  // MOTOR-05, recomputed; 1e-4 relative.
  const auto line = motor::line(twelve_volt(), Feed{9});
  expect_relative(line.no_load_speed_rad_s / kRpm, 2850, 1e-4);
  expect_relative(line.stall_torque_nmm, 22.5, 1e-4);
  expect_relative(line.max_power_w, 1.6788, 1e-4);
}

TEST(Motor, WindingHeatsMoreThanWithConstantResistance) {
  // MOTOR-06, recomputed; 1e-4 relative.
  expect_relative(motor::winding_rise_k(4.3, 0.5, 20), 23.468, 1e-4);
  expect_relative(motor::resistance_at(4.3, 100), 5.608, 1e-4);
}

TEST(Motor, TimeToARiseMatchesSteppingTheHeatBalance) {
  for (const double current_a : {0.5, 1.0, 1.3, 2.0}) {
    const double limit_k = 15, dt = 1e-3, tau = 80;
    double rise = 0, time = 0;
    while (rise < limit_k && time < 1e4) {
      const auto rate = [&](double x) {
        return (4.3 * current_a * current_a * 20 * (1 + motor::kCopperPerKelvin * x) - x) / tau;
      };
      rise += dt * rate(rise + dt / 2 * rate(rise));
      time += dt;
    }
    EXPECT_NEAR(motor::time_to_rise_s(4.3, current_a, 20, tau, limit_k), time, 2 * dt) << current_a;
  }
  EXPECT_TRUE(std::isinf(motor::time_to_rise_s(4.3, 0.5, 20, 80, 24)));  // ends at 23.47 K
  EXPECT_TRUE(std::isinf(motor::winding_rise_k(4.3, 2, 20)));            // runs away
}

TEST(Motor, RatingsComeBackFromTheModel) {
  const auto given = motor::ratings(9, 120, 380, 90, 1300);
  const auto back = motor::ratings(constants(given), 9);
  expect_relative(back.stall_torque_nmm, given.stall_torque_nmm, 1e-12);
  expect_relative(back.no_load_speed_rad_s, given.no_load_speed_rad_s, 1e-12);
  expect_relative(back.stall_current_a, given.stall_current_a, 1e-12);
}

TEST(Motor, OperatingPointMatchesBisectionOnTheSpeed) {
  for (double torque = -20; torque < 90; torque += 7) {
    const Feed feed{8.1, 1.2};
    double low = 0, high = 500;  // torque falls with speed
    for (int i = 0; i < 200; ++i) {
      const double middle = (low + high) / 2;
      (at_speed(geared(), feed, middle).torque_nmm > torque ? low : high) = middle;
    }
    const auto there = operate(geared(), feed, torque);
    ASSERT_TRUE(there.turns) << torque;
    EXPECT_NEAR(there.speed_rad_s, low, 1e-9);
    EXPECT_NEAR(there.terminal_voltage_v, feed.voltage_v - feed.resistance_ohm * there.current_a, 1e-12);
  }
}

TEST(Motor, NeverGivesOutMoreThanItDraws) {
  for (double torque = 0; torque < 120; torque += 3) {
    const auto there = operate(geared(), Feed{9}, torque);
    EXPECT_LE(there.shaft_power_w + there.copper_loss_w, there.terminal_power_w + 1e-12);
    EXPECT_LE(there.efficiency, motor::line(geared(), Feed{9}).best_efficiency + 1e-12);
  }
}

TEST(Motor, StallsAboveTheStallTorqueAndSaysByHowMuch) {
  const auto stalled = operate(geared(), Feed{9}, 180);
  EXPECT_FALSE(stalled.turns);
  expect_relative(stalled.stall_share, 1.5, 1e-12);
  expect_relative(stalled.current_a, 1.3, 1e-12);
  expect_relative(stalled.torque_nmm, 120, 1e-12);
}

TEST(Motor, PortLimitCapsTheStallTorqueButNotTheSpeedBelowIt) {
  Feed feed{9};
  feed.current_limit_a = 0.8;
  const auto line = motor::line(geared(), feed);
  EXPECT_TRUE(line.current_limited);
  expect_relative(line.stall_torque_nmm, 120 * (0.8 - 0.09) / (1.3 - 0.09), 1e-12);
  EXPECT_EQ(operate(geared(), feed, 40).speed_rad_s, operate(geared(), Feed{9}, 40).speed_rad_s);
  EXPECT_FALSE(operate(geared(), feed, line.stall_torque_nmm * 1.001).turns);
  EXPECT_TRUE(operate(geared(), feed, line.stall_torque_nmm * 0.999).turns);
  // Half of the free stall torque is below this cap, so the power is not touched; a lower cap costs power.
  expect_relative(line.max_power_w, motor::line(geared(), Feed{9}).max_power_w, 1e-12);
  feed.current_limit_a = 0.5;
  EXPECT_LT(motor::line(geared(), feed).max_power_w, line.max_power_w);
}

TEST(Motor, VoltageBelowItsOwnFrictionDoesNotTurnIt) {
  const auto there = operate(geared(), Feed{0.3}, 0);
  EXPECT_FALSE(there.turns);
  EXPECT_EQ(motor::line(geared(), Feed{0.3}).stall_torque_nmm, 0);
}

TEST(Motor, ShortedMotorCreepsAsTheModelAtZeroVoltageDoes) {
  EXPECT_EQ(shorted_creep_speed_rad_s(geared(), 5), 0);  // own friction 8.9 N mm
  const double creep = shorted_creep_speed_rad_s(geared(), 50);
  EXPECT_GT(creep, 0);
  // Braking: current flows the other way and friction helps, so T = k_t (k_e w/R + I0).
  expect_relative(geared().torque_nmm_per_a * (geared().emf_v_s * creep / geared().resistance_ohm + 0.09), 50, 1e-12);
}

TEST(Motor, ImpossibleFiguresAreNamed) {
  EXPECT_FALSE(fault(motor::ratings(9, 120, 380, 90, 1300)));
  EXPECT_TRUE(fault(motor::ratings(9, 400, 380, 90, 1300)));  // more power out than in
  EXPECT_TRUE(fault(motor::ratings(9, 120, 380, 1400, 1300)));
  EXPECT_TRUE(fault(motor::ratings(0, 120, 380, 90, 1300)));
}
