// A machine in space: along slopes across against statics, turning against geometry. Vehicles invented.
#include "trial/machine.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "trial/working.h"

namespace trial {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

DriveRig cart(bool belt) {
  DriveRig rig;
  balance::SideView& v = rig.vehicle;
  v.belt = belt;
  for (const double x_mm : {-60.0, 0.0, 60.0}) v.wheels.push_back({{x_mm, 20}, 20});
  v.weight_n = 12;
  v.centre = {0, 50};
  rig.gauge_mm = 90;
  return rig;
}

TEST(Across, SlidesWhereStaticsSays) {
  // tan = friction: 0.5 is 26.57 deg; tips at atan(45/50) = 41.99 deg.
  for (const bool belt : {false, true}) {
    const DriveRig rig = cart(belt);
    DriveOptions how;
    how.friction = 0.5;
    how.sample_ms = 0;
    EXPECT_NEAR(across_closed(rig, 0.5).slides_rad / kDeg, 26.565, 0.01);
    const DriveRun holds = drive_across(rig, 25 * kDeg, how);
    ASSERT_EQ(holds.why_not, "");
    EXPECT_TRUE(holds.passed()) << belt << ' ' << holds.drift_mm << ' ' << holds.stopped_at_mm;
    const DriveRun slides = drive_across(rig, 28.5 * kDeg, how);
    EXPECT_EQ(slides.end, End::stuck) << belt;
    EXPECT_EQ(slides.stop, balance::Stop::friction);
  }
}

TEST(Across, TipsWhereStaticsSays) {
  DriveRig rig = cart(false);
  rig.centre_left_mm = -10;
  DriveOptions how;
  how.friction = 1.5;
  how.sample_ms = 0;
  EXPECT_NEAR(across_closed(rig, 1.5).tips_rad / kDeg, std::atan2(35, 50) / kDeg, 1e-9);  // 34.99
  EXPECT_TRUE(drive_across(rig, 33 * kDeg, how).passed());
  const DriveRun tips = drive_across(rig, 36.5 * kDeg, how);
  EXPECT_EQ(tips.end, End::tipped);
  EXPECT_EQ(tips.stop, balance::Stop::balance);
}

/// Invented: two axles 120 mm apart, the front one steered where `steered`.
WorkRig two_axles(bool steered) {
  WorkRig work;
  balance::LiftingBody hull;
  hull.weighed.body.mass_g = 1200;
  hull.weighed.body.centre = {0, 0, 40};
  work.machine.bodies = {hull};
  work.machine.hook_body = -1;
  work.joint = {0};
  Gear gear;
  for (const double x_mm : {-60.0, 60.0}) gear.rig.vehicle.wheels.push_back({{x_mm, 20}, 20});
  gear.rig.vehicle.weight_n = 12;
  gear.rig.vehicle.centre = {0, 40};
  gear.rig.gauge_mm = 90;
  if (steered) gear.steered_x_mm = {60};
  gear.turn_about_x_mm = steered ? -60 : 0;
  work.gear = gear;
  return work;
}

void drive_for(Working& w, double time_s, double left, double right, double steer_rad) {
  const double until_s = w.time_s() + time_s;
  while (w.time_s() < until_s) {
    w.drive(left, right, steer_rad);
    ASSERT_TRUE(w.step({})) << w.fault();
  }
}

TEST(Turning, SteeredWheelsRollAboutTheirPoint) {
  Working w(two_axles(true), {2, 0.8});
  ASSERT_EQ(w.fault_at_start(), "");
  const double steer = 0.3;
  drive_for(w, 1, 0.5, 0.5, steer);
  const Working::Place from = w.place();
  drive_for(w, 1, 0.5, 0.5, steer);
  const Working::Place to = w.place();
  // Ackermann: the inner wheel at 0.3 rad, 120 mm before the axle that the point lies on; the chord of the middle's
  // circle.
  const double rear_mm = 120 / std::tan(steer) + 45, middle_mm = std::hypot(rear_mm, 60);
  const double turned = to.yaw_rad - from.yaw_rad;
  EXPECT_GT(turned, 0.05) << "to the left";
  const double chord_mm = std::hypot(to.x_mm - from.x_mm, to.y_mm - from.y_mm);
  EXPECT_NEAR(chord_mm / (2 * std::sin(turned / 2)), middle_mm, 0.05 * middle_mm);
}

TEST(Turning, SidesAgainstOneAnotherTurnItOnTheSpot) {
  Working w(two_axles(false), {2, 0.8});
  ASSERT_EQ(w.fault_at_start(), "");
  drive_for(w, 2, -0.5, 0.5, 0);
  const Working::Place at = w.place();
  EXPECT_GT(at.yaw_rad, 0.3);
  EXPECT_LT(std::hypot(at.x_mm, at.y_mm), 8);
  EXPECT_NEAR(w.side_mm_s(true), -w.side_mm_s(false), 5);
}

}  // namespace
}  // namespace trial
