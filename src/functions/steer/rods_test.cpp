// Covers functions/steer/rods and rod_search: positions, rates and torques against the general planar mechanism, work
// against the moments', friction against joint equilibrium, play against moved lengths, the search against all rods.
#include "functions/steer/rods.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "functions/steer/evaluate.h"
#include "functions/steer/rod_search.h"
#include "linkage/statics.h"

namespace steer = functions::steer;
using linkage::Vec2;

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kDeg = kPi / 180;

/// Invented: kingpins 13 p apart, wheelbase 22 p, inner wheel 30 deg.
steer::Axle axle() {
  return {8, 26, 176, 30 * kDeg};
}
steer::RodTask small_task() {
  steer::RodTask task;
  task.axle = axle();
  for (const int in : {0, 2, 4, 6})
    for (const int back : {-6, 4, 6, 8, 10}) task.arms.push_back({in, back});
  task.pivots = {{-8, -2}, {-8, 0}, {-4, 0}, {2, -2}};
  for (int holes = 2; holes <= 14; ++holes) task.bars.push_back({holes, 4, "bar"});
  task.max_error_rad = 4 * kDeg;
  task.moment_nmm = 20;
  task.pins = {0.2, 2.4};
  task.shaft_clear_mm = 6.7;
  return task;
}

/// Nine of those it finds, spread over all arms and pivots.
const std::vector<steer::Rods>& samples() {
  static const std::vector<steer::Rods> all = [] {
    const std::vector<steer::RodChoice> found = steer::find_rods(small_task()).choices;
    std::vector<steer::Rods> out;
    for (std::size_t i = 0; i < 9; ++i) out.push_back(found.at(i * (found.size() - 1) / 8).rods);
    return out;
  }();
  return all;
}

/// The same rods drawn straight ahead in the general engine: bodies 1 left arm, 2 right arm, 3 track rod, 4 crank, 5
/// drag link; joints 0 crank pivot (driven), 1 left kingpin, 2 right kingpin.
linkage::Mechanism drawn(const steer::Rods& rods, double friction = 0, double radius_mm = 0) {
  const auto straight = steer::spot_at(rods, axle(), 0);
  EXPECT_TRUE(straight.has_value());
  const steer::Ends e = steer::ends_at(rods, axle(), *straight);
  linkage::Mechanism m;
  const int left = m.add_body("left arm"), right = m.add_body("right arm"), rod = m.add_body("track rod");
  const int crank = m.add_body("crank"), drag = m.add_body("drag link");
  const auto pin = [&](int a, int b, Vec2 at) {
    const int j = m.add_pin(a, at, b, at);
    m.joints[static_cast<std::size_t>(j)].friction = friction;
    m.joints[static_cast<std::size_t>(j)].radius_mm = radius_mm;
    return j;
  };
  m.drive(pin(0, crank, e.pivot));
  pin(0, left, e.left_kingpin);
  pin(0, right, e.right_kingpin);
  pin(left, rod, e.left_arm);
  pin(right, rod, e.right_arm);
  pin(crank, drag, e.crank);
  pin(left, drag, e.left_arm);
  // What turns the crank bears it; its friction belongs to the train.
  m.joints[0].friction = 0;
  return m;
}

linkage::Position straight_ahead(const linkage::Loops& loops) {
  const std::vector<linkage::BodyPose> poses(static_cast<std::size_t>(loops.bodies()), linkage::drawn({0, 0}, 0));
  return linkage::read(loops, poses);
}

/// The general engine's position where the crank stands as in `spot`.
linkage::Position position_at(const linkage::Loops& loops, const steer::Rods& rods, const steer::Spot& spot) {
  const double turn = std::remainder(spot.crank_rad - steer::spot_at(rods, axle(), 0)->crank_rad, 2 * kPi);
  const linkage::Sweep sweep = linkage::sweep(loops, straight_ahead(loops), 0, turn, 40);
  EXPECT_TRUE(sweep.arrives) << sweep.text;
  return sweep.positions.back();
}

}  // namespace

