// Covers rope and journal friction against published cases and the friction circle drawn out.
#include "balance/rope.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

TEST(Rope, QuarterWrapHoldsBetweenTwoPulls) {
  // FRIC-01: Meriam & Kraige, Statics, Sample Problem 6/9; (a) from memory, (b) askfilo.com 3431373638353934.
  const auto pulls = balance::wrap_hold_n(981, 0.3, std::numbers::pi / 2);
  EXPECT_NEAR(pulls.least_n, 612.4, 0.1);
  EXPECT_NEAR(pulls.most_n, 1571.5, 0.1);
  const double wrap = balance::wrap_to_hold_rad(981, 500, 0.3);
  EXPECT_NEAR(wrap, 2.2465, 2e-4);
  EXPECT_NEAR(wrap * 180 / std::numbers::pi, 128.72, 0.01);
  EXPECT_EQ(balance::wrap_to_hold_rad(981, 1000, 0.3), 0);
}

TEST(Rope, OneAndAHalfTurnsAroundADrum) {
  // FRIC-02: transtutors.com, rope friction example; 0.01 N.
  const auto pulls = balance::wrap_hold_n(1000, 0.25, 3 * std::numbers::pi);
  EXPECT_NEAR(pulls.least_n, 94.78, 0.01);
  EXPECT_NEAR(pulls.most_n, 10550.72, 0.01);
}

TEST(Rope, WrapRatioMatchesSummingSmallArcs) {
  double tension = 1;
  constexpr int kArcs = 200000;
  for (int i = 0; i < kArcs; ++i) tension += tension * 0.3 * 2.0 / kArcs;
  EXPECT_NEAR(balance::wrap_ratio(0.3, 2), tension, 1e-5);
}

TEST(Rope, PulleyOnAFixedPin) {
  // FRIC-05: Beer & Johnston, Statics, friction circle (from memory); pounds and inches, 0.1 lb (0.2 % on the book's
  // 577).
  const auto pulls = balance::pulley_parallel(500, 2, 1, 0.2);
  EXPECT_NEAR(pulls.raise_n, 611.1, 0.1);
  EXPECT_NEAR(pulls.hold_n, 409.1, 0.1);
  const double sideways = balance::pulley_raise_at_n(500, 2, 1, 0.2, std::numbers::pi / 2);
  EXPECT_NEAR(sideways, 576.3, 0.1);
  EXPECT_NEAR(balance::pulley_raise_at_n(500, 2, 1, 0.2, 0), pulls.raise_n, 1e-9);
}

TEST(Rope, SidewaysPullBalancesMomentsAboutThePin) {
  const double p = balance::pulley_raise_at_n(50, 8, 2.5, 0.3, 1.1);
  const double pressed = std::sqrt(p * p + 50 * 50 + 2 * p * 50 * std::cos(1.1));
  EXPECT_NEAR((p - 50) * 8, balance::journal_torque_nmm(pressed, 2.5, 0.3), 1e-9);
}
