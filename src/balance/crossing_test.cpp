// Covers obstacles from the side: ramps and ridges by tangents, friction on steps and faces against force balances
// solved by hand, balance on an edge, trenches, rocking pairs, families of steps, and the feasibility of pushes.
#include "balance/crossing.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "balance/push.h"
#include "balance/traction.h"
#include "base/check.h"
#include "base/triple.h"

using balance::CrossingOptions;
using balance::Family;
using balance::Largest;
using balance::SidePoint;
using balance::SideView;
using balance::Stop;

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kDeg = kPi / 180;

/// Two axles `wheelbase` apart, rear axle at x = 0.
SideView two_axles(double wheelbase, double radius, SidePoint centre, bool front_driven = true,
                   bool rear_driven = true) {
  SideView v;
  v.wheels = {{{wheelbase, radius}, radius, front_driven, -1}, {{0, radius}, radius, rear_driven, -1}};
  v.weight_n = 20;
  v.centre = centre;
  return v;
}

/// Invented snow groomer: eight wheels under a belt, raised end wheels.
SideView tracked(bool rocking) {
  SideView v;
  for (int i = 0; i < 8; ++i) v.wheels.push_back({{40.0 * i - 140, 16}, 16, true, rocking ? i / 2 : -1});
  v.wheels.push_back({{-189, 32}, 16, true, -1});
  v.wheels.push_back({{189, 32}, 16, true, -1});
  for (int k = 0; rocking && k < 4; ++k) v.rockers.push_back({{80.0 * k - 120, 20}, 0.35, false});
  v.belt = true;
  v.weight_n = 28;
  v.centre = {0, 50};
  return v;
}

/// Second route for two contacts under a weight of 1: with a pair of horizontal forces +-h the verticals follow from
/// moments, so every friction condition, and the pull, is linear in h.
struct TwoContacts {
  SidePoint np, nq;
  double vp0 = 0, vp1 = 0;  ///< vertical force at p: vp0 + vp1 h

  TwoContacts(SidePoint p, SidePoint normal_p, SidePoint q, SidePoint normal_q, SidePoint centre)
      : np(normal_p), nq(normal_q) {
    // Moments about q: (p - q) x (h, vp) + (c - q) x (0, -1) = 0.
    vp0 = (centre.x_mm - q.x_mm) / (p.x_mm - q.x_mm);
    vp1 = (p.z_mm - q.z_mm) / (p.x_mm - q.x_mm);
  }
  /// h for which both forces lie in their cones; empty where the second is less.
  [[nodiscard]] std::pair<double, double> range(double mu) const {
    double low = -1e6, high = 1e6;
    const auto need = [&](double constant, double slope) {  // constant + slope h >= 0
      if (std::fabs(slope) < 1e-15) {
        if (constant < -1e-12) low = 1e9;
      } else if (slope > 0) {
        low = std::max(low, -constant / slope);
      } else {
        high = std::min(high, -constant / slope);
      }
    };
    const auto cone = [&](SidePoint n, double fx1, double fz0, double fz1) {
      const double n0 = fz0 * n.z_mm, n1 = fx1 * n.x_mm + fz1 * n.z_mm;
      const double t0 = -fz0 * n.x_mm, t1 = fx1 * n.z_mm - fz1 * n.x_mm;
      need(mu * n0 - t0, mu * n1 - t1);
      need(mu * n0 + t0, mu * n1 + t1);
    };
    cone(np, 1, vp0, vp1);
    cone(nq, -1, 1 - vp0, -vp1);
    return {low, high};
  }
  /// Traction of either wheel, rolling resistance aside.
  [[nodiscard]] double pull_of_p(double h) const { return h * np.z_mm - (vp0 + vp1 * h) * np.x_mm; }
  [[nodiscard]] double pull_of_q(double h) const { return -h * nq.z_mm - (1 - vp0 - vp1 * h) * nq.x_mm; }
  /// Both together.
  [[nodiscard]] double pull(double h) const { return pull_of_p(h) + pull_of_q(h); }
  /// The larger of the two; both are straight over h, so it is least at an end or where they meet.
  [[nodiscard]] double least_of_larger(double low, double high) const {
    const double p0 = pull_of_p(0), q0 = pull_of_q(0), slope = (pull_of_p(1) - p0) - (pull_of_q(1) - q0);
    double least = 1e9;
    for (double h : {low, high, std::fabs(slope) > 1e-12 ? std::clamp((q0 - p0) / slope, low, high) : low})
      least = std::min(least, std::max(pull_of_p(h), pull_of_q(h)));
    return least;
  }
};

