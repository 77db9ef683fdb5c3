// Tooth geometry against published figures, and contact ratios against a construction of the touching flanks.
#include "gearing/involute.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace gearing {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kDegree = kPi / 180;
constexpr double kInch = 25.4;

ToothSystem at_angle(double degrees) {
  ToothSystem s = iso53_profile_a(1.0);
  s.pressure_angle_rad = degrees * kDegree;
  return s;
}

// GEAR-01. ISO 53:1998, profile A (fillet radius from memory).
TEST(BasicRack, HasTheProportionsOfIso53ProfileA) {
  for (const double m : {1.0, 2.5}) {
    const RackProportions p = rack_proportions(iso53_profile_a(m));
    EXPECT_DOUBLE_EQ(p.addendum_mm, 1.00 * m);
    EXPECT_DOUBLE_EQ(p.dedendum_mm, 1.25 * m);
    EXPECT_DOUBLE_EQ(p.clearance_mm, 0.25 * m);
    EXPECT_DOUBLE_EQ(p.depth_mm, 2.25 * m);
    EXPECT_DOUBLE_EQ(p.fillet_mm, 0.38 * m);
  }
}

// GEAR-02. ISO 53 proportions, module 1 (recomputed).
TEST(GearDiameters, FollowIso53AtModuleOne) {
  struct Row {
    int z;
    double d, da, df, db;
  };
  for (const Row& r : {Row{10, 10, 12, 7.5, 9.39693}, Row{16, 16, 18, 13.5, 15.03508}, Row{20, 20, 22, 17.5, 18.79385},
                       Row{24, 24, 26, 21.5, 22.55262}, Row{40, 40, 42, 37.5, 37.58770}}) {
    const GearDiameters g = external_diameters(r.z, iso53_profile_a(1.0));
    EXPECT_NEAR(g.pitch_mm, r.d, 1e-5);
    EXPECT_NEAR(g.tip_mm, r.da, 1e-5);
    EXPECT_NEAR(g.root_mm, r.df, 1e-5);
    EXPECT_NEAR(g.base_mm, r.db, 1e-5);
  }
}

TEST(GearDiameters, OfAnInternalGearTurnInsideOut) {
  const GearDiameters g = internal_diameters(60, iso53_profile_a(1.0));
  EXPECT_DOUBLE_EQ(g.tip_mm, 58);
  EXPECT_DOUBLE_EQ(g.root_mm, 62.5);
}

// GEAR-03 and GEAR-04. R. L. Norton, Design of Machinery, Example 9-1 (from memory).
TEST(ContactRatio, MatchesNortonsGearsetAndItsSpreading) {
  const ToothSystem s = iso53_profile_a(kInch / 6);
  const GearDiameters pinion = external_diameters(19, s);
  const GearDiameters gear = external_diameters(37, s);
  EXPECT_NEAR(pinion.pitch_mm / kInch, 3.1667, 0.0002);
  EXPECT_NEAR(gear.pitch_mm / kInch, 6.1667, 0.0002);
  EXPECT_NEAR(pinion.tip_mm / kInch, 3.5, 0.0002);
  EXPECT_NEAR(gear.tip_mm / kInch, 6.5, 0.0002);
  EXPECT_NEAR(kPi * s.module_mm / kInch, 0.5236, 0.0002);
  EXPECT_NEAR(kPi * s.module_mm * std::cos(s.pressure_angle_rad) / kInch, 0.4920, 0.0002);
  const double a = standard_distance_mm(19, 37, s.module_mm);
  EXPECT_NEAR(a / kInch, 4.6667, 0.0002);
  EXPECT_NEAR(contact_at(19, 37, a, s).contact_ratio, 1.6209, 0.0002);
  const Contact spread = contact_at(19, 37, 1.02 * a, s);
  EXPECT_NEAR(spread.working_angle_rad / kDegree, 22.888, 0.005);
  EXPECT_NEAR(spread.contact_ratio, 1.1022, 0.0005);
}

