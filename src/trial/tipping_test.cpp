// Tipping in the engine against closed forms and the sagged-pose statics.
#include "trial/tipping.h"

#include <gtest/gtest.h>

#include <cmath>

#include "balance/sample_loader.h"

namespace trial {
namespace {

/// Invented: a block on four feet with a stiff arm.
balance::LiftingMachine table(double stiffness_n_per_mm) {
  balance::LiftingMachine m;
  balance::LiftingBody base, arm;
  base.weighed.body.mass_g = 2000;
  base.weighed.body.centre = {0, 0, 40};
  arm.weighed.body.parent = 0;
  arm.weighed.body.joint = balance::Joint::turns;
  arm.weighed.body.axis = {0, -1, 0};
  arm.weighed.body.origin = {0, 0, 60};
  arm.weighed.body.mass_g = 100;
  arm.weighed.body.centre = {100, 0, 0};
  m.bodies = {base, arm};
  m.luff_body = m.hook_body = 1;
  m.luff_low_rad = 0;
  m.luff_high_rad = 1;
  m.hook = {250, 0, 0};
  m.postures = {{"as it stands", {0, 0}}};
  balance::SupportState state;
  state.name = "on its feet";
  for (const double x : {-80.0, 80.0})
    for (const double y : {-60.0, 60.0}) state.supports.push_back({"foot", {x, y}, {x, y}, 0, 0, stiffness_n_per_mm});
  m.states = {state};
  return m;
}

TEST(Tipping, IsTheLeverRuleOnStiffFeet) {
  // Moments about the front feet: 2 kg x 80 mm = 0.1 kg x 20 mm + load x 170 mm.
  const balance::LiftingMachine m = table(2000);
  TippingOptions o;
  o.expected_n = balance::weight_n((2000 * 80 - 100 * 20) / 170.0);
  const TippingRun run = ramp_until_it_tips(m, 0, 0, 0, 0, o);
  ASSERT_EQ(run.why_not, "");
  EXPECT_TRUE(run.tipped);
  EXPECT_NEAR(run.load_n / o.expected_n, 1, 0.02);
  // What is expected sets the ramp only.
  o.expected_n *= 1.1;
  EXPECT_NEAR(ramp_until_it_tips(m, 0, 0, 0, 0, o).load_n, run.load_n, 0.02 * run.load_n);
}

TEST(Tipping, FollowsTheSaggedPose) {
  const balance::LiftingMachine m = balance::sample::loader();
  balance::Lifter lifter(m, {});
  // On rocking wheels, on feet, on tracks.
  const std::pair<int, double> cases[] = {{0, 0.0}, {0, 1.5707963}, {1, 0.5}, {2, 0.5}, {2, 1.5707963}};
  for (const auto& [state, slew] : cases) {
    const balance::LiftDetail detail = lifter.detail(state, 0, slew, 250);
    ASSERT_TRUE(detail.cell.reached);
    ASSERT_TRUE(std::isfinite(detail.cell.tipping_n));
    TippingOptions o;
    o.expected_n = detail.cell.tipping_n + m.tare_n;
    o.step_ms = 2;
    const TippingRun run = ramp_until_it_tips(m, state, 0, slew, detail.cell.luff_rad, o);
    ASSERT_EQ(run.why_not, "");
    EXPECT_TRUE(run.tipped);
    EXPECT_NEAR(run.load_n / o.expected_n, 1, 0.04) << state << ' ' << slew;
  }
}

}  // namespace
}  // namespace trial