double friction_of_two(const TwoContacts& two) {
  const auto feasible = [&](double mu) {
    const auto [low, high] = two.range(mu);
    return low <= high;
  };
  double low = 0, high = 5;
  if (!feasible(high)) return std::numeric_limits<double>::infinity();
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (feasible(middle) ? high : low) = middle;
  }
  return high;
}

TwoContacts two_of(const balance::Station& s) {
  const auto &a = s.contacts[0], &b = s.contacts[1];
  return {a.at, {a.normal_x, a.normal_z}, b.at, {b.normal_x, b.normal_z}, {s.centre_x_mm, s.centre_z_mm}};
}

}  // namespace

TEST(SideView, RampAnglesAreTangentsToTheWheels) {
  SideView v = two_axles(120, 20, {60, 40});
  v.underside = {{-30, 22}, {150, 25}};
  const auto tangent = [](double dx, double dz) { return std::atan2(dz, dx) + std::asin(20 / std::hypot(dx, dz)); };
  EXPECT_NEAR(approach_angle_rad(v), tangent(30, 5), 1e-9);
  EXPECT_NEAR(departure_angle_rad(v), tangent(30, 2), 1e-9);
  v.underside = {{0, 15}, {120, 15}};
  EXPECT_EQ(approach_angle_rad(v), kPi / 2);
  EXPECT_EQ(ground_clearance_mm(v), 15);
}

TEST(SideView, BreakoverOfThinWheelsIsTwiceTheHalfWheelbaseAngle) {
  // 2 atan(2 c/L), the rule of vehicle handbooks (from memory), is the case of small wheels.
  SideView v = two_axles(120, 1e-6, {60, 40});
  v.underside = {{55, 12}, {60, 12}, {65, 12}};
  EXPECT_NEAR(breakover_angle_rad(v), 2 * std::atan(2 * 12 / 120.0), 1e-6);
  v.wheels[0].radius_mm = v.wheels[1].radius_mm = v.wheels[0].axle.z_mm = v.wheels[1].axle.z_mm = 20;
  EXPECT_GT(breakover_angle_rad(v), 2 * std::atan(2 * 12 / 120.0));
}

TEST(Crossing, RidgesSharperThanTheBreakoverAngleTouchTheUnderside) {
  SideView v = two_axles(120, 20, {60, 30});
  v.underside = {{0, 12}, {60, 12}, {120, 12}};
  const double angle = breakover_angle_rad(v);
  const auto on = [&](double share) { return cross(v, balance::ridge(share * angle / 2, 60)); };
  EXPECT_GT(on(0.97).least_clearance_mm, 0);
  const auto over = on(1.03);
  EXPECT_LT(over.least_clearance_mm, 0);
  EXPECT_EQ(over.stopped_by(2), Stop::clearance);
  // The ridge meets the middle of the underside.
  EXPECT_NEAR(over.clearance_at_mm, 0, 3);
}

TEST(Crossing, RampsSteeperThanTheApproachAngleTouchTheNose) {
  SideView v = two_axles(120, 20, {40, 30});
  v.underside = {{100, 40}, {160, 14}};
  const double angle = approach_angle_rad(v);
  ASSERT_LT(angle, 0.7);
  EXPECT_GT(cross(v, balance::ridge(0.97 * angle, 200)).least_clearance_mm, 0);
  EXPECT_LT(cross(v, balance::ridge(1.03 * angle, 200)).least_clearance_mm, 0);
}