// GEAR-05. Shigley (Budynas & Nisbett), Mechanical Engineering Design, Example 13-1; exact 22.601 deg, the book rounds.
TEST(WorkingAngle, MatchesShigleysEnlargedCentreDistance) {
  const ToothSystem s = iso53_profile_a(kInch / 2);
  const double a = standard_distance_mm(16, 40, s.module_mm);
  EXPECT_NEAR(a / kInch, 14.0, 0.0005);
  EXPECT_NEAR(kPi * s.module_mm / kInch, 1.5708, 0.0005);
  EXPECT_NEAR(external_diameters(16, s).base_mm / 2 / kInch, 3.7588, 0.0005);
  EXPECT_NEAR(external_diameters(40, s).base_mm / 2 / kInch, 9.3969, 0.0005);
  const double spread = a + 0.25 * kInch;
  const Contact c = contact_at(16, 40, spread, s);
  EXPECT_NEAR(c.working_angle_rad / kDegree, 22.601, 0.005);
  const ShiftedPair p = shifted_pair(16, 40, spread, 0, s);
  EXPECT_NEAR(p.pinion_working_mm / kInch, 8.1429, 0.0005);
  EXPECT_NEAR(p.gear_working_mm / kInch, 20.3571, 0.0005);
}

// GEAR-06. Involute formula; values as in gear makers' handbooks (recomputed).
TEST(ContactRatio, OfStandardPairs) {
  const ToothSystem s = iso53_profile_a(1.0);
  struct Row {
    int z1, z2;
    double ratio;
  };
  for (const Row& r : {Row{17, 17, 1.5148}, Row{20, 20, 1.5568}, Row{25, 25, 1.6117}, Row{30, 30, 1.6535},
                       Row{16, 24, 1.5503}, Row{20, 40, 1.6352}, Row{50, 50, 1.7547}, Row{100, 100, 1.8525}}) {
    const Contact c = contact_at(r.z1, r.z2, standard_distance_mm(r.z1, r.z2, 1.0), s);
    EXPECT_NEAR(c.contact_ratio, r.ratio, 0.0002) << r.z1 << ":" << r.z2;
    EXPECT_FALSE(c.cut_by_interference);
    EXPECT_DOUBLE_EQ(c.contact_ratio, c.usable_contact_ratio);
  }
  EXPECT_NEAR(rack_contact(20, s).contact_ratio, 1.7688, 0.0002);
  EXPECT_NEAR(rack_contact(30, s).contact_ratio, 1.8172, 0.0002);
}

// Trap of the check values: in 12/24, 10/20, 10/30 the larger gear's tip passes the interference point.
TEST(ContactRatio, SaysWhenThePlainFormulaCountsAPathThatIsNotThere) {
  const ToothSystem s = iso53_profile_a(1.0);
  for (const auto& [z1, z2] : {std::pair{12, 24}, std::pair{10, 20}, std::pair{10, 30}}) {
    const Contact c = contact_at(z1, z2, standard_distance_mm(z1, z2, 1.0), s);
    EXPECT_TRUE(c.cut_by_interference);
    EXPECT_LT(c.usable_contact_ratio, c.contact_ratio - 0.01);
  }
  EXPECT_TRUE(rack_contact(17, s).cut_by_interference);
  EXPECT_FALSE(rack_contact(18, s).cut_by_interference);
}

// GEAR-07. z = 2 / sin^2(alpha); 32 and 18 as published widely.
TEST(Undercut, FewestTeethWithARack) {
  EXPECT_NEAR(fewest_teeth_with_rack(at_angle(14.5)), 31.90, 0.01);
  EXPECT_NEAR(fewest_teeth_with_rack(at_angle(20)), 17.10, 0.01);
  EXPECT_NEAR(fewest_teeth_with_rack(at_angle(25)), 11.20, 0.01);
}

// GEAR-08. Shigley section 13-7, Eqs 13-10 and 13-11.
TEST(Interference, FewestPinionTeethAgainstAGear) {
  const ToothSystem s = at_angle(20);
  EXPECT_NEAR(fewest_teeth_with_gear(s, 1), 12.32, 0.01);
  EXPECT_NEAR(fewest_teeth_with_gear(s, 3), 14.98, 0.01);
  EXPECT_NEAR(fewest_teeth_with_gear(s, 4), 15.44, 0.01);
}

TEST(Interference, LimitsAgreeWithTheFlagOfTheContact) {
  const ToothSystem s = at_angle(20);
  for (int z1 = 8; z1 <= 20; ++z1) {
    const std::optional<double> most = most_gear_teeth(s, z1);
    for (int z2 = z1; z2 <= 200; ++z2) {
      const bool cut = contact_at(z1, z2, standard_distance_mm(z1, z2, 1.0), s).cut_by_interference;
      EXPECT_EQ(cut, most.has_value() && z2 > *most) << z1 << ":" << z2;
      EXPECT_EQ(cut, z1 < fewest_teeth_with_gear(s, static_cast<double>(z2) / z1)) << z1 << ":" << z2;
    }
  }
}

