// Which pairs the lattice holds, and what is said about the others.
#include "gearing/mesh.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "gearing/involute.h"
#include "gearing/test_kit.h"
#include "gearing/tooth.h"

namespace gearing {
namespace {

using base::Rational;
using stock::ClassId;
using stock::GearForm;
using test::add_gear;
using test::add_ring;

const MeshRejection* rejection_of(const MeshTable& t, ClassId driver, ClassId driven, MeshType type) {
  for (const MeshRejection& r : t.rejections) {
    if (r.driver == driver && r.driven == driven && r.type == type) return &r;
  }
  return nullptr;
}

TEST(FindMeshes, KnowsTheStraightPairsOfAnEightMillimetreLattice) {
  stock::Catalogue c = test::empty_kit();
  const ClassId z8 = add_gear(c, 8), z24 = add_gear(c, 24), z40 = add_gear(c, 40);
  const MeshTable t = find_meshes(c);
  for (const auto& [a, b, mm] : {std::tuple{z8, z8, 8.0}, std::tuple{z8, z24, 16.0}, std::tuple{z24, z24, 24.0},
                                 std::tuple{z8, z40, 24.0}, std::tuple{z24, z40, 32.0}}) {
    const int i = t.find(a, b, MeshType::spur);
    ASSERT_GE(i, 0);
    const Mesh& m = t.meshes[static_cast<std::size_t>(i)];
    EXPECT_DOUBLE_EQ(m.centre_distance_mm, mm);
    EXPECT_EQ(m.misfit_mm, 0);
    EXPECT_TRUE(m.offset.straight());
    EXPECT_DOUBLE_EQ(m.offset.distance_mm, mm);
    EXPECT_GE(t.find(b, a, MeshType::spur), 0) << "both ways round";
  }
}

TEST(FindMeshes, OffersObliqueDistancesWithTheirMisfit) {
  stock::Catalogue c = test::empty_kit();
  const ClassId z20 = add_gear(c, 20);
  const MeshTable t = find_meshes(c);
  const int i = t.find(z20, z20, MeshType::spur);
  // 20 mm = 5 half-pitches straight, and 3-4-5 gives the same distance obliquely.
  ASSERT_GE(i, 0);
  const auto& offsets = t.offsets[static_cast<std::size_t>(i)];
  ASSERT_EQ(offsets.size(), 2u);
  EXPECT_EQ(offsets[0].dx_hp, 5);
  EXPECT_EQ(offsets[1].dx_hp, 4);
  EXPECT_EQ(offsets[1].dz_hp, 3);
}

TEST(FindMeshes, SaysHowFarOffAPairIs) {
  stock::Catalogue c = test::empty_kit();
  const ClassId z8 = add_gear(c, 8), z12 = add_gear(c, 12);
  const MeshTable t = find_meshes(c, MeshOptions{0.15, 1.0});
  EXPECT_EQ(t.find(z8, z12, MeshType::spur), -1);
  const MeshRejection* r = rejection_of(t, z8, z12, MeshType::spur);
  ASSERT_NE(r, nullptr);
  EXPECT_EQ(r->code, "misfit");
  EXPECT_DOUBLE_EQ(r->wanted_mm, 10);
  EXPECT_NEAR(r->nearest_mm, 4 * std::sqrt(6.0), 4);
  EXPECT_NEAR(r->misfit_mm, std::fabs(r->nearest_mm - 10), 1e-12);
  // (2, 1) half-pitches: 4 sqrt(5) = 8.944; (2, 2): 11.31. 10 mm lies between.
  EXPECT_EQ(r->text, "8:12 needs 10 mm, nearest lattice distance 8.944 mm is 1.06 mm off");
}

TEST(FindMeshes, OffsetsAreExactlyThoseWithinTheMisfitByBruteForce) {
  stock::Catalogue c = test::empty_kit();
  for (int z = 7; z <= 48; z += 3) add_gear(c, z);
  const MeshTable t = find_meshes(c);
  std::size_t met = 0;
  for (std::size_t a = 0; a < c.classes.size(); ++a) {
    for (std::size_t b = 0; b < c.classes.size(); ++b) {
      const double want =
          (std::get<stock::Gear>(c.classes[a].data).teeth + std::get<stock::Gear>(c.classes[b].data).teeth) / 2.0;
      std::size_t fits = 0;
      for (int x = 0; x < 30; ++x) {
        for (int z = 0; z <= x; ++z) fits += std::fabs(4 * std::hypot(x, z) - want) <= 0.2 + 1e-9;
      }
      const int i = t.find(ClassId{static_cast<int>(a)}, ClassId{static_cast<int>(b)}, MeshType::spur);
      EXPECT_EQ(i >= 0, fits > 0) << want;
      if (i < 0) continue;
      ++met;
      EXPECT_EQ(t.offsets[static_cast<std::size_t>(i)].size(), fits);
      EXPECT_NEAR(t.meshes[static_cast<std::size_t>(i)].misfit_mm,
                  std::fabs(t.meshes[static_cast<std::size_t>(i)].offset.distance_mm - want), 1e-9);
    }
  }
  EXPECT_EQ(met, t.meshes.size());
  EXPECT_GT(met, 10u);
  EXPECT_EQ(t.meshes.size() + t.rejections.size(), c.classes.size() * c.classes.size());
}

TEST(FindMeshes, RejectsAPairWhoseTeethWouldLoseContact) {
  stock::Catalogue c = test::empty_kit();
  const ClassId z16 = add_gear(c, 16), z25 = add_gear(c, 25);
  // 20.5 mm wanted; the lattice offers 4 sqrt(26) = 20.396 and 4 sqrt(29) = 21.541; allow everything within 1.1 mm
  // below.
  MeshOptions strict{0.2, 1.7};
  const MeshTable t = find_meshes(c, strict);
  EXPECT_EQ(t.find(z16, z25, MeshType::spur), -1);
  const MeshRejection* r = rejection_of(t, z16, z25, MeshType::spur);
  ASSERT_NE(r, nullptr);
  EXPECT_EQ(r->code, "contact");
  EXPECT_NEAR(r->contact_ratio, contact_at(16, 25, 4 * std::sqrt(26.0), iso53_profile_a(1)).contact_ratio, 1e-12);
}

TEST(FindMeshes, RightAnglesNeedTheProperForms) {
  stock::Catalogue c = test::empty_kit();
  const ClassId spur = add_gear(c, 24);
  const ClassId both1 = add_gear(c, 12, GearForm::spur, true), both2 = add_gear(c, 20, GearForm::spur, true);
  const ClassId bevel1 = add_gear(c, 12, GearForm::bevel), bevel2 = add_gear(c, 20, GearForm::bevel);
  const ClassId crown = add_gear(c, 24, GearForm::crown);
  const MeshTable t = find_meshes(c);
  EXPECT_GE(t.find(both1, both2, MeshType::bevel), 0);
  EXPECT_GE(t.find(bevel1, bevel2, MeshType::bevel), 0);
  EXPECT_GE(t.find(bevel1, bevel1, MeshType::bevel), 0);
  EXPECT_EQ(t.find(spur, both1, MeshType::bevel), -1);
  EXPECT_EQ(t.find(bevel1, both1, MeshType::bevel), -1);
  EXPECT_GE(t.find(spur, crown, MeshType::crown), 0);
  EXPECT_GE(t.find(crown, spur, MeshType::crown), 0);
  EXPECT_EQ(t.find(crown, crown, MeshType::crown), -1);
  for (const Mesh& m : t.meshes) {
    if (m.type != MeshType::bevel && m.type != MeshType::crown) continue;
    EXPECT_EQ(m.centre_distance_mm, 0);
    EXPECT_EQ(m.misfit_mm, 0);
    EXPECT_DOUBLE_EQ(m.nominal_support, m.type == MeshType::bevel ? 0.5 : 0.6);
  }
}

TEST(FindMeshes, AWormDrivesAndNeedsAStraightDistance) {
  stock::Catalogue c = test::empty_kit();
  const ClassId worm = add_gear(c, 1, GearForm::worm);
  const ClassId z24 = add_gear(c, 24), z16 = add_gear(c, 16), z20 = add_gear(c, 20), z10 = add_gear(c, 10);
  const MeshTable t = find_meshes(c);
  const int i = t.find(worm, z24, MeshType::worm);
  ASSERT_GE(i, 0);
  const Mesh& m = t.meshes[static_cast<std::size_t>(i)];
  EXPECT_DOUBLE_EQ(m.centre_distance_mm, 16);
  EXPECT_EQ(m.ratio, Rational(1, 24));
  EXPECT_NEAR(std::tan(m.lead_angle_rad), 1.0 / 8, 1e-12);
  EXPECT_EQ(t.find(z24, worm, MeshType::worm), -1);
  EXPECT_GE(t.find(worm, z16, MeshType::worm), 0) << "12 mm is three half-pitches";
  EXPECT_EQ(t.find(worm, z20, MeshType::worm), -1);
  EXPECT_EQ(rejection_of(t, worm, z20, MeshType::worm)->text.substr(0, 24), "worm 1:20 needs 14 mm, n");
  // 9 mm: the oblique (2, 1) is near, but crossing shafts can only stand straight over each other.
  EXPECT_EQ(t.find(worm, z10, MeshType::worm), -1);
  EXPECT_DOUBLE_EQ(rejection_of(t, worm, z10, MeshType::worm)->nearest_mm, 8);
}

TEST(FindMeshes, DrivesRingsFromOutsideAndInside) {
  stock::Catalogue c = test::empty_kit();
  const ClassId z8 = add_gear(c, 8), z12 = add_gear(c, 12), z32 = add_gear(c, 32);
  const ClassId ring = add_ring(c, 56, 40);
  const MeshTable t = find_meshes(c);
  const int outer = t.find(z8, ring, MeshType::ring_outer);
  const int inner = t.find(z8, ring, MeshType::ring_inner);
  ASSERT_GE(outer, 0);
  ASSERT_GE(inner, 0);
  EXPECT_DOUBLE_EQ(t.meshes[static_cast<std::size_t>(outer)].centre_distance_mm, 32);
  EXPECT_DOUBLE_EQ(t.meshes[static_cast<std::size_t>(inner)].centre_distance_mm, 16);
  EXPECT_EQ(t.meshes[static_cast<std::size_t>(outer)].ratio, Rational(-1, 7));
  EXPECT_EQ(t.meshes[static_cast<std::size_t>(inner)].ratio, Rational(1, 5));
  EXPECT_EQ(t.find(ring, z8, MeshType::ring_outer), -1);
  EXPECT_EQ(rejection_of(t, z32, ring, MeshType::ring_inner)->code, "ring_too_small");
  EXPECT_NE(rejection_of(t, z12, ring, MeshType::ring_inner), nullptr) << "14 mm is not on the lattice";
}

TEST(FindMeshes, StrengthComesFromTheWeakerSide) {
  stock::Catalogue c = test::empty_kit();
  const ClassId thick = add_gear(c, 8, GearForm::spur, false, 8.0);
  const ClassId thin = add_gear(c, 24, GearForm::spur, false, 3.5);
  const MeshTable t = find_meshes(c);
  const Mesh& m = t.meshes[static_cast<std::size_t>(t.find(thick, thin, MeshType::spur))];
  EXPECT_NEAR(m.lewis_area_mm2, 3.5 * 1.0 * lewis_form_factor(8), 1e-12);
}

TEST(FindMeshes, SmallGearsCarryTheInterferenceFlag) {
  stock::Catalogue c = test::empty_kit();
  const ClassId z8 = add_gear(c, 8), z24 = add_gear(c, 24);
  const MeshTable t = find_meshes(c);
  const Mesh& m = t.meshes[static_cast<std::size_t>(t.find(z8, z24, MeshType::spur))];
  EXPECT_TRUE(m.cut_by_interference);
  EXPECT_LT(m.usable_contact_ratio, m.contact_ratio);
  EXPECT_FALSE(t.meshes[static_cast<std::size_t>(t.find(z24, z24, MeshType::spur))].cut_by_interference);
}

TEST(FindMeshes, PassesOverOtherFamiliesAndTooFewTeeth) {
  stock::Catalogue c = test::empty_kit();
  test::add(c, stock::Family::axle, stock::Axle{4});
  const ClassId z6 = add_gear(c, 6), z10 = add_gear(c, 10);
  const MeshTable t = find_meshes(c);
  EXPECT_EQ(t.find(z6, z10, MeshType::spur), -1) << "8 mm would fit, but 6 teeth have no strength figure";
  EXPECT_EQ(rejection_of(t, z6, z10, MeshType::spur)->code, "too_few_teeth");
  for (const Mesh& m : t.meshes) EXPECT_NE(stock::index(m.driver), 0);
}

TEST(FindMeshes, DoesNotDependOnTheOrderOfTheList) {
  stock::Catalogue c = test::empty_kit();
  std::vector<ClassId> ids;
  for (const int z : {8, 12, 16, 20, 24, 40}) ids.push_back(add_gear(c, z, GearForm::spur, z % 3 == 0));
  const MeshTable a = find_meshes(c, ids);
  std::reverse(ids.begin(), ids.end());
  ids.push_back(ids.front());
  const MeshTable b = find_meshes(c, ids);
  ASSERT_EQ(a.meshes.size(), b.meshes.size());
  for (std::size_t i = 0; i < a.meshes.size(); ++i) {
    EXPECT_EQ(a.meshes[i].driver, b.meshes[i].driver);
    EXPECT_EQ(a.meshes[i].driven, b.meshes[i].driven);
    EXPECT_EQ(a.meshes[i].type, b.meshes[i].type);
  }
}

}  // namespace
}  // namespace gearing