TEST(Crossing, FrictionOnAFaceIsTheSlopeOrTheShareOfTheDrivenAxle) {
  // VEH-06: statics, recomputed; friction 0.6 climbs these slopes.
  struct Case {
    bool front, rear;
    double tangent;
  };
  for (const Case& c :
       {Case{true, true, 0.6}, Case{false, true, 0.5}, Case{true, false, 0.6 * 50 / (120 + 0.6 * 60)}}) {
    const auto v = two_axles(120, 8, {50, 60}, c.front, c.rear);
    const auto all = cross(v, balance::ridge(std::atan(c.tangent), 400));
    bool seen = false;
    for (const auto& s : all.stations) {
      // Mid-face on the way up.
      if (std::fabs(s.centre_x_mm + 200 / c.tangent) > 1.5) continue;
      seen = true;
      EXPECT_NEAR(s.needed_friction, 0.6, 2e-6);
      EXPECT_NEAR(std::tan(s.pitch_rad), c.tangent, 1e-8);
    }
    EXPECT_TRUE(seen);
  }
}

TEST(Crossing, PushingAFreeWheelOverAStepNeedsItsPull) {
  // VEH-03: F = W sqrt(2 r h - h^2)/(r - h) (Halliday, Resnick & Walker, ch. 12), here given by the rear wheels'
  // friction.
  const double r = 20, l = 120;
  const auto v = two_axles(l, r, {50, 30}, false, true);
  for (const double h : {2.0, 5.0, 9.0}) {
    const double along = std::sqrt(2 * r * h - h * h), tangent = along / (r - h);
    // Moment about the rear contact: V (l + along) + H h = W b, H = V tangent.
    const double front = v.weight_n * 50 / (l + along + h * tangent), pull = balance::step_pull_n(front, r, h);
    const auto all = cross(v, balance::step_up(h));
    double first = 0;
    for (const auto& s : all.stations) {
      if (first == 0 && s.needed_friction > 0) first = s.needed_friction;
    }
    EXPECT_NEAR(first, pull / (v.weight_n - front), 1e-3) << h;
  }
}

TEST(Crossing, EveryStationOfTwoContactsMatchesForcesSolvedByHand) {
  int compared = 0;
  for (const auto& ground :
       {balance::step_up(14), balance::step_up(55), balance::trench(150, 300), balance::ridge(0.4, 60)}) {
    for (const bool tracks : {false, true}) {
      const SideView v = tracks ? tracked(false) : two_axles(120, 20, {55, 35});
      for (const auto& s : cross(v, ground).stations) {
        if (s.contacts.size() != 2) continue;
        const auto &a = s.contacts[0], &b = s.contacts[1];
        if (std::fabs(a.at.x_mm - b.at.x_mm) < 1) continue;
        const double expected = friction_of_two(two_of(s));
        if (expected > 2.4) continue;
        EXPECT_NEAR(s.needed_friction, expected, 1e-5);
        ++compared;
      }
    }
  }
  EXPECT_GT(compared, 500);
}

TEST(Crossing, PullUpAFaceIsItsTractiveEffort) {
  // VEH-07: F = W (sin + c cos), recomputed.
  SideView v = two_axles(120, 20, {55, 35});
  v.rolling_resistance = 0.05;
  const double slope = 0.3, effort = balance::tractive_effort_n(v.weight_n, slope, 0.05);
  const auto ground = balance::ridge(slope, 120);
  const auto strong = cross(v, ground, {.pull_n = 1.01 * effort}), weak = cross(v, ground, {.pull_n = 0.99 * effort});
  EXPECT_NEAR(strong.needed_pull_n, effort, 1e-4);
  EXPECT_EQ(strong.stopped_by(0.8), Stop::nothing);
  EXPECT_EQ(weak.stopped_by(0.8), Stop::pull);
  EXPECT_EQ(weak.stopped_by(0.2), Stop::friction);
  EXPECT_LT(weak.stopped_at_mm(0.8), 0);         // before the top
  EXPECT_EQ(cross(v, ground).needed_pull_n, 0);  // not looked at
}

