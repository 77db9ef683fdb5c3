// Covers functions/steer/tyre: the mean distance of a disc against summed cells and closed forms, locked and rolling
// wheels, the kingpin's shoulder, the turning circle against the published Ackermann case.
#include "functions/steer/tyre.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "linkage/steering.h"

namespace steer = functions::steer;

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kDeg = kPi / 180;

/// Second route: the disc cut into small squares.
double summed_distance(double radius, double offset) {
  constexpr int kCells = 1200;
  const double cell = 2 * radius / kCells;
  double sum = 0;
  std::int64_t count = 0;
  for (int i = 0; i < kCells; ++i) {
    for (int j = 0; j < kCells; ++j) {
      const double x = -radius + (i + 0.5) * cell, y = -radius + (j + 0.5) * cell;
      if (x * x + y * y > radius * radius) continue;
      sum += std::hypot(x + offset, y);
      ++count;
    }
  }
  return sum / static_cast<double>(count);
}

}  // namespace

TEST(Tyre, MeanDistanceMatchesSummedCells) {
  for (const double offset : {0.0, 2.0, 7.5, 10.0, 14.0, 40.0})
    EXPECT_NEAR(steer::mean_distance_mm(10, offset), summed_distance(10, offset), 2e-3) << offset;
}

TEST(Tyre, MeanDistanceHasTheClosedFormsOfADisc) {
  // From the centre 2/3 r; from the rim 32 r/(9 pi): integral of (2 r cos f)^3 / (3 pi r^2), f from -pi/2 to pi/2.
  EXPECT_NEAR(steer::mean_distance_mm(6, 0), 4, 1e-12);
  EXPECT_NEAR(steer::mean_distance_mm(6, 6), 32 * 6 / (9 * kPi), 1e-4);
  // Both branches meet at the rim; far away only the offset counts, to second order r^2/(8 e).
  EXPECT_NEAR(steer::mean_distance_mm(6, 6 - 1e-7), steer::mean_distance_mm(6, 6 + 1e-7), 2e-3);
  EXPECT_NEAR(steer::mean_distance_mm(1, 50), 50 + 1 / (8 * 50.0), 1e-6);
}

// The textbooks' estimate is a root mean square, so never below the mean: Taborek, Mechanics of Vehicles, 1957 (from
// memory).
TEST(Tyre, TheTextbookEstimateForLockedWheelsIsAnUpperBound) {
  for (const double offset : {0.0, 3.0, 8.0, 12.0, 30.0}) {
    const double estimate = std::sqrt(8.0 * 8 / 2 + offset * offset);
    const double mean = steer::mean_distance_mm(8, offset);
    EXPECT_LE(mean, estimate);
    EXPECT_GT(mean, 0.9 * estimate) << offset;
  }
}

TEST(Tyre, ALockedWheelNeedsMoreThanOneThatRolls) {
  steer::Contact c{5, 0.8, 0.05, 10, 20, true};
  // 2/3 mu N r + f N e
  EXPECT_NEAR(steer::standing_moment_nmm(c), 5 * (0.8 * 20.0 / 3 + 0.05 * 20), 1e-12);
  const double rolling = steer::standing_moment_nmm(c);
  c.rolls = false;
  EXPECT_NEAR(steer::standing_moment_nmm(c), 5 * 0.8 * summed_distance(10, 20), 5e-3);
  EXPECT_GT(steer::standing_moment_nmm(c), 2 * rolling);
  // Over the contact's own middle both only drill.
  c.offset_mm = 0;
  const double locked = steer::standing_moment_nmm(c);
  c.rolls = true;
  EXPECT_NEAR(steer::standing_moment_nmm(c), locked, 1e-9);
}

TEST(Tyre, ShoulderFrictionMatchesRingsAddedUp) {
  double sum = 0;
  constexpr int kRings = 20000;
  const double area = kPi * (16 - 4);
  for (int i = 0; i < kRings; ++i) {
    const double r = 2 + 2 * (i + 0.5) / kRings;
    sum += 0.3 * 7 / area * 2 * kPi * r * r * 2 / kRings;
  }
  EXPECT_NEAR(steer::shoulder_moment_nmm(7, 0.3, 2, 4), sum, 1e-6);
}

// Ackermann steering, wheelbase 2.6 m, track 1.5 m, inner wheel 28 deg: outer wheel 22.141 deg, radius of the middle of
// the rear axle 5.640 m. Statement: askfilo.com 3433313337383839; values recomputed from cot o - cot i =
// track/wheelbase.
TEST(Tyre, TurningCircleOfThePublishedCase) {
  const double inner = 28 * kDeg, outer = linkage::ackermann_outer_rad(inner, 1500, 2600);
  EXPECT_NEAR(outer / kDeg, 22.141, 0.002);
  const double rear = 2600 / std::tan(inner) + 750;
  EXPECT_NEAR(rear, 5640, 1);
  const double circle = steer::kerb_circle_mm(inner, outer, 2600, 1500, 0, 0);
  EXPECT_NEAR(circle / 2, std::hypot(2600, rear + 750), 1e-6);
  EXPECT_NEAR(circle / 2, 2600 / std::sin(outer), 1e-6);
  EXPECT_NEAR(steer::kerb_circle_mm(inner, outer, 2600, 1500, 100, 200) - circle, 2 * (100 + 100), 1e-9);
}
