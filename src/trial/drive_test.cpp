// Driving in the engine against closed forms.
#include "trial/drive.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "balance/mass.h"
#include "trial/engine.h"
#include "trial/live.h"

namespace trial {
namespace {

constexpr double kDeg = 0.017453292519943295;

/// Invented: eight road wheels of 16 mm, 40 mm apart, both end wheels 16 mm higher; centre in the middle.
DriveRig belt_vehicle() {
  DriveRig rig;
  balance::SideView& v = rig.vehicle;
  v.belt = true;
  v.wheels.push_back({{-180, 32}, 16});
  for (int i = 0; i < 8; ++i) v.wheels.push_back({{-140.0 + 40 * i, 16}, 16});
  v.wheels.push_back({{180, 32}, 16});
  v.weight_n = 28;
  v.centre = {0, 50};
  return rig;
}

/// Invented: two rocking pairs of 20 mm wheels, driven through the pins.
DriveRig rocking_vehicle() {
  DriveRig rig;
  balance::SideView& v = rig.vehicle;
  for (int i = 0; i < 4; ++i) v.wheels.push_back({{-120.0 + 80 * i, 20}, 20, true, i / 2});
  v.rockers = {{{-80, 24}, 0.35, false}, {{80, 24}, 0.35, false}};
  v.weight_n = 20;
  v.centre = {0, 45};
  return rig;
}

bool passes_step(const DriveRig& rig, double friction, double height_mm) {
  DriveOptions o;
  o.friction = friction;
  o.sample_ms = 0;
  const DriveRun run = drive(rig, balance::step_up(height_mm), o);
  EXPECT_EQ(run.why_not, "");
  return run.passed();
}

TEST(Drive, ABeltMovesTheVehicleAtItsSpeed) {
  // Guards the engine's friction rows, which are written to: a belt that does not slip drives at its own speed.
  DriveRig rig = belt_vehicle();
  rig.speed_mm_s = 80;
  DriveOptions o;
  const DriveRun run = drive(rig, {{0, 0}, {200, 0}}, o);
  ASSERT_EQ(run.why_not, "");
  EXPECT_EQ(run.end, End::passed);
  const DriveSample &a = run.samples[run.samples.size() / 2], &b = run.samples.back();
  EXPECT_NEAR((b.x_mm - a.x_mm) / (b.time_s - a.time_s), 80, 1.5);
  EXPECT_NEAR(b.z_mm, 0, 0.3);
}

TEST(Drive, WheelsRollAtTheirDrivesSpeed) {
  DriveRig rig = rocking_vehicle();
  const DriveRun run = drive(rig, {{0, 0}, {200, 0}}, {});
  ASSERT_EQ(run.why_not, "");
  EXPECT_EQ(run.end, End::passed);
  const DriveSample &a = run.samples[run.samples.size() / 2], &b = run.samples.back();
  EXPECT_NEAR((b.x_mm - a.x_mm) / (b.time_s - a.time_s), 100, 2);
}

TEST(Drive, ABeltsLargestStepIsTheClosedFormsAwayFromTheJump) {
  const DriveRig rig = belt_vehicle();
  balance::Family family;
  family.most_mm = 60;
  family.tried = 30;
  for (const double friction : {0.4, 0.5, 0.6}) {
    const double f[] = {friction};
    const balance::Largest closed = balance::largest_passed(rig.vehicle, family, f).front();
    EXPECT_TRUE(passes_step(rig, friction, closed.size_mm - 4)) << friction;
    EXPECT_FALSE(passes_step(rig, friction, closed.size_mm + 4)) << friction;
  }
}

TEST(Drive, FrictionEndsASlopeAtItsAngle) {
  // tan(slope) = friction where every contact drives (Coulomb).
  for (const DriveRig& rig : {belt_vehicle(), rocking_vehicle()}) {
    for (const double friction : {0.4, 0.6}) {
      const double limit = std::atan(friction);
      for (const double off : {-1.5, 1.5}) {
        DriveOptions o;
        o.friction = friction;
        o.slope_rad = limit + off * kDeg;
        const DriveRun run = drive(rig, {{0, 0}, {150, 0}}, o);
        ASSERT_EQ(run.why_not, "");
        EXPECT_EQ(run.end == End::passed, off < 0) << friction << ' ' << off;
        if (off > 0) {
          EXPECT_EQ(run.stop, balance::Stop::friction);
        }
      }
    }
  }
}

TEST(Drive, AWeakDriveStallsWhereItsPullEnds) {
  // Up a slope it takes weight x sin(slope).
  for (DriveRig rig : {belt_vehicle(), rocking_vehicle()}) {
    for (const double share : {0.9, 1.1}) {
      DriveOptions o;
      o.friction = 0.9;
      o.slope_rad = 12 * kDeg;
      rig.pull_n = share * rig.vehicle.weight_n * std::sin(o.slope_rad);
      const DriveRun run = drive(rig, {{0, 0}, {40, 0}}, o);
      ASSERT_EQ(run.why_not, "");
      EXPECT_EQ(run.end == End::passed, share > 1) << rig.vehicle.belt << ' ' << share;
      if (share < 1) {
        EXPECT_EQ(run.stop, balance::Stop::pull);
      }
    }
  }
}

TEST(Drive, SpeedFallsInAStraightLineToTheStall) {
  // Half the stalled pull leaves half the speed.
  DriveRig rig = belt_vehicle();
  DriveOptions o;
  o.friction = 0.9;
  o.slope_rad = 10 * kDeg;
  rig.pull_n = 2 * rig.vehicle.weight_n * std::sin(o.slope_rad);
  const DriveRun run = drive(rig, {{0, 0}, {150, 0}}, o);
  ASSERT_EQ(run.why_not, "");
  EXPECT_NEAR(run.samples.back().speed_mm_s, 50, 1.5);
}

TEST(Drive, TheUndersideEndsARidge) {
  DriveRig rig = belt_vehicle();
  rig.vehicle.wheels = {{{-150, 20}, 20}, {{150, 20}, 20}};
  rig.vehicle.belt = false;
  rig.vehicle.underside = {{-120, 12}, {120, 12}};
  DriveOptions o;
  o.friction = 1.5;
  const DriveRun run = drive(rig, balance::block(15, 20), o);
  ASSERT_EQ(run.why_not, "");
  EXPECT_FALSE(run.passed());
  EXPECT_EQ(run.stop, balance::Stop::clearance);
}

TEST(Drive, SaysTheSameTwice) {
  const DriveRig rig = rocking_vehicle();
  const balance::GroundLine step = balance::step_up(14);
  const DriveRun a = drive(rig, step, {}), b = drive(rig, step, {});
  EXPECT_EQ(a.state_hash, b.state_hash);
  EXPECT_EQ(a.steps, b.steps);
}

TEST(Drive, RockingPairsUnderABeltAreLeftToTheClosedForm) {
  DriveRig rig = rocking_vehicle();
  rig.vehicle.belt = true;
  EXPECT_NE(drive(rig, balance::step_up(4), {}).why_not.find("cannot"), 0U);
  EXPECT_NE(drive(rig, balance::step_up(4), {}).why_not, "");
}

TEST(Engine, TellsWhatIsWrongAndLeavesTheProgramRunning) {
  EXPECT_NE(Engine("<mujoco><worldbody><geom/></worldbody></mujoco>").fault(), "");
  EXPECT_NE(Engine("nonsense").fault(), "");
  EXPECT_EQ(Engine("<mujoco/>").fault(), "");
}

TEST(LiveDrive, GoesWhereItIsToldForwardsAndBack) {
  for (const bool belt : {true, false}) {
    DriveRig rig = belt ? belt_vehicle() : rocking_vehicle();
    rig.speed_mm_s = 120;
    DriveOptions o;
    LiveDrive live(rig, {{0, 0}, {400, 0}}, o);
    ASSERT_EQ(live.why_not(), "");
    ASSERT_TRUE(live.advance(1, 0));
    const double rest_mm = live.now().x_mm;
    ASSERT_TRUE(live.advance(3, 1));
    const DriveSample ahead = live.now();
    EXPECT_NEAR(ahead.x_mm - rest_mm, 240, 50) << belt;  // two seconds at its speed, less what starting takes
    ASSERT_TRUE(live.advance(4, 1));
    EXPECT_NEAR(live.now().x_mm - ahead.x_mm, 120, 6) << belt;
    ASSERT_TRUE(live.advance(6, 0));
    const double stopped_mm = live.now().x_mm;
    ASSERT_TRUE(live.advance(7, 0));
    EXPECT_NEAR(live.now().x_mm, stopped_mm, 1) << "brakes";
    ASSERT_TRUE(live.advance(9, -0.5));
    EXPECT_NEAR(live.now().x_mm - stopped_mm, -120, 30) << belt;
    EXPECT_NEAR(live.time_s(), 9, 0.01);
  }
}

TEST(LiveDrive, SaysTheSameAsTheRecordedRun) {
  // Same model, same steps: with full drive from the start it is the recorded run, bit for bit.
  DriveRig rig = belt_vehicle();
  DriveOptions o;
  const balance::GroundLine step = balance::step_up(20);
  const DriveRun run = drive(rig, step, o);
  ASSERT_EQ(run.why_not, "");
  o.beyond_mm = 2 * extent_of(rig.vehicle).length_mm() + 200;  // the same ground
  LiveDrive live(rig, step, o);
  const DriveSample& there = run.samples[run.samples.size() / 4];
  live.advance(there.time_s, 1);
  EXPECT_EQ(live.now().x_mm, there.x_mm);
  EXPECT_EQ(live.now().pitch_rad, there.pitch_rad);
}

TEST(LiveDrive, StaysOnTheGroundThereIs) {
  DriveRig rig = belt_vehicle();
  rig.speed_mm_s = 500;
  DriveOptions o;
  o.beyond_mm = 3 * extent_of(rig.vehicle).length_mm();
  LiveDrive live(rig, {{0, 0}, {10, 0}}, o);
  ASSERT_TRUE(live.advance(12, 1));
  EXPECT_LT(live.now().x_mm, 10 + o.beyond_mm);
  EXPECT_NEAR(live.now().z_mm, 0, 1);
}

TEST(Drive, IsGivenUpWhenToldTo) {
  const std::atomic<bool> stop = true;
  DriveOptions o;
  o.stop = &stop;
  const DriveRun run = drive(belt_vehicle(), balance::step_up(20), o);
  EXPECT_EQ(run.why_not, "given up");
  EXPECT_FALSE(run.passed());
  EXPECT_EQ(run.steps, 0U);
}

}  // namespace
}  // namespace trial