TEST(Crossing, PullOverAStepIsTheTextbooks) {
  // VEH-03: F = W sqrt(2 r h - h^2)/(r - h) (Halliday, Resnick & Walker, ch. 12), here the traction of the rear wheels.
  const double r = 20, l = 120, h = 7, along = std::sqrt(2 * r * h - h * h), tangent = along / (r - h);
  const auto v = two_axles(l, r, {50, 30}, false, true);
  const double front = v.weight_n * 50 / (l + along + h * tangent), pull = balance::step_pull_n(front, r, h);
  for (const double share : {0.999, 1.001}) {
    double first = -1;
    for (const auto& s : cross(v, balance::step_up(h), {.pull_n = share * pull}).stations) {
      if (s.needed_friction > 0 && first < 0) first = s.friction_with_pull;
    }
    EXPECT_EQ(std::isfinite(first), share > 1) << share;
  }
}

TEST(Crossing, PullOfTwoContactsMatchesForcesSolvedByHand) {
  const SideView v = two_axles(120, 20, {55, 35});
  for (const double mu : {0.6, 0.9, 1.5}) {
    for (const auto& ground : {balance::step_up(12), balance::ridge(0.4, 60), balance::trench(24, 200)}) {
      const auto walk = cross(v, ground, {.pull_n = 30, .pull_friction = mu});
      double most = 0;
      int others = 0;
      for (const auto& s : walk.stations) {
        if (s.contacts.size() != 2 || std::fabs(s.contacts[0].at.x_mm - s.contacts[1].at.x_mm) < 1) {
          ++others;
          continue;
        }
        if (!std::isfinite(s.needed_friction)) continue;
        const TwoContacts two = two_of(s);
        const auto [low, high] = two.range(std::max(mu, s.needed_friction + 1e-9));
        most = std::max(most, std::min(two.pull(low), two.pull(high)));
      }
      EXPECT_EQ(others, 0);
      EXPECT_NEAR(walk.needed_pull_n, v.weight_n * most, 1e-3) << mu;
    }
  }
}

TEST(Crossing, EachWheelsOwnMotorMatchesForcesSolvedByHand) {
  SideView v = two_axles(120, 20, {55, 35});
  v.own_motors = true;
  ASSERT_EQ(v.pulls(), 2);
  SideView shared = v;
  shared.own_motors = false;
  for (const double mu : {0.6, 0.9, 1.5}) {
    for (const auto& ground : {balance::step_up(12), balance::ridge(0.4, 60), balance::trench(24, 200)}) {
      const CrossingOptions how{.pull_n = 60, .pull_friction = mu};
      const auto walk = cross(v, ground, how);
      double most = 0;
      for (const auto& s : walk.stations) {
        ASSERT_EQ(s.contacts.size(), 2u);
        if (!std::isfinite(s.needed_friction)) continue;
        const TwoContacts two = two_of(s);
        const auto [low, high] = two.range(std::max(mu, s.needed_friction + 1e-9));
        most = std::max(most, two.least_of_larger(low, high));
      }
      EXPECT_NEAR(walk.needed_pull_n, 2 * v.weight_n * most, 2e-3) << mu;
      EXPECT_GE(walk.needed_pull_n, cross(shared, ground, how).needed_pull_n - 1e-3);
    }
  }
  // A belt shares out what all motors give.
  v.belt = true;
  EXPECT_EQ(v.pulls(), 1);
}

