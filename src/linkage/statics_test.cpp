// Covers forces: virtual work against joint equilibrium on 1,000 random mechanisms, hand-solved textbook cases, Coulomb
// friction in pins and guides, tooth forces, self-locking and back-driving; and that Eigen's small inverses stay right.
#include "linkage/statics.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>

#include "linkage/fixture.h"

using namespace linkage;
using fixture::kDeg;

namespace {

Position closed(const Loops& loops, Position guess) {
  Solver solver(loops);
  EXPECT_TRUE(solver.close(guess));
  return guess;
}

/// A lever on one pin of radius 1, turned by hand at the pivot or pulled by a long rope at (2, 0): FRIC-05's pulley.
struct Pulley {
  Mechanism mechanism;
  int input = 0;
  Position position;
};
Pulley pulley(double friction, bool horizontal) {
  Pulley out;
  Mechanism& m = out.mechanism;
  const int wheel = m.add_body("wheel");
  const int shaft = m.add_pin(0, {}, wheel, {}, "shaft");
  m.joints.back().friction = friction;
  m.joints.back().radius_mm = 1;
  // The rope leaves at the right of the wheel downwards, or at its top to the right; a screw of great length pulls it.
  const Vec2 leaves = horizontal ? Vec2{0, 2} : Vec2{2, 0};
  const Vec2 away = horizontal ? Vec2{1000, 2} : Vec2{2, -1000};
  const auto rope = m.add_actuator(0, away, wheel, leaves, "rope");
  out.input = rope.input;
  const Loops loops(m);
  std::vector<BodyPose> drawing = {drawn({}, 0), drawn({}, 0)};
  const double angle = horizontal ? 180 * kDeg : 90 * kDeg;
  drawing.push_back(drawn(away, angle));
  drawing.push_back(drawn(leaves, angle));
  out.position = closed(loops, read(loops, drawing));
  (void)shaft;
  return out;
}

}  // namespace

TEST(Statics, VirtualWorkIsJointEquilibriumOnAThousandRandomMechanisms) {
  constexpr int kWanted = 1000;
  // Both routes lose what the position's distance from a dead point costs; those nearer than this are drawn anew.
  constexpr double kWildRate = 1e4;
  int done = 0, sliders = 0, gears = 0, actuators = 0, bodies = 0;
  for (std::uint64_t seed = 0; done < kWanted; ++seed) {
    ASSERT_LT(seed, 3000U);
    const auto sample = fixture::random_mechanism(seed);
    const Loops loops(sample.mechanism);
    Solver solver(loops);
    Position p = read(loops, sample.drawing);
    for (double& v : p.input) v += 0.002;
    if (!solver.close(p)) continue;
    bool wild = false;
    double scale = 1;
    for (int k = 0; k < loops.inputs() && !wild; ++k) {
      const Motion m = motion(loops, p, k);
      wild = !m.moves;
      for (std::size_t b = 1; b < m.bodies.size() && !wild; ++b) {
        const auto& r = m.bodies[b];
        wild = std::fabs(r.turn) > kWildRate / 100 || std::hypot(r.velocity.x_mm, r.velocity.z_mm) > kWildRate;
      }
    }
    if (wild) continue;
    Statics statics(loops);
    const auto work = virtual_work(loops, p, sample.loads);
    const auto& balance = statics.at_rest(p, sample.loads);
    ASSERT_TRUE(balance.solved) << seed;
    for (const Reaction& r : balance.joints) {
      scale = std::max({scale, std::hypot(r.force.x_n, r.force.z_n), std::fabs(r.moment_nmm)});
    }
    for (std::size_t k = 0; k < work.size(); ++k) {
      ASSERT_NEAR(balance.effort[k], work[k], 1e-9 * std::max(scale, std::fabs(work[k]))) << seed;
    }
    ++done;
    bodies += loops.bodies() - 1;
    gears += static_cast<int>(sample.mechanism.gears.size());
    for (const Joint& j : sample.mechanism.joints) {
      const bool slider = j.kind == Joint::Kind::slider;
      (j.name == "actuator" ? actuators : sliders) += slider ? 1 : 0;
    }
  }
  EXPECT_GT(sliders, 300);
  EXPECT_GT(gears, 300);
  EXPECT_GT(actuators, 200);
  EXPECT_GT(bodies, 5000);
}

