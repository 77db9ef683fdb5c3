// Covers ground.h: slopes and tipping on rocking beams against closed forms, obstacles with what stops them, ranges
// over friction, remedies that hold when they are done. Machine and figures invented.
#include "assessment/ground.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "assessment/internal.h"
#include "candidate/running_gear.h"

using namespace assessment;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

/// A vehicle of 1 kg on evenly spread wheels of 40 mm, 120 mm from the first to the last, 100 mm apart; its centre of
/// mass 50 mm ahead of the rear axle and 60 mm high (the vehicle of VEH-06).
struct Vehicle {
  std::shared_ptr<stock::Catalogue> catalogue = std::make_shared<stock::Catalogue>();
  brief::Brief brief;
  brief::Function travel;
  candidate::Candidate candidate;
  std::shared_ptr<candidate::RunningGear> gear = std::make_shared<candidate::RunningGear>();

  explicit Vehicle(int wheels = 2) {
    catalogue->system.pitch_mm = 8;
    brief.catalogue = catalogue;
    brief.stock = std::make_shared<stock::Stock>();
    for (auto& f : brief.parameters.figure) f.value = base::Triple::exact(1);
    set(brief::Parameter::ground_friction, {0.4, 0.6, 0.9});
    set(brief::Parameter::rolling_resistance, base::Triple::exact(0));
    brief::Body chassis;
    chassis.id = "chassis";
    chassis.mass_g = base::Triple::exact(1000);
    chassis.centre_mm = {-10, 0, 60};
    chassis.size_mm = {150, 90, 60};
    brief.bodies = {chassis};
    brief.support.type = brief::Support::Type::wheels;
    brief.support.points_mm = {{-60, -50, 0}, {60, -50, 0}, {60, 50, 0}, {-60, 50, 0}};
    gear->gauge_mm = 100;
    for (int i = 0; i < wheels; ++i) gear->wheels.push_back({-60 + 120.0 * i / (wheels - 1), 20, 20, true, true, -1});
    travel.id = "travel";
  }
  void set(brief::Parameter p, base::Triple value) {
    brief.parameters.figure[static_cast<std::size_t>(p)].value = value;
  }
  void meet(brief::Obstacle::Type type, double size, std::optional<base::Triple> friction = std::nullopt) {
    brief::Obstacle o;
    o.id = "obstacle " + std::to_string(brief.obstacles.size() + 1);
    o.type = type;
    (type == brief::Obstacle::Type::slope ? o.slope_rad : o.height_mm) = size;
    if (type == brief::Obstacle::Type::trench) std::swap(o.height_mm, o.width_mm);
    o.friction = friction;
    brief.obstacles.push_back(o);
  }
  [[nodiscard]] Assessment judge(int draws = 200) {
    candidate.running_gear = gear;
    return assess(brief, {{&travel, &candidate}}, {}, {1, draws});
  }
};

const Finding* find_code(const Assessment& a, const std::string& code) {
  for (const Finding& f : a.findings)
    if (f.code == code) return &f;
  return nullptr;
}

}  // namespace

// VEH-06 of statics: all wheels tan = mu; rear drive tan = mu (L - b)/(L - mu h).
TEST(Ground, SlopesByAdhesion) {
  Vehicle v;
  const Ground all = v.judge().ground;
  ASSERT_TRUE(all.judged) << all.why_not;
  for (std::size_t i = 0; i < kFrictions; ++i)
    EXPECT_NEAR(all.grade[i].slope_rad,
                std::atan(std::array{0.4, 0.6, 0.9}[i] < 50 / 60.0 ? std::array{0.4, 0.6, 0.9}[i] : 50 / 60.0), 1e-6);
  EXPECT_EQ(all.grade[2].stop, balance::GradeStop::tipping);  // backward over atan(b/h) = 39.806 deg
  v.gear->wheels[1].driven = false;
  EXPECT_NEAR(v.judge().ground.grade[1].slope_rad / kDeg, 26.565, 1e-3);
  v.gear->wheels[1].driven = true;
  v.gear->wheels[0].driven = false;
  EXPECT_NEAR(v.judge().ground.grade[1].slope_rad / kDeg, 10.886, 1e-3);
}

