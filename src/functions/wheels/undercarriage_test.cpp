// Covers functions/wheels/undercarriage: slopes against closed forms, pairs on rocking bogies against all bodies cut
// free, steps against the statics of a pushed wheel, curves against the path of each wheel.
#include "functions/wheels/undercarriage.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "balance/crossing.h"
#include "balance/grade.h"
#include "balance/traction.h"

namespace wheels = functions::wheels;
using wheels::Centre;
using wheels::Frame;
using wheels::Undercarriage;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

/// Gauss elimination with pivoting: the tests' own.
std::vector<double> solved(std::vector<std::vector<double>> a, std::vector<double> b) {
  const std::size_t n = b.size();
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t p = c;
    for (std::size_t r = c; r < n; ++r)
      if (std::fabs(a[r][c]) > std::fabs(a[p][c])) p = r;
    std::swap(a[c], a[p]);
    std::swap(b[c], b[p]);
    for (std::size_t r = 0; r < n; ++r) {
      if (r == c) continue;
      const double f = a[r][c] / a[c][c];
      for (std::size_t k = c; k < n; ++k) a[r][k] -= f * a[c][k];
      b[r] -= f * b[c];
    }
  }
  for (std::size_t c = 0; c < n; ++c) b[c] /= a[c][c];
  return b;
}

const Undercarriage kTwo{{-60, 60}, {true, false}, 20, Frame::fixed};

}  // namespace

// VEH-06: mu 0.6, L 120, b 50, h 60 mm: all-wheel 30.964 deg, rear drive 26.565 deg.
TEST(Slope, TwoAxlesGiveTheTextbooksAdhesion) {
  Undercarriage u = kTwo;
  const Centre centre{-10, 60};
  EXPECT_NEAR(wheels::adhesion_slope_rad(u, centre, 0.6, 0) / kDeg, 26.565, 0.001);
  for (const double c : {0.0, 0.05, 0.12}) {
    const balance::Stance stance{120, 50, 60};
    u.driven = {true, false};
    EXPECT_NEAR(wheels::adhesion_slope_rad(u, centre, 0.6, c),
                balance::adhesion_slope_rad(stance, balance::Driven::rear, 0.6, c), 1e-9);
    u.driven = {false, true};
    EXPECT_NEAR(wheels::adhesion_slope_rad(u, centre, 0.6, c),
                balance::adhesion_slope_rad(stance, balance::Driven::front, 0.6, c), 1e-9);
  }
  u.driven = {true, true};
  EXPECT_NEAR(wheels::adhesion_slope_rad(u, centre, 0.6, 0) / kDeg, 30.964, 0.001);
}

// Equal springs under a rigid frame: N_i = W/n + M x_i/sum x^2 (bolt group rule, Shigley, Mechanical Engineering
// Design, from memory).
TEST(Slope, FixedAxlesShareTheLoadLikeSprings) {
  const Undercarriage u{{-80, 0, 80}, {true, true, false}, 20, Frame::fixed};
  const wheels::Standing s = wheels::on_slope(u, {16, 50}, 0, 0, 0);
  ASSERT_TRUE(s.stands);
  for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(s.load[i], 1.0 / 3 + 16 * u.axle_x_mm[i] / (2 * 80.0 * 80.0), 1e-12);
  // Nose heavy: the rear axle would have to pull, so the other two carry alone.
  const wheels::Standing two = wheels::on_slope(u, {72, 50}, 0, 0, 0);
  ASSERT_TRUE(two.stands);
  EXPECT_NEAR(two.load[0], 0, 1e-12);
  EXPECT_NEAR(two.load[1], 0.1, 1e-12);
  EXPECT_NEAR(two.load[2], 0.9, 1e-12);
}