TEST(Statics, EveryBodyIsInEquilibriumUnderTheReactionsReported) {
  // Third route: sums of forces and moments from the reported reactions alone, with friction, tooth forces and efforts.
  int done = 0;
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    auto sample = fixture::random_mechanism(seed);
    for (std::size_t j = 0; j < sample.mechanism.joints.size(); ++j) {
      Joint& joint = sample.mechanism.joints[j];
      joint.friction = 0.1;
      joint.radius_mm = 2;
      joint.guide_mm = j % 2 == 0 ? 30 : 0;
      joint.guide_in_a = j % 3 == 0;
    }
    const Loops loops(sample.mechanism);
    Solver solver(loops);
    Position p = read(loops, sample.drawing);
    if (!solver.close(p)) continue;
    Statics statics(loops);
    const auto& e = statics.moving(p, sample.loads, 0, seed % 2 == 0 ? 1 : -1);
    if (!e.solved || !e.converged) continue;
    ++done;
    const auto at = poses(loops, p);
    const auto& m = sample.mechanism;
    struct Sum {
      double x = 0, z = 0, moment = 0, size = 1;
    };
    std::vector<Sum> sums(m.bodies.size());
    const auto force = [&](int body, Vec2 place, double x, double z) {
      Sum& s = sums[static_cast<std::size_t>(body)];
      s.x += x;
      s.z += z;
      s.moment += place.x_mm * z - place.z_mm * x;  // about the frame's origin
      s.size += std::hypot(x, z) * (1 + std::hypot(place.x_mm, place.z_mm));
    };
    for (std::size_t j = 0; j < m.joints.size(); ++j) {
      const Joint& joint = m.joints[j];
      const Reaction& r = e.joints[j];
      const bool slider = joint.kind == Joint::Kind::slider;
      const Vec2 place = slider && joint.guide_in_a ? at[static_cast<std::size_t>(joint.a)].world(joint.at_a)
                                                    : at[static_cast<std::size_t>(joint.b)].world(joint.at_b);
      force(joint.b, place, r.force.x_n, r.force.z_n);
      force(joint.a, place, -r.force.x_n, -r.force.z_n);
      sums[static_cast<std::size_t>(joint.b)].moment += r.moment_nmm;
      sums[static_cast<std::size_t>(joint.a)].moment -= r.moment_nmm;
      for (std::size_t k = 0; k < m.inputs.size(); ++k) {
        if (m.inputs[k] != static_cast<int>(j)) continue;
        if (slider) {
          const double axis = at[static_cast<std::size_t>(joint.a)].angle_rad + joint.axis_rad;
          force(joint.b, place, e.effort[k] * std::cos(axis), e.effort[k] * std::sin(axis));
          force(joint.a, place, -e.effort[k] * std::cos(axis), -e.effort[k] * std::sin(axis));
        } else {
          sums[static_cast<std::size_t>(joint.b)].moment += e.effort[k];
          sums[static_cast<std::size_t>(joint.a)].moment -= e.effort[k];
        }
      }
    }
    for (const Load& load : sample.loads) {
      force(load.body, at[static_cast<std::size_t>(load.body)].world(load.at), load.force.x_n, load.force.z_n);
      sums[static_cast<std::size_t>(load.body)].moment += load.moment_nmm;
    }
    std::vector<char> geared(m.bodies.size(), 0);  // their tooth forces are tested by hand below
    for (const Gear& g : m.gears) {
      for (const int pin : {g.pin_a, g.pin_b}) {
        geared[static_cast<std::size_t>(m.joints[static_cast<std::size_t>(pin)].a)] = 1;
        geared[static_cast<std::size_t>(m.joints[static_cast<std::size_t>(pin)].b)] = 1;
      }
    }
    for (std::size_t b = 1; b < sums.size(); ++b) {
      if (geared[b]) continue;
      EXPECT_NEAR(sums[b].x, 0, 1e-9 * sums[b].size) << seed;
      EXPECT_NEAR(sums[b].z, 0, 1e-9 * sums[b].size) << seed;
      EXPECT_NEAR(sums[b].moment, 0, 1e-9 * sums[b].size) << seed;
    }
  }
  EXPECT_GT(done, 100);
}