TEST(Rods, PositionsMatchTheGeneralMechanism) {
  for (const steer::Rods& rods : samples()) {
    const auto travel = steer::travel_of(rods, axle());
    ASSERT_TRUE(travel.has_value());
    const linkage::Loops loops(drawn(rods));
    EXPECT_EQ(linkage::mobility(loops.mechanism()).value, 1);
    for (std::size_t i = 0; i < travel->spots.size(); i += 4) {
      const steer::Spot& s = travel->spots[i];
      const linkage::Position p = position_at(loops, rods, s);
      EXPECT_NEAR(linkage::joint_value(loops, p, 1), s.left_rad, 1e-9);
      EXPECT_NEAR(linkage::joint_value(loops, p, 2), s.right_rad, 1e-9);
      const linkage::Motion m = linkage::motion(loops, p, 0);
      EXPECT_NEAR(m.joints[1], 1 / s.crank_turn, 1e-9);
      EXPECT_NEAR(m.joints[2], s.right_turn / s.crank_turn, 1e-9);
    }
  }
}

TEST(Rods, TorqueWithoutFrictionMatchesVirtualWorkAndEquilibrium) {
  for (const steer::Rods& rods : samples()) {
    const auto travel = steer::travel_of(rods, axle());
    ASSERT_TRUE(travel.has_value());
    const linkage::Loops loops(drawn(rods));
    linkage::Statics statics(loops);
    for (std::size_t i = 0; i < travel->spots.size(); i += 4) {
      const steer::Spot& s = travel->spots[i];
      const linkage::Position p = position_at(loops, rods, s);
      const std::vector<linkage::Load> loads = {{1, {0, 0}, {0, 0}, -50}, {2, {0, 0}, {0, 0}, -50}};
      const steer::Effort e = steer::effort_at(s, 50, {});
      EXPECT_NEAR(e.crank_nmm, std::fabs(linkage::virtual_work(loops, p, loads)[0]), 1e-7);
      const linkage::Equilibrium& q = statics.at_rest(p, loads);
      EXPECT_NEAR(e.crank_nmm, std::fabs(q.effort[0]), 1e-7);
      EXPECT_NEAR(e.track_rod_n, std::hypot(q.joints[4].force.x_n, q.joints[4].force.z_n), 1e-8);
      EXPECT_NEAR(e.drag_n, std::hypot(q.joints[5].force.x_n, q.joints[5].force.z_n), 1e-8);
    }
  }
}

// The engine lets rods lean on their pins' friction circles; here their lines stay through the pins' middles, which
// errs by the second order of mu r/lever, under 2 % of the torque for these rods at twice the ordinary friction.
TEST(Rods, TorqueWithFrictionMatchesEquilibriumWithFrictionCircles) {
  for (const steer::Rods& rods : samples()) {
    const auto travel = steer::travel_of(rods, axle());
    ASSERT_TRUE(travel.has_value());
    const linkage::Loops loops(drawn(rods, 0.4, 2.4));
    linkage::Statics statics(loops);
    for (std::size_t i = 0; i < travel->spots.size(); i += 4) {
      const steer::Spot& s = travel->spots[i];
      const linkage::Position p = position_at(loops, rods, s);
      const double free = steer::effort_at(s, 50, {}).crank_nmm;
      const double told = steer::effort_at(s, 50, {0.4, 2.4}).crank_nmm;
      EXPECT_GT(told, 1.05 * free);
      for (const int sense : {1, -1}) {
        // The moments oppose the wheels' turn, whose sense follows the crank's.
        const double moment = s.crank_turn > 0 ? -50 * sense : 50 * sense;
        const std::vector<linkage::Load> loads = {{1, {0, 0}, {0, 0}, moment}, {2, {0, 0}, {0, 0}, moment}};
        const linkage::Equilibrium& q = statics.moving(p, loads, 0, sense);
        ASSERT_TRUE(q.solved && q.converged);
        EXPECT_NEAR(told, std::fabs(q.effort[0]), 0.02 * told) << s.left_rad / kDeg;
      }
    }
  }
}

TEST(Rods, WorkAtTheCrankIsTheWorkOfTheMoments) {
  for (const steer::Rods& rods : samples()) {
    const auto travel = steer::travel_of(rods, axle());
    ASSERT_TRUE(travel.has_value());
    const std::vector<double> torque = steer::crank_torques_nmm(*travel, 50, {});
    const std::vector<double> share = steer::shares_rad(*travel);
    double work = 0, range = 0;
    for (std::size_t i = 0; i < torque.size(); ++i) {
      work += torque[i] * share[i];
      range += share[i];
    }
    EXPECT_NEAR(range, travel->range_rad, 1e-12);
    // Both wheels turn by inner + outer; the trapezoid rule errs by less than 0.1 %.
    const double turned = 2 * (30 * kDeg + travel->outer_rad);
    EXPECT_NEAR(work, 50 * turned, 1e-3 * 50 * turned);
  }
}

