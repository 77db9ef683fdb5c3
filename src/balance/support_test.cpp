// Covers standing and tipping: published margins, tipping by turning gravity step by step, support loads against an
// enumeration of every set of touching contacts.
#include "balance/support.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <numbers>
#include <optional>

#include "base/triple.h"

using balance::Point2;
using balance::Slope;
using balance::Vec3;

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kDeg = kPi / 180;

/// CRANE-07: polygon and centre of mass.
std::vector<Point2> rectangle() {
  return {{0, 0}, {120, 0}, {120, 80}, {0, 80}};
}

/// Winding-free inside test of its own: on the same side of every edge of a counter-clockwise polygon.
bool covers(const std::vector<Point2>& hull, Point2 p) {
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const Point2 a = hull[i], b = hull[(i + 1) % hull.size()];
    if ((b.x_mm - a.x_mm) * (p.y_mm - a.y_mm) < (b.y_mm - a.y_mm) * (p.x_mm - a.x_mm)) return false;
  }
  return true;
}

/// Tilts gravity in small steps until the line through the centre leaves the hull.
double numeric_tipping_slope(const std::vector<Point2>& hull, Vec3 centre, double downhill) {
  const auto stands = [&](double angle) {
    const double gx = std::sin(angle) * std::cos(downhill), gy = std::sin(angle) * std::sin(downhill);
    const double run = centre.z_mm / std::cos(angle);
    return covers(hull, {centre.x_mm + run * gx, centre.y_mm + run * gy});
  };
  if (!stands(0)) return 0;
  double low = 0;
  while (low < 1.56 && stands(low)) low += 0.01;
  double high = low;
  low -= 0.01;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (stands(middle) ? low : high) = middle;
  }
  return low;
}

std::vector<Point2> random_contacts(std::uint64_t round, std::size_t count) {
  std::vector<Point2> out;
  for (std::uint64_t i = 0; i < count; ++i) {
    out.push_back({200 * base::uniform_draw(1, 10 + i, round), 150 * base::uniform_draw(1, 40 + i, round)});
  }
  return out;
}

/// Every subset of contacts as the touching one; the right one pushes everywhere and lifts off everywhere else.
std::optional<std::vector<double>> enumerated_loads(const std::vector<Point2>& contacts, Point2 p, double weight) {
  const auto n = contacts.size();
  for (unsigned set = 1; set < (1U << n); ++set) {
    Eigen::Matrix3d stiffness = Eigen::Matrix3d::Zero();
    for (std::size_t i = 0; i < n; ++i) {
      if (!(set >> i & 1U)) continue;
      const Eigen::Vector3d row(1, (contacts[i].x_mm - p.x_mm) / 100, (contacts[i].y_mm - p.y_mm) / 100);
      stiffness += row * row.transpose();
    }
    const Eigen::FullPivLU<Eigen::Matrix3d> lu(stiffness);
    if (lu.rank() < 3) continue;
    const Eigen::Vector3d settling = lu.solve(Eigen::Vector3d(weight, 0, 0));
    std::vector<double> loads(n, 0);
    bool right = true;
    for (std::size_t i = 0; i < n; ++i) {
      const Eigen::Vector3d row(1, (contacts[i].x_mm - p.x_mm) / 100, (contacts[i].y_mm - p.y_mm) / 100);
      const double push = row.dot(settling);
      if (set >> i & 1U) {
        loads[i] = push;
        if (push < -1e-9) right = false;
      } else if (push > 1e-9) {
        right = false;
      }
    }
    if (right) return loads;
  }
  return std::nullopt;
}

}  // namespace

TEST(Support, HullDropsInnerRepeatedAndCollinearContacts) {
  const std::vector<Point2> contacts = {{120, 80}, {60, 0}, {0, 0}, {0, 80}, {50, 40}, {120, 0}, {0, 0}, {120, 40}};
  const auto hull = balance::convex_hull(contacts);
  ASSERT_EQ(hull.size(), 4U);
  EXPECT_EQ(hull[0].x_mm, 0);
  EXPECT_EQ(hull[0].y_mm, 0);
  EXPECT_EQ(hull[1].x_mm, 120);
  EXPECT_EQ(hull[1].y_mm, 0);
  EXPECT_EQ(hull[2].y_mm, 80);
  EXPECT_EQ(balance::convex_hull(std::vector<Point2>{{0, 0}, {2, 2}, {1, 1}}).size(), 2U);
}

TEST(Support, MarginIsTheDistanceToTheNearestEdge) {
  // CRANE-07: definition McGhee & Frank 1968 (from memory), numbers recomputed; exact.
  EXPECT_DOUBLE_EQ(stability_margin_mm(rectangle(), {70, 45}), 35);
  EXPECT_DOUBLE_EQ(stability_margin_mm(rectangle(), {70, 95}), -15);
  EXPECT_DOUBLE_EQ(stability_margin_mm(rectangle(), {123, 84}), -5);  // beyond a corner: to the corner
  std::vector<double> distances;
  for (const auto& e : edge_margins(rectangle(), {70, 45, 60})) distances.push_back(e.distance_mm);
  EXPECT_EQ(distances, (std::vector<double>{45, 50, 35, 70}));
}