TEST(Statics, WithFrictionTheInputPaysForWhatTheJointsTakeUp) {
  // Power balance: effort = frictionless effort + friction x relative rate of every joint, at the reactions reported.
  int done = 0;
  for (std::uint64_t seed = 300; seed < 500; ++seed) {
    auto sample = fixture::random_mechanism(seed);
    for (Joint& joint : sample.mechanism.joints) {
      joint.friction = 0.08;
      joint.radius_mm = 2.4;
    }
    const Loops loops(sample.mechanism);
    Solver solver(loops);
    Position p = read(loops, sample.drawing);
    if (!solver.close(p)) continue;
    const Motion m = motion(loops, p, 0);
    if (!m.moves) continue;
    const int sense = seed % 2 == 0 ? 1 : -1;
    Statics statics(loops);
    const auto& e = statics.moving(p, sample.loads, 0, sense);
    if (!e.solved || !e.converged) continue;
    ++done;
    double power = load_power(m, sample.loads), size = 1;
    for (std::size_t j = 0; j < e.joints.size(); ++j) {
      const double taken = e.joints[j].friction * m.joints[j];
      EXPECT_LE(taken * sense, 0) << seed;  // friction never helps the motion
      power += taken;
      size += std::fabs(taken);
    }
    EXPECT_NEAR(e.effort[0], -power, 1e-8 * (size + std::fabs(power))) << seed;
  }
  EXPECT_GT(done, 100);
}

TEST(Statics, JournalFrictionOfAPulley) {
  // FRIC-05: Beer & Johnston, Statics, friction-circle sample problem (from memory): 500 lb on a 4 in pulley, 2 in
  // shaft.
  const auto pull = [](bool horizontal, double friction, int sense) {
    const Pulley p = pulley(friction, horizontal);
    const Loops loops(p.mechanism);
    const std::vector<Load> loads = {{1, {-2, 0}, {0, -500}, 0}};
    Statics statics(loops);
    const auto& e = statics.moving(p.position, loads, p.input, sense);
    EXPECT_TRUE(e.solved && e.converged);
    return -e.effort[0];  // the rope is pulled: the length's effort is negative
  };
  EXPECT_NEAR(pull(false, 0.20, -1), 611.1, 0.1);
  EXPECT_NEAR(pull(false, 0.20, 1), 409.1, 0.1);
  EXPECT_NEAR(pull(true, 0.20, -1), 576.3, 0.1);
  EXPECT_NEAR(pull(true, 0.20, -1), 577, 0.002 * 577);  // the book's rounded value
  // With the exact friction circle r sin(atan f).
  const double exact = std::sin(std::atan(0.20));
  EXPECT_NEAR(pull(false, exact, -1), 608.7, 0.1);
  EXPECT_NEAR(pull(false, exact, 1), 410.7, 0.1);
  EXPECT_NEAR(pull(false, 0, 1), 500, 1e-4);
}

TEST(Statics, ExcavatorBoomCylinder) {
  // ACT-02: askfilo.com 3338363738353338: pivot (0, 0), cylinder (0, 0.24) to (0.72, 0.96) m, 433 kg at 3 m; 75.09 kN.
  Mechanism m;
  const int boom = m.add_body("boom");
  m.add_pin(0, {}, boom, {});
  const auto cylinder = m.add_actuator(0, {0, 240}, boom, {720, 960});
  const Loops loops(m);
  const double slope = std::atan2(720.0, 720.0);
  const std::vector<BodyPose> drawing = {drawn({}, 0), drawn({}, 0), drawn({0, 240}, slope), drawn({720, 960}, slope)};
  const Position p = closed(loops, read(loops, drawing));
  const std::vector<Load> loads = {{boom, {3000, 0}, {0, -433 * 9.81}, 0}};
  Statics statics(loops);
  const auto& e = statics.at_rest(p, loads);
  // Mounted above the pivot it holds the boom by pulling.
  EXPECT_NEAR(-e.effort[0] / 1000, 75.09, 0.01);
  EXPECT_NEAR(virtual_work(loops, p, loads)[0], e.effort[0], 1e-9 * 75090);
  EXPECT_NEAR(motion(loops, p, 0).bodies[1].turn, -1 / 169.71, 1e-4 / 169.71);
  // Two-force member: both actuator pins carry the effort along its line, the guide nothing.
  EXPECT_NEAR(std::hypot(e.joints[1].force.x_n, e.joints[1].force.z_n), -e.effort[0], 1e-6);
  EXPECT_NEAR(e.joints[static_cast<std::size_t>(cylinder.travel)].moment_nmm, 0, 1e-6);
}

