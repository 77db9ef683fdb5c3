// Covers the sense of rotation across a mesh against the velocities at the point of contact, worked out in vectors, and
// the whole way of hand-made layouts.
#include "routing/sense.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>

namespace {

using Eigen::Vector3d;
using lattice::Axis;
using routing::PairType;

Vector3d unit(Axis a) {
  return Vector3d::Unit(lattice::index(a));
}

Vector3d at(const lattice::Point3& p) {
  return {double(p.x_hp), double(p.y_hp), double(p.z_hp)};
}

/// Two wheels on shafts; the problem knows one pair of the type.
struct Case {
  routing::Problem problem;
  routing::Layout layout;
};

Case two_shafts(PairType type, Axis a, lattice::Point3 wheel_a, Axis b, lattice::Point3 wheel_b) {
  Case c;
  c.problem.kit.wheels.own().resize(2);
  c.problem.kit.pairs = {{0, 1, type, base::Rational(1), {}}};
  c.problem.outputs.resize(1);
  c.problem.outputs[0].places.resize(1);
  c.layout.place = {0};
  for (int i = 0; i < 2; ++i) {
    const Axis axis = i == 0 ? a : b;
    const lattice::Point3& p = i == 0 ? wheel_a : wheel_b;
    routing::PlacedShaft shaft;
    shaft.axis = axis;
    shaft.at = lattice::across(axis, p);
    shaft.input = i == 0;
    shaft.output = i == 1 ? 0 : -1;
    c.layout.shafts.push_back(shaft);
    routing::PlacedWheel wheel;
    wheel.wheel = i;
    wheel.shaft = i;
    wheel.axis = axis;
    wheel.at = shaft.at;
    wheel.from_hp = p.at(axis) - 0.5;
    wheel.to_hp = p.at(axis) + 0.5;
    c.layout.wheels.push_back(wheel);
  }
  c.layout.meshes = {{0, 0, 1, 0}};
  return c;
}

int sense(const Case& c) {
  return routing::output_senses(c.problem, c.layout).at(0);
}

}  // namespace

TEST(Sense, BevelsTurnAsTheVelocityAtTheirContactSays) {
  // Every pair of axes and every side on which the two wheels may stand; the lines meet in (3, 5, 7).
  const lattice::Point3 meet{3, 5, 7};
  for (const Axis a : lattice::kAxes) {
    for (const Axis b : lattice::kAxes) {
      if (a == b) continue;
      for (const int sa : {-1, 1}) {
        for (const int sb : {-1, 1}) {
          lattice::Point3 wheel_a = meet, wheel_b = meet;
          wheel_a.set(a, meet.at(a) + 2 * sa);
          wheel_b.set(b, meet.at(b) + 2 * sb);
          const Vector3d contact = at(meet) + 2 * sa * unit(a) + 2 * sb * unit(b);
          const Vector3d va = unit(a).cross(contact - at(wheel_a));
          const Vector3d vb = unit(b).cross(contact - at(wheel_b));
          ASSERT_GT(va.norm(), 0.5);
          const int expected = va.dot(vb) > 0 ? 1 : -1;
          EXPECT_EQ(sense(two_shafts(PairType::bevel, a, wheel_a, b, wheel_b)), expected);
          EXPECT_EQ(sense(two_shafts(PairType::crown, a, wheel_a, b, wheel_b)), expected);
        }
      }
    }
  }
}

TEST(Sense, ARightHandedWormPushesTheTeethAgainstItsAdvance) {
  // A right-handed screw that turns positively would advance along its axis; held, it moves what it meets the other
  // way.
  for (const Axis a : lattice::kAxes) {
    for (const Axis b : lattice::kAxes) {
      if (a == b) continue;
      for (const int side : {-1, 1}) {
        const lattice::Point3 worm{3, 5, 7};
        lattice::Point3 wheel = worm;
        wheel.set(lattice::other(a, b), worm.at(lattice::other(a, b)) + 3 * side);
        const Vector3d teeth = unit(b).cross(at(worm) - at(wheel));
        EXPECT_EQ(sense(two_shafts(PairType::worm, a, worm, b, wheel)), teeth.dot(-unit(a)) > 0 ? 1 : -1);
      }
    }
  }
}

TEST(Sense, OutsideMeshesTurnAroundAndInsideOnesDoNot) {
  EXPECT_EQ(sense(two_shafts(PairType::spur, Axis::y, {0, 1, 0}, Axis::y, {4, 1, 0})), -1);
  Case ring = two_shafts(PairType::ring_inner, Axis::z, {0, 0, 1}, Axis::z, {4, 0, 1});
  ring.problem.outputs[0].places[0].ring = 1;
  ring.layout.wheels[1].shaft = -1;
  ring.layout.shafts.pop_back();
  EXPECT_EQ(sense(ring), 1);
  ring.problem.kit.pairs.own()[0].type = PairType::ring_outer;
  EXPECT_EQ(sense(ring), -1);
}

TEST(Sense, IsZeroWhereNoMeshLeads) {
  Case c = two_shafts(PairType::spur, Axis::y, {0, 1, 0}, Axis::y, {4, 1, 0});
  c.layout.meshes.clear();
  EXPECT_EQ(sense(c), 0);
}