namespace {

double height_of(const balance::GroundLine& ground, double x) {
  if (x <= ground.front().x_mm) return ground.front().z_mm;
  double z = ground.back().z_mm;
  for (std::size_t i = 0; i + 1 < ground.size(); ++i) {
    const SidePoint a = ground[i], b = ground[i + 1];
    if (x >= a.x_mm && x < b.x_mm) z = a.z_mm + (x - a.x_mm) / (b.x_mm - a.x_mm) * (b.z_mm - a.z_mm);
  }
  return z;
}

/// Underside of a belt as many points: arcs of the wheels and the straight runs between neighbours.
std::vector<SidePoint> belt_points(const SideView& v) {
  std::vector<balance::SideWheel> row = v.wheels;
  std::sort(row.begin(), row.end(), [](const auto& a, const auto& b) { return a.axle.x_mm < b.axle.x_mm; });
  std::vector<SidePoint> out;
  for (const auto& w : row) {
    for (double a = -2.4; a <= 2.4; a += 0.004)
      out.push_back({w.axle.x_mm + w.radius_mm * std::sin(a), w.axle.z_mm - w.radius_mm * std::cos(a)});
  }
  for (std::size_t i = 0; i + 1 < row.size(); ++i) {
    const auto &a = row[i], &b = row[i + 1];  // of equal radii: the run is parallel to the line between the axles
    const double dx = b.axle.x_mm - a.axle.x_mm, dz = b.axle.z_mm - a.axle.z_mm, l = std::hypot(dx, dz);
    for (int k = 0; k <= 800; ++k) {
      const double t = k / 800.0;
      out.push_back({a.axle.x_mm + t * dx + a.radius_mm * dz / l, a.axle.z_mm + t * dz - a.radius_mm * dx / l});
    }
  }
  return out;
}

/// Least height of the centre above x at this pitch, with no point of the underside in the ground.
double resting_height(const SideView& v, const std::vector<SidePoint>& under, const balance::GroundLine& ground,
                      double x, double pitch) {
  const double c = std::cos(pitch), s = std::sin(pitch);
  double out = -1e9;
  for (const SidePoint& p : under) {
    const double rx = p.x_mm - v.centre.x_mm, rz = p.z_mm - v.centre.z_mm;
    out = std::max(out, height_of(ground, x + rx * c - rz * s) - (rx * s + rz * c));
  }
  return out;
}

}  // namespace

// Second route: the centre at its place x sinks as deep as the ground lets it, over all pitches nearby.
TEST(Crossing, ACrawlerRestsWhereItsCentreIsLowest) {
  const SideView v = tracked(false);
  const std::vector<SidePoint> under = belt_points(v);
  for (const auto& ground : {balance::step_up(40), balance::trench(150, 300), balance::ridge(0.35, 50)}) {
    const auto walk = cross(v, ground, {.step_mm = 40});
    EXPECT_GT(walk.most_pitch_rad - walk.least_pitch_rad, 0.01);
    for (const auto& s : walk.stations) {
      const double here = resting_height(v, under, ground, s.centre_x_mm, s.pitch_rad);
      EXPECT_NEAR(here, s.centre_z_mm, 0.01) << s.centre_x_mm;
      // Just before it tips over an edge the hollow it rests in is hardly wider than this.
      for (const double turn : {-0.0008, 0.0008}) {
        EXPECT_GT(resting_height(v, under, ground, s.centre_x_mm, s.pitch_rad + turn), here - 0.03)
            << s.centre_x_mm << " " << turn;
      }
    }
  }
}