TEST(Statics, ScissorLiftCylinder) {
  // ACT-01: Beer & Johnston, lift-table sample problem (from memory): two arms E-K-D crossing at their middle, platform
  // on a roller, cylinder from the fixed foot's side to the arm. W = 9810 N, theta = 60 deg: 5157 N per cylinder, 2
  // linkages.
  const double a = 700, length = 3200, theta = 60 * kDeg;
  // Cylinder length^2 = a^2 + L^2 - 2 a L cos(theta): from a point a from the arm's foot to the far end, L up the arm
  // that turns about that foot. Platform height 2 a sin(theta): the arm's pin at a lifts the platform by twice its
  // rise.
  Mechanism m;
  const int arm = m.add_body("arm"), other = m.add_body("other arm"), deck = m.add_body("deck"),
            roller = m.add_body("roller"), shoe = m.add_body("shoe");
  m.add_pin(0, {0, 0}, arm, {0, 0});
  m.add_pin(arm, {a, 0}, other, {a, 0});  // crossing, a from either end
  m.add_pin(other, {0, 0}, roller, {});
  m.add_slider(0, {0, 0}, roller, {}, 0);
  m.add_pin(other, {2 * a, 0}, deck, {0, 0});
  m.add_pin(arm, {2 * a, 0}, shoe, {});
  m.add_slider(deck, {0, 0}, shoe, {}, 0);
  const auto cylinder = m.add_actuator(0, {length, 0}, arm, {a, 0});
  ASSERT_TRUE(problems(m).empty()) << problems(m).front();
  const Loops loops(m);
  const double span = 2 * a * std::cos(theta), height = 2 * a * std::sin(theta);
  const Vec2 pin = {a * std::cos(theta), a * std::sin(theta)};
  const double slope = std::atan2(pin.z_mm, pin.x_mm - length);
  std::vector<BodyPose> drawing = {drawn({}, 0),
                                   drawn({}, theta),
                                   drawn({span, 0}, 180 * kDeg - theta),
                                   drawn({0, height}, 0),
                                   drawn({span, 0}, 0),
                                   drawn({span, height}, 0),
                                   drawn({length, 0}, slope),
                                   drawn(pin, slope)};
  const Position p = closed(loops, read(loops, drawing));
  const double weight = 1000 * 9.81 / 2;  // one linkage
  const std::vector<Load> loads = {{deck, {200, 50}, {0, -weight}, 0}};
  Statics statics(loops);
  const auto& e = statics.at_rest(p, loads);
  const double reach = joint_value(loops, p, cylinder.travel);
  EXPECT_NEAR(reach, 2913.8, 0.1);
  // The book's formula F = W (length/L) cot(theta) for one of the two cylinders; pushing towards the foot shortens
  // here.
  EXPECT_NEAR(e.effort[0], 2 * weight * reach / length / std::tan(theta), 1e-4 * 5157);
  EXPECT_NEAR(e.effort[0], 5157, 0.6);
  EXPECT_NEAR(virtual_work(loops, p, loads)[0], e.effort[0], 1e-9 * 5157);
}

