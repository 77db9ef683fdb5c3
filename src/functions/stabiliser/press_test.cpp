// Statics of one leg: hand-worked statics without friction, the general engine's virtual work and joint equilibrium
// with friction, and the two directions of the formula against each other.
#include "functions/stabiliser/press.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "functions/drive/screw_drive.h"
#include "linkage/statics.h"

namespace functions::stabiliser {
namespace {

constexpr double kRad = std::numbers::pi / 180;

/// Hip 44 mm up, leg 56 mm, foot 4 mm; without weight unless told.
Leg small_leg(double weight_n = 0) {
  Leg leg;
  leg.length_p = 7;
  leg.length_mm = 56;
  leg.hip_out_mm = 72;
  leg.hip_up_mm = 44;
  leg.foot_height_mm = 4;
  leg.contact_rad = -std::asin(40.0 / 56);
  leg.deployed_rad = -std::asin(44.0 / 56);
  leg.weight_n = weight_n;
  leg.centre_mm = 30;
  return leg;
}

/// Base above the leg on the inner side, and one below the hip, so that both a pushing and a pulling rod occur.
const linkage::ActuatorTriangle kAbove{{0, 0}, {-16, 60}, {32, 0}};
const linkage::ActuatorTriangle kBelow{{0, 0}, {-40, -40}, {32, 8}};

struct Engine {
  linkage::Mechanism m;
  int leg = 0;
  linkage::Mechanism::Actuator rod;
};

Engine engine(const linkage::ActuatorTriangle& t, double friction, double radius_mm) {
  Engine e;
  e.leg = e.m.add_body("leg");
  const int hip = e.m.add_pin(0, {}, e.leg, {});
  e.rod = e.m.add_actuator(0, t.base_mount, e.leg, t.rod_mount);
  for (const int pin : {hip, e.rod.base_pin, e.rod.rod_pin}) {
    e.m.joints[static_cast<std::size_t>(pin)].friction = friction;
    e.m.joints[static_cast<std::size_t>(pin)].radius_mm = radius_mm;
  }
  return e;
}

linkage::Position at(const linkage::Loops& loops, const linkage::ActuatorTriangle& t, double angle_rad) {
  const LegPose pose = leg_pose(t, angle_rad);
  const double slope = std::atan2(pose.rod_way.z_mm, pose.rod_way.x_mm);
  const double c = std::cos(angle_rad), s = std::sin(angle_rad);
  const linkage::Vec2 rod{t.rod_mount.x_mm * c - t.rod_mount.z_mm * s, t.rod_mount.x_mm * s + t.rod_mount.z_mm * c};
  linkage::Position p = linkage::read(
      loops, std::vector<linkage::BodyPose>{linkage::drawn({}, 0), linkage::drawn({}, angle_rad),
                                            linkage::drawn(t.base_mount, slope), linkage::drawn(rod, slope)});
  linkage::Solver solver(loops);
  EXPECT_TRUE(solver.close(p));
  return p;
}

/// Foot force, its sliding friction and the weight as dead loads, in the frame of the leg.
std::vector<linkage::Load> loads(const Leg& leg, int body, double angle_rad, double foot_n, double slide_n) {
  const double c = std::cos(angle_rad), s = std::sin(angle_rad);
  const double x = leg.length_mm * c, z = -leg.hip_above_foot_mm(angle_rad);  // contact from the hip
  return {{body, {x * c + z * s, -x * s + z * c}, {slide_n, foot_n}, 0},
          {body, {leg.centre_mm, 0}, {0, -leg.weight_n}, 0}};
}

TEST(StabiliserPress, WithoutFrictionTheLeverRuleHolds) {
  // Worked by hand: at 45 deg below the horizontal a foot force of 10 N on a 56 mm leg turns the hip with
  // 10 x 56 cos 45 = 395.98 N mm; a rod that stands square to the leg at 32 mm holds it with 12.374 N.
  const Leg leg = small_leg();
  const double a = -45 * kRad;
  // Base straight above the rod mount's line, square to the leg.
  const double h = 1 / std::numbers::sqrt2;
  const linkage::ActuatorTriangle square{{0, 0}, {32 * h + 60 * h, -32 * h + 60 * h}, {32, 0}};
  const LegPose pose = leg_pose(square, a);
  EXPECT_NEAR(std::fabs(pose.lever_mm), 32, 1e-9);
  EXPECT_NEAR(moment_nmm(leg, a, 10, 0, Motion::deploying), 395.9798, 1e-4);
  const RodForce f = rod_force(leg, pose, 10, {0, 0, 0}, Motion::deploying);
  EXPECT_NEAR(f.force_n, 395.9798 / 32, 1e-5);
  EXPECT_TRUE(f.resists);
  EXPECT_TRUE(f.pushes) << "the base is above, so lengthening presses the foot down";
  const RodForce back = rod_force(leg, pose, 10, {0, 0, 0}, Motion::stowing);
  EXPECT_NEAR(back.force_n, f.force_n, 1e-9);
  EXPECT_FALSE(back.resists) << "the machine's weight pushes the leg up";
  EXPECT_TRUE(back.pushes);
  EXPECT_NEAR(holding_rod_n(leg, pose, 10), f.force_n, 1e-9);
  EXPECT_NEAR(held_foot_n(leg, pose, f.force_n), 10, 1e-9);
}

TEST(StabiliserPress, SlidingFrictionOfTheFootResistsBothWays) {
  // The same leg with 0.5 on the ground: the hip is 4 + 56 sin 45 = 43.598 mm above it; 10 N press with 5 N of
  // friction, which turns the hip with 217.99 N mm more while deploying and as much less while stowing.
  const Leg leg = small_leg();
  const double a = -45 * kRad;
  EXPECT_NEAR(leg.hip_above_foot_mm(a), 43.59798, 1e-5);
  EXPECT_NEAR(moment_nmm(leg, a, 10, 0.5, Motion::deploying), 395.9798 + 217.9899, 1e-3);
  EXPECT_NEAR(moment_nmm(leg, a, 10, 0.5, Motion::stowing), 395.9798 - 217.9899, 1e-3);
}

TEST(StabiliserPress, EqualsVirtualWorkAndJointEquilibriumOfTheGeneralEngine) {
  int judged = 0;
  for (const linkage::ActuatorTriangle& t : {kAbove, kBelow}) {
    for (const double weight_n : {0.0, 0.4}) {
      const Leg leg = small_leg(weight_n);
      for (double a = leg.deployed_rad; a < 50 * kRad; a += 7 * kRad) {
        for (const double foot_n : {0.0, 3.0, 12.0}) {
          const LegPose pose = leg_pose(t, a);
          if (std::fabs(pose.lever_mm) < 4) continue;  // near the dead centre friction jams it
          ++judged;
          for (const Motion motion : {Motion::deploying, Motion::stowing}) {
            const double foot_friction = 0.3;
            const double slide_n = (motion == Motion::deploying ? 1 : -1) * foot_friction * foot_n;
            const int sense = (motion == Motion::deploying) == (pose.lever_mm < 0) ? 1 : -1;
            // Without friction in the pins: virtual work.
            {
              const Engine e = engine(t, 0, 2.4);
              const linkage::Loops loops(e.m);
              const auto all = loads(leg, e.leg, a, foot_n, slide_n);
              const double effort = linkage::virtual_work(loops, at(loops, t, a), all)[0];
              const RodForce mine = rod_force(leg, pose, foot_n, {foot_friction, 0, 2.4}, motion);
              EXPECT_NEAR(mine.force_n, std::fabs(effort), 1e-8 * (1 + std::fabs(effort)));
              if (mine.force_n > 1e-9) {
                EXPECT_EQ(mine.pushes, effort > 0);
              }
            }
            if (foot_n == 0 && weight_n == 0) continue;  // nothing to balance
            // With friction: every joint in equilibrium.
            const Engine e = engine(t, 0.2, 2.4);
            const linkage::Loops loops(e.m);
            linkage::Statics statics(loops);
            const linkage::Equilibrium& q =
                statics.moving(at(loops, t, a), loads(leg, e.leg, a, foot_n, slide_n), e.rod.input, sense);
            ASSERT_TRUE(q.solved && q.converged);
            const RodForce mine = rod_force(leg, pose, foot_n, {foot_friction, 0.2, 2.4}, motion);
            const double signed_n = mine.pushes ? mine.force_n : -mine.force_n;
            // Friction in the eyes tilts the rod's force a little off its line, which the formula leaves out: second
            // order in friction circle over length, 2.5e-4 at the most here.
            EXPECT_NEAR(signed_n, q.effort[0], 5e-4 * std::fabs(q.effort[0]))
                << a / kRad << " deg, foot " << foot_n << " N, " << (motion == Motion::deploying ? "down" : "up");
          }
        }
      }
    }
  }
  EXPECT_GT(judged, 100);
}

TEST(StabiliserPress, FootForceIsTheInverseOfTheRodForce) {
  const Leg leg = small_leg(0.3);
  for (const linkage::ActuatorTriangle& t : {kAbove, kBelow}) {
    for (double a = leg.deployed_rad; a <= leg.contact_rad + 1e-9; a += 1 * kRad) {
      const LegPose pose = leg_pose(t, a);
      const Contact c{0.4, 0.25, 2.4};
      const RodForce f = rod_force(leg, pose, 8, c, Motion::deploying);
      ASSERT_TRUE(std::isfinite(f.force_n));
      EXPECT_NEAR(foot_force_n(leg, pose, f.force_n, c), 8, 1e-9);
      EXPECT_GT(foot_force_n(leg, pose, f.force_n * 1.1, c), 8);
      EXPECT_LT(foot_force_n(leg, pose, f.force_n, {0.4, 0.3, 2.4}), 8) << "more friction, less foot force";
    }
  }
}

TEST(StabiliserPress, LeverOfThePublishedTriangle) {
  // ACT-04: distances 60 and 80 mm, 90 deg between them: length 100, lever 48 mm.
  const linkage::ActuatorTriangle t{{0, 0}, {0, 60}, {80, 0}};
  const LegPose pose = leg_pose(t, 0);
  EXPECT_NEAR(std::fabs(pose.lever_mm), 48, 48e-5);
  EXPECT_LT(pose.lever_mm, 0) << "lengthening lowers the foot";
  EXPECT_NEAR(pose.rod_way.x_mm, 0.8, 1e-12);
  EXPECT_NEAR(pose.rod_way.z_mm, -0.6, 1e-12);
  // The eyes turn as the shared travel says.
  const drive::ActuatorTravel travel = drive::travel_of(t, {-0.1, 0, 0.1});
  EXPECT_NEAR(pose.eyes, travel.eyes[1], 1e-12);
}

TEST(StabiliserPress, ALeverInsideTheFrictionCircleJams) {
  const Leg leg = small_leg();
  const LegPose pose = leg_pose({{0, 0}, {-60, 0.5}, {32, 0}}, -0.01);
  EXPECT_LT(std::fabs(pose.lever_mm), 1);
  EXPECT_TRUE(std::isinf(rod_force(leg, pose, 5, {0.3, 0.3, 2.4}, Motion::deploying).force_n));
  EXPECT_EQ(foot_force_n(leg, pose, 50, {0.3, 0.3, 2.4}), 0);
}

}  // namespace
}  // namespace functions::stabiliser