TEST(Support, AngleAndEnergyMarginsOfTheSameSupport) {
  // CRANE-08: Papadopoulos & Rey 2000, Messuri & Klein 1985; recomputed, 0.001 deg and 1e-4.
  const Vec3 centre{70, 45, 60};
  const auto least = least_margin(rectangle(), centre);
  EXPECT_EQ(least.edge, 2);
  EXPECT_NEAR(least.angle_rad / kDeg, 30.256, 1e-3);
  EXPECT_NEAR(least.energy_height_mm, 9.4622, 1e-4);
  EXPECT_NEAR(least.outward_rad, kPi / 2, 1e-12);
  const auto tilted = least_margin(rectangle(), centre, {10 * kDeg, least.outward_rad});
  EXPECT_NEAR(tilted.angle_rad / kDeg, 20.256, 1e-3);
}

TEST(Support, TippingSlopeMatchesTiltingGravityUntilItLeavesTheHull) {
  for (std::uint64_t round = 0; round < 20; ++round) {
    const auto hull = balance::convex_hull(random_contacts(round, 4 + round % 4));
    const auto draw = [&](std::uint64_t s) { return base::uniform_draw(2, s, round); };
    const Vec3 centre{60 + 80 * draw(0), 45 + 60 * draw(1), 20 + 80 * draw(2)};
    const auto all = tipping_slopes_rad(hull, centre, 36);
    double least = kPi;
    for (int k = 0; k < 36; ++k) {
      const double expected = numeric_tipping_slope(hull, centre, 2 * kPi * k / 36);
      EXPECT_NEAR(all[static_cast<std::size_t>(k)], expected, 1e-9) << round << " " << k;
      least = std::min(least, all[static_cast<std::size_t>(k)]);
    }
    if (least > 0) {
      // The least over all directions is square to an edge and equals its angle.
      const auto edge = least_margin(hull, centre);
      EXPECT_LE(edge.angle_rad, least + 1e-12);
      EXPECT_NEAR(tipping_slope_rad(hull, centre, edge.outward_rad), edge.angle_rad, 1e-12);
    }
  }
}

TEST(Support, EnergyOnASlopeIsTheRiseOfTheTurningCentre) {
  // Second route: turn the centre about the edge in space and watch its height against gravity.
  const Vec3 centre{70, 45, 60};
  const Slope slope{0.2, 0.7};
  const double g[3] = {std::sin(0.2) * std::cos(0.7), std::sin(0.2) * std::sin(0.7), -std::cos(0.2)};
  for (const auto& edge : edge_margins(rectangle(), centre, slope)) {
    const double ox = std::cos(edge.outward_rad), oy = std::sin(edge.outward_rad);
    double top = -1e9, start = 0;
    for (int i = 0; i <= 20000; ++i) {
      const double turn = i * 1e-4;
      // In the plane of outward normal and z: (-d, h) turned towards the outside.
      const double across = -edge.distance_mm * std::cos(turn) + centre.z_mm * std::sin(turn);
      const double up = edge.distance_mm * std::sin(turn) + centre.z_mm * std::cos(turn);
      const double height = -(g[0] * ox + g[1] * oy) * across - g[2] * up;
      if (i == 0) start = height;
      top = std::max(top, height);
    }
    EXPECT_NEAR(edge.energy_height_mm, top - start, 1e-5) << edge.edge;
  }
}

TEST(Support, StabilityFactorIsTheTangentOfTheTilt) {
  // VEH-01: NHTSA, rollover rulemaking, chapter V (SSF = t/2h); 1e-4.
  for (const auto& [track, height, ssf, tilt_deg] :
       {std::tuple{1550.0, 560.0, 1.3839, 54.149}, std::tuple{1600.0, 750.0, 1.0667, 46.848}}) {
    const std::vector<Point2> hull = {{-1300, -track / 2}, {1300, -track / 2}, {1300, track / 2}, {-1300, track / 2}};
    const double tilt = tipping_slope_rad(hull, {0, 0, height}, kPi / 2);
    EXPECT_NEAR(std::tan(tilt), ssf, 1e-4);
    EXPECT_NEAR(tilt / kDeg, tilt_deg, 1e-3);
  }
}

TEST(SupportLoads, ThreeContactsAreStatics) {
  const std::vector<Point2> feet = {{0, 0}, {100, 0}, {0, 60}};
  const auto loads = support_loads(feet, 12, {25, 15, 40});
  ASSERT_TRUE(loads.stands);
  EXPECT_NEAR(loads.load_n[0], 6, 1e-9);
  EXPECT_NEAR(loads.load_n[1], 3, 1e-9);
  EXPECT_NEAR(loads.load_n[2], 3, 1e-9);
}