TEST(Statics, GuideJamsWhenTheLoadStandsTooFarOut) {
  // Textbook case (Beer & Johnston, Statics, ch. 8, movable bracket on a post; from memory): a bracket of height L on a
  // post cannot be pushed by a force at the distance x > L/(2 f), however large.
  const auto hold = [](double distance, double friction) {
    Mechanism m;
    const int bracket = m.add_body("bracket"), pusher = m.add_body("pusher"), rod = m.add_body("rod");
    m.add_slider(0, {}, bracket, {}, 90 * kDeg, 0, "post");
    m.joints.back().friction = friction;
    m.joints.back().guide_mm = 60;
    // A vertical driven slide pushes up at the distance through a rod.
    m.drive(m.add_slider(0, {distance, -500}, pusher, {}, 90 * kDeg));
    m.add_pin(pusher, {}, rod, {});
    m.add_pin(rod, {400, 0}, bracket, {distance, 0});
    const Loops loops(m);
    const std::vector<BodyPose> drawing = {drawn({}, 0), drawn({}, 0), drawn({distance, -400}, 0),
                                           drawn({distance, -400}, 90 * kDeg)};
    const Position p = closed(loops, read(loops, drawing));
    const std::vector<Load> loads = {{bracket, {0, 0}, {0, -10}, 0}};
    return holding(loops, p, loads, 0);
  };
  // W = 10 N in the post's line, P at x: P - W = 2 f P x/L.
  const Holding easy = hold(60, 0.25);
  EXPECT_NEAR(easy.effort, 10, 1e-9);
  EXPECT_NEAR(easy.push_on, 10 / (1 - 2 * 0.25 * 60 / 60), 1e-9);
  EXPECT_NEAR(easy.efficiency, 0.5, 1e-9);
  EXPECT_NEAR(easy.let_back, 10 / (1 + 0.5), 1e-9);
  EXPECT_TRUE(std::isfinite(hold(119, 0.25).push_on));
  EXPECT_TRUE(std::isinf(hold(121, 0.25).push_on));
  EXPECT_EQ(hold(121, 0.25).efficiency, 0);
}

TEST(Statics, ScrewActuatorHoldsOrBackDrivesAsItsThreadDoes) {
  const Screw steep{6, 8, 0.1}, fine{6, 2, 0.2};
  for (const Screw& screw : {steep, fine}) {
    EXPECT_DOUBLE_EQ(screw_torque_nmm(screw, 40, 1), raise_torque_nmm(screw, 40));
    EXPECT_DOUBLE_EQ(screw_torque_nmm(screw, 40, -1), lower_torque_nmm(screw, 40));
    EXPECT_DOUBLE_EQ(screw_torque_nmm(screw, -40, -1), raise_torque_nmm(screw, 40));
    EXPECT_EQ(screw_torque_nmm(screw, 40, -1) >= 0, holds(screw));
  }
  EXPECT_LT(screw_torque_nmm(steep, 40, -1), 0);
}

TEST(Statics, ToggleLocksWithinItsFrictionCircles) {
  // Crank and coupler nearly in line, the slider's load drives back: near the dead point the crank holds by itself.
  // Second route: the friction-circle construction (Beer & Johnston, Statics, ch. 8).
  const auto at_crank = [](double crank_deg) {
    Mechanism m = fixture::slider_crank(20, 60, 0);
    for (int j = 0; j < 3; ++j) {
      m.joints[static_cast<std::size_t>(j)].friction = 0.2;
      m.joints[static_cast<std::size_t>(j)].radius_mm = 2.4;
    }
    const Loops loops(m);
    const double crank = crank_deg * kDeg, coupler = std::asin(-20 * std::sin(crank) / 60);
    std::vector<BodyPose> drawing = {drawn({}, 0), drawn({}, crank),
                                     drawn({20 * std::cos(crank), 20 * std::sin(crank)}, coupler),
                                     drawn({20 * std::cos(crank) + 60 * std::cos(coupler), 0}, 0)};
    const Position p = closed(loops, read(loops, drawing));
    const std::vector<Load> loads = {{3, {}, {-30, 0}, 0}};
    return holding(loops, p, loads, 0);
  };
  const auto arm = [](double crank_deg) {
    const double crank = crank_deg * kDeg, coupler = std::asin(-20 * std::sin(crank) / 60);
    // The force runs tangent to the friction circles (f r = 0.48 mm) at both ends of the coupler, on opposite sides, so
    // it is turned by asin(2 f r/b), towards the crank pivot when the load drives; the crank stays when that line
    // passes inside the pivot's own circle.
    const double circle = 0.2 * 2.4, tilt = std::asin(2 * circle / 60);
    const double line = coupler + tilt;
    const double px = 20 * std::cos(crank), pz = 20 * std::sin(crank);
    return std::fabs(px * std::sin(line) - pz * std::cos(line)) - circle - circle;
  };
  double low = 0.5, high = 40;
  for (int i = 0; i < 60; ++i) ((arm((low + high) / 2) > 0) ? high : low) = (low + high) / 2;
  EXPECT_GT(low, 2);
  EXPECT_LT(low, 12);
  EXPECT_TRUE(at_crank(low * 0.98).self_locking) << low;
  EXPECT_FALSE(at_crank(low * 1.02).self_locking) << low;
}

