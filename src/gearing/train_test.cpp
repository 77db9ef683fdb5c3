// Exact ratios of simple, compound, reverted and epicyclic trains against published cases.
#include "gearing/train.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/check.h"
#include "gearing/epicyclic.h"
#include "gearing/involute.h"
#include "gearing/test_kit.h"

namespace gearing {
namespace {

using base::Rational;

// TRAIN-01. Shigley, Mechanical Engineering Design, Example 13-3 (from memory).
TEST(CompoundTrain, TwoEqualStagesNearThirtyToOne) {
  const double stage = std::sqrt(30.0);
  EXPECT_NEAR(stage, 5.4772, 1e-4);
  const int gear = static_cast<int>(std::lround(16 * stage));
  EXPECT_EQ(gear, 88);
  const TeethPair stages[] = {{16, gear}, {16, gear}};
  EXPECT_EQ(train_ratio(stages).inverse(), Rational(121, 4));  // 30.25
  const auto most = most_gear_teeth(iso53_profile_a(1), 16);
  ASSERT_TRUE(most.has_value());
  EXPECT_GT(*most, gear) << "16-tooth pinions carry the gear without interference";
}

// TRAIN-02. Shigley, Example 13-4 (from memory).
TEST(CompoundTrain, ThirtyToOneExactlyAsSixTimesFive) {
  const TeethPair stages[] = {{16, 96}, {16, 80}};
  EXPECT_EQ(train_ratio(stages), Rational(1, 30));
}

// TRAIN-03. Shigley, Example 13-5 (from memory): fewest interference-free teeth for 6 is 16, for 5 it is 16.
TEST(RevertedTrain, SmallestForThirtyToOne) {
  const ToothSystem s = iso53_profile_a(1);
  const int fewest6 = static_cast<int>(std::ceil(fewest_teeth_with_gear(s, 6)));
  const int fewest5 = static_cast<int>(std::ceil(fewest_teeth_with_gear(s, 5)));
  const auto train = smallest_reverted_train(Rational(6), Rational(5), fewest6, fewest5);
  ASSERT_TRUE(train.has_value());
  EXPECT_EQ(*train, (RevertedTrain{18, 108, 21, 105}));
  EXPECT_EQ(train->driver1 + train->driven1, 126);
  EXPECT_EQ(train->driver2 + train->driven2, 126);
  const TeethPair stages[] = {{train->driver1, train->driven1}, {train->driver2, train->driven2}};
  EXPECT_EQ(train_ratio(stages), Rational(1, 30));
}

TEST(RevertedTrain, IsSmallestByBruteForce) {
  for (const auto& [i1, i2] : {std::pair{Rational(3), Rational(4)}, std::pair{Rational(5, 2), Rational(7, 3)}}) {
    const auto found = smallest_reverted_train(i1, i2, 12, 12);
    ASSERT_TRUE(found.has_value());
    bool met = false;
    for (int z1 = 12; z1 <= 60 && !met; ++z1) {
      for (int z3 = 12; z3 <= 60 && !met; ++z3) {
        const Rational z2 = i1 * Rational(z1), z4 = i2 * Rational(z3);
        if (z2.den() != 1 || z4.den() != 1 || z1 + z2.num() != z3 + z4.num()) continue;
        met = true;
        EXPECT_EQ(z1, found->driver1);
        EXPECT_EQ(z3, found->driver2);
      }
    }
    EXPECT_TRUE(met);
  }
  EXPECT_FALSE(smallest_reverted_train(Rational(997, 991), Rational(2), 12, 12, 100).has_value());
}

// TRAIN-04. Shigley, Example 13-6 (from memory): clockwise negative.
TEST(Planetary, RingHeldMatchesShigley) {
  const Planetary set{20, 30, 80};
  EXPECT_TRUE(set.coaxial());
  EXPECT_EQ(set.basic_ratio(), Rational(-1, 4));
  const Rational arm = arm_speed(set.basic_ratio(), Rational(-100), Rational(0));
  EXPECT_EQ(arm, Rational(-20));
  EXPECT_NEAR(set.planet_speed(Rational(-100), arm).value(), 33.333, 1e-3);
  EXPECT_EQ(set.planet_speed(Rational(-100), arm), Rational(100, 3));
  EXPECT_EQ(planetary_ratio(set, Member::sun, Member::arm, Member::ring).inverse(), Rational(5));
}

// TRAIN-05. Khurmi & Gupta, Theory of Machines, Example 13.1, p. 432.
TEST(CompoundTrain, MatchesKhurmisLineShafts) {
  const TeethPair stages[] = {{20, 50}, {25, 75}, {26, 65}};
  EXPECT_EQ((train_ratio(stages) * Rational(975)).abs(), Rational(52));
}

// TRAIN-06. Khurmi & Gupta, Example 13.4: arm + 150, A 36 teeth, B 45 teeth, external.
TEST(Epicyclic, PairOnAnArmMatchesKhurmi) {
  const Rational e(-36, 45);
  EXPECT_EQ(last_speed(e, Rational(0), Rational(150)), Rational(270));
  EXPECT_EQ(last_speed(e, Rational(-300), Rational(150)), Rational(510));
}

// TRAIN-08. Norton, Design of Machinery, epicyclic section (from memory): Ferguson's paradox.
TEST(Epicyclic, FergusonsParadox) {
  // Sun 100 held -> idler -> other sun: two external meshes, so the basic ratio is 100 / z whatever the idler.
  for (const auto& [z, expected] : {std::pair{99, -1.0101}, std::pair{101, 0.9901}}) {
    const int row[] = {100, 20, z};
    EXPECT_EQ(row_ratio(row), Rational(100, z));
    EXPECT_NEAR(last_speed(row_ratio(row), Rational(0), Rational(100)).value(), expected, 1e-4);
  }
}

// TRAIN-09. "Epicyclic gears worked examples", Problem 1 (studylib.net document 26184123).
TEST(Planetary, FixedInternalGearMatchesTheWorkedExample) {
  const Planetary set{32, 20, 72};
  EXPECT_TRUE(set.coaxial()) << "planet of 20 teeth";
  const Rational sun = first_speed(set.basic_ratio(), Rational(0), Rational(18));
  EXPECT_EQ(sun, Rational(117, 2));                                   // 58.5
  EXPECT_EQ(set.planet_speed(sun, Rational(18)), Rational(-234, 5));  // -46.8
}

// TRAIN-10. Khurmi & Gupta, Example 13.2, p. 433.
TEST(WholeTeeth, NearTheWantedShaftDistance) {
  const WholeTeethPair p = nearest_whole_teeth(Rational(360, 120), 25, 600);
  EXPECT_EQ(p.driver, 38);
  EXPECT_EQ(p.driven, 114);
  EXPECT_NEAR(p.driver_diameter_mm, 302.39, 0.01);
  EXPECT_NEAR(p.driven_diameter_mm, 907.18, 0.01);
  EXPECT_NEAR(p.distance_mm, 604.79, 0.01);
}

TEST(RowOfGears, IdlersChangeTheSenseOnly) {
  const int one[] = {12, 20, 36};
  const int two[] = {12, 20, 8, 36};
  EXPECT_EQ(row_ratio(one), Rational(1, 3));
  EXPECT_EQ(row_ratio(two), Rational(-1, 3));
}

TEST(RowOfGears, AnIdlerOfATrainCountsOnceAndGoesAgain) {
  stock::Catalogue c = test::empty_kit();
  const stock::ClassId eight = test::add_gear(c, 8), sixteen = test::add_gear(c, 16), other = test::add_gear(c, 24);
  const MeshTable table = find_meshes(c);
  const auto mesh = [&](stock::ClassId a, stock::ClassId b) { return table.find(a, b, MeshType::spur); };
  ASSERT_GE(mesh(eight, sixteen), 0);
  ASSERT_GE(mesh(eight, other), 0);
  const int row[] = {mesh(eight, other), mesh(eight, sixteen), mesh(sixteen, other)};
  Train train = Train::of(table, row);
  EXPECT_EQ(train.text(), "8:24, 8:16, 16:24");
  EXPECT_EQ(train.needs(2), (std::vector<GearUse>{{eight, 4}, {sixteen, 4}, {other, 4}}));
  train.idlers = {2};
  EXPECT_TRUE(train.over_idler(2));
  EXPECT_FALSE(train.over_idler(1));
  EXPECT_EQ(train.text(), "8:24, 8:16:24");
  EXPECT_EQ(train.key(c), "part_0>part_2,part_0>part_1>part_2");
  EXPECT_EQ(train.needs(2), (std::vector<GearUse>{{eight, 4}, {sixteen, 2}, {other, 4}}));
  EXPECT_EQ(train.ratio(), Rational(-1, 9)) << "three meshes";
  const std::optional<Train> without = train.without_idlers(table);
  ASSERT_TRUE(without.has_value());
  EXPECT_EQ(without->text(), "8:24, 8:24");
  EXPECT_EQ(without->ratio(), Rational(1, 9)) << "the idler only turned the sense";
  EXPECT_EQ(without->without_idlers(table)->text(), without->text());
}

TEST(MeshRatio, SignsFollowTheTypes) {
  EXPECT_EQ(mesh_ratio(MeshType::spur, 8, 24), Rational(-1, 3));
  EXPECT_EQ(mesh_ratio(MeshType::bevel, 12, 20), Rational(-3, 5));
  EXPECT_EQ(mesh_ratio(MeshType::crown, 8, 24), Rational(-1, 3));
  EXPECT_EQ(mesh_ratio(MeshType::worm, 1, 24), Rational(1, 24));
  EXPECT_EQ(mesh_ratio(MeshType::ring_outer, 12, 60), Rational(-1, 5));
  EXPECT_EQ(mesh_ratio(MeshType::ring_inner, 8, 40), Rational(1, 5));
}

TEST(Planetary, EveryMemberHeldAgreesWithTheSpeedsOfTheMeshes) {
  // Independent route: pitch-line speeds. At the sun mesh (w_s - w_a) z_s = -(w_p - w_a) z_p; at the ring mesh
  // (w_p - w_a) z_p = (w_r - w_a) z_r.
  const Planetary set{12, 8, 28};
  ASSERT_TRUE(set.coaxial());
  const Member members[] = {Member::sun, Member::arm, Member::ring};
  for (const Member in : members) {
    for (const Member out : members) {
      if (in == out) continue;
      const Member held = members[3 - static_cast<int>(in) - static_cast<int>(out)];
      Rational speed[3] = {};
      speed[static_cast<int>(in)] = Rational(1);
      speed[static_cast<int>(held)] = Rational(0);
      speed[static_cast<int>(out)] = planetary_ratio(set, in, out, held);
      const Rational planet = set.planet_speed(speed[0], speed[1]);
      EXPECT_EQ((speed[0] - speed[1]) * Rational(12), -((planet - speed[1]) * Rational(8)));
      EXPECT_EQ((planet - speed[1]) * Rational(8), (speed[2] - speed[1]) * Rational(28));
    }
  }
  EXPECT_TRUE(set.planets_fit(4));
  EXPECT_FALSE(set.planets_fit(3));
}

TEST(Planetary, TorquesBalanceAndConservePower) {
  const Planetary set{20, 30, 80};
  const PlanetaryTorques t = planetary_torques(set, 7);
  EXPECT_NEAR(t.sun_nmm + t.arm_nmm + t.ring_nmm, 0, 1e-12);
  // Any consistent speeds: sun 3, ring -1.
  const Rational arm = arm_speed(set.basic_ratio(), Rational(3), Rational(-1));
  EXPECT_NEAR(t.sun_nmm * 3 - t.ring_nmm + t.arm_nmm * arm.value(), 0, 1e-12);
}

TEST(Differential, CageTurnsAtTheMean) {
  EXPECT_EQ(differential_cage_speed(Rational(10), Rational(4)), Rational(7));
  EXPECT_EQ(differential_cage_speed(Rational(5), Rational(-5)), Rational(0));
}

TEST(Train, DirectDriveHasRatioOneAndOneShaft) {
  const Train direct;
  EXPECT_EQ(direct.ratio(), Rational(1));
  EXPECT_EQ(direct.shafts(), 1);
  EXPECT_EQ(direct.text(), "direct");
  EXPECT_TRUE(direct.needs().empty());
}

}  // namespace
}  // namespace gearing