// VEH-04 with evenly spread wheels: moment = mu sum of load x distance from the place that resists least.
TEST(Ground, TurningOnTheSpotDragsEveryWheel) {
  Vehicle v(3);
  v.brief.bodies[0].centre_mm.x_mm = 0;
  v.gear->steers_by_skidding = true;
  const Ground g = v.judge().ground;
  const double weight_n = 9.81;
  EXPECT_NEAR(g.turn_moment_nmm, 0.6 * weight_n * 2 / 3 * 60, 1e-6);
  EXPECT_NEAR(g.turn_force_n, g.turn_moment_nmm / 100, 1e-9);
  EXPECT_NEAR(g.turn_friction_along, g.turn_force_n / (weight_n / 2), 1e-12);
}

TEST(Ground, RampsAndClearanceOfTheEnvelope) {
  const Ground g = Vehicle().judge().ground;
  // Envelope 150 x 60 mm about 60 mm high and 10 mm behind: underside 30 mm high from -85 to 65.
  EXPECT_NEAR(g.clearance_mm, 30, 1e-9);
  // Front corner 5 mm ahead of the axle's centre: it is inside the ramp's tangent until sin a 5 - cos a 10 = 20, never.
  EXPECT_NEAR(g.approach_deg, 90, 1e-6);
  // Rear corner 25 mm behind and 10 mm above the axle: 25 sin a - 10 cos a = 20.
  EXPECT_NEAR(25 * std::sin(g.departure_deg * kDeg) - 10 * std::cos(g.departure_deg * kDeg), 20, 1e-6);
}

TEST(Ground, SizesGrowWithFrictionAndNameWhatStopsTheNext) {
  const Ground g = Vehicle().judge().ground;
  for (const SizeRange* range : {&g.step, &g.trench}) {
    for (std::size_t i = 0; i < kFrictions; ++i) {
      EXPECT_LT(range->at[i].size_mm, range->at[i].next_mm);
      EXPECT_NE(range->at[i].stop, balance::Stop::nothing);
      EXPECT_GE(range->at[i].size_mm, range->at[i > 0 ? i - 1 : 0].size_mm);
    }
  }
  EXPECT_GT(g.step.at[2].size_mm, 1.5 * g.step.at[0].size_mm);
}

TEST(Ground, AnObstacleIsPassedAsTheRangeSays) {
  Vehicle v;
  const SizeRange steps = v.judge().ground.step;
  v.meet(brief::Obstacle::Type::step, steps.at[1].size_mm - 0.2);
  v.meet(brief::Obstacle::Type::step, steps.at[1].next_mm + 0.2);
  v.meet(brief::Obstacle::Type::step, 1);
  const Assessment a = v.judge();
  ASSERT_EQ(a.ground.obstacles.size(), 3u);
  EXPECT_TRUE(a.ground.obstacles[0].passed(1));
  EXPECT_FALSE(a.ground.obstacles[0].passed(0));
  EXPECT_EQ(a.ground.obstacles[1].stop[1], "friction");
  EXPECT_TRUE(a.ground.obstacles[2].passed(0));
  EXPECT_EQ(a.ground.obstacles[2].confidence, 1);
  // Triangular (0.4, 0.6, 0.9): share of the draws above the friction that is needed.
  const double mu = a.ground.obstacles[0].walk.needed_friction;
  ASSERT_LT(mu, 0.6);
  EXPECT_NEAR(a.ground.obstacles[0].confidence, 1 - (mu - 0.4) * (mu - 0.4) / (0.5 * 0.2), 0.08);
  const Finding* stops = find_code(a, "ground.obstacle_stops");
  ASSERT_NE(stops, nullptr);
  EXPECT_NE(stops->text.find("\"obstacle 2\""), std::string::npos) << stops->text;
  ASSERT_NE(find_code(a, "ground.obstacle_unsure"), nullptr);
}