TEST(Statics, GearPairCarriesItsToothForceByHand) {
  // Gears of pitch radii 10 and 20 mm on the frame, 20 deg; 300 N mm on the large one: T = 15 N, driver 150 N mm; the
  // reactions are T and T tan(20 deg).
  Mechanism m;
  const int small = m.add_body("small"), large = m.add_body("large");
  const int p = m.add_pin(0, {}, small, {}), q = m.add_pin(0, {30, 0}, large, {});
  m.add_gear(p, q, -0.5, 0, 20 * kDeg);
  m.drive(p);
  const Loops loops(m);
  const Position here{{}, {0.3}};
  const std::vector<Load> loads = {{large, {}, {}, 300}};
  Statics statics(loops);
  const auto& e = statics.at_rest(here, loads);
  ASSERT_TRUE(e.solved);
  EXPECT_NEAR(e.effort[0], 150, 1e-9);
  EXPECT_NEAR(virtual_work(loops, here, loads)[0], 150, 1e-9);
  EXPECT_NEAR(std::fabs(e.tooth_n[0]), 15, 1e-9);
  EXPECT_NEAR(std::fabs(e.joints[0].force.z_n), 15, 1e-9);
  // Pushed apart: the frame holds the small gear to the right, the large one to the left.
  EXPECT_NEAR(e.joints[0].force.x_n, 15 * std::tan(20 * kDeg), 1e-9);
  EXPECT_NEAR(e.joints[1].force.x_n, -15 * std::tan(20 * kDeg), 1e-9);
  EXPECT_NEAR(e.joints[0].force.z_n + e.joints[1].force.z_n, 0, 1e-9);
}

TEST(Statics, RingGearPushesItsPinionInwards) {
  // Ring of radius 30 about (20, 0), pinion of radius 10 at the origin inside it: mesh at (-10, 0), ratio 10/30.
  Mechanism m;
  const int pinion = m.add_body("pinion"), ring = m.add_body("ring");
  const int p = m.add_pin(0, {}, pinion, {}), q = m.add_pin(0, {20, 0}, ring, {});
  m.add_gear(p, q, 1.0 / 3, 0, 20 * kDeg);
  m.drive(p);
  const Loops loops(m);
  const std::vector<Load> loads = {{ring, {}, {}, 300}};
  Statics statics(loops);
  const auto& e = statics.at_rest(Position{{}, {0.0}}, loads);
  EXPECT_NEAR(e.effort[0], -100, 1e-9);
  EXPECT_NEAR(std::fabs(e.tooth_n[0]), 10, 1e-9);
  // The pinion is pushed from the mesh at -x towards its centre: +x; its pin holds against that.
  EXPECT_NEAR(e.joints[0].force.x_n, -10 * std::tan(20 * kDeg), 1e-9);
}

TEST(Eigen, SmallInverseIsRight) {
  // The guard against flags that relax floating point: they have been seen to spoil exactly this inverse. The matrix
  // has an exact inverse in binary fractions.
  Eigen::Matrix4d m, expected;
  m << 1, 2, 0, 4, 0, 1, -3, 2, 2, 4, 1, 8, 0, 0, 4, -1;
  const Eigen::Matrix4d inverse = m.inverse();
  const Eigen::Matrix4d residual = m * inverse - Eigen::Matrix4d::Identity();
  EXPECT_LT(residual.cwiseAbs().maxCoeff(), 1e-12);
  expected = m.fullPivLu().inverse();
  EXPECT_LT((inverse - expected).cwiseAbs().maxCoeff(), 1e-12);
  // What the flags break: infinities, signed zeros and the order of sums.
  volatile double big = 1e308, one = 1, tiny = 1e-17;
  EXPECT_TRUE(std::isinf(big * 10));
  EXPECT_TRUE(std::isnan(std::numeric_limits<double>::quiet_NaN() * one));
  EXPECT_EQ((one + tiny) - one, 0);
  EXPECT_TRUE(std::signbit(-0.0 * one));
}