// What it takes with a given pull, by the forces at both contacts solved by hand.
TEST(Crossing, ACrawlersPullMatchesForcesSolvedByHand) {
  const SideView v = tracked(false);
  int compared = 0, short_of_pull = 0;
  for (const double pull_n : {9.0, 16.0, 24.0}) {
    for (const auto& ground : {balance::step_up(30), balance::ridge(0.4, 60), balance::trench(150, 300)}) {
      for (const auto& s : cross(v, ground, {.step_mm = 4, .pull_n = pull_n}).stations) {
        if (s.contacts.size() != 2 || std::fabs(s.contacts[0].at.x_mm - s.contacts[1].at.x_mm) < 1) continue;
        const TwoContacts two = two_of(s);
        const auto holds = [&](double mu) {
          const auto [low, high] = two.range(mu);
          return low <= high && std::min(two.pull(low), two.pull(high)) <= pull_n / v.weight_n;
        };
        double low = 0, high = 2.5;
        if (!holds(high)) {
          EXPECT_TRUE(std::isinf(s.friction_with_pull)) << s.centre_x_mm;
          ++short_of_pull;
          continue;
        }
        for (int i = 0; i < 40; ++i) {
          const double middle = (low + high) / 2;
          (holds(middle) ? high : low) = middle;
        }
        EXPECT_NEAR(s.friction_with_pull, high, 1e-5) << s.centre_x_mm;
        ++compared;
      }
    }
  }
  EXPECT_GT(compared, 300);
  EXPECT_GT(short_of_pull, 10);
}

TEST(Crossing, LessPullNeverPassesMore) {
  for (const bool rocking : {false, true}) {
    double last = 0;
    for (const double pull : {4.0, 8.0, 16.0, 32.0}) {
      const auto largest = largest_passed(tracked(rocking), {balance::step_up, 60, 6, 3}, std::vector<double>{0.9},
                                          {.step_mm = 5, .pull_n = pull});
      EXPECT_GE(largest[0].size_mm, last);
      if (pull < 5) {
        EXPECT_EQ(largest[0].stop, Stop::pull);
      }
      last = largest[0].size_mm;
    }
    EXPECT_GT(last, 0);
  }
}

TEST(Crossing, WheelsStandOnTheGroundAndNeverInIt) {
  for (const bool rocking : {false, true}) {
    const SideView v = tracked(rocking);
    const double h = 12;
    for (const auto& s : cross(v, balance::block(h, 90)).stations) {
      for (const auto& c : s.contacts) {
        // Contacts lie on the outline of the block or the level beside it.
        const bool on_level = std::fabs(c.at.z_mm) < 1e-4 && (c.at.x_mm < 1e-4 || c.at.x_mm > 90 - 1e-4);
        const bool on_top = std::fabs(c.at.z_mm - h) < 1e-4 && c.at.x_mm > -1e-4 && c.at.x_mm < 90 + 1e-4;
        const bool on_wall = (std::fabs(c.at.x_mm) < 1e-4 || std::fabs(c.at.x_mm - 90) < 1e-4) && c.at.z_mm < h + 1e-4;
        EXPECT_TRUE(on_level || on_top || on_wall) << s.centre_x_mm << " " << c.at.x_mm << " " << c.at.z_mm;
      }
      EXPECT_GE(s.contacts.size(), 2U);
    }
  }
}

TEST(Crossing, BalanceOnAnEdgeHasTheGreatestStepOfTheLongestLean) {
  // Rear wheel on the ground, belt over the edge, centre above it: h = r (1 - cos q) + (a - k tan q) sin q with the
  // centre a ahead of the rear wheel and k above the belt; its greatest value is the last step that can be stood on.
  SideView v;
  v.wheels = {{{100, 16}, 16, true, -1}, {{-100, 16}, 16, true, -1}};
  v.belt = true;
  v.weight_n = 20;
  v.centre = {-10, 60};
  double most = 0;
  for (double q = 0; q < 1.2; q += 1e-4) {
    most = std::max(most, 16 * (1 - std::cos(q)) + (90 - 60 * std::tan(q)) * std::sin(q));
  }
  const CrossingOptions options{.step_mm = 2, .most_friction = 50, .each_station = false};
  EXPECT_TRUE(cross(v, balance::step_up(most - 0.3), options).keeps_balance);
  const auto over = cross(v, balance::step_up(most + 0.3), options);
  EXPECT_FALSE(over.keeps_balance);
  EXPECT_GT(over.most_pitch_rad, 0.4);
}

