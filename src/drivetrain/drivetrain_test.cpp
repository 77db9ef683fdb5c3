// Covers the operating point of motor + train + load: closed form against bisection on the power balance, back-driving,
// ratio ranges against a scan, series of trains.
#include "drivetrain/drivetrain.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "base/triple.h"
#include "drivetrain/of_gearing.h"

using drivetrain::Drive;
using drivetrain::HeldBy;
using drivetrain::Load;
using drivetrain::Train;

namespace {

/// Invented geared motor on an invented pack.
Drive drive_of(double ratio, double forward, double backward, int motors = 1) {
  Drive d;
  d.motor = constants(motor::ratings(9, 120, 380, 90, 1300));
  d.feed = feed_of_equal(motor::pack(6, 1.5, 0.15), motors);
  d.train = {ratio, forward, backward};
  d.motors = motors;
  return d;
}

double source_power_w(const Drive& d, const drivetrain::Point& p) {
  return d.feed.voltage_v * p.current_a;
}

}  // namespace

TEST(Drivetrain, OutputSpeedMatchesBisectionOnThePowerBalance) {
  // Second route: the speed at which electrical power, less winding, supply and rotor losses, less the train's share,
  // equals what load and friction take.
  for (std::uint64_t k = 0; k < 400; ++k) {
    const auto draw = [&](std::uint64_t stream) { return base::uniform_draw(3, stream, k); };
    const Drive d = drive_of(0.02 + draw(0), 0.5 + 0.5 * draw(1), 0.4 * draw(2), 1 + static_cast<int>(k % 3));
    const Load load{300 * draw(3), 5 * draw(4), 0.2 * draw(5)};
    const auto point = operate(d, load);
    const double needed_nmm = load.torque_nmm + drivetrain::friction_of(load);
    const auto surplus_w = [&](double output_speed) {
      const auto m = at_speed(d.motor, d.feed, output_speed / d.train.ratio);
      return m.shaft_power_w * d.motors * d.train.forward_efficiency - needed_nmm * 1e-3 * output_speed;
    };
    double low = 1e-9, high = 60;
    if (surplus_w(low) <= 0) {
      EXPECT_FALSE(point.moves) << k;
      EXPECT_GT(point.motor_stall_share, 1 - 1e-6) << k;
      EXPECT_LT(point.stall_load_nmm, load.torque_nmm + 1e-6) << k;
      continue;
    }
    for (int i = 0; i < 200; ++i) {
      const double middle = (low + high) / 2;
      (surplus_w(middle) > 0 ? low : high) = middle;
    }
    ASSERT_TRUE(point.moves) << k;
    EXPECT_NEAR(point.output_speed_rad_s, low, 1e-7 * (1 + low)) << k;
    EXPECT_GE(point.stall_load_nmm, load.torque_nmm) << k;
  }
}

TEST(Drivetrain, SourcePowerIsLoadPowerPlusLossesInEveryState) {
  for (const double torque : {-400.0, -60.0, -3.0, 0.0, 40.0, 200.0, 5000.0}) {
    for (const double backward : {-0.6, 0.0, 0.5}) {
      const Drive d = drive_of(0.1, 0.7, backward, 2);
      const auto p = operate(d, {torque, 4, 0.05});
      EXPECT_NEAR(source_power_w(d, p), p.output_power_w + p.losses.sum_w(), 1e-9) << torque << " " << backward;
      for (const double loss : {p.losses.supply_w, p.losses.copper_w, p.losses.motor_friction_w, p.losses.train_w,
                                p.losses.output_friction_w}) {
        EXPECT_GE(loss, -1e-9) << torque << " " << backward;
      }
    }
  }
}

TEST(Drivetrain, StallLoadIsWhereTheSpeedReachesZero) {
  const Drive d = drive_of(0.05, 0.8, 0.7);
  const Load friction{0, 6, 0.1};
  const double stall = stall_load_nmm(d, friction);
  EXPECT_GT(operate(d, {stall * 0.9999, 6, 0.1}).output_speed_rad_s, 0);
  EXPECT_FALSE(operate(d, {stall * 1.0001, 6, 0.1}).moves);
  EXPECT_NEAR(operate(d, {stall / 2, 6, 0.1}).stall_load_nmm, stall, 1e-9);
}

TEST(Drivetrain, PortLimitCapsTheOutput) {
  Drive d = drive_of(0.05, 0.8, 0.7);
  const double free_nmm = stall_load_nmm(d, {});
  d.feed.current_limit_a = 0.5;
  const double capped_nmm = stall_load_nmm(d, {});
  EXPECT_NEAR(capped_nmm, 120 * (0.5 - 0.09) / 1.21 * 0.8 / 0.05, 1e-9);
  EXPECT_LT(capped_nmm, free_nmm);
}