TEST(SupportLoads, TruckWithABoomPressesItsWheels) {
  // CRANE-01: Beer & Johnston, Statics (7th ed.), Problem 4.1 (coursehero.com file 176223); 0.01 kN.
  const double boom_x = 900 + 6000 * std::cos(15 * kDeg);
  const std::vector<balance::MassPoint> masses = {{4300e3, {500, 0, 0}}, {1600e3, {boom_x, 0, 0}}};
  const auto both = balance::combined(masses);
  const std::vector<Point2> wheels = {{0, -800}, {0, 800}, {5200, -800}, {5200, 800}};
  const auto loads = support_loads(wheels, balance::weight_n(both.mass_g), both.at);
  EXPECT_NEAR(loads.load_n[0], 16806, 10);
  EXPECT_NEAR(loads.load_n[1], 16806, 10);
  EXPECT_NEAR(loads.load_n[2], 12133, 10);
  EXPECT_NEAR(loads.load_n[3], 12133, 10);
}

TEST(SupportLoads, ForkLiftPressesItsWheels) {
  // CRANE-02: Beer & Johnston, Statics, Problem 4.2 (coursepaper.com); 0.1 lb. Lengths in inches, forces in pounds.
  const double x = (1700 * 52 + 3200 * 12) / 4900.0;
  const std::vector<Point2> wheels = {{0, -1}, {0, 1}, {36, -1}, {36, 1}};
  const auto loads = support_loads(wheels, 4900, {x, 0, 0});
  EXPECT_NEAR(loads.load_n[2], 1761.1, 0.1);
  EXPECT_NEAR(loads.load_n[0], 688.9, 0.1);
}

TEST(SupportLoads, MatchTheEnumerationOfTouchingSets) {
  int lifted = 0;
  for (std::uint64_t round = 0; round < 300; ++round) {
    const std::size_t n = 3 + round % 6;
    const auto contacts = random_contacts(round, n);
    const Point2 p{200 * base::uniform_draw(9, 0, round), 150 * base::uniform_draw(9, 1, round)};
    const auto loads = support_loads(contacts, 25, {p.x_mm, p.y_mm, 50});
    const bool inside = covers(balance::convex_hull(contacts), p);
    EXPECT_EQ(loads.stands, inside) << round;
    if (!inside) continue;
    const auto expected = enumerated_loads(contacts, p, 25);
    ASSERT_TRUE(expected) << round;
    bool any_lifted = false;
    for (std::size_t i = 0; i < n; ++i) {
      EXPECT_NEAR(loads.load_n[i], (*expected)[i], 1e-6) << round << " " << i;
      if (loads.load_n[i] == 0) any_lifted = true;
    }
    lifted += any_lifted;
  }
  EXPECT_GT(lifted, 20);
}

TEST(SupportLoads, BalanceAlsoOnATippingLineAndWithRowsOfWheels) {
  // Two rows of eight wheels; centre anywhere including exactly over an edge and over a corner.
  std::vector<Point2> wheels;
  for (int i = 0; i < 8; ++i) {
    wheels.push_back({40.0 * i, 0});
    wheels.push_back({40.0 * i, 120});
  }
  for (const Point2 p :
       {Point2{140, 60}, Point2{10, 5}, Point2{280, 0}, Point2{33, 0}, Point2{0, 60}, Point2{271, 119}}) {
    const auto loads = support_loads(wheels, 30, {p.x_mm, p.y_mm, 50});
    ASSERT_TRUE(loads.stands);
    double sum = 0, mx = 0, my = 0;
    for (std::size_t i = 0; i < wheels.size(); ++i) {
      sum += loads.load_n[i];
      mx += loads.load_n[i] * wheels[i].x_mm;
      my += loads.load_n[i] * wheels[i].y_mm;
      EXPECT_GE(loads.load_n[i], 0);
    }
    EXPECT_NEAR(sum, 30, 1e-6);
    EXPECT_NEAR(mx / 30, p.x_mm, 1e-5);
    EXPECT_NEAR(my / 30, p.y_mm, 1e-5);
  }
}

TEST(SupportLoads, SlopeMovesLoadDownhill) {
  const std::vector<Point2> wheels = {{0, 0}, {120, 0}, {120, 80}, {0, 80}};
  const auto loads = support_loads(wheels, 20, {60, 40, 50}, {0.3, 0});
  ASSERT_TRUE(loads.stands);
  // Moment about the uphill pair: N_down L = W (cos a x + sin a h).
  EXPECT_NEAR(loads.load_n[1] + loads.load_n[2], 20 * (std::cos(0.3) * 60 + std::sin(0.3) * 50) / 120, 1e-9);
  EXPECT_FALSE(support_loads(wheels, 20, {60, 40, 50}, {0.9, 0}).stands);
}

TEST(SupportLoads, FewerThanThreeContacts) {
  const std::vector<Point2> two = {{0, 0}, {100, 0}};
  const auto on = support_loads(two, 10, {25, 0, 50});
  ASSERT_TRUE(on.stands);
  EXPECT_NEAR(on.load_n[0], 7.5, 1e-7);
  EXPECT_FALSE(support_loads(two, 10, {25, 1, 50}).stands);
  const std::vector<Point2> one = {{3, 4}};
  EXPECT_NEAR(support_loads(one, 10, {3, 4, 5}).load_n[0], 10, 1e-7);
}
