// Covers tipping loads and ratings: published cases, and hanging the load and asking whether the machine still stands.
#include "balance/lifting.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "base/triple.h"

using balance::Point2;
using balance::Slope;
using balance::Vec3;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

}  // namespace

TEST(Lifting, ForkLiftTipsAndIsRated) {
  // CRANE-03: moment about the front axle, from the confirmed data of CRANE-02; exact. Inches and pounds.
  const std::vector<Point2> hull = {{0, -20}, {36, -20}, {36, 20}, {0, 20}};
  const auto tipping = tipping_load(hull, 3200, {12, 0, 0}, {52, 0, 0});
  EXPECT_NEAR(tipping.load_n, 4800, 1e-9);
  EXPECT_EQ(tipping.edge, 1);
  EXPECT_NEAR(balance::kTippingShare * tipping.load_n, 3600, 1e-9);
}

TEST(Lifting, EarthMovingRuleTakesTheSmallerShare) {
  // CRANE-04: ISO 10567 as quoted in the Kubota U25 operator manual, p. 69; exact.
  const auto stability = balance::rated_load(1000, 900), drive = balance::rated_load(1000, 800);
  EXPECT_DOUBLE_EQ(stability.load_n, 750);
  EXPECT_EQ(stability.governs, balance::Governs::tipping);
  EXPECT_DOUBLE_EQ(drive.load_n, 696);
  EXPECT_EQ(drive.governs, balance::Governs::drive);
}

TEST(Lifting, CranePracticeShares) {
  // CRANE-05: ASME B30.5 / SAE J765 practice as quoted by crane makers; 118 % test load is 1/0.85.
  EXPECT_DOUBLE_EQ(balance::kTippingShare, 0.75);
  EXPECT_DOUBLE_EQ(balance::kOutriggerShare, 0.85);
  EXPECT_NEAR(1 / balance::kOutriggerShare, 1.176, 5e-4);
}

TEST(Lifting, LoadChartOfTheBoomTruck) {
  // CRANE-06: truck of CRANE-01 about its rear axle; 1e-4 relative and 0.001 deg. Here the rear axle is at x = 5200.
  const std::vector<Point2> hull = {{0, -800}, {5200, -800}, {5200, 800}, {0, 800}};
  const double weight = 4300 * 9.81;
  const auto tipping_kg = [&](double deg) {
    return tipping_load(hull, weight, {500, 0, 0}, {900 + 6000 * std::cos(deg * kDeg), 0, 0}).load_n / 9.81;
  };
  EXPECT_NEAR(tipping_kg(15), 13513.4, 1.3);
  EXPECT_NEAR(tipping_kg(30), 22552.0, 2.2);
  EXPECT_NEAR(tipping_kg(40), 68215.6, 6.8);
  EXPECT_TRUE(std::isfinite(tipping_kg(44.219)));
  EXPECT_TRUE(std::isinf(tipping_kg(44.221)));
}

TEST(Lifting, TippingLoadIsWhereTheMachineWithItsLoadLeavesItsSupports) {
  // Second route: hang the load as a mass and ask whether the supports still balance it.
  for (std::uint64_t round = 0; round < 200; ++round) {
    const auto draw = [&](std::uint64_t s) { return base::uniform_draw(4, s, round); };
    const std::vector<Point2> feet = {
        {-150 - 40 * draw(0), -110}, {150, -110 - 30 * draw(1)}, {150 + 30 * draw(2), 110}, {-150, 110 + 20 * draw(3)}};
    const auto hull = balance::convex_hull(feet);
    const Vec3 centre{-40 + 60 * draw(4), -20 + 40 * draw(5), 80};
    const Vec3 hook = balance::hook_at({10, 0}, 100 + 350 * draw(6), 6.28 * draw(7), 350);
    const Slope slope{0.15 * draw(8), 6.28 * draw(9)};
    const auto tipping = tipping_load(hull, 29.4, centre, hook, slope);
    const auto stands_with = [&](double load) {
      const std::vector<balance::MassPoint> both = {{29.4, centre}, {load, hook}};
      return support_loads(feet, 29.4 + load, balance::combined(both).at, slope).stands;
    };
    if (std::isinf(tipping.load_n)) {
      EXPECT_TRUE(stands_with(1e5));
      continue;
    }
    EXPECT_TRUE(stands_with(tipping.load_n * (1 - 1e-6))) << round;
    EXPECT_FALSE(stands_with(tipping.load_n * (1 + 1e-6) + 1e-9)) << round;
  }
}

TEST(Lifting, AMachineThatTipsEmptyLiftsNothing) {
  const std::vector<Point2> hull = {{0, 0}, {100, 0}, {100, 80}, {0, 80}};
  const auto none = tipping_load(hull, 30, {105, 40, 50}, {300, 40, 200});
  EXPECT_EQ(none.load_n, 0);
  EXPECT_EQ(none.edge, 1);
}
