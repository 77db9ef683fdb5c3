#include "lattice/sweep.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>
#include <set>

namespace lattice {
namespace {

constexpr double kQuarter = std::numbers::pi / 2;

std::set<Point3> cells_of(const std::vector<Box3>& boxes) {
  std::set<Point3> out;
  for (const Box3& b : boxes) {
    for (int x = b.low.x_hp; x < b.high.x_hp; ++x)
      for (int y = b.low.y_hp; y < b.high.y_hp; ++y)
        for (int z = b.low.z_hp; z < b.high.z_hp; ++z) {
          EXPECT_TRUE(out.insert({x, y, z}).second) << "boxes overlap";
        }
  }
  return out;
}

TEST(Ways, HaveNames) {
  for (const Way way : kWays) EXPECT_EQ(way_of(name_of(way)), way);
  EXPECT_EQ(name_of({Axis::y, 1}), "left");
  EXPECT_FALSE(way_of("sideways"));
}

TEST(Passage, RunsUntilTheTrailingFaceIsOut) {
  const Box3 hull{{-10, -10, 0}, {10, 10, 20}}, box{{-2, -3, 4}, {2, 3, 9}};
  EXPECT_EQ(passage(box, {Axis::x, 1}, hull), (Box3{{2, -3, 4}, {14, 3, 9}}));
  EXPECT_EQ(passage(box, {Axis::z, -1}, hull), (Box3{{-2, -3, -5}, {2, 3, 4}}));
}

TEST(Sweep, StandingStillIsTheBoxItself) {
  const Box3 box{{-3, 1, 2}, {4, 6, 5}};
  for (const Axis axis : kAxes) {
    const auto cells = cells_of(swept_boxes(box, axis, {1, 2, 3}, 0, 0));
    EXPECT_EQ(cells, cells_of({box}));
  }
}

// Right-hand rule: about x from y to z, about y from z to x, about z from x to y.
TEST(Sweep, AQuarterTurnEndsWhereTheRightHandSays) {
  const Box3 bar{{0, 0, 0}, {6, 1, 1}};
  EXPECT_EQ(cells_of(swept_boxes(bar, Axis::z, {}, kQuarter, kQuarter)), cells_of({{{-1, 0, 0}, {0, 6, 1}}}));
  EXPECT_EQ(cells_of(swept_boxes(bar, Axis::y, {}, kQuarter, kQuarter)), cells_of({{{0, 0, -6}, {1, 1, 0}}}));
  const Box3 across{{0, 0, 0}, {1, 6, 1}};
  EXPECT_EQ(cells_of(swept_boxes(across, Axis::x, {}, kQuarter, kQuarter)), cells_of({{{0, -1, 0}, {1, 0, 6}}}));
}

// A square lid hinged at its edge sweeps a quarter disc: the area of its cells lies between the disc's and the disc's
// grown by a cell's diagonal (closed form).
TEST(Sweep, QuarterDiscHasItsArea) {
  constexpr int r = 20;
  const auto cells = cells_of(swept_boxes({{0, 0, 0}, {r, 3, 1}}, Axis::y, {}, 0, -kQuarter));
  const double layers = 3;
  const double outer = std::hypot(r, 1) + std::sqrt(2);
  EXPECT_GT(cells.size() / layers, std::numbers::pi * r * r / 4);
  EXPECT_LT(cells.size() / layers, std::numbers::pi * outer * outer / 4 + r + 2);
}

TEST(Sweep, AWholeTurnIsASymmetricRing) {
  const auto cells = cells_of(swept_boxes({{3, 0, 0}, {6, 2, 1}}, Axis::z, {}, 0, 2 * std::numbers::pi));
  for (const Point3& c : cells) {
    EXPECT_TRUE(cells.contains({-1 - c.y_hp, c.x_hp, c.z_hp}));  // a quarter turn further
    EXPECT_TRUE(cells.contains({c.x_hp, -1 - c.y_hp, c.z_hp}));  // mirrored
  }
  EXPECT_FALSE(cells.contains({0, 0, 0}));
}

// Second route: points of the box moved in fine steps. Every cell a point comes to is in the sweep; every cell of the
// sweep is come to by a point, or is met by less than the sampling can see.
TEST(Sweep, AgreesWithSampling) {
  std::mt19937 random(20261126);
  const auto between = [&](int low, int high) { return low + static_cast<int>(random() % (high - low + 1u)); };
  for (int trial = 0; trial < 24; ++trial) {
    const Axis axis = kAxes[trial % 3];
    const Point3 low{between(-8, 6), between(-8, 6), between(-8, 6)};
    const Box3 box{low, {low.x_hp + between(1, 6), low.y_hp + between(1, 6), low.z_hp + between(1, 6)}};
    const Point3 hinge{between(-5, 5), between(-5, 5), between(-5, 5)};
    const double from = between(-180, 180) * std::numbers::pi / 180,
                 to = from + between(-200, 200) * std::numbers::pi / 180;
    const auto exact = cells_of(swept_boxes(box, axis, hinge, from, to));

    std::set<std::pair<int, int>> flat, come;
    for (const Point3& c : exact) flat.insert({across(axis, c).u_hp, across(axis, c).v_hp});
    const Cross o = across(axis, hinge), a = across(axis, box.low), b = across(axis, box.high);
    constexpr int kSteps = 900, kPoints = 6;
    const double hand = axis == Axis::y ? -1 : 1;
    for (int s = 0; s <= kSteps; ++s) {
      const double angle = hand * (from + (to - from) * s / kSteps);
      const double cs = std::cos(angle), sn = std::sin(angle);
      for (int i = 0; i <= kPoints * (b.u_hp - a.u_hp); ++i) {
        for (int j = 0; j <= kPoints * (b.v_hp - a.v_hp); ++j) {
          const double nudge = 1e-6;  // strictly inside
          const double u = std::clamp(a.u_hp + double(i) / kPoints, a.u_hp + nudge, b.u_hp - nudge) - o.u_hp;
          const double v = std::clamp(a.v_hp + double(j) / kPoints, a.v_hp + nudge, b.v_hp - nudge) - o.v_hp;
          const double x = u * cs - v * sn, y = u * sn + v * cs;
          if (std::fabs(x - std::round(x)) < 1e-5 || std::fabs(y - std::round(y)) < 1e-5) continue;
          come.insert({o.u_hp + static_cast<int>(std::floor(x)), o.v_hp + static_cast<int>(std::floor(y))});
        }
      }
    }
    for (const auto& c : come) EXPECT_TRUE(flat.contains(c)) << trial << ": missed " << c.first << "," << c.second;
    // What only the exact way sees are slivers at the rim: few.
    EXPECT_LE(flat.size(), come.size() + 4) << trial;
  }
}

}  // namespace
}  // namespace lattice
