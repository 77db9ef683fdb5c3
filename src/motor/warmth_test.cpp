// Covers the two-mass heat of a motor and a hub's cut-out: closed forms, stepping, and the published one-mass figures.
#include "motor/warmth.h"

#include <gtest/gtest.h>

#include <cmath>

#include "motor/thermal.h"

using motor::Rise;
using motor::Thermal;

namespace {

Thermal medium() {
  return motor::estimated_thermal(58, 6912);
}

}  // namespace

TEST(Warmth, EndsWhereTheOneMassModelEnds) {
  // MOTOR-06, recomputed: 23.468 K at 4.3 ohm, 0.5 A and 20 K/W in all; 1e-4 relative.
  const Thermal th{8, 12, 3, 40, 80};
  const Rise end = motor::warmed(th, {}, 4.3, 0.5, 1e6);
  EXPECT_NEAR(end.winding_k, 23.468, 23.468e-4);
  EXPECT_NEAR(motor::resistance_at(4.3, 100), 5.608, 5.608e-4);
}

TEST(Warmth, OneMassWarmsUpExponentially) {
  // Closed form x = P R (1 - e^{-t/RC}) with next to no housing resistance and a large housing.
  const Thermal th{20, 1e-9, 4, 1e9, 80};
  for (const double t : {1.0, 30.0, 80.0, 400.0}) {
    EXPECT_NEAR(motor::warmed_by(th, {}, 2.5, t).winding_k, 2.5 * 20 * (1 - std::exp(-t / 80)), 1e-6);
  }
}

TEST(Warmth, ExactStepMatchesFineSteps) {
  const Thermal th = medium();
  for (const double current_a : {0.2, 0.6, 1.0, 2.0}) {
    const double r = 9, dt = 1e-3, p = r * current_a * current_a;
    Rise x{5, 2};
    const Rise start = x;
    for (int i = 0; i < 60000; ++i) {
      const auto rate = [&](Rise v) {
        return Rise{
            (p * (1 + motor::kCopperPerKelvin * v.winding_k) - (v.winding_k - v.housing_k) / th.winding_k_per_w) /
                th.winding_j_per_k,
            ((v.winding_k - v.housing_k) / th.winding_k_per_w - v.housing_k / th.housing_k_per_w) / th.housing_j_per_k};
      };
      const Rise k1 = rate(x);
      const Rise k2 = rate({x.winding_k + dt / 2 * k1.winding_k, x.housing_k + dt / 2 * k1.housing_k});
      x = {x.winding_k + dt * k2.winding_k, x.housing_k + dt * k2.housing_k};
    }
    const Rise exact = motor::warmed(th, start, r, current_a, 60);
    EXPECT_NEAR(exact.winding_k, x.winding_k, 1e-5 * x.winding_k) << current_a;
    EXPECT_NEAR(exact.housing_k, x.housing_k, 1e-5 * x.housing_k) << current_a;
  }
}

TEST(Warmth, TimeToTheLimitIsWhereTheStepReachesIt) {
  const Thermal th = medium();
  const double t = motor::time_to_limit_s(th, 9, 1);
  ASSERT_TRUE(std::isfinite(t));
  EXPECT_NEAR(motor::warmed(th, {}, 9, 1, t).winding_k, th.limit_k, 1e-6);
  EXPECT_GT(t, 10);  // a stalled geared motor stands some tens of seconds: common practice, no source
  EXPECT_LT(t, 300);
  EXPECT_TRUE(std::isinf(motor::time_to_limit_s(th, 9, 0.1)));
}

TEST(Warmth, CutOutFollowsTheColdCurve) {
  // IEC 60255-149: t = tau ln(I^2/(I^2 - Ih^2)); twice the holding current: tau ln(4/3).
  const motor::CutOut fuse{2, 20};
  EXPECT_NEAR(motor::cut_out_time_s(fuse, 4), 20 * std::log(4.0 / 3), 1e-12);
  EXPECT_TRUE(std::isinf(motor::cut_out_time_s(fuse, 2)));
  EXPECT_NEAR(motor::cut_out_heat(fuse, 0, 4, motor::cut_out_time_s(fuse, 4)), 1, 1e-12);
}