// Second route: body and bogie cut free at the pivot, six equations for three loads, the pivot's force and the push.
TEST(Slope, ARockingPairBalancesWhenCutFree) {
  const double r = 22, a = 11 * kDeg, grip = 0.3, rolling = 0.04, cx = -12, cz = 64;
  const Undercarriage u{{-80, -20, 80}, {true, true, false}, r, Frame::rocking};
  const wheels::Standing s = wheels::on_slope(u, {cx, cz}, a, grip, rolling);
  ASSERT_TRUE(s.stands);
  const double px = -50;
  // unknowns: n0, n1, n2, pivot x, pivot z (on the body), push
  const std::vector<std::vector<double>> m{
      {grip, grip, 0, -1, 0, 0},                                   // bogie along
      {1, 1, 0, 0, -1, 0},                                         // bogie across
      {(-80 - px) + grip * r, (-20 - px) + grip * r, 0, 0, 0, 0},  // bogie about its pivot
      {0, 0, -rolling, 1, 0, -1},                                  // body along: sum = push
      {0, 0, 1, 0, 1, 0},                                          // body across
      {0, 0, (80 - cx) - rolling * cz, cz - r, px - cx, -cz}};     // body about its centre of mass
  const std::vector<double> x = solved(m, {0, 0, 0, std::sin(a), std::cos(a), 0});
  for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(s.load[i], x[i], 1e-12) << i;
  EXPECT_NEAR(s.push, x[5], 1e-12);
}

// The whole-model stage climbs on every wheel by balance/grade.h; both solvers must say the same slope. Pairs are
// compared with all axles driven: at the limit every ground force is then parallel to gravity, as balance/standing.h
// takes them.
TEST(Slope, AgreesWithTheGradeOnActualSupports) {
  struct Case {
    Undercarriage of;
    double rolling;
  };
  for (const Case& c : {Case{{{-60, 60}, {true, false}, 20, Frame::fixed}, 0.04},
                        Case{{{-60, 60}, {false, true}, 20, Frame::fixed}, 0.04},
                        Case{{{-80, -20, 80}, {true, true, false}, 20, Frame::fixed}, 0.03},
                        Case{{{-90, -30, 30, 90}, {true, false, false, true}, 20, Frame::fixed}, 0.05},
                        Case{{{-80, -20, 80}, {true, true, true}, 20, Frame::rocking}, 0},
                        Case{{{-90, -30, 30, 90}, {true, true, true, true}, 20, Frame::rocking}, 0}}) {
    const Centre centre{-4, 46};
    balance::Climber climber;
    climber.weight_n = 20;
    climber.centre = {centre.ahead_mm, 0, centre.height_mm};
    climber.friction = 0.55;
    climber.rolling_resistance = c.rolling;
    const std::size_t axles = c.of.axle_x_mm.size();
    for (const double y : {50.0, -50.0}) {
      const int first = static_cast<int>(climber.state.supports.size());
      for (std::size_t i = 0; i < axles; ++i) {
        climber.state.supports.push_back({"wheel", {c.of.axle_x_mm[i], y}, {c.of.axle_x_mm[i], y}, 0, 0, 50, 0});
        climber.driven.push_back(c.of.driven[i]);
      }
      for (std::size_t i = 0; c.of.frame == Frame::rocking && i + 1 < axles; i += 2)
        climber.state.rockers.push_back({"pair",
                                         first + static_cast<int>(i),
                                         first + static_cast<int>(i) + 1,
                                         {(c.of.axle_x_mm[i] + c.of.axle_x_mm[i + 1]) / 2, y, c.of.radius_mm}});
    }
    EXPECT_NEAR(wheels::adhesion_slope_rad(c.of, centre, 0.55, c.rolling), gradeability(climber).slope_rad, 1e-6)
        << axles << " axles";
  }
}

