// Covers functions/slide/line: guide and forces against the drawer cut free, screw and pinion against work, pins and
// racks counted by hand.
#include "functions/slide/line.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace slide = functions::slide;
using slide::Stage;

namespace {
constexpr double kDeg = std::numbers::pi / 180;
}

// Second route: both contact forces of the sleeve from balance of force and moments, sign by sign.
TEST(Line, GuideCarriesWhatTheDrawerCutFreeSays) {
  for (const double overhang : {-60.0, -20.0, 0.0, 35.0, 120.0}) {
    const Stage s{4, 25 * kDeg, 0, 0.2, 40, overhang};
    const double normal = 4 * std::cos(25 * kDeg), x = 12;
    // ends at 0 (front) and -b (back), load at e: front + back = N, back about the front: -b back + e N = 0
    const double e = overhang + x, back = -e / 40 * normal, front = normal - back;
    EXPECT_NEAR(slide::guide_load_n(s, x), std::fabs(front) + std::fabs(back), 1e-12) << overhang;
  }
}

TEST(Line, ForcesAreWeightPushAndFriction) {
  const Stage level{5, 0, 3, 0.25, 40, 0};
  const slide::Forces f = slide::forces_at(level, 20);  // guide: 5 (1 + 2 * 0.5) = 10 N
  EXPECT_NEAR(f.out_n, 3 + 2.5, 1e-12);
  EXPECT_NEAR(f.in_n, 2.5, 1e-12);
  EXPECT_NEAR(f.rest_n, 0.5, 1e-12);
  const slide::Forces up = slide::forces_at({5, 90 * kDeg, 0, 0.25, 40, 0}, 20);  // straight up: no guide load
  EXPECT_NEAR(up.out_n, 5, 1e-12);
  EXPECT_NEAR(up.in_n, -5, 1e-12);
  EXPECT_NEAR(up.rest_n, 5, 1e-12);
}

// Beer & Johnston, Statics, Sample Problem 8.3 (from memory): a bracket on a pipe of 3 in. touches it 6 in. apart,
// mu = 0.25; it just stays where it is with its load 12 in. from the pipe's axis: 6 in. = 2 * 0.25 * 12 in.
TEST(Line, ASleeveMovedBesideItsMiddleJamsWhereTheTextbookSays) {
  constexpr double kInch = 25.4;
  EXPECT_NEAR(slide::kept_beside({5, 0, 0, 0.25, 6 * kInch, 0, 12 * kInch}), 0, 1e-12);
  EXPECT_GT(slide::kept_beside({5, 0, 0, 0.25, 6 * kInch, 0, 11.9 * kInch}), 0);
  EXPECT_LT(slide::kept_beside({5, 0, 0, 0.25, 6 * kInch, 0, 12.1 * kInch}), 0);
}

// Second route: the bar cut free, both ends' forces with their own friction, solved for the moving force by rounds. No
// weight but a push, so that the tilt is the moving force's alone.
TEST(Line, AForceBesideTheBarTakesMoreByItsOwnTilt) {
  for (const double offset : {0.0, 8.0, 20.0, 45.0}) {
    const Stage s{0, 0, 3, 0.2, 40, 0, offset};
    double force = 3;
    for (int i = 0; i < 400; ++i) force = 3 + 0.2 * 2 * (force * offset / 40);
    EXPECT_NEAR(slide::forces_at(s, 10).out_n, force, 1e-9) << offset;
  }
  EXPECT_GT(slide::forces_at({0, 0, 3, 0.2, 40, 0, 100}, 10).out_n, 1e5);  // jams: 2 mu a = b
}

// Second route: work of the torque over the travel is the work along the line over the efficiency. Screw: Shigley,
// Mechanical Engineering Design, Eq. 8-4 e = F l/(2 pi T).
TEST(Line, TorqueDoesTheWorkOverTheEfficiency) {
  const Stage s{6, 10 * kDeg, 2, 0.2, 48, 10};
  const double travel = 40;
  double work = 0;
  for (int i = 0; i < 20000; ++i) work += slide::forces_at(s, travel * (i + 0.5) / 20000).out_n * travel / 20000;
  const linkage::Screw screw{5, 2, 0.2, 0, 0, 0};
  const slide::Torques t = slide::by_screw(s, travel, screw);
  EXPECT_NEAR(t.mean_nmm * 2 * std::numbers::pi * travel / 2, work / linkage::efficiency(screw), 1e-6 * work);
  const slide::Torques p = slide::by_pinion(s, travel, 12, 0.9);
  EXPECT_NEAR(p.mean_nmm * travel / 12, work / 0.9, 1e-6 * work);
  EXPECT_NEAR(p.peak_nmm, slide::forces_at(s, travel).out_n * 12 / 0.9, 1e-12);
  // A load that runs down by itself asks a screw that does not lock for nothing, and one that locks for its own
  // friction.
  const slide::Torques down = slide::by_screw({6, 90 * kDeg, 0, 0.2, 48, 0}, travel, screw);
  EXPECT_NEAR(down.in_nmm.front(), linkage::lower_torque_nmm(screw, 6), 1e-12);
  EXPECT_EQ(slide::by_pinion({6, 90 * kDeg, 0, 0.2, 48, 0}, travel, 12, 0.9).in_nmm.front(), 0);
}

TEST(Line, CountsHoles) {
  EXPECT_EQ(slide::pinned_reaches_mm(32, 8), (std::vector<double>{0, 8, 16, 24, 32}));
  EXPECT_EQ(slide::pinned_reaches_mm(33, 8).back(), 40);
  EXPECT_EQ(slide::bar_holes(32, 40, 8), 10);  // holes 0 .. 9: five pitches inside, four of travel
  EXPECT_EQ(slide::bar_holes(33, 40, 8), 11);
  EXPECT_EQ(slide::guided_travel_mm(10, 40, 8), 32);
  EXPECT_EQ(slide::guided_travel_mm(5, 40, 8), 0);
}
