// Joints moved by their motors against closed forms.
#include "trial/motion.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "linkage/actuator.h"

namespace trial {
namespace {

/// Invented: a motor of 20 N mm and 300 rpm at 9 V.
MotionRig motors() {
  MotionRig rig;
  rig.motor = motor::constants(motor::ratings(9, 20, 300, 60, 800));
  rig.feed.voltage_v = 9;
  rig.rotor_nmm_s2 = 0.05 * rig.motor.torque_nmm_per_a * rig.motor.emf_v_s / rig.motor.resistance_ohm;
  return rig;
}

/// Invented: a boom of 300 mm and 150 g with 120 g at its end, raised by a screw without thread friction.
MotionRig boom() {
  MotionRig rig = motors();
  rig.lumps = {{150, {150, 0, 0}, {300, 16, 16}}, {120, {300, 0, 0}, {}}};
  rig.base_x_mm = 40;
  rig.base_z_mm = -70;
  rig.rod_x_mm = 90;
  rig.rod_z_mm = 0;
  rig.lead_mm = 4;
  rig.raise_nmm_per_n = rig.lead_mm / (2 * std::numbers::pi);
  rig.lower_nmm_per_n = -rig.raise_nmm_per_n;
  rig.to_rad = 1;
  return rig;
}

/// Time by statics: the actuator triangle of linkage/ under the moment of the lumps, the motor's line.
double closed_s(const MotionRig& rig, double raise_nmm_per_n) {
  const linkage::ActuatorTriangle triangle{{}, {rig.base_x_mm, rig.base_z_mm}, {rig.rod_x_mm, rig.rod_z_mm}};
  return linkage::travel(
             triangle, rig.from_rad, rig.to_rad, 200,
             [&](double rad) {
               double nmm = 0;
               for (const Lump& l : rig.lumps) nmm += l.mass_g * 1e-3 * balance::kGravity * l.at.x_mm * std::cos(rad);
               return nmm;
             },
             [&](double resisting_n) {
               const double nmm = resisting_n * raise_nmm_per_n * rig.ratio / rig.motors / rig.efficiency;
               return motor::operate(rig.motor, rig.feed, nmm).speed_rad_s * rig.ratio * rig.lead_mm /
                      (2 * std::numbers::pi);
             })
      .time_s;
}

TEST(Motion, ABoomIsRaisedAsStaticsAndTheMotorsLineSay) {
  const MotionRig rig = boom();
  const MotionRun run = move_joint(rig, {});
  ASSERT_EQ(run.why_not, "");
  ASSERT_TRUE(run.arrives);
  // The start takes about the motor's own time constant more.
  EXPECT_NEAR(run.time_s, closed_s(rig, rig.raise_nmm_per_n) + 0.05, 0.02 * run.time_s);
  MotionOptions finer;
  finer.step_ms = 0.5;
  EXPECT_NEAR(move_joint(rig, finer).time_s, run.time_s, 0.005 * run.time_s);
}

TEST(Motion, ThreadFrictionCostsWhatTheScrewFormulaSays) {
  MotionRig rig = boom();
  rig.motors = 2;
  rig.raise_nmm_per_n *= 2.5;
  const MotionRun run = move_joint(rig, {});
  ASSERT_TRUE(run.arrives) << run.why_not;
  EXPECT_NEAR(run.time_s, closed_s(rig, rig.raise_nmm_per_n) + 0.05, 0.02 * run.time_s);
  const MotionRun free = move_joint(boom(), {});
  EXPECT_GT(run.most_force_n, 0.9 * free.most_force_n);
}

TEST(Motion, AWeakMotorStallsAndIsSaidTo) {
  MotionRig rig = boom();
  rig.lumps.push_back({4000, {300, 0, 0}, {}});
  const MotionRun run = move_joint(rig, {});
  EXPECT_EQ(run.why_not, "");
  EXPECT_FALSE(run.arrives);
}

TEST(Motion, AnUpperStructureTurnsAtItsSpeedAfterItsStart) {
  // J dw/dt = T (1 - w/w0) - Tf from rest: w = w1 (1 - exp(-t/tau)), angle = w1 (t - tau (1 - exp(-t/tau))).
  MotionRig rig = motors();
  rig.turns = true;
  rig.ratio = 1.0 / 12;
  rig.to_rad = std::numbers::pi;
  rig.friction_nmm = 20;
  rig.lumps = {{800, {200, 0, 0}, {}}, {600, {-100, 40, 20}, {}}};
  const MotionRun run = move_joint(rig, {});
  ASSERT_TRUE(run.arrives) << run.why_not;
  const motor::Line line = motor::line(rig.motor, rig.feed);
  const double stall_nm = line.stall_torque_nmm * 1e-3 / rig.ratio, free_rad_s = line.no_load_speed_rad_s * rig.ratio;
  double inertia = rig.rotor_nmm_s2 * 1e-3 / (rig.ratio * rig.ratio);
  for (const Lump& l : rig.lumps) inertia += l.mass_g * 1e-3 * (l.at.x_mm * l.at.x_mm + l.at.y_mm * l.at.y_mm) * 1e-6;
  const double tau = inertia * free_rad_s / stall_nm, steady = free_rad_s * (1 - rig.friction_nmm * 1e-3 / stall_nm);
  double t = rig.to_rad / steady;
  for (int i = 0; i < 50; ++i) t = rig.to_rad / steady + tau * (1 - std::exp(-t / tau));
  EXPECT_NEAR(run.time_s, t, 0.01 * t);
}

TEST(Motion, SaysTheSameTwice) {
  EXPECT_EQ(move_joint(boom(), {}).state_hash, move_joint(boom(), {}).state_hash);
}

}  // namespace
}  // namespace trial