// The whole-model stage walks over a step contact by contact (balance/crossing.h) and shares the grip out as well as it
// can; here all driven wheels use the same share. One driven axle leaves nothing to share: the same grip. Otherwise the
// walk needs no more.
TEST(Step, AgreesWithTheWalkContactByContact) {
  for (const auto& u : {Undercarriage{{-60, 60}, {true, false}, 20, Frame::fixed},
                        Undercarriage{{-60, 60}, {false, true}, 20, Frame::fixed},
                        Undercarriage{{-60, 60}, {true, true}, 20, Frame::fixed},
                        Undercarriage{{-80, -20, 80}, {true, true, true}, 20, Frame::rocking}}) {
    const Centre centre{-4, 46};
    balance::SideView view;
    for (std::size_t i = 0; i < u.axle_x_mm.size(); ++i)
      view.wheels.push_back(
          {{u.axle_x_mm[i], u.radius_mm}, u.radius_mm, u.driven[i], u.frame == Frame::rocking && i < 2 ? 0 : -1});
    if (u.frame == Frame::rocking) view.rockers.push_back({{-50, u.radius_mm}, 0.5, true});
    view.weight_n = 20;
    view.centre = {centre.ahead_mm, centre.height_mm};
    view.rolling_resistance = 0.03;
    for (const double h : {2.0, 4.0}) {
      double equal_share = 0;
      bool climbs = true;
      for (int axle = 0; axle < static_cast<int>(u.axle_x_mm.size()); ++axle) {
        const auto grip = wheels::grip_for_step(u, centre, axle, h, 0.03, 2.4);
        climbs = climbs && grip;
        equal_share = std::max(equal_share, grip.value_or(0));
      }
      ASSERT_TRUE(climbs) << h;
      const double walked = cross(view, balance::step_up(h)).needed_friction;
      EXPECT_LE(walked, equal_share + 2e-3) << h;
      const auto driven = std::count(u.driven.begin(), u.driven.end(), true);
      if (driven == 1) {
        EXPECT_NEAR(walked, equal_share, 2e-3) << h;
      } else {
        EXPECT_GT(walked, 0.5 * equal_share) << h;
      }
    }
  }
}

// Front wheel pushed against an edge by a driven rear axle: its force goes through its centre, so moments about the
// rear contact give it directly, and the push on the axle is balance/traction.h's W sqrt(2 r h - h^2)/(r - h).
TEST(Step, APushedFrontWheelIsTheTextbooksRoller) {
  const double r = 20, l = 120, b = 55, h = 7;
  const Centre centre{b - l / 2, 45};
  const auto grip = wheels::grip_for_step(kTwo, centre, 1, h, 0);
  ASSERT_TRUE(grip.has_value());
  const double sine = (r - h) / r, cosine = std::sqrt(1 - sine * sine);
  const double n1 = b / (l * sine + r * cosine), n2 = 1 - n1 * sine;
  EXPECT_NEAR(*grip, n1 * cosine / n2, 1e-9);
  EXPECT_NEAR(*grip * n2, balance::step_pull_n(n1 * sine, r, h), 1e-9);
  const wheels::Standing s = wheels::at_step(kTwo, centre, 1, h, *grip, 0);
  EXPECT_NEAR(s.load[0], n2, 1e-9);
  EXPECT_NEAR(s.load[1], n1, 1e-9);
}

// The rear axle at the edge while the front one stands on top: with all axles driven the balance of forces alone says
// what grip does, tan(angle of friction) split between the two; checked by cutting the body free on the tilted posture.
TEST(Step, TheRearAxleClimbsFromTheTiltedPosture) {
  const double r = 20, h = 8, g = 0.35;
  Undercarriage u = kTwo;
  u.driven = {true, true};
  const Centre centre{4, 48};
  const wheels::Standing s = wheels::at_step(u, centre, 0, h, g, 0);
  const double pitch = std::asin(h / 120);
  const double fx = 120 * std::cos(pitch), fz = r + h;  // front centre, from under the rear one
  const double dx = 64 * std::cos(pitch) - 28 * std::sin(pitch), dz = r + 64 * std::sin(pitch) + 28 * std::cos(pitch);
  const double sine = (r - h) / r, cosine = std::sqrt(1 - sine * sine);
  const double ax = -cosine + g * sine, az = sine + g * cosine;  // rear contact, per newton
  const double tx = r * cosine, tz = r - r * sine;               // where it acts
  const std::vector<std::vector<double>> m{
      {ax, g, -1}, {az, 1, 0}, {(tx - dx) * az - (tz - dz) * ax, (fx - dx) - (fz - r - dz) * g, -dz}};
  const std::vector<double> x = solved(m, {0, 1, 0});
  EXPECT_NEAR(s.load[0], x[0], 1e-9);
  EXPECT_NEAR(s.load[1], x[1], 1e-9);
  EXPECT_NEAR(s.push, x[2], 1e-9);
}

