// Covers functions/grip/jaws: jaw geometry by coordinates, the linkage against the solver of src/linkage, torque by
// virtual work against joint forces, and the search against every linkage of a small region.
#include "functions/grip/jaws.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace grip = functions::grip;
using grip::JawDrive;
using grip::JawPair;

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kPitch = 8;
const std::vector<linkage::Bar> kBars{{5, 4, "bar of 5"}};
const JawPair kBoth{48, 12, true};
constexpr std::array<double, 2> kOpening{10, 50};

grip::JawTask small_task() {
  grip::JawTask t;
  t.pitch_mm = kPitch;
  t.pairs = {kBoth};
  t.opening_mm = kOpening;
  for (int x = -8; x <= -6; x += 2)
    for (int z = -2; z <= 2; z += 2) t.crank_pivots.push_back({x, z});
  t.bars = kBars;
  t.min_transmission_rad = 35 * kPi / 180;
  t.keep = 20;
  return t;
}

/// Crank and rocker pins in millimetres.
struct Pins {
  double cx, cz, px, pz, qx, qz;
};
Pins pins(const JawDrive& d, double crank) {
  const double rocker = grip::rocker_rad(d, kPitch, crank);
  const double cx = d.crank_pivot.x_hp * kPitch / 2, cz = d.crank_pivot.z_hp * kPitch / 2;
  return {cx,
          cz,
          cx + d.crank_p * kPitch * std::cos(crank),
          cz + d.crank_p * kPitch * std::sin(crank),
          d.rocker_p * kPitch * std::cos(rocker),
          d.rocker_p * kPitch * std::sin(rocker)};
}

/// Smaller angle between coupler and rocker.
double transmission(const Pins& p) {
  const double coupler = std::atan2(p.qz - p.pz, p.qx - p.px), rocker = std::atan2(p.qz, p.qx);
  const double angle = std::fabs(std::remainder(coupler - rocker, kPi));
  return angle;
}

}  // namespace

TEST(Jaws, AngleOpensTheJawsByCoordinates) {
  for (const double opening : {0.0, 10.0, 24.0, 50.0, 100.0}) {
    const double a = grip::jaw_angle_rad(kBoth, opening);
    // Pivots 24 mm apart, upper tip at 12 + J sin a over the middle.
    EXPECT_NEAR(2 * (12 + 48 * std::sin(a)), opening, 1e-12);
    const double b = grip::jaw_angle_rad({60, 0, false}, opening / 2);
    EXPECT_NEAR(60 * std::sin(b), opening / 2, 1e-12);
  }
  EXPECT_TRUE(std::isnan(grip::jaw_angle_rad(kBoth, 130)));
}

TEST(Jaws, MomentIsForceTimesArmOnceOrTwice) {
  const double a = grip::jaw_angle_rad(kBoth, 40), arm = 48 * std::cos(a);
  EXPECT_NEAR(grip::jaw_moment_nmm(kBoth, 40, 3, 0.9), 3 * arm + 3 * arm / 0.9, 1e-12);
  EXPECT_NEAR(grip::jaw_moment_nmm({48, 0, false}, 40, 3, 0.9), 3 * std::sqrt(48.0 * 48 - 40.0 * 40), 1e-12);
}

// Second route: the travels that linkage::find_four_bars describes, closure by closure.
TEST(Jaws, RockerStandsWhereTheLinkageSolverPutsIt) {
  linkage::FourBarTask task;
  task.pitch_mm = kPitch;
  task.crank_pivots = {{-8, 2}, {-6, -4}};
  task.rocker_pivots = {{0, 0}};
  task.bars = kBars;
  task.swing_rad = 0.7;
  task.start_step_rad = 0.5;
  task.every_travel = true;
  task.min_transmission_rad = 0.3;
  const linkage::FourBars found = linkage::find_four_bars(task);
  ASSERT_GT(found.best.size(), 20u);
  for (const linkage::FourBarChoice& c : found.best) {
    const JawDrive d{c.crank_pivot, c.crank_p, c.coupler_p, c.rocker_p, c.closure, 0, 0, 0};
    const double from = grip::rocker_rad(d, kPitch, c.start_rad), to = grip::rocker_rad(d, kPitch, c.start_rad + 0.7);
    EXPECT_NEAR(std::remainder(from - c.output_from_rad, 2 * kPi), 0, 1e-9);
    EXPECT_NEAR(std::remainder(to - from - c.output_swing_rad, 2 * kPi), 0, 1e-9);
    const double h = 1e-6;
    EXPECT_NEAR(grip::rocker_rate(d, kPitch, c.start_rad + 0.3),
                std::remainder(grip::rocker_rad(d, kPitch, c.start_rad + 0.3 + h) -
                                   grip::rocker_rad(d, kPitch, c.start_rad + 0.3 - h),
                               2 * kPi) /
                    (2 * h),
                1e-6);
  }
}