// GEAR-09. bolsover.com, "Profile shifted external spur gears".
TEST(ProfileShift, MatchesThePublishedPair) {
  const ShiftedPair p = shifted_pair(12, 24, 56.5, 0.60, iso53_profile_a(3.0));
  EXPECT_NEAR(p.shift_sum, 0.9600, 0.001);
  EXPECT_NEAR(involute(20 * kDegree), 0.014904, 1e-6);
  EXPECT_NEAR(involute(p.working_angle_rad), 0.034317, 2e-6);
  EXPECT_NEAR(p.working_angle_rad / kDegree, 26.0888, 0.0005);
  EXPECT_NEAR(p.pinion.base_mm, 33.8289, 0.001);
  EXPECT_NEAR(p.gear.base_mm, 67.6579, 0.001);
  EXPECT_NEAR(p.pinion_working_mm, 37.667, 0.001);
  EXPECT_NEAR(p.gear_working_mm, 75.333, 0.001);
  EXPECT_NEAR(p.pinion.tip_mm, 44.840, 0.001);
  EXPECT_NEAR(p.gear.tip_mm, 79.400, 0.001);
  EXPECT_NEAR(p.pinion.root_mm, 32.100, 0.001);
  EXPECT_NEAR(p.gear.root_mm, 66.660, 0.001);
  EXPECT_NEAR(p.contact_ratio, 1.202, 0.001);
}

// GEAR-10. Involute geometry, 16/24 of module 1 (recomputed).
TEST(ContactRatio, FallsAsTheCentresSpread) {
  const ToothSystem s = iso53_profile_a(1.0);
  struct Row {
    double spread_mm, ratio, angle_deg;
  };
  for (const Row& r : {Row{0, 1.5503, 20.000}, Row{0.1, 1.4531, 20.769}, Row{0.2, 1.3591, 21.505},
                       Row{0.3, 1.2681, 22.210}, Row{0.5, 1.0939, 23.541}}) {
    const Contact c = contact_at(16, 24, 20 + r.spread_mm, s);
    EXPECT_NEAR(c.contact_ratio, r.ratio, 0.0002);
    EXPECT_NEAR(c.working_angle_rad / kDegree, r.angle_deg, 0.001);
  }
  EXPECT_NEAR(spread_at_contact_ratio(16, 24, s), 0.6123, 0.0005);
}

// GEAR-14. B. K. Sarkar, Theory of Machines, ch. 4, illustration 1.
TEST(ArcOfContact, MatchesSarkar) {
  const ToothSystem s = iso53_profile_a(5.0);
  const Contact c = contact_at(48, 30, standard_distance_mm(48, 30, 5.0), s);
  EXPECT_NEAR(c.path_mm, 25.10, 0.01);
  EXPECT_NEAR(c.arc_mm, 26.71, 0.01);
  EXPECT_NEAR(c.contact_ratio, 1.7005, 0.0005);
}

TEST(Involute, InverseUndoesIt) {
  for (double deg = 0.5; deg < 60; deg += 0.5) {
    EXPECT_NEAR(inverse_involute(involute(deg * kDegree)), deg * kDegree, 1e-11) << deg;
  }
  EXPECT_EQ(inverse_involute(0), 0);
}

