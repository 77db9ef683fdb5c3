// Lifts of an invented crane in the engine beside what statics and a pendulum say, worked out here.
#include "trial/lift.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "trial/lift_run.h"
#include "trial/swing.h"

namespace trial {
namespace {

constexpr double kPi = std::numbers::pi;

Mover motors(Mover::Type type, int body) {
  Mover m;
  m.type = type;
  m.body = body;
  m.how.motor = motor::constants(motor::ratings(9, 120, 380, 60, 1300));
  m.how.feed.voltage_v = 9;
  m.how.rotor_nmm_s2 = 0.05 * m.how.motor.torque_nmm_per_a * m.how.motor.emf_v_s / m.how.motor.resistance_ohm;
  return m;
}

/// Invented: 2 kg on feet 300 x 240 apart, a mast that slews, an arm of 260 mm, a hook on 300 mm of rope.
LiftPlan crane(double load_g, double slew_ratio) {
  LiftPlan p;
  balance::LiftingMachine& m = p.machine;
  balance::LiftingBody base, mast, arm;
  base.weighed.body.mass_g = 2000;
  base.weighed.body.centre = {0, 0, 40};
  mast.weighed.body.parent = 0;
  mast.weighed.body.joint = balance::Joint::turns;
  mast.weighed.body.axis = {0, 0, 1};
  mast.weighed.body.origin = {0, 0, 80};
  mast.weighed.body.mass_g = 300;
  mast.weighed.body.centre = {-40, 0, 60};
  arm.weighed.body.parent = 1;
  arm.weighed.body.joint = balance::Joint::turns;
  arm.weighed.body.axis = {0, -1, 0};
  arm.weighed.body.origin = {0, 0, 240};
  arm.weighed.body.mass_g = 100;
  arm.weighed.body.centre = {130, 0, 0};
  m.bodies = {base, mast, arm};
  m.slew_body = 1;
  m.luff_body = m.hook_body = 2;
  m.hook = {260, 0, 0};
  balance::SupportState state;
  state.name = "on its feet";
  for (const double x : {-150.0, 150.0})
    for (const double y : {-120.0, 120.0}) state.supports.push_back({"foot", {x, y}, {x, y}, 0, 0, 500});
  m.states = {state};
  p.polygon = balance::tipping_polygon(state);
  p.joint = {0, 0, 0};
  Mover ring = motors(Mover::Type::ring, 1);
  ring.how.turns = true;
  ring.how.ratio = slew_ratio;
  ring.low = -kPi;
  ring.high = kPi;
  Mover rope = motors(Mover::Type::rope, 2);
  rope.drive.at = {0, 250};
  rope.drive.per_rad = {6, 6};
  rope.how.ratio = 0.1;
  rope.how.per_rad = 6;
  rope.how.raise_nmm_per_n = rope.how.per_rad * 1.1;
  rope.how.lower_nmm_per_n = -rope.how.per_rad * 0.9;
  rope.low = 0;
  rope.high = 250;
  p.movers = {ring, rope};
  p.slew = 0;
  p.hoist = 1;
  p.load_g = load_g;
  p.rope_mm = 307;
  p.load_r_mm = 12;
  p.lift_mm = 60;
  p.slew_to_rad = kPi / 2;
  return p;
}

/// Of the ring's motor without friction but its own: steady rate, and the lag of what it turns with its rotor.
void reckon(LiftPlan& p) {
  const MotionRig& how = p.movers[0].how;
  const motor::Line line = motor::line(how.motor, how.feed);
  p.rate_rad_s = line.no_load_speed_rad_s * how.ratio;
  const double inertia = 300e-9 * 40 * 40 + 100e-9 * 130 * 130 + how.rotor_nmm_s2 * 1e-3 / (how.ratio * how.ratio);
  const double per_rate = how.motor.torque_nmm_per_a * 1e-3 * how.motor.emf_v_s / how.motor.resistance_ohm;
  p.start_lag_s = p.stop_lag_s = inertia * how.ratio * how.ratio / per_rate;
}

TEST(Lift, ASlewedLoadSwingsAsThePendulumSays) {
  for (const double ratio : {1.0 / 60, 1.0 / 30}) {
    LiftPlan p = crane(120, ratio);
    reckon(p);
    const LiftRun run = run_lift(p, 1, 1, nullptr);
    ASSERT_EQ(run.why_not, "");
    EXPECT_FALSE(run.tipped);
    ASSERT_TRUE(run.set_down);
    const SlewSwing s = slew_swing(p.rate_rad_s, 260, p.slew_to_rad, p.rope_mm - p.lift_mm, 0, p.start_lag_s);
    const double closed = std::max(s.during_rad, s.after_rad);
    // The kick alone, by its energy, is of that size.
    EXPECT_GT(closed, 0.8 * swing_of_jump_rad(p.rate_rad_s * 260, 247));
    EXPECT_NEAR(run.slew_swing_rad, closed, 0.08 * closed) << ratio;
    // Moments about the front feet: 2 kg, 0.3 kg at -40 mm, 0.1 kg at 130 mm, 0.12 kg at 260 mm.
    const double front_mm = 150 - (-40 * 300 + 130 * 100 + 260 * 120) / 2520.0;
    const double side_mm = 120;
    EXPECT_NEAR(run.standing_margin_mm, std::min(front_mm, side_mm), 1);
    // A swinging load leans outward at most by its swing: its moment is below the closed form's.
    const double height_mm = 320, weight_n = balance::weight_n(120);
    const double bound_nmm = swing_moment_nmm(weight_n, closed, 260 - 120, height_mm);
    EXPECT_LT(run.swing_moment_nmm, 1.1 * bound_nmm + 2);
    EXPECT_GT(run.swing_moment_nmm, 0.2 * bound_nmm);
    EXPECT_NEAR(run.put_down.x_mm, 0, 6);
    EXPECT_NEAR(run.put_down.y_mm, 260, 6);
  }
}

TEST(Lift, HalfTheStepSaysTheSameAndTwiceTheSameBytes) {
  LiftPlan p = crane(120, 1.0 / 30);
  reckon(p);
  const LiftRun run = run_lift(p, 1, 1, nullptr);
  EXPECT_EQ(run_lift(p, 1, 1, nullptr).state_hash, run.state_hash);
  const LiftRun finer = run_lift(p, 0.5, 1, nullptr);
  EXPECT_NEAR(finer.slew_swing_rad, run.slew_swing_rad, 0.02 * run.slew_swing_rad);
  EXPECT_NEAR(finer.least_margin_mm, run.least_margin_mm, 1);
}

TEST(Lift, TooMuchTipsItAsTheLeverRuleSays) {
  // About the side feet, the arm square to them: (2 kg + 0.3 kg) 120 + 0.3 kg 40 = 0.1 kg 10 + load 140.
  const double tips_g = (2300 * 120 + 300 * 40 - 100 * 10) / 140.0;
  LiftPlan p = crane(0.85 * tips_g, 1.0 / 200);
  reckon(p);
  const LiftRun holds = run_lift(p, 1, 1, nullptr);
  EXPECT_FALSE(holds.tipped) << holds.why_not;
  p.load_g = 1.05 * tips_g;
  EXPECT_TRUE(run_lift(p, 1, 1, nullptr).tipped);
}

TEST(Lift, AHoistTakesItsLoadUpAsTheMotorsLineSays) {
  LiftPlan p = crane(400, 1.0 / 200);
  reckon(p);
  const LiftRun run = run_lift(p, 1, 1, nullptr);
  ASSERT_FALSE(run.phases.empty());
  ASSERT_EQ(run.phases[0].name, "hoist up");
  const MotionRig& how = p.movers[1].how;
  const double nmm = balance::weight_n(400) * how.raise_nmm_per_n * how.ratio;
  const double mm_s = motor::operate(how.motor, how.feed, nmm).speed_rad_s * how.ratio * how.per_rad;
  EXPECT_NEAR(run.phases[0].end_s - run.phases[0].start_s, p.lift_mm / mm_s + 0.05, 0.03 * p.lift_mm / mm_s);
}

TEST(Lift, NothingToLiftIsSaid) {
  EXPECT_NE(try_lift({}, {}, {}, {}).why_not.find("it lifts nothing"), std::string::npos);
}

}  // namespace
}  // namespace trial