TEST(Drivetrain, HelpingLoadSpeedsUpAReversibleTrainAndLoadsALockingOne) {
  const double free_speed = operate(drive_of(0.1, 0.8, 0.7), {}).output_speed_rad_s;
  const auto reversible = operate(drive_of(0.1, 0.8, 0.7), {-100});
  EXPECT_TRUE(reversible.load_drives);
  EXPECT_GT(reversible.output_speed_rad_s, free_speed);
  EXPECT_LT(reversible.motor_torque_nmm, 0);
  const auto locking = operate(drive_of(0.1, 0.4, -0.5), {-100});
  EXPECT_GT(locking.motor_torque_nmm, 0);
  EXPECT_LT(locking.output_speed_rad_s, free_speed);
}

TEST(Drivetrain, NamesWhatHoldsTheLoad) {
  const Drive easy = drive_of(0.5, 0.9, 0.9), locking = drive_of(0.1, 0.4, 0);
  EXPECT_EQ(hold(easy, {0}).by, HeldBy::no_load);
  EXPECT_EQ(hold(easy, {10, 12}).by, HeldBy::output_friction);
  EXPECT_EQ(hold(locking, {1000}).by, HeldBy::self_locking);
  // Motor friction k_t I0 = 120/1.21 x 0.09 = 8.926 N mm behind 0.5 x 0.9: holds 19.83 N mm at the output.
  const auto held = hold(easy, {-15});
  EXPECT_EQ(held.by, HeldBy::motor_friction);
  EXPECT_NEAR(held.margin, 120 / 1.21 * 0.09 / 0.45 / 15, 1e-12);
  const auto slips = hold(easy, {50});
  EXPECT_EQ(slips.by, HeldBy::nothing);
  EXPECT_LT(slips.margin, 1);
  EXPECT_GT(slips.creep_speed_rad_s, 0);
}

TEST(Drivetrain, RatioRangeMatchesAScanOfRatios) {
  for (const double limit : {100.0, 0.7, 0.3}) {
    for (const double speed : {0.5, 2.0, 6.0, 9.0, 20.0}) {
      Drive d = drive_of(1, 0.75, 0.6);
      d.feed.current_limit_a = limit;
      const Load load{150, 5, 0.1};
      const auto range = ratios_reaching(d, load, speed);
      double first = 0, last = 0, fastest = 0;
      for (double r = 1e-4; r < 1; r += 1e-4) {
        d.train.ratio = r;
        const auto p = operate(d, load);
        fastest = std::max(fastest, p.output_speed_rad_s);
        if (!p.moves || p.output_speed_rad_s < speed) continue;
        if (first == 0) first = r;
        last = r;
      }
      EXPECT_EQ(range.any, first > 0) << limit << " " << speed;
      EXPECT_NEAR(range.fastest_speed_rad_s, fastest, 0.02 * fastest);
      if (!range.any) continue;
      EXPECT_NEAR(range.low, first, 1.01e-4) << limit << " " << speed;
      EXPECT_NEAR(range.high, last, 1.01e-4) << limit << " " << speed;
    }
  }
  EXPECT_TRUE(std::isinf(ratios_reaching(drive_of(1, 1, 1), {-5}, 3).high));
}

TEST(Drivetrain, SeriesOfTrainsEqualsTheTwoOneAfterTheOther) {
  const Train gears{0.25, 0.8, 0.75}, locking = drivetrain::linear_stage(1.2, 0.3, -0.9);
  const Train both = in_series(gears, locking);
  EXPECT_DOUBLE_EQ(both.ratio, 0.3);
  EXPECT_DOUBLE_EQ(both.forward_efficiency, 0.24);
  // A load of -10 N asks +10.8 N mm of the screw's input, which the gears must be driven for: 10.8 x 0.25/0.8.
  Drive d = drive_of(1, 1, 1);
  d.train = both;
  EXPECT_NEAR(operate(d, {-10}).motor_torque_nmm, 10 * 1.2 * 0.9 * 0.25 / 0.8, 1e-12);
  EXPECT_DOUBLE_EQ(in_series(locking, gears).backward_efficiency, -0.9 * 0.75);
  EXPECT_DOUBLE_EQ(in_series(gears, gears).backward_efficiency, 0.5625);
}

TEST(Drivetrain, TakesAGearTrainWithItsMagnitude) {
  gearing::Train train;
  gearing::Stage stage;
  stage.driver_teeth = 12;
  stage.driven_teeth = 36;
  stage.ratio = gearing::mesh_ratio(gearing::MeshType::spur, 12, 36);
  train.stages = {stage};
  gearing::MeshEfficiencies losses;
  losses.spur = 0.9;
  losses.bearing_loss = 0.02;
  const Train seen = drivetrain::train_of(train, losses);
  EXPECT_DOUBLE_EQ(seen.ratio, 1.0 / 3);
  EXPECT_NEAR(seen.forward_efficiency, 0.9 * 0.98 * 0.98, 1e-12);
}
