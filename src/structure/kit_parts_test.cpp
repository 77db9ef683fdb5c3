// Covers the parts of the two kit systems in the catalogue as members of a boom.
#include "structure/kit_parts.h"

#include <gtest/gtest.h>

#include <cmath>

#include "stock/catalogue.h"
#include "structure/sample_boom.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

stock::KitSystem system_of(const char* id) {
  document::Diagnostics diagnostics;
  const auto catalogue = stock::load_kit_system(id, std::string(KW_SOURCE_DIR) + "/catalogue", diagnostics);
  EXPECT_TRUE(catalogue.has_value());
  return catalogue->system;
}

}  // namespace

// Second route: M c/I of the upright leg as a rectangle with a hole. What a beam of full thickness would be is no bar.
TEST(KitParts, AnAngleBarCountsAsItsPinnedLeg) {
  stock::KitSystem sheet;
  sheet.pitch_mm = 12.7;
  sheet.axle = {false, 4.06, 0};
  sheet.craft.axle_shear_modulus_mpa.value = base::Triple::exact(80000);
  const BoomParts leg = kit_parts(sheet, full_beam_thickness_p(sheet), {});
  EXPECT_NEAR(leg.beam_thickness_mm, 0.889, 1e-12);
  EXPECT_LT(leg.beam.second_y_mm4, 0.889 * std::pow(12.5, 3) / 12);
  EXPECT_GT(leg.beam.second_y_mm4, 0.889 * (std::pow(12.5, 3) - std::pow(4.2, 3)) / 12 * 0.9);
  sheet.axle.cross = true;
  EXPECT_EQ(full_beam_thickness_p(sheet), 1);
}

TEST(KitParts, MouldedBeamsMatchTheSolidModelsTheTableWasCheckedWith) {
  // Same sizes as the first holed bar in calculix_test.cpp but for the breadth: 7.8 x 7.8, hole 4.9, pitch 8.
  const BoomParts p = kit_parts(system_of("metric8"), 1, {0.27, 0.16, 0.24});
  EXPECT_DOUBLE_EQ(p.beam.area_mm2, holed_section({7.8, 7.8, 4.9, 8}).area_mm2);
  EXPECT_NEAR(p.axle.torsion_mm4, torsion_constant_mm4({Form::cross, 4.8, 1.8}), 1e-12);
  EXPECT_NEAR(p.axle_material.g_mpa, 1000, 1e-9);
  // 2 (1 + 0.35) 1000 MPa = 2.7 GPa, acetal: 2.5 to 3.0 GPa (Engineering Plastics Handbook, Table 5.5).
  EXPECT_NEAR(p.axle_material.e_mpa, 2700, 1e-9);
  EXPECT_NEAR(p.beam_mass_g_mm * 8, 0.27, 1e-12);
}

TEST(KitParts, LevelsMoveStiffnessAndPlayApart) {
  for (const char* id : {"metric8", "half_inch"}) {
    const stock::KitSystem system = system_of(id);
    const double thickness_p = system.axle.cross ? 1 : 0.07;
    const KitMasses masses{0.3, 0.2, 0.25};
    const auto soft = kit_parts(system, thickness_p, masses, Level::low, Level::nominal);
    const auto stiff = kit_parts(system, thickness_p, masses, Level::high, Level::nominal);
    EXPECT_LT(soft.beam_material.e_mpa, stiff.beam_material.e_mpa);
    EXPECT_LT(soft.bedding_mpa, stiff.bedding_mpa);
    EXPECT_DOUBLE_EQ(soft.axle_clearance.diametral_mm, stiff.axle_clearance.diametral_mm);
    const auto loose = kit_parts(system, thickness_p, masses, Level::nominal, Level::high);
    const auto tight = kit_parts(system, thickness_p, masses, Level::nominal, Level::low);
    EXPECT_GT(loose.axle_clearance.diametral_mm, tight.axle_clearance.diametral_mm);
    EXPECT_DOUBLE_EQ(loose.beam_material.e_mpa, tight.beam_material.e_mpa);
    EXPECT_GE(kit_figures(system).assumptions.size(), 4U);
  }
}

// Second route: the moulded pin's ring and the bolt's disc by hand; von Mises of the stress that beams bear.
TEST(KitParts, PinsBearShearAndBendingByTheirSection) {
  const stock::KitSystem moulded = system_of("metric8"), steel = system_of("half_inch");
  const double d = moulded.axle.width_mm, bore = 5 * d / 8, pi = 3.14159265358979;
  const PinStrength m = pin_strength(moulded), s = pin_strength(steel);
  EXPECT_NEAR(m.shear_n.nominal, 22 / 1.7320508 * pi / 4 * (d * d - bore * bore), 1e-4);
  EXPECT_NEAR(m.bending_nmm.nominal, 22 * pi / 32 * (std::pow(d, 4) - std::pow(bore, 4)) / d, 1e-4);
  EXPECT_NEAR(s.shear_n.low, 90 / 1.7320508 * pi / 4 * std::pow(steel.axle.width_mm, 2), 1e-3);
  EXPECT_NEAR(s.bending_nmm.high, 160 * pi / 32 * std::pow(steel.axle.width_mm, 3), 1e-3);
}

TEST(KitParts, BoomsOfBothSystemsStandAndSwayWithTheirPlay) {
  for (const char* id : {"metric8", "half_inch"}) {
    const stock::KitSystem system = system_of(id);
    Boom b = sample::jib();
    const double thickness_p = system.axle.cross ? 1 : 0.07;
    double last = 0;
    for (const Level play : {Level::low, Level::nominal, Level::high}) {
      b.parts = kit_parts(system, thickness_p, {0.3, 0.2, 0.25}, Level::nominal, play);
      b.foot.bearing = b.parts.axle_clearance;
      b.foot.bearing.engaged_mm = b.parts.beam_thickness_mm;
      const BoomReport r = judge(b, sample::jib_load());
      ASSERT_FALSE(r.mechanism) << *r.mechanism;
      EXPECT_GT(r.sway.total, last) << id;
      last = r.sway.total;
    }
  }
}
