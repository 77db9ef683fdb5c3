// Covers the force-angle measure: published support, agreement with slopes, and the sign of the moment about each edge.
#include "balance/force_angle.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "balance/support.h"
#include "base/triple.h"

using balance::Vec3;
using balance::Wrench;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

std::vector<Vec3> rectangle() {
  return {{0, 0, 0}, {120, 0, 0}, {120, 80, 0}, {0, 80, 0}};
}

}  // namespace

TEST(ForceAngle, LeastAngleOfTheRectangle) {
  // CRANE-08: Papadopoulos & Rey 2000, numbers recomputed; 0.001 deg. Measure: angle x arm x force.
  const auto level = force_angle(rectangle(), {70, 45, 60}, {0, 0, -20});
  EXPECT_EQ(level.edge, 2);
  EXPECT_NEAR(level.angle_rad / kDeg, 30.256, 1e-3);
  EXPECT_NEAR(level.measure_nmm, level.angle_rad * 35 * 20, 1e-9);
  const double s = 20 * std::sin(10 * kDeg), c = 20 * std::cos(10 * kDeg);
  EXPECT_NEAR(force_angle(rectangle(), {70, 45, 60}, {0, s, -c}).angle_rad / kDeg, 20.256, 1e-3);
}

TEST(ForceAngle, RaisingTheCentreLowersTheMeasure) {
  double before = 1e9;
  for (double h = 20; h < 200; h += 20) {
    const double here = force_angle(rectangle(), {70, 45, h}, {0, 0, -20}).measure_nmm;
    EXPECT_LT(here, before);
    before = here;
  }
}

TEST(ForceAngle, AgreesWithTheSlopeMarginsOnAnySlope) {
  for (std::uint64_t round = 0; round < 60; ++round) {
    const auto draw = [&](std::uint64_t s) { return base::uniform_draw(31, s, round); };
    const std::vector<balance::Point2> flat = {
        {0, 0}, {120 + 30 * draw(0), -10}, {120, 80 + 20 * draw(1)}, {-20 * draw(2), 75}};
    const auto hull = balance::convex_hull(flat);
    const Vec3 centre{40 + 40 * draw(3), 25 + 30 * draw(4), 20 + 60 * draw(5)};
    const balance::Slope slope{0.4 * draw(6), 6.28 * draw(7)};
    for (std::size_t i = 0; i < hull.size(); ++i) {
      // One edge at a time: a wide triangle whose first axis runs along it.
      const auto a = hull[i], b = hull[(i + 1) % hull.size()];
      const double ex = b.x_mm - a.x_mm, ey = b.y_mm - a.y_mm;
      const std::vector<Vec3> corners = {{a.x_mm - 100 * ex, a.y_mm - 100 * ey, 0},
                                         {b.x_mm + 100 * ex, b.y_mm + 100 * ey, 0},
                                         {a.x_mm - 1000 * ey, a.y_mm + 1000 * ex, 0}};
      const Wrench pull{20 * std::sin(slope.angle_rad) * std::cos(slope.downhill_rad),
                        20 * std::sin(slope.angle_rad) * std::sin(slope.downhill_rad), -20 * std::cos(slope.angle_rad)};
      const auto all = edge_margins(hull, centre, slope);
      const auto mine = force_angle(corners, centre, pull);
      ASSERT_EQ(mine.edge, 0);
      EXPECT_NEAR(mine.angle_rad, all[i].angle_rad, 1e-9) << round << " " << i;
    }
  }
}

TEST(ForceAngle, NegativeExactlyWhenSomeMomentTurnsOutwards) {
  // Second route: moment of all forces about each edge line. Supports at different heights, a rope pulling at the hook.
  int tips = 0;
  for (std::uint64_t round = 0; round < 400; ++round) {
    const auto draw = [&](std::uint64_t s) { return base::uniform_draw(32, s, round); };
    const std::vector<Vec3> corners = {
        {0, 0, 20 * draw(0)}, {120, 0, 20 * draw(1)}, {120, 80, 20 * draw(2)}, {0, 80, 20 * draw(3)}};
    const Vec3 centre{40 + 40 * draw(4), 25 + 30 * draw(5), 40 + 30 * draw(6)};
    const Vec3 hook{-100 + 320 * draw(7), -80 + 240 * draw(8), 150};
    const double pull[3] = {4 * draw(9) - 2, 4 * draw(10) - 2, -50 * draw(11)};
    const auto wrench = with_force({0, 0, -20}, centre, hook, pull[0], pull[1], pull[2]);
    bool outwards = false;
    for (std::size_t i = 0; i < 4; ++i) {
      const Vec3 p = corners[i], e = corners[(i + 1) % 4] - p;
      const auto about = [&](Vec3 at, double fx, double fy, double fz) {
        const Vec3 r = at - p;
        return e.x_mm * (r.y_mm * fz - r.z_mm * fy) + e.y_mm * (r.z_mm * fx - r.x_mm * fz) +
               e.z_mm * (r.x_mm * fy - r.y_mm * fx);
      };
      // Counter-clockwise corners: weight inside turns inwards, with a negative moment about the edge's direction.
      if (about(centre, 0, 0, -20) + about(hook, pull[0], pull[1], pull[2]) > 0) outwards = true;
    }
    EXPECT_EQ(force_angle(corners, centre, wrench).measure_nmm < 0, outwards) << round;
    tips += outwards;
  }
  EXPECT_GT(tips, 50);
  EXPECT_LT(tips, 350);
}
