// Covers how a mirror image's motor is set: against the senses of hand-made layouts and their mirror images.
#include "functions/drive/told_drive.h"

#include <gtest/gtest.h>

#include "routing/sense.h"

namespace drive = functions::drive;
using lattice::Axis;

namespace {

/// Two wheels in mesh on shafts of their own.
int sense(routing::PairType type, Axis a, lattice::Point3 wheel_a, Axis b, lattice::Point3 wheel_b) {
  routing::Problem problem;
  routing::Layout layout;
  problem.kit.wheels.own().resize(2);
  problem.kit.pairs = {{0, 1, type, base::Rational(1), {}}};
  problem.outputs.resize(1);
  problem.outputs[0].places.resize(1);
  layout.place = {0};
  for (int i = 0; i < 2; ++i) {
    const Axis axis = i == 0 ? a : b;
    const lattice::Point3& p = i == 0 ? wheel_a : wheel_b;
    routing::PlacedShaft shaft;
    shaft.axis = axis;
    shaft.at = lattice::across(axis, p);
    shaft.input = i == 0;
    shaft.output = i == 1 ? 0 : -1;
    layout.shafts.push_back(shaft);
    routing::PlacedWheel wheel;
    wheel.wheel = i;
    wheel.shaft = i;
    wheel.axis = axis;
    wheel.at = shaft.at;
    wheel.from_hp = p.at(axis) - 0.5;
    wheel.to_hp = p.at(axis) + 0.5;
    layout.wheels.push_back(wheel);
  }
  layout.meshes = {{0, 0, 1, 0}};
  return routing::output_senses(problem, layout).at(0);
}

/// How the motor of the image in the plane y = 0 is set so that the output moves as the image of the one laid out does.
int image_by_hand(routing::PairType type, Axis a, lattice::Point3 wheel_a, Axis b, lattice::Point3 wheel_b) {
  const auto mirrored = [](lattice::Point3 p) {
    p.y_hp = -p.y_hp;
    return p;
  };
  // A turn is mirrored into the opposite one but about y; a motor's shaft is mirrored only along y.
  const int wanted = sense(type, a, wheel_a, b, wheel_b) * (b == Axis::y ? 1 : -1);
  const int facing = a == Axis::y ? -1 : 1;
  return wanted * facing * sense(type, a, mirrored(wheel_a), b, mirrored(wheel_b));
}

gearing::Train train(std::vector<gearing::MeshType> types) {
  gearing::Train out;
  for (const gearing::MeshType type : types) {
    gearing::Stage stage;
    stage.type = type;
    out.stages.push_back(stage);
  }
  return out;
}

}  // namespace

TEST(ToldDrive, AMirroredMotorIsSetTheOtherWayUnlessAWormTurnsThatRound) {
  using gearing::MeshType;
  using routing::PairType;
  EXPECT_EQ(image_by_hand(PairType::spur, Axis::y, {0, 5, 0}, Axis::y, {4, 5, 0}),
            drive::image_sense(train({MeshType::spur})));
  EXPECT_EQ(image_by_hand(PairType::spur, Axis::x, {0, 5, 0}, Axis::x, {0, 9, 0}),
            drive::image_sense(train({MeshType::spur})));
  for (const Axis a : lattice::kAxes) {
    for (const Axis b : lattice::kAxes) {
      if (a == b) continue;
      lattice::Point3 wheel_a{3, 5, 7}, wheel_b{3, 5, 7}, wheel{3, 5, 7};
      wheel_a.set(a, wheel_a.at(a) + 2);
      wheel_b.set(b, wheel_b.at(b) - 2);
      wheel.set(lattice::other(a, b), wheel.at(lattice::other(a, b)) + 3);
      EXPECT_EQ(image_by_hand(PairType::bevel, a, wheel_a, b, wheel_b), drive::image_sense(train({MeshType::bevel})));
      EXPECT_EQ(image_by_hand(PairType::worm, a, {3, 5, 7}, b, wheel), drive::image_sense(train({MeshType::worm})));
    }
  }
  EXPECT_EQ(drive::image_sense(train({})), -1);
  EXPECT_EQ(drive::image_sense(train({MeshType::spur, MeshType::worm})), 1);
  EXPECT_EQ(drive::image_sense(train({MeshType::worm, MeshType::worm})), -1);
}
