// The leg on the lattice and what the machine stands on: geometry by hand, all lengths and holes by brute force, foot
// loads by statics, published margins of a rectangle of feet.
#include "functions/stabiliser/leg.h"

#include <cmath>
#include <numbers>

#include "functions/luff/fixture.h"
#include "functions/stabiliser/stabiliser.h"
#include "functions/stabiliser/stance.h"

namespace functions::stabiliser {
namespace {

using lift_fixture::crane;
using lift_fixture::function;
using lift_fixture::kRad;

struct Found {
  Wants wants;
  Leg leg;
  std::vector<candidate::Rejection> rejections;
};

Found find(const std::string& toml, const brief::Brief& b) {
  brief::Function f = function("stabiliser", toml);
  f.body = -1;
  document::Diagnostics diagnostics;
  const auto wants = read(f, b, diagnostics);
  EXPECT_NE(wants, nullptr) << toml;
  Found out;
  if (!wants) return out;
  out.wants = dynamic_cast<const Wants&>(*wants);
  candidate::RejectionLog log;
  out.leg = find_leg(out.wants, b, f, log);
  out.rejections = log.take();
  return out;
}

TEST(StabiliserLeg, GeometryByHand) {
  // Hip 72 mm out and 44 up, 7 p = 56 mm, foot 4 mm: contact asin(40/56) = 45.585 deg, lifted by 4 mm asin(44/56) =
  // 51.787 deg; foot out 72 + 56 cos 51.787 = 106.641 mm; it slips 56 (cos 45.585 - cos 51.787) = 4.551 mm inward.
  const Found f = find("foot_mm = [64, 108]\nhip_mm = [72, 44]\nleg_p = 7\nclearance_mm = 50\n", crane());
  EXPECT_TRUE(f.rejections.empty());
  EXPECT_NEAR(-f.leg.contact_rad / kRad, 45.585, 1e-3);
  EXPECT_NEAR(-f.leg.deployed_rad / kRad, 51.787, 1e-3);
  EXPECT_NEAR(f.leg.foot_out_mm, 106.641, 1e-3);
  EXPECT_NEAR(f.leg.slip_mm, 4.551, 1e-3);
  // Stowed 50 mm clear: sin = (50 + 4 - 44)/56, 10.287 deg above the horizontal.
  EXPECT_NEAR(f.leg.stowed_rad / kRad, 10.287, 1e-3);
  EXPECT_EQ(f.leg.hip, (lattice::Point3{16, 18, 11}));
  const auto feet = f.leg.feet_mm(f.wants);
  ASSERT_EQ(feet.size(), 2U);
  EXPECT_NEAR(feet[0].y_mm, 106.641, 1e-3);
  EXPECT_EQ(feet[1].y_mm, -feet[0].y_mm);
  EXPECT_EQ(feet[0].x_mm, 64);
}

TEST(StabiliserLeg, WideningEndsAtFirstContact) {
  const Found f = find("foot_mm = [64, 112]\nhip_mm = [72, 44]\nleg_p = 7\nlifts = false\n", crane());
  EXPECT_EQ(f.leg.deployed_rad, f.leg.contact_rad);
  EXPECT_EQ(f.leg.slip_mm, 0);
}

TEST(StabiliserLeg, NearestFootEqualsBruteForce) {
  const brief::Brief b = crane();  // beams of 5, 7 and 9 p; envelope y +-80, z 20 to 100
  for (const double foot_mm : {100.0, 113.0, 124.0}) {
    const Found f = find("foot_mm = [64, " + std::to_string(foot_mm) + "]\nfoot_tolerance_mm = 100\n", b);
    double best = 1e9;
    for (int p = 2; p <= 8; ++p) {
      for (int up_hp = 7; up_hp <= 15; ++up_hp) {
        const double drop = up_hp * 4 - 4 + 4, length = 8 * p;
        if (drop >= length) continue;
        best = std::min(best, std::fabs(72 + std::sqrt(length * length - drop * drop) - foot_mm));
      }
    }
    EXPECT_NEAR(f.leg.foot_miss_mm, best, 1e-9) << foot_mm;
  }
}

TEST(StabiliserLeg, MissesAreToldInMillimetres) {
  // 3 p = 24 mm from a hip 44 mm up ends 44 - 24 = 20 mm above where the lifted foot must be.
  Found f = find("foot_mm = [64, 112]\nhip_mm = [72, 44]\nleg_p = 3\n", crane());
  ASSERT_EQ(f.rejections.size(), 1U);
  EXPECT_EQ(f.rejections[0].code, "stabiliser.leg_too_short");
  EXPECT_NEAR(f.rejections[0].shortfall, 20, 1e-9);
  EXPECT_EQ(f.leg.length_p, 0);
  f = find("foot_mm = [64, 150]\nhip_mm = [72, 44]\n", crane());
  ASSERT_EQ(f.rejections.size(), 1U);
  EXPECT_EQ(f.rejections[0].code, "stabiliser.foot_off");
  // Longest leg 8 p: 72 + sqrt(64^2 - 44^2) = 118.476, 31.524 mm off, 8 allowed.
  EXPECT_NEAR(f.rejections[0].shortfall, 23.524, 1e-3);
  f = find("foot_mm = [64, 108]\nhip_mm = [72, 44]\nleg_p = 7\nclearance_mm = 100\n", crane());
  ASSERT_EQ(f.rejections.size(), 1U);
  EXPECT_EQ(f.rejections[0].code, "stabiliser.stowed_low");
  EXPECT_NEAR(f.rejections[0].shortfall, 4, 1e-6);  // 100 + 4 - 44 - 56
  f = find("foot_mm = [64, 108]\nhip_mm = [72, 44]\nleg_p = 12\n", crane());
  ASSERT_EQ(f.rejections.size(), 1U);
  EXPECT_EQ(f.rejections[0].code, "stabiliser.no_beam");
}

TEST(StabiliserStance, FourFeetShareByStaticsAndSumToTheWeight) {
  const brief::Brief b = crane();
  const Found f = find("foot_mm = [96, 108]\nhip_mm = [72, 44]\nleg_p = 7\nlegs = 4\n", b);
  const Stance s = stance_of(b, f.wants, f.leg, 1);
  ASSERT_EQ(s.foot_n.size(), 4U);
  EXPECT_NEAR(s.weight_n, 1.880 * 9.81, 1e-9);
  EXPECT_NEAR(s.foot_n[0] + s.foot_n[1] + s.foot_n[2] + s.foot_n[3], s.weight_n, 1e-9);
  // Left and right alike, so front and rear share by the lever rule.
  const double x = (1200 * 0 + 500 * -40 + 120 * 130 + 60 * 290) / 1880.0;
  EXPECT_NEAR(s.foot_n[0], s.weight_n / 2 * (96 + x) / 192, 1e-9);
  EXPECT_NEAR(s.foot_n[3], s.weight_n / 2 * (96 - x) / 192, 1e-9);
  EXPECT_NEAR(s.greatest_foot_n, s.foot_n[0], 1e-9);
  EXPECT_NEAR(s.tipping_foot_n, s.weight_n, 1e-12);
  EXPECT_NEAR(s.feet.area_mm2, 192 * 2 * f.leg.foot_out_mm, 1e-6);
  EXPECT_NEAR(s.wheels.area_mm2, 200 * 140, 1e-9);
}

TEST(StabiliserStance, TwoFeetLiftTheirEndAboutTheFarContacts) {
  const brief::Brief b = crane();
  const Found f = find("foot_mm = [-64, 108]\nhip_mm = [72, 44]\nleg_p = 7\n", b);
  const Stance s = stance_of(b, f.wants, f.leg, 1);
  ASSERT_EQ(s.foot_n.size(), 2U);
  const double x = (500 * -40 + 120 * 130 + 60 * 290) / 1880.0;
  EXPECT_NEAR(s.foot_n[0] + s.foot_n[1], s.weight_n * (100 - x) / 164, 1e-9);
  EXPECT_TRUE(s.stands);
}

TEST(StabiliserStance, WideningKeepsTheWheelsAndOnlyPresses) {
  const brief::Brief b = crane();
  const Found f = find("foot_mm = [64, 112]\nhip_mm = [72, 44]\nlifts = false\nload_g = 100\n", b);
  const Stance s = stance_of(b, f.wants, f.leg, 1);
  EXPECT_NEAR(s.greatest_foot_n, 0.1 * s.weight_n / 2, 1e-12);
  EXPECT_NEAR(s.tipping_foot_n, 1.980 * 9.81, 1e-9);
  EXPECT_EQ(s.feet.contacts_mm.size(), 6U);
  EXPECT_GT(s.feet.area_mm2, s.wheels.area_mm2);
  EXPECT_GE(s.feet.tipping_rad, s.wheels.tipping_rad);
}

TEST(StabiliserStance, PublishedStabilityMarginAndFactor) {
  // CRANE-07 (McGhee & Frank 1968, definition): rectangle 120 x 80 mm, centre (70, 45): margin 35 mm. Shifted so that
  // the rectangle is centred. VEH-01 (static stability factor t/2h): t = 1.55, h = 0.56 gives 1.3839.
  brief::Brief b = crane();
  b.bodies.resize(1);
  b.bodies[0].centre_mm = {10, 5, 60};
  b.support.points_mm = {{60, 40, 0}, {-60, 40, 0}, {-60, -40, 0}, {60, -40, 0}};
  const Found f = find("foot_mm = [64, 112]\nhip_mm = [72, 44]\nlegs = 4\n", b);
  EXPECT_NEAR(stance_of(b, f.wants, f.leg, 1).wheels.margin_mm, 35, 1e-9);
  b.bodies[0].centre_mm = {0, 0, 56};
  b.support.points_mm = {{200, 77.5, 0}, {-200, 77.5, 0}, {-200, -77.5, 0}, {200, -77.5, 0}};
  EXPECT_NEAR(std::tan(stance_of(b, f.wants, f.leg, 1).wheels.tipping_rad), 1.3839, 1e-4);
}

TEST(StabiliserStance, OnlyEstimatedMassesVary) {
  brief::Brief b = crane();
  const Found f = find("foot_mm = [64, 108]\nhip_mm = [72, 44]\nlegs = 4\n", b);
  EXPECT_EQ(stance_of(b, f.wants, f.leg, 1.2).weight_n, stance_of(b, f.wants, f.leg, 1).weight_n);
  b.bodies[0].mass_is_estimate = true;
  EXPECT_NEAR(stance_of(b, f.wants, f.leg, 1.2).weight_n, (1.880 + 0.240) * 9.81, 1e-9);
}

}  // namespace
}  // namespace functions::stabiliser