// Second route: the coupler is a bar with two pins, so its force runs along it; its lever at the rocker gives the
// force, its lever at the crank the torque.
TEST(Jaws, TorqueIsTheCouplersForceTimesItsLever) {
  const grip::JawDrives found = grip::find_jaw_drives(small_task(), {});
  ASSERT_FALSE(found.best.at(0).empty());
  for (const JawDrive& d : found.best[0]) {
    const std::vector<double> torque = grip::torque_per_n(d, kBoth, kPitch, kOpening, 0.9);
    for (int i = 0; i < grip::kOpenings; ++i) {
      const double opening = 10 + 40.0 * i / (grip::kOpenings - 1);
      const Pins p = pins(d, grip::crank_at(d, kBoth, kPitch, opening));
      const double length = std::hypot(p.qx - p.px, p.qz - p.pz);
      const double ux = (p.qx - p.px) / length, uz = (p.qz - p.pz) / length;
      const double at_rocker = std::fabs(p.qx * uz - p.qz * ux);
      const double at_crank = std::fabs((p.px - p.cx) * uz - (p.pz - p.cz) * ux);
      const double moment = grip::jaw_moment_nmm(kBoth, opening, 1, 0.9);
      EXPECT_NEAR(torque[static_cast<std::size_t>(i)], moment / at_rocker * at_crank, 1e-6 * moment);
    }
  }
}

TEST(Jaws, FoundLinkagesReachBothOpeningsOneWay) {
  const grip::JawTask task = small_task();
  const grip::JawDrives found = grip::find_jaw_drives(task, {});
  ASSERT_FALSE(found.best.at(0).empty());
  EXPECT_TRUE(found.complete);
  for (const JawDrive& d : found.best[0]) {
    EXPECT_NE(std::find(task.crank_pivots.begin(), task.crank_pivots.end(), d.crank_pivot), task.crank_pivots.end());
    double before = 0;
    for (int i = 0; i <= 200; ++i) {
      const double crank = d.closed_rad + (d.open_rad - d.closed_rad) * i / 200;
      const double jaw = std::remainder(grip::rocker_rad(d, kPitch, crank) + d.quarter * kPi / 2, 2 * kPi);
      const double opening = 2 * (12 + 48 * std::sin(jaw));
      if (i == 0) {
        EXPECT_NEAR(opening, 10, 1e-6);
      } else {
        EXPECT_GT(opening, before);
      }
      if (i == 200) {
        EXPECT_NEAR(opening, 50, 1e-6);
      }
      before = opening;
      EXPECT_GE(transmission(pins(d, crank)), task.min_transmission_rad - 1e-9);
    }
  }
}

// Second route: every bar length, closure and stance of the jaw, the crank followed in small steps of its whole turn.
// No linkage of a pivot is cheaper than the best of them.
TEST(Jaws, NothingFoundIsCheaperThanEveryLinkageTried) {
  const grip::JawTask task = small_task();
  const grip::JawDrives found = grip::find_jaw_drives(task, {});
  ASSERT_FALSE(found.best.at(0).empty());
  const JawDrive& best = found.best[0].front();
  const auto cost_of = [&](const JawDrive& d) {
    const std::vector<double> t = grip::torque_per_n(d, kBoth, kPitch, kOpening, 1);
    return *std::max_element(t.begin(), t.end());
  };
  const double from = grip::jaw_angle_rad(kBoth, 10), to = grip::jaw_angle_rad(kBoth, 50);
  double least = 1e9;
  for (int a = 1; a <= 4; ++a) {
    for (int b = 1; b <= 4; ++b) {
      for (int c = 1; c <= 4; ++c) {
        for (const int closure : {1, -1}) {
          for (int quarter = 0; quarter < 4; ++quarter) {
            JawDrive d{best.crank_pivot, a, b, c, closure, quarter, 0, 0};
            // Runs of crank angles whose jaw is within the travel, in good transmission.
            constexpr int kTurn = 720;
            double start = 0, peak = 0;
            bool inside = false;
            for (int i = 0; i <= 2 * kTurn; ++i) {
              const double crank = 2 * kPi * i / kTurn;
              const double jaw = std::remainder(grip::rocker_rad(d, kPitch, crank) + quarter * kPi / 2, 2 * kPi);
              const bool good = jaw >= from && jaw <= to && transmission(pins(d, crank)) >= task.min_transmission_rad;
              if (good && !inside) {
                start = crank;
                peak = 0;
              }
              if (good) {
                const double opening = 2 * (12 + 48 * std::sin(jaw));
                peak = std::max(
                    peak, std::fabs(grip::rocker_rate(d, kPitch, crank)) * grip::jaw_moment_nmm(kBoth, opening, 1, 1));
              }
              if (!good && inside) {
                const double first = std::remainder(grip::rocker_rad(d, kPitch, start) + quarter * kPi / 2, 2 * kPi);
                const double last =
                    std::remainder(grip::rocker_rad(d, kPitch, crank - 2 * kPi / kTurn) + quarter * kPi / 2, 2 * kPi);
                if (std::fabs(last - first) > 0.97 * (to - from)) least = std::min(least, peak);
              }
              inside = good;
            }
          }
        }
      }
    }
  }
  // The steps cut the ends of a travel a little short.
  EXPECT_GE(cost_of(best), least * 0.98);
  EXPECT_LE(cost_of(best), least * 1.3);
}
