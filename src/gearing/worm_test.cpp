// Worm gearing against published figures, and both efficiencies against the balance of forces.
#include "gearing/worm.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace gearing {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kDegree = kPi / 180;

// SCREW-05. Shigley, Table 13-6 (f = 0.05; from memory).
TEST(Worm, EfficiencyAgainstLeadAngleMatchesShigleysTable) {
  const std::pair<double, double> rows[] = {{1, 25.24},   {2.5, 45.71}, {5, 62.60},
                                            {7.5, 71.34}, {10, 76.64},  {15, 82.68}};
  for (const auto& [deg, percent] : rows) {
    EXPECT_NEAR(100 * worm_forward_efficiency(deg * kDegree, 14.5 * kDegree, 0.05), percent, 0.05) << deg;
  }
}

// SCREW-06. Shigley, Example 13-10 (from memory). Inches and pounds force.
TEST(Worm, ForcesMatchShigleysExample) {
  const double axial_pitch = kPi / 6;
  const double lead = 2 * axial_pitch;
  const double lambda = worm_lead_angle_rad(lead, 2.0);
  EXPECT_NEAR(axial_pitch, 0.5236, 1e-4);
  EXPECT_NEAR(30.0 / 6, 5, 1e-12);
  EXPECT_NEAR((2.0 + 5.0) / 2, 3.5, 1e-12);
  EXPECT_NEAR(lead, 1.0472, 1e-4);
  EXPECT_NEAR(lambda / kDegree, 9.462, 0.001);
  EXPECT_NEAR(worm_lead_angle_of_module_rad(2, 1.0 / 6, 2.0), lambda, 1e-14);
  const double v = kPi * 2.0 * 1200 / 12;
  EXPECT_NEAR(worm_sliding_speed(v, lambda), 637.0, 0.637);
  const WormForces f = worm_forces(33000 / v, lambda, 14.5 * kDegree, 0.03);
  EXPECT_NEAR(f.worm_tangential, 52.52, 0.0525);
  EXPECT_NEAR(f.total, 278.25, 0.278);
  EXPECT_NEAR(f.separating, 69.67, 0.0697);
  EXPECT_NEAR(f.worm_axial, 264.35, 0.264);
  EXPECT_NEAR(f.efficiency, 0.8389, 0.0008);
}

// SCREW-07. R. L. Mott, Machine Elements in Mechanical Design, 4th ed., section 8-10, p. 343. Inches.
TEST(Worm, GeometryMatchesMott) {
  const double lead = 3 * 0.5236;
  EXPECT_NEAR(lead, 1.5708, 0.005);
  EXPECT_NEAR(worm_lead_angle_rad(lead, 2.0) / kDegree, 14.04, 0.005);
  const double gear = 52.0 / 6;
  EXPECT_NEAR(gear, 8.667, 0.005);
  EXPECT_NEAR((2.0 + gear) / 2, 5.333, 0.005);
  EXPECT_NEAR(52.0 / 3, 17.333, 0.005);
  EXPECT_NEAR(1750 / (52.0 / 3), 100.96, 0.005);
}

// SCREW-08. Reverse efficiency zero when f = cos(phi_n) tan(lambda) (recomputed).
TEST(Worm, LocksFromTheThresholdOn) {
  EXPECT_NEAR(worm_locking_friction(4 * kDegree, 20 * kDegree), 0.06571, 1e-5);
  EXPECT_NEAR(worm_locking_friction(5 * kDegree, 14.5 * kDegree), 0.08470, 1e-5);
  for (const double lead : {2.0, 4.0, 9.0, 20.0}) {
    const double f = worm_locking_friction(lead * kDegree, 20 * kDegree);
    EXPECT_TRUE(worm_locks(lead * kDegree, 20 * kDegree, f * 1.000001));
    EXPECT_FALSE(worm_locks(lead * kDegree, 20 * kDegree, f * 0.999999));
  }
}

// Independent route: power of the forces of worm_forces() at the two pitch lines; driving back, friction changes sign.
TEST(Worm, EfficienciesFollowFromTheForces) {
  for (double lead = 2; lead < 40; lead += 3) {
    for (double f = 0; f < 0.2; f += 0.03) {
      const double l = lead * kDegree;
      const WormForces w = worm_forces(1, l, 20 * kDegree, f);
      EXPECT_NEAR(w.worm_axial * std::tan(l) / w.worm_tangential, worm_forward_efficiency(l, 20 * kDegree, f), 1e-12);
      const WormForces back = worm_forces(1, l, 20 * kDegree, -f);
      const double out_over_in = back.worm_tangential / (back.worm_axial * std::tan(l));
      EXPECT_NEAR(out_over_in < 0 || back.total < 0 ? 0 : out_over_in, worm_backward_efficiency(l, 20 * kDegree, f),
                  1e-12);
      EXPECT_NEAR(w.total * w.total,
                  std::pow(w.worm_tangential, 2) + std::pow(w.worm_axial, 2) + std::pow(w.separating, 2) -
                      std::pow(f * w.total, 2),
                  1e-9 * w.total * w.total);
    }
  }
}

}  // namespace
}  // namespace gearing
