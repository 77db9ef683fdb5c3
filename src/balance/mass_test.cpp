// Covers masses of posed bodies: hand-computed poses, rigid-body laws, numeric chain rule.
#include "balance/mass.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/triple.h"

using balance::Body;
using balance::Joint;
using balance::Vec3;

namespace {

void expect_near(Vec3 a, Vec3 b, double tolerance = 1e-9) {
  EXPECT_NEAR(a.x_mm, b.x_mm, tolerance);
  EXPECT_NEAR(a.y_mm, b.y_mm, tolerance);
  EXPECT_NEAR(a.z_mm, b.z_mm, tolerance);
}

Body turned(int parent, Vec3 origin, Vec3 axis, double angle) {
  return {parent, Joint::turns, origin, axis, angle, 0, 0, {}};
}

/// Invented crane: carrier, upper carriage slewing about z, boom luffing about -y (so that it rises), slide along x.
std::vector<Body> crane(double slew, double luff, double out) {
  return {{-1, Joint::fixed, {0, 0, 20}, {0, 0, 1}, 0, 0, 900, {5, 0, 10}},
          {0, Joint::turns, {10, 0, 40}, {0, 0, 1}, slew, 0, 400, {-20, 0, 30}},
          {1, Joint::turns, {15, 0, 25}, {0, -1, 0}, luff, 0, 120, {110, 0, 0}},
          {2, Joint::slides, {0, 0, 0}, {1, 0, 0}, 0, out, 60, {150, 0, 0}}};
}

}  // namespace

TEST(Mass, CentreOfAPosedCraneByHand) {
  // Slewed 90 deg, boom upright, slide out 30: boom centre 110 above its pivot, slide 180 above it.
  const auto total = total_mass(crane(std::numbers::pi / 2, std::numbers::pi / 2, 30));
  EXPECT_DOUBLE_EQ(total.mass_g, 1480);
  const double x = (900 * 5 + 400 * 10 + 120 * 10 + 60 * 10) / 1480.0;
  const double y = (900 * 0 + 400 * -20 + 120 * 15 + 60 * 15) / 1480.0;
  const double z = (900 * 30 + 400 * 90 + 120 * (85 + 110) + 60 * (85 + 180)) / 1480.0;
  expect_near(total.at, {x, y, z});
}

TEST(Mass, SlewingTurnsTheUpperMassAboutItsAxis) {
  const auto bodies = crane(0, 0.4, 20);
  const std::vector<Body> carrier = {bodies[0]};
  const auto lower = total_mass(carrier);
  const auto upper_at = [&](double slew) {
    const auto all = total_mass(crane(slew, 0.4, 20));
    const double mass = all.mass_g - lower.mass_g;
    return (1 / mass) * (all.mass_g * all.at - lower.mass_g * lower.at);
  };
  const Vec3 ahead = upper_at(0);
  for (double slew = -3; slew < 3; slew += 0.37) {
    const double r = ahead.x_mm - 10;
    expect_near(upper_at(slew), {10 + r * std::cos(slew), r * std::sin(slew), ahead.z_mm});
  }
}

TEST(Mass, PosesKeepDistancesUnderAnyAxis) {
  for (std::uint64_t k = 0; k < 50; ++k) {
    const auto draw = [&](std::uint64_t s) { return 2 * base::uniform_draw(5, s, k) - 1; };
    Vec3 axis{draw(0), draw(1), draw(2)};
    const double length = std::hypot(axis.x_mm, axis.y_mm, axis.z_mm);
    axis = (1 / length) * axis;
    const std::vector<Body> bodies = {turned(-1, {1, 2, 3}, axis, 3 * draw(3)),
                                      turned(0, {4, -2, 1}, {0, 1, 0}, 3 * draw(4))};
    const auto at = poses(bodies);
    const Vec3 a{draw(5), draw(6), draw(7)}, b{draw(8), draw(9), draw(10)};
    const Vec3 d = at[1].apply(a) - at[1].apply(b), e = a - b;
    EXPECT_NEAR(std::hypot(d.x_mm, d.y_mm, d.z_mm), std::hypot(e.x_mm, e.y_mm, e.z_mm), 1e-12);
    expect_near(at[0].apply(axis), Vec3{1, 2, 3} + axis, 1e-12);  // the axis itself stays
  }
}

TEST(Mass, TurningTwiceIsTurningByTheSum) {
  const std::vector<Body> once = {turned(-1, {}, {0, 0.6, 0.8}, 1.1)};
  const std::vector<Body> twice = {turned(-1, {}, {0, 0.6, 0.8}, 0.4), turned(0, {}, {0, 0.6, 0.8}, 0.7)};
  expect_near(poses(once)[0].apply({3, 4, 5}), poses(twice)[1].apply({3, 4, 5}), 1e-12);
}

TEST(Mass, ChildBeforeParentAndLongAxesAreFaults) {
  EXPECT_THROW((void)balance::poses(std::vector<Body>{turned(0, {}, {0, 0, 1}, 0)}), base::InternalFault);
  EXPECT_THROW((void)balance::poses(std::vector<Body>{turned(-1, {}, {0, 0, 2}, 0.1)}), base::InternalFault);
}

TEST(Mass, NothingWeighsNothing) {
  EXPECT_EQ(balance::total_mass({}).mass_g, 0);
  EXPECT_NEAR(balance::weight_n(1000), 9.81, 1e-12);
}