TEST(Crossing, TrenchesShorterThanHalfTheTrackAreBridgedLevel) {
  SideView v = tracked(false);
  v.wheels.resize(8);  // no raised wheels: the belt touches from -140 to 140
  const auto narrow = cross(v, balance::trench(138, 1000)), wide = cross(v, balance::trench(142, 1000));
  EXPECT_NEAR(narrow.least_pitch_rad, 0, 1e-6);
  EXPECT_NEAR(narrow.needed_friction, 0, 1e-3);
  EXPECT_LT(wide.least_pitch_rad, -1e-4);
  // As wide as the track and a wheel: the nose falls in.
  EXPECT_EQ(cross(v, balance::trench(200, 1000)).stopped_by(5), Stop::balance);
  // With raised wheels the nose falls too, but the far edge catches it, since the wheel reaches 205 mm ahead; the tail
  // is lost at the end, just before the centre has passed the far edge.
  const auto caught = cross(tracked(false), balance::trench(200, 1000));
  EXPECT_GT(caught.largest_drop_rad, 0.05);
  EXPECT_GT(caught.stations.back().centre_x_mm, 190);
  EXPECT_TRUE(cross(tracked(false), balance::trench(190, 1000)).keeps_balance);
  EXPECT_LT(cross(tracked(false), balance::trench(212, 1000)).stations.back().centre_x_mm, 1);
  // A wheel of radius r over a trench of width w sinks by r - sqrt(r^2 - w^2/4).
  const auto wheels = cross(two_axles(120, 20, {60, 30}), balance::trench(24, 50));
  EXPECT_NEAR(-wheels.least_pitch_rad, std::asin((20 - 16) / 120.0), 2e-3);
}

TEST(Crossing, RockingPairsHalveThePitchOverABlock) {
  // Geometry: one wheel of a pair on the block lifts the pin by half of it.
  SideView v;
  for (const double x : {-100.0, -60.0, 60.0, 100.0}) v.wheels.push_back({{x, 12}, 12, true, x < 0 ? 0 : 1});
  v.rockers = {{{-80, 16}, 0.5, true}, {{80, 16}, 0.5, true}};
  v.weight_n = 20;
  v.centre = {0, 40};
  SideView fixed = v;
  for (auto& w : fixed.wheels) w.rocker = -1;
  fixed.rockers.clear();
  const auto rocking = cross(v, balance::block(6, 20)), stiff = cross(fixed, balance::block(6, 20));
  // Pair: 3 mm at the pin over 160 mm. Fixed: 6 mm under the second wheel, 160 mm ahead of the last.
  EXPECT_NEAR(rocking.most_pitch_rad, std::asin(3 / 160.0), 4e-4);
  EXPECT_NEAR(stiff.most_pitch_rad, std::asin(6 / 160.0), 2e-4);
  EXPECT_NEAR(rocking.most_pitch_rad / stiff.most_pitch_rad, 0.5, 0.02);
}

