// Lewis strength and Barth's velocity factor against published figures.
#include "gearing/tooth.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "base/check.h"

namespace gearing {
namespace {

// GEAR-11. Shigley, Mechanical Engineering Design, Table 14-2 (12 to 28 confirmed, rest from memory).
TEST(LewisFormFactor, HasThePublishedRows) {
  const std::pair<int, double> rows[] = {{12, .245}, {13, .261}, {14, .277}, {15, .290},  {16, .296},  {17, .303},
                                         {18, .309}, {19, .314}, {20, .322}, {21, .328},  {22, .331},  {24, .337},
                                         {26, .346}, {28, .353}, {30, .359}, {34, .371},  {38, .384},  {43, .397},
                                         {50, .409}, {60, .422}, {75, .435}, {100, .447}, {150, .460}, {300, .472}};
  for (const auto& [z, y] : rows) EXPECT_NEAR(lewis_form_factor(z), y, 1e-12) << z;
  EXPECT_DOUBLE_EQ(lewis_form_factor_rack(), .485);
}

TEST(LewisFormFactor, IsLinearBetweenRowsAndNeverFalls) {
  EXPECT_NEAR(lewis_form_factor(40), .384 + (.397 - .384) * 2 / 5, 1e-12);
  EXPECT_NEAR(lewis_form_factor(23), (.331 + .337) / 2, 1e-12);
  for (int z = kFewestTeeth; z < 2000; ++z) EXPECT_LE(lewis_form_factor(z), lewis_form_factor(z + 1)) << z;
  EXPECT_LT(lewis_form_factor(100000), .485);
  EXPECT_GT(lewis_form_factor(100000), .4849);
  EXPECT_THROW((void)lewis_form_factor(6), base::InternalFault);
}

// Lewis's own fit for 20 degrees full depth, y = 0.154 - 0.912 / z (from memory), against the table where both hold.
TEST(LewisFormFactor, FitForFewTeethMeetsTheTable) {
  for (int z = 10; z <= 20; ++z) {
    EXPECT_NEAR(std::numbers::pi * (0.154 - 0.912 / z), lewis_form_factor(z), 0.02) << z;
  }
  EXPECT_NEAR(std::numbers::pi * (0.154 - 0.912 / 10), .201, 0.005);
}

// GEAR-12. Shigley, Example 14-1 (from memory): P = 8 per inch, face 1.5 in, 16 teeth, 10 000 psi, 1200 rev/min.
// The formula has no units of its own: lbf, inch, psi.
TEST(LewisBending, WithVelocityFactorMatchesShigley) {
  const double v_ft_min = std::numbers::pi * 2.0 * 1200 / 12;
  EXPECT_NEAR(v_ft_min, 628.3, 0.1);
  const double kv = barth_factor_customary(v_ft_min);
  EXPECT_NEAR(kv, 1.5236, 0.0001);
  const double w_lbf = tooth_load_n(10000, 1.5, 1.0 / 8, lewis_form_factor(16)) / kv;
  EXPECT_NEAR(w_lbf, 364.3, 0.003 * 364.3);
  EXPECT_NEAR(w_lbf * v_ft_min / 33000, 6.94, 0.003 * 6.94);
}

TEST(BarthFactor, MetricFormFollowsItsFormula) {
  EXPECT_DOUBLE_EQ(barth_factor(0), 1);
  EXPECT_DOUBLE_EQ(barth_factor(6.1), 2);
}

// GEAR-13. Boston Gear, "Spur gears, Lewis formula (Barth revision)", Table II: plastic 5000 psi.
TEST(LewisBending, ToothLoadOfAPlasticGearOfModuleOne) {
  const double stress_mpa = 5000 * 6894.757e-6;
  EXPECT_NEAR(stress_mpa, 34.474, 0.001);
  const double w = tooth_load_n(stress_mpa, 8, 1, lewis_form_factor(20));
  EXPECT_NEAR(w, 88.80, 0.0888);
  EXPECT_NEAR(tooth_torque_nmm(w, 20, 1), 888.0, 0.888);
}

}  // namespace
}  // namespace gearing