/// Contact ratio without the formula: points of the pinion's flank (unwound from its base circle, up to its tip) are
/// turned until the numerically found normal passes the working pitch point, as the law of gearing demands of a
/// touching point; the touch counts while it lies on the other gear's flank. The turn between first and last touch,
/// over the pitch angle, is the contact ratio. `internal`: the other gear's centre lies on the same side.
double constructed_ratio(int z1, int z2, double a, const ToothSystem& s, bool internal) {
  const double rb1 = s.module_mm * z1 / 2.0 * std::cos(s.pressure_angle_rad);
  const double ra1 = s.module_mm * (z1 / 2.0 + s.addendum);
  const double ra2 = s.module_mm * (z2 / 2.0 + (internal ? -s.addendum : s.addendum));
  const double pitch_x = internal ? a * z1 / (z2 - z1) : a * z1 / (z1 + z2);
  const double centre_x = internal ? -a : a;
  const auto flank = [rb1](double t, double& x, double& y) {
    x = rb1 * (std::cos(t) + t * std::sin(t));
    y = rb1 * (std::sin(t) - t * std::cos(t));
  };
  const double t_tip = std::sqrt(ra1 * ra1 / (rb1 * rb1) - 1);
  const int steps = 40000;
  double first = 1e9, last = -1e9;
  for (int i = 1; i <= steps; ++i) {
    const double t = t_tip * i / steps;
    double x, y, x0, y0, x1, y1;
    flank(t, x, y);
    const double h = std::min(1e-4, t / 2);
    flank(t - h, x0, y0);
    flank(t + h, x1, y1);
    // Normal line: through (x, y) at right angles to the chord; its foot from the pinion's centre.
    const double len = std::hypot(x1 - x0, y1 - y0);
    const double tx = (x1 - x0) / len, ty = (y1 - y0) / len;
    const double along = x * tx + y * ty;  // distance of the normal from the centre, along the tangent
    if (std::fabs(along) > pitch_x) continue;
    // Turn by phi so that the pitch point (pitch_x, 0) lies on the normal: tangent . P = along.
    const double phi = -std::atan2(ty, tx) + std::acos(along / pitch_x);
    const double px = std::cos(phi) * x - std::sin(phi) * y;
    const double py = std::sin(phi) * x + std::cos(phi) * y;
    const double r2 = std::hypot(px - centre_x, py);
    if (internal ? r2 < ra2 : r2 > ra2) continue;
    first = std::min(first, phi);
    last = std::max(last, phi);
  }
  return (last - first) / (2 * kPi / z1);
}

TEST(ContactRatio, AgreesWithAConstructionOfTouchingFlanks) {
  const ToothSystem s = iso53_profile_a(1.0);
  const double steps_cost = 2e-4;  // the flank is walked in 40000 steps
  for (const auto& [z1, z2] : {std::pair{16, 24}, std::pair{20, 40}, std::pair{17, 17}, std::pair{24, 60}}) {
    for (const double spread : {0.0, 0.15, 0.4}) {
      const double a = standard_distance_mm(z1, z2, 1.0) + spread;
      EXPECT_NEAR(contact_at(z1, z2, a, s).contact_ratio, constructed_ratio(z1, z2, a, s, false), steps_cost)
          << z1 << ":" << z2 << " spread " << spread;
    }
  }
  for (const auto& [z1, z2] : {std::pair{20, 60}, std::pair{24, 80}, std::pair{16, 56}}) {
    const double a = standard_distance_mm(z1, z2, 1.0, Pairing::internal);
    EXPECT_NEAR(contact_at(z1, z2, a, s, Pairing::internal).usable_contact_ratio, constructed_ratio(z1, z2, a, s, true),
                steps_cost)
        << z1 << ":" << z2;
  }
}

// The flank does not exist inside the base circle, so the construction cannot touch beyond the pinion's interference
// point: it must give the usable ratio, not the plain one.
TEST(ContactRatio, UsablePartAgreesWithTheConstructionWhereTeethInterfere) {
  const ToothSystem s = iso53_profile_a(1.0);
  for (const auto& [z1, z2] : {std::pair{12, 24}, std::pair{10, 30}, std::pair{8, 40}}) {
    const double a = standard_distance_mm(z1, z2, 1.0);
    EXPECT_NEAR(contact_at(z1, z2, a, s).usable_contact_ratio, constructed_ratio(z1, z2, a, s, false), 3e-4)
        << z1 << ":" << z2;
  }
}

TEST(Contact, IsNoneWhenTheTeethAreApart) {
  const ToothSystem s = iso53_profile_a(1.0);
  EXPECT_EQ(contact_at(16, 24, 22.5, s).contact_ratio, 0);
  EXPECT_EQ(contact_at(16, 24, 15, s).contact_ratio, 0);
}

// Gear makers' handbooks: with full-depth 20 degree teeth the tips foul below a difference of about 9 (from memory).
TEST(InternalPair, TipsFoulWhenThePinionIsNearlyAsLargeAsTheRing) {
  const ToothSystem s = iso53_profile_a(1.0);
  const auto fouls = [&](int z1, int z2) {
    return internal_tips_foul(z1, z2, standard_distance_mm(z1, z2, 1.0, Pairing::internal), s);
  };
  EXPECT_FALSE(fouls(20, 60));
  EXPECT_FALSE(fouls(8, 24));
  EXPECT_FALSE(fouls(48, 60));
  EXPECT_TRUE(fouls(55, 60));
  EXPECT_TRUE(fouls(57, 60));
}

TEST(Rack, TravelsTheCircumferenceOfThePitchCircle) {
  EXPECT_NEAR(rack_travel_mm(20, 1.0), 62.8319, 1e-4);
}

}  // namespace
}  // namespace gearing