TEST(Step, TheHighestStepIsWhereTheGripIsUsedUp) {
  const Centre centre{0, 45};
  for (const auto& u : {Undercarriage{{-70, 70}, {true, true}, 22, Frame::fixed},
                        Undercarriage{{-70, 70}, {true, false}, 22, Frame::fixed},
                        Undercarriage{{-70, -10, 70}, {true, true, true}, 22, Frame::rocking},
                        Undercarriage{{-90, -30, 30, 90}, {true, true, true, true}, 22, Frame::rocking}}) {
    for (const double mu : {0.45, 0.55}) {
      const wheels::StepLimit limit = wheels::climbable_step(u, centre, mu, 0.03, 100);
      ASSERT_GE(limit.axle, 0) << u.driven.size() << " " << mu;
      ASSERT_GT(limit.step_mm, 0.5);
      for (int axle = 0; axle < static_cast<int>(u.driven.size()); ++axle)
        EXPECT_TRUE(wheels::grip_for_step(u, centre, axle, limit.step_mm * 0.999, 0.03, mu)) << axle;
      EXPECT_FALSE(wheels::grip_for_step(u, centre, limit.axle, limit.step_mm * 1.001, 0.03, mu));
      EXPECT_GT(wheels::climbable_step(u, centre, mu * 1.1, 0.03, 100).step_mm, limit.step_mm);
    }
  }
}

// Common practice, no source: a bogie climbs higher than the same wheels on a rigid frame, and a driven front axle
// higher than a pushed one.
TEST(Step, BogiesAndDrivenFrontAxlesClimbHigher) {
  const Centre centre{-10, 45};
  const auto at = [&](std::vector<bool> driven, Frame frame) {
    return wheels::climbable_step({{-80, -20, 80}, std::move(driven), 22, frame}, centre, 0.7, 0.03, 100).step_mm;
  };
  EXPECT_GT(at({true, true, true}, Frame::rocking), at({true, true, true}, Frame::fixed));
  EXPECT_GT(at({true, true, true}, Frame::rocking), at({true, true, false}, Frame::rocking));
}

// Second route: the vehicle drives a small piece of its circle; each wheel slides by its own displacement less its
// rolling.
TEST(Curve, ForceIsTheFrictionAlongEachWheelsPath) {
  const Undercarriage u{{-80, -20, 80}, {true, true, false}, 22, Frame::fixed};
  const Centre centre{5, 40};
  const double radius = 400, track = 100, mu = 0.65;
  for (const bool solid : {false, true}) {
    const wheels::Standing s = wheels::on_slope(u, centre, 0, 0, 0);
    const double angle = 1e-6, middle = -50;  // turn about (middle, radius)
    double work = 0;
    for (std::size_t i = 0; i < 2; ++i) {
      for (const double y : {track / 2, -track / 2}) {
        const double x = u.axle_x_mm[i] - middle, ry = y - radius;
        const double moved_x = x * std::cos(angle) - ry * std::sin(angle) - x;
        const double moved_y = x * std::sin(angle) + ry * std::cos(angle) - ry;
        const double rolled = solid ? radius * angle : moved_x;  // a solid axle turns at the mean speed
        work += mu * s.load[i] / 2 * std::hypot(moved_x - rolled, moved_y);
      }
    }
    EXPECT_NEAR(wheels::curve_force(u, centre, radius, track, solid, mu), work / (radius * angle), 1e-5);
  }
}
