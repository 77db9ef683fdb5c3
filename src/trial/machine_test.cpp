// A machine in space: along slopes across against statics, turning against geometry. Vehicles invented.
#include "trial/machine.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

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

}  // namespace
}  // namespace trial
