// Torques, forces and efficiencies of trains, against power balance and a hand-worked train.
#include "gearing/train_load.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "gearing/test_kit.h"
#include "gearing/worm.h"

namespace gearing {
namespace {

using stock::ClassId;
using stock::GearForm;

struct Kit {
  stock::Catalogue c = test::empty_kit();
  ClassId z8 = test::add_gear(c, 8), z24 = test::add_gear(c, 24), z40 = test::add_gear(c, 40);
  ClassId b12 = test::add_gear(c, 12, GearForm::bevel), b20 = test::add_gear(c, 20, GearForm::bevel);
  ClassId crown = test::add_gear(c, 24, GearForm::crown);
  ClassId worm = test::add_gear(c, 1, GearForm::worm);
  ClassId ring = test::add_ring(c, 56, 40);
  MeshTable t = find_meshes(c);

  [[nodiscard]] Stage stage(ClassId a, ClassId b, MeshType type) const {
    const int i = t.find(a, b, type);
    EXPECT_GE(i, 0);
    return t.meshes[static_cast<std::size_t>(i)];
  }
  [[nodiscard]] std::vector<Train> trains() const {
    const Stage s1 = stage(z8, z24, MeshType::spur), s2 = stage(z8, z40, MeshType::spur);
    const Stage b = stage(b12, b20, MeshType::bevel), k = stage(z8, crown, MeshType::crown);
    const Stage w = stage(worm, z24, MeshType::worm);
    const Stage ro = stage(z8, ring, MeshType::ring_outer), ri = stage(z8, ring, MeshType::ring_inner);
    return {Train{},           Train{{s1}},        Train{{s1, s2}},       Train{{w}},
            Train{{b, s1, k}}, Train{{w, s1, ri}}, Train{{s2, b, s1, ro}}};
  }
};

const MeshEfficiencies kTypical{0.95, 0.88, 0.85, 0.9, 0.1, 0.03};
const ToothLimits kLimits{30, 0.5, 0.6};

TEST(TrainLoad, HandWorkedTwoStageTrain) {
  const Kit kit;
  const Train train{{kit.stage(kit.z8, kit.z24, MeshType::spur), kit.stage(kit.z8, kit.z40, MeshType::spur)}};
  EXPECT_EQ(train.ratio(), base::Rational(1, 15));
  MeshEfficiencies e;
  e.spur = 0.9;
  // 450 N mm out, no bearing loss: 450 / 5 / 0.9 = 100 on the middle shaft, 100 / 3 / 0.9 = 37.04 at the motor.
  const TrainLoad load = torque_at_stages(train, 450, e, kLimits);
  EXPECT_NEAR(load.shaft_torque_nmm[2], 450, 1e-9);
  EXPECT_NEAR(load.shaft_torque_nmm[1], 100, 1e-9);
  EXPECT_NEAR(load.shaft_torque_nmm[0], 37.037037, 1e-5);
  EXPECT_NEAR(load.input_torque_nmm, 37.037037, 1e-5);
  EXPECT_NEAR(load.tooth_force_n[1], 100.0 / 4, 1e-9);
  EXPECT_NEAR(load.tooth_force_n[0], 37.037037 / 4, 1e-5);
  EXPECT_EQ(load.weakest, 1);
  const double allowed = 30 * 4 * lewis_form_factor(8);
  EXPECT_NEAR(load.worst_tooth_margin, allowed / 25, 1e-9);
  EXPECT_EQ(stage_name(train, load.weakest), "8:40, the last mesh");
  EXPECT_EQ(stage_name(train, 0), "8:24, mesh 1 of 2");
  EXPECT_EQ(train.text(), "8:24, 8:40");
  EXPECT_EQ(train.key(kit.c), "part_0>part_1,part_0>part_2");
  const std::vector<GearUse> uses = train.needs(2);
  ASSERT_EQ(uses.size(), 3u);
  EXPECT_EQ(uses[0], (GearUse{kit.z8, 4}));
  EXPECT_EQ(uses[1], (GearUse{kit.z24, 2}));
  EXPECT_EQ(uses[2], (GearUse{kit.z40, 2}));
}

// Sum in = out + losses, every loss computed from torques and speeds of its own place.
TEST(TrainLoad, PowerBalances) {
  const Kit kit;
  for (const Train& train : kit.trains()) {
    const TrainLoad load = torque_at_stages(train, 200, kTypical, kLimits);
    const std::size_t n = train.stages.size();
    std::vector<double> speed{10.0};
    for (const Stage& s : train.stages) speed.push_back(speed.back() * std::fabs(s.ratio.value()));
    double losses = 0;
    for (std::size_t i = 0; i <= n; ++i) {
      const double into_shaft = load.shaft_torque_nmm[i] / (1 - kTypical.bearing_loss);
      losses += into_shaft * kTypical.bearing_loss * speed[i];
      if (i == n) break;
      losses += load.shaft_torque_nmm[i] * speed[i] * (1 - forward_efficiency(train.stages[i], kTypical));
    }
    const double in = load.input_torque_nmm * speed[0];
    const double out = 200 * speed[n];
    EXPECT_NEAR(in, out + losses, 1e-9 * in) << train.text();
    EXPECT_NEAR(load.efficiency, out / in, 1e-12) << train.text();
    EXPECT_NEAR(output_torque_nmm(train, load.input_torque_nmm, kTypical), 200, 1e-9) << train.text();
  }
}

TEST(TrainLoad, WormForceOnTheWheelAgreesWithTheForcesOfTheWorm) {
  const Kit kit;
  const Train train{{kit.stage(kit.worm, kit.z24, MeshType::worm)}};
  MeshEfficiencies e = kTypical;
  e.bearing_loss = 0;
  const TrainLoad load = torque_at_stages(train, 120, e, kLimits);
  EXPECT_NEAR(load.tooth_force_n[0], 10, 1e-12);
  const Stage& s = train.stages[0];
  const WormForces f =
      worm_forces(load.input_torque_nmm / s.driver_radius_mm, s.lead_angle_rad, s.pressure_angle_rad, e.worm_friction);
  EXPECT_NEAR(f.worm_axial, 10, 1e-9);
}

TEST(TrainLoad, MarginIsOneAtTheToothLimit) {
  const Kit kit;
  for (const Train& train : kit.trains()) {
    const double limit = tooth_torque_limit_nmm(train, kTypical, kLimits);
    if (train.stages.empty()) {
      EXPECT_EQ(limit, std::numeric_limits<double>::infinity());
      continue;
    }
    const TrainLoad load = torque_at_stages(train, limit, kTypical, kLimits);
    EXPECT_NEAR(load.worst_tooth_margin, 1, 1e-12) << train.text();
    double least = 1e300;
    for (std::size_t i = 0; i < train.stages.size(); ++i) least = std::min(least, load.tooth_margin[i]);
    EXPECT_DOUBLE_EQ(load.worst_tooth_margin, least);
    EXPECT_DOUBLE_EQ(load.tooth_margin[static_cast<std::size_t>(load.weakest)], least);
  }
}

TEST(Train, KeyTellsBevelGearsFromBevelledSpurGearsWhereTheTextDoesNot) {
  stock::Catalogue c = test::empty_kit();
  const ClassId a = test::add_gear(c, 12, GearForm::bevel), b = test::add_gear(c, 12, GearForm::spur, true);
  const MeshTable t = find_meshes(c);
  const int bevel[] = {t.find(a, a, MeshType::bevel)}, spur[] = {t.find(b, b, MeshType::bevel)};
  EXPECT_EQ(Train::of(t, bevel).text(), Train::of(t, spur).text());
  EXPECT_EQ(Train::of(t, bevel).key(c), "part_0>part_0:bevel");
  EXPECT_NE(Train::of(t, bevel).key(c), Train::of(t, spur).key(c));
}

TEST(TrainLoad, BevelAndCrownAreWeakerUnlessHeld) {
  const Kit kit;
  const Stage bevel = kit.stage(kit.b12, kit.b20, MeshType::bevel);
  const Stage crown = kit.stage(kit.z8, kit.crown, MeshType::crown);
  const ToothLimits held{30, 1, 1};
  EXPECT_DOUBLE_EQ(allowable_tooth_load_n(bevel, kLimits), 0.5 * allowable_tooth_load_n(bevel, held));
  EXPECT_DOUBLE_EQ(allowable_tooth_load_n(crown, kLimits), 0.6 * allowable_tooth_load_n(crown, held));
}

TEST(HoldingLoad, SpurTrainsBackdriveAndFrictionHelpsTheMotor) {
  const Kit kit;
  const Train train{{kit.stage(kit.z8, kit.z24, MeshType::spur), kit.stage(kit.z8, kit.z40, MeshType::spur)}};
  const HoldingLoad hold = holding_load(train, 450, kTypical, kLimits);
  EXPECT_TRUE(hold.backdrives);
  EXPECT_NEAR(hold.holding_torque_nmm, 450.0 / 15 * 0.95 * 0.95 * 0.97 * 0.97 * 0.97, 1e-9);
  EXPECT_LT(hold.holding_torque_nmm, torque_at_stages(train, 450, kTypical, kLimits).input_torque_nmm);
  // The standing load acts on the driven wheel of the last mesh: 450 / 20 N.
  EXPECT_EQ(hold.weakest, 1);
  EXPECT_NEAR(hold.worst_tooth_margin, 30 * 4 * lewis_form_factor(8) / 22.5, 1e-9);
}

TEST(HoldingLoad, AWormLocksAboveItsThresholdOnly) {
  const Kit kit;
  const Stage worm = kit.stage(kit.worm, kit.z24, MeshType::worm);
  const Train train{{kit.stage(kit.z8, kit.z24, MeshType::spur), worm, kit.stage(kit.z8, kit.z40, MeshType::spur)}};
  const double threshold = worm_locking_friction(worm.lead_angle_rad, worm.pressure_angle_rad);
  MeshEfficiencies e = kTypical;
  e.worm_friction = threshold * 1.001;
  EXPECT_FALSE(backdrives(train, e));
  const HoldingLoad locked = holding_load(train, 450, e, kLimits);
  EXPECT_FALSE(locked.backdrives);
  EXPECT_EQ(locked.holding_torque_nmm, 0);
  EXPECT_GT(locked.worst_tooth_margin, 0);
  e.worm_friction = threshold * 0.9;
  EXPECT_TRUE(backdrives(train, e));
  EXPECT_GT(holding_load(train, 450, e, kLimits).holding_torque_nmm, 0);
}

TEST(HoldingLoad, TeethBehindALockedWormCarryNothing) {
  const Kit kit;
  MeshEfficiencies e = kTypical;
  e.worm_friction = 0.3;
  const Stage worm = kit.stage(kit.worm, kit.z24, MeshType::worm);
  const Stage up = kit.stage(kit.z40, kit.z8, MeshType::spur);  // steps up: would be the weakest if it were loaded
  const double alone = holding_load(Train{{worm}}, 300, e, kLimits).worst_tooth_margin;
  EXPECT_DOUBLE_EQ(holding_load(Train{{up, worm}}, 300, e, kLimits).worst_tooth_margin, alone);
}

}  // namespace
}  // namespace gearing