TEST(Crossing, LargestStepsGrowWithFrictionAndNameWhatStopsThem) {
  const std::vector<double> frictions = {0.4, 0.5, 0.6, 0.9, 1.1, 2};
  const Family family{balance::step_up, 110, 11, 4};
  const auto largest = largest_passed(tracked(false), family, frictions, {.step_mm = 4, .most_friction = 2.5});
  ASSERT_EQ(largest.size(), frictions.size());
  for (std::size_t i = 0; i < largest.size(); ++i) {
    EXPECT_GE(largest[i].size_mm, largest[i > 0 ? i - 1 : 0].size_mm);
    EXPECT_LT(largest[i].size_mm, largest[i].next_mm);
  }
  EXPECT_EQ(largest[0].stop, Stop::friction);
  EXPECT_EQ(largest.back().stop, Stop::balance);
  EXPECT_GT(largest[3].size_mm,
            2.5 * largest[2].size_mm);  // friction decides by a factor: show a range, never one number
  // A low belly stops it before anything else.
  SideView low = two_axles(120, 20, {60, 30});
  low.underside = {{25, 6}, {95, 6}};
  const auto belly = largest_passed(low, {[](double h) { return balance::block(h, 4); }, 40, 10, 3},
                                    std::vector<double>{2}, {.step_mm = 4, .most_friction = 2.5});
  EXPECT_EQ(belly[0].stop, Stop::clearance);
  // One walk serves all frictions: the same as asking each on its own.
  for (const Largest& l : largest) {
    const std::vector<double> one{l.friction};
    const auto alone = largest_passed(tracked(false), family, one, {.step_mm = 4, .most_friction = 2.5});
    EXPECT_EQ(l.size_mm, alone[0].size_mm);
    EXPECT_EQ(l.next_mm, alone[0].next_mm);
    EXPECT_EQ(l.stop, alone[0].stop);
  }
}

// Every size that is told to pass does so in a full walk, and the next one fails by what is named.
TEST(Crossing, RockingPairsPassWhatIsTold) {
  SideView v;
  for (int i = 0; i < 4; ++i) v.wheels.push_back({{200.0 * i / 3 - 100, 16}, 16, true, i / 2});
  for (int k = 0; k < 2; ++k) v.rockers.push_back({{400.0 / 3 * k - 200.0 / 3, 20}, 0.35, false});
  v.weight_n = 20;
  v.centre = {-5, 45};
  v.underside = {{-110, 28}, {110, 28}};
  const std::vector<double> frictions{0.4, 0.7, 1.0};
  for (const auto& family :
       {Family{balance::step_up, 60, 12, 3}, Family{[](double w) { return balance::trench(w, 300); }, 150, 12, 3}}) {
    for (const Largest& l : largest_passed(v, family, frictions, {.step_mm = 4})) {
      EXPECT_EQ(cross(v, family.ground(l.size_mm), {.step_mm = 4}).stopped_by(l.friction), Stop::nothing);
      EXPECT_EQ(cross(v, family.ground(l.next_mm), {.step_mm = 4}).stopped_by(l.friction), l.stop);
    }
  }
}

TEST(Crossing, FaultsNameThePart) {
  SideView v = two_axles(120, 20, {60, 30});
  EXPECT_EQ(fault_of(v), "");
  v.wheels[0].rocker = 0;
  EXPECT_NE(fault_of(v).find("rocker"), std::string::npos);
  v.rockers.resize(1);
  EXPECT_NE(fault_of(v).find("fewer than two"), std::string::npos);
  EXPECT_THROW((void)cross(v, balance::step_up(3)), base::InternalFault);
}

TEST(Push, AgreesWithTryingEveryBasis) {
  int feasible = 0;
  for (std::uint64_t round = 0; round < 400; ++round) {
    const auto draw = [&](std::uint64_t s) { return 2 * base::uniform_draw(41, s, round) - 1; };
    Eigen::MatrixXd a(3, 6);
    for (Eigen::Index i = 0; i < a.size(); ++i) a(i) = draw(static_cast<std::uint64_t>(i));
    const Eigen::Vector3d b(draw(50), draw(51), draw(52));
    bool expected = false;
    for (int i = 0; i < 6; ++i) {
      for (int j = i + 1; j < 6; ++j) {
        for (int k = j + 1; k < 6; ++k) {
          Eigen::Matrix3d m;
          m << a.col(i), a.col(j), a.col(k);
          if ((m.fullPivLu().solve(b).array() >= 0).all()) expected = true;
        }
      }
    }
    EXPECT_EQ(balance::push_balances(a, b), expected) << round;
    feasible += expected;
  }
  EXPECT_GT(feasible, 50);
  EXPECT_LT(feasible, 350);
}