TEST(Ground, RemediesHoldWhenTheyAreDone) {
  Vehicle v;
  v.gear->wheels[1].driven = false;
  brief::Body ballast;
  ballast.id = "ballast";
  ballast.parent = 0;
  ballast.mass_g = base::Triple::exact(400);
  ballast.centre_mm = {30, 0, 50};
  v.brief.bodies.push_back(ballast);
  v.meet(brief::Obstacle::Type::slope, 24 * kDeg);
  const Assessment a = v.judge();
  const Finding* stops = find_code(a, "ground.obstacle_stops");
  ASSERT_NE(stops, nullptr);
  int tried = 0;
  for (const Remedy& r : stops->remedies) {
    Vehicle done = v;
    done.gear = std::make_shared<candidate::RunningGear>(*v.gear);
    if (r.text.find("move \"ballast\" ") == 0) {
      const int k = std::stoi(r.text.substr(std::string("move \"ballast\" ").size()));
      const bool down = r.text.find("down") != std::string::npos;
      (down ? done.brief.bodies[1].centre_mm.z_mm : done.brief.bodies[1].centre_mm.x_mm) +=
          (down || r.text.find("back") != std::string::npos ? -8 : 8) * k;
    } else if (r.text == "drive all wheels") {
      done.gear->wheels[1].driven = true;
    } else {
      done.brief.obstacles[0].slope_rad = r.after * kDeg;
    }
    const ObstacleWay way = done.judge().ground.obstacles[0];
    EXPECT_EQ(way.passed(1), r.enough) << r.text;
    if (r.what == "steepest slope") {
      EXPECT_NEAR(way.grade[1].slope_rad / kDeg, r.after, 1e-6) << r.text;
    }
    ++tried;
  }
  EXPECT_EQ(tried, 3);
}

// Up a face the front axle slips at mu N = mu W (b cos - h sin)/L, since its motor has more than that; the rear one
// must give the rest of W sin (VEH-07). Gearing down by what is missing is enough.
TEST(Ground, WeakMotorsStopItAndAreGearedDown) {
  Vehicle v;
  const double front = (50 * std::cos(20 * kDeg) - 60 * std::sin(20 * kDeg)) / 120;
  const double effort_n = 2 * 9.81 * (std::sin(20 * kDeg) - 0.6 * front);
  brief::Obstacle hill;
  hill.id = "hill";
  hill.type = brief::Obstacle::Type::ridge;
  hill.slope_rad = 20 * kDeg;
  hill.height_mm = 80;
  v.brief.obstacles.push_back(hill);
  v.gear->pull_n = 1.02 * effort_n;
  EXPECT_TRUE(v.judge().ground.obstacles[0].passed(1));
  v.gear->pull_n = 0.8 * effort_n;
  const Assessment a = v.judge();
  EXPECT_EQ(a.ground.obstacles[0].stop[1], "pull");
  EXPECT_NEAR(a.ground.obstacles[0].walk.needed_pull_n, effort_n, 1e-3);
  EXPECT_EQ(a.ground.step.at[2].stop, balance::Stop::pull);
  EXPECT_EQ(a.ground.obstacles[0].confidence, 0);
  const Finding* stops = find_code(a, "ground.obstacle_stops");
  ASSERT_NE(stops, nullptr);
  EXPECT_NE(stops->text.find("pull stops it"), std::string::npos) << stops->text;
  const auto geared = std::find_if(stops->remedies.begin(), stops->remedies.end(),
                                   [](const Remedy& r) { return r.text.find("gear its drive down") == 0; });
  ASSERT_NE(geared, stops->remedies.end());
  EXPECT_TRUE(geared->enough);
  EXPECT_NEAR(geared->after / geared->before, 1.25, 0.011);
  Vehicle done = v;
  done.gear = std::make_shared<candidate::RunningGear>(*v.gear);
  done.gear->pull_n = geared->after;
  EXPECT_TRUE(done.judge().ground.obstacles[0].passed(1));
}