TEST(Rods, TimeIsWithinATenthOfAPerCentOfAFineOne) {
  const functions::drive::SpeedLine line{12, 0.09, 130};
  for (const steer::Rods& rods : samples()) {
    const auto travel = steer::travel_of(rods, axle());
    ASSERT_TRUE(travel.has_value());
    const steer::PinFriction pins{0.2, 2.4};
    const double told =
        steer::travel_time_s(steer::crank_torques_nmm(*travel, 12, pins), steer::shares_rad(*travel), line);
    constexpr int kSteps = 4000;
    double fine = 0;
    const double from = travel->spots.front().left_rad, to = travel->spots.back().left_rad;
    for (int i = 0; i < kSteps; ++i) {
      const auto s = steer::spot_at(rods, axle(), from + (to - from) * (i + 0.5) / kSteps);
      ASSERT_TRUE(s.has_value());
      fine += std::fabs(s->crank_turn) * (to - from) / kSteps / line.at(steer::effort_at(*s, 12, pins).crank_nmm);
    }
    EXPECT_NEAR(told, fine, 1e-3 * fine);
  }
}

TEST(Rods, AckermannErrorIsTheSteeringSearchsOwn) {
  for (const steer::Rods& rods : samples()) {
    const auto travel = steer::travel_of(rods, axle());
    ASSERT_TRUE(travel.has_value());
    linkage::SteeringTask task;
    task.pitch_mm = 8;
    task.kingpins_hp = 26;
    task.wheelbase_mm = 176;
    task.inner_rad = 30 * kDeg;
    task.arms = {rods.arm};
    task.bars = {{rods.track_rod_p + 1, 1, "rod"}};
    task.max_error_rad = 1;
    const linkage::Steerings found = linkage::find_steering(task);
    ASSERT_EQ(found.best.size(), 1u);
    EXPECT_NEAR(found.best[0].error_rad, travel->error_rad, 1e-12);
    EXPECT_NEAR(found.best[0].outer_rad, travel->outer_rad, 1e-12);
    EXPECT_EQ(found.best[0].rod_p, rods.track_rod_p);
  }
}

// Second route: the drag link made longer by its play, closed again by bisection.
TEST(Rods, PlayIsHowFarALongerDragLinkTurnsTheWheel) {
  const double longer = 0.03;
  for (const steer::Rods& rods : samples()) {
    const auto travel = steer::travel_of(rods, axle());
    ASSERT_TRUE(travel.has_value());
    double most = 0;
    for (const steer::Spot& s : travel->spots) {
      const steer::Ends e = steer::ends_at(rods, axle(), s);
      const Vec2 arm{e.left_arm.x_mm - e.left_kingpin.x_mm, e.left_arm.z_mm - e.left_kingpin.z_mm};
      const auto gap = [&](double turn) {
        const double c = std::cos(turn), n = std::sin(turn);
        const double x = e.left_kingpin.x_mm + c * arm.x_mm - n * arm.z_mm;
        const double z = e.left_kingpin.z_mm + n * arm.x_mm + c * arm.z_mm;
        return std::hypot(x - e.crank.x_mm, z - e.crank.z_mm) - (rods.drag_p * 8 + longer);
      };
      double low = -0.05, high = 0.05;
      ASSERT_LT(gap(low) * gap(high), 0);
      for (int i = 0; i < 80; ++i) {
        const double mid = (low + high) / 2;
        (gap(mid) * gap(low) > 0 ? low : high) = mid;
      }
      most = std::max(most, std::fabs(low));
    }
    EXPECT_NEAR(steer::wheel_play_rad(*travel, longer, 0, false), most, 5e-3 * most);
    EXPECT_GT(steer::wheel_play_rad(*travel, longer, 0.1, true), steer::wheel_play_rad(*travel, longer, 0.1, false));
  }
}