TEST(Ground, ALowUndersideIsRaisedByHalfPitches) {
  Vehicle v;
  v.brief.support.underside_mm = {{-40, 6}, {40, 6}};
  v.meet(brief::Obstacle::Type::ridge, 10);
  v.brief.obstacles[0].slope_rad = 40 * kDeg;
  v.set(brief::Parameter::ground_friction, {1.2, 1.3, 1.4});
  const Assessment a = v.judge();
  ASSERT_EQ(a.ground.obstacles[0].stop[1], "clearance");
  const Finding* stops = find_code(a, "ground.obstacle_stops");
  ASSERT_NE(stops, nullptr);
  const auto raise = std::find_if(stops->remedies.begin(), stops->remedies.end(),
                                  [](const Remedy& r) { return r.text.find("raise the underside") == 0; });
  ASSERT_NE(raise, stops->remedies.end());
  // Half a pitch is 4 mm; less would not do.
  EXPECT_NEAR(std::fmod(raise->after - raise->before, 4), 0, 1e-6);
  EXPECT_GE(raise->after, 0);
  EXPECT_LT(raise->after - 4, 0);
}

TEST(Ground, StandingStillHasNoGround) {
  Vehicle v;
  v.meet(brief::Obstacle::Type::step, 5);
  const Assessment a = assess(v.brief, {}, {}, {1, 10});
  EXPECT_FALSE(a.ground.judged);
  EXPECT_NE(find_code(a, "ground.not_judged"), nullptr);
}

// Four wheels a side rocking in pairs: the chassis stands on the pins, 80 mm apart; on a slope s a pin at height p
// holds p tan s further downhill. Forwards the machine tips where x_c + h tan s = x_pin + p tan s.
TEST(Stance, RockingPairsTipOverTheirPins) {
  Vehicle v(4);
  v.brief.support.rocking = brief::Support::Rocking::pairs;
  v.brief.support.pin_height_mm = 14;
  const Assessment a = v.judge();
  ASSERT_TRUE(a.stance.judged) << a.stance.why_not;
  ASSERT_EQ(a.stance.support_mm.size(), 4u);
  for (const brief::Vec3& p : a.stance.support_mm) EXPECT_NEAR(std::fabs(p.x_mm), 40, 1e-9);
  // Backwards: 30 mm to the rear pins.
  EXPECT_NEAR(a.stance.tipping_deg[36], std::atan(30 / (60 - 14.0)) / kDeg, 1e-6);
  EXPECT_NEAR(a.stance.tipping_deg[0], std::atan(50 / (60 - 14.0)) / kDeg, 1e-6);
  // Sideways the pins stand where the wheels do.
  EXPECT_NEAR(a.stance.tipping_deg[18], std::atan(50 / 60.0) / kDeg, 1e-6);
  EXPECT_NEAR(a.stance.least_deg, std::atan(30 / (60 - 14.0)) / kDeg, 1e-6);
  EXPECT_EQ(a.ground.vehicle.rockers.size(), 2u);
  // With high pins the beams themselves, 20 mm to either wheel, fall over first.
  v.brief.support.pin_height_mm = 28;
  EXPECT_NEAR(v.judge().stance.least_deg, std::atan(20 / 28.0) / kDeg, 1e-6);
  // All on one pin a side: nothing stands.
  Vehicle falls(2);
  falls.brief.support.rocking = brief::Support::Rocking::pairs;
  EXPECT_FALSE(falls.judge().stance.judged);
}