TEST(Rods, DistanceOfSegments) {
  EXPECT_EQ(steer::distance_mm({0, 0}, {10, 0}, {5, -5}, {5, 5}), 0);
  EXPECT_DOUBLE_EQ(steer::distance_mm({0, 0}, {10, 0}, {12, 0}, {20, 0}), 2);
  EXPECT_DOUBLE_EQ(steer::distance_mm({0, 0}, {10, 0}, {3, 4}, {3, 9}), 4);
  EXPECT_DOUBLE_EQ(steer::distance_mm({0, 0}, {0, 0}, {3, 4}, {3, 4}), 5);
}

// Second route: loops over every set of rods that ask travel_of and the distances alone.
TEST(RodSearch, FindsEverySetOfRodsThatServes) {
  const steer::RodTask task = small_task();
  const steer::RodsFound found = steer::find_rods(task);
  EXPECT_TRUE(found.complete);
  std::vector<steer::Rods> all, told;
  for (const lattice::Point2 arm : task.arms) {
    for (const lattice::Point2 pivot : task.pivots) {
      for (int crank = 1; crank <= task.longest_crank_p; ++crank) {
        for (int drag = 2; drag <= 13; ++drag) {
          for (const int side : {1, -1}) {
            const steer::Rods rods{arm, 13 - arm.x_hp, pivot, crank, drag, side};
            const auto travel = steer::travel_of(rods, task.axle);
            if (!travel || travel->error_rad > task.max_error_rad) continue;
            double links = 1e9, rod = 1e9, link = 1e9;
            for (const steer::Spot& s : travel->spots) {
              const steer::Ends e = steer::ends_at(rods, task.axle, s);
              links = std::min({links, steer::distance_mm(e.pivot, e.crank, e.left_kingpin, e.left_arm),
                                steer::distance_mm(e.pivot, e.crank, e.right_kingpin, e.right_arm)});
              rod = std::min(rod, steer::distance_mm(e.pivot, e.pivot, e.left_arm, e.right_arm));
              link = std::min(link, steer::distance_mm(e.pivot, e.pivot, e.left_arm, e.crank));
            }
            if (links < 8 || (rod < task.shaft_clear_mm && link < task.shaft_clear_mm)) continue;
            all.push_back(rods);
          }
        }
      }
    }
  }
  double before = 0;
  for (const steer::RodChoice& c : found.choices) {
    told.push_back(c.rods);
    EXPECT_GE(c.peak_nmm, before);
    before = c.peak_nmm;
  }
  std::sort(all.begin(), all.end());
  std::sort(told.begin(), told.end());
  EXPECT_EQ(told, all);
  EXPECT_EQ(found.feasible, static_cast<std::int64_t>(all.size()));
  EXPECT_GT(all.size(), 50u);
}

TEST(RodSearch, BarsOfTheStockDecide) {
  steer::RodTask task = small_task();
  task.bars = {{3, 8, "bar"}, {5, 8, "bar"}};  // no track rod is that short
  const steer::RodsFound none = steer::find_rods(task);
  EXPECT_TRUE(none.choices.empty());
  ASSERT_EQ(none.misses.size(), 1u);
  EXPECT_EQ(none.misses[0].reason, steer::RodUnfit::bars);
  EXPECT_EQ(none.misses[0].count, static_cast<std::int64_t>(task.arms.size()));
  // One bar of each length: the four pieces of two equal arms are missing.
  task = small_task();
  for (linkage::Bar& b : task.bars) b.pieces = 1;
  for (const steer::RodChoice& c : steer::find_rods(task).choices) {
    std::vector<int> lengths = steer::bar_lengths_p(c.rods);
    EXPECT_TRUE(linkage::bars_for(task.bars, lengths).has_value());
  }
}

TEST(RodSearch, NearMissesAreToldInNumbers) {
  steer::RodTask task = small_task();
  task.max_error_rad = 0.01 * kDeg;
  const steer::RodsFound found = steer::find_rods(task);
  EXPECT_TRUE(found.choices.empty());
  bool told = false;
  for (const steer::RodMiss& m : found.misses) {
    if (m.reason != steer::RodUnfit::error) continue;
    told = true;
    EXPECT_GT(m.shortfall, 0);
    EXPECT_NE(m.text.find("deg off Ackermann's angle"), std::string::npos) << m.text;
  }
  EXPECT_TRUE(told);
}
