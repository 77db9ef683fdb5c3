// Covers assessment: masses, stance against closed forms, sockets against brute force, run time, certainty, remedies.
#include "assessment/assessment.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "assessment/internal.h"
#include "assessment/test_chassis.h"

using namespace assessment;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

/// One kit with a motor of 50 g and two hubs; figures invented.
struct World {
  std::shared_ptr<stock::Catalogue> catalogue = std::make_shared<stock::Catalogue>();
  std::shared_ptr<stock::Stock> stock = std::make_shared<stock::Stock>();
  brief::Brief brief;

  World() {
    catalogue->system.pitch_mm = 8;
    catalogue->system.craft.fill_density_g_cm3.value = base::Triple::exact(0.1);
    const auto part = [](const char* id, stock::Family family, stock::PartData data) {
      stock::PartClass p;
      p.id = p.name = id;
      p.family = family;
      p.data = std::move(data);
      return p;
    };
    stock::PartClass motor = part("motor", stock::Family::motor, stock::Motor{});
    motor.mass_g.value = base::Triple::exact(50);
    stock::PartClass gear = part("gear", stock::Family::gear, stock::Gear{});
    gear.mass_g.value = base::Triple::exact(5);
    stock::Hub h;
    h.ports = 3;
    h.total_current_ma = 1000;
    h.port_current_ma = 800;
    stock::PartClass hub = part("hub", stock::Family::hub, h);
    hub.mass_g.value = base::Triple::exact(200);
    catalogue->classes = {motor, gear, hub};
    stock->types = {{stock::ClassId{0}, "", 6, 1}, {stock::ClassId{1}, "", 10, 2}, {stock::ClassId{2}, "", 2, 3}};
    assessment::test::give_chassis(brief, catalogue, stock);
  }

  void add_boom(double low_deg, double high_deg) {
    brief::Body boom;
    boom.id = "boom";
    boom.parent = 0;
    boom.joint = {brief::Joint::Type::pitch, {0, 0, 100}, low_deg * kDeg, high_deg * kDeg};
    boom.mass_g = base::Triple::exact(100);
    boom.centre_mm = {80, 0, 100};
    brief.bodies.push_back(boom);
  }
};

candidate::Candidate motors(int count, double running_ma) {
  candidate::Candidate c;
  c.demand.needs = {{{stock::ClassId{0}}, count, "motor", ""}, {{stock::ClassId{1}}, 2, "gear", ""}};
  c.demand.ports = count;
  c.demand.running_current_ma = running_ma;
  c.masses = {{-1, 50.0 * count + 10}};
  c.nominal.running_current_ma = running_ma;
  c.nominal.margins = {candidate::at_least("force", 2, 1, "N")};
  return c;
}

brief::Function function(const std::string& id, double duty = 1) {
  brief::Function f;
  f.id = id;
  f.duty = duty;
  return f;
}

Options draws(int n) {
  return {1, n};
}

}  // namespace

// tan(angle) = distance of the centre's foot point to the tipping line / height of the centre.
TEST(Stance, ABoxTipsWhereGravityLeavesItsBase) {
  World w;
  const std::vector<Chosen> none;
  const Assessment a = assess(w.brief, none, {}, draws(20));
  ASSERT_TRUE(a.stance.judged);
  EXPECT_NEAR(a.stance.least_deg, std::atan2(60, 50) / kDeg, 1e-9);
  EXPECT_NEAR(std::fabs(a.stance.least_direction_deg), 90, 1e-9);
  EXPECT_NEAR(a.stance.tipping_deg[0], std::atan2(100, 50) / kDeg, 1e-9);
  EXPECT_NEAR(a.stance.least_interval_deg.low, a.stance.least_deg, 1e-9);
}

TEST(Stance, TheLevelBoomIsLookedAtThoughItIsNoEnd) {
  World w;
  w.add_boom(-60, 60);
  w.brief.support.points_mm = {{-100, -500, 0}, {30, -500, 0}, {30, 500, 0}, {-100, 500, 0}};
  const Assessment a = assess(w.brief, {}, {}, draws(10));
  // Centre of both: x = 100 * 80 / 1100, z = (1000 * 50 + 100 * 100) / 1100.
  const double x = 100.0 * 80 / 1100, z = (1000.0 * 50 + 100.0 * 100) / 1100;
  EXPECT_EQ(a.stance.postures, 3u);
  // Raising the boom by 60 deg brings its centre back and up; the level one reaches furthest over the front edge.
  const double up_x = 100 * 80 * 0.5 / 1100, up_z = z + 100 * 80 * std::sin(60 * kDeg) / 1100;
  EXPECT_NEAR(a.stance.least_deg, std::min(std::atan2(30 - x, z), std::atan2(30 - up_x, up_z)) / kDeg, 1e-9);
}

TEST(Stance, OneLoadOnOneChainCountsOnce) {
  World w;
  w.add_boom(0, 0);
  candidate::Candidate luff = motors(1, 100), hoist = motors(1, 100);
  luff.payloads = {{1, {160, 0, 100}, 200}};
  hoist.payloads = {{0, {10, 0, 100}, 150}};
  const brief::Function a = function("luff"), b = function("hoist");
  w.brief.functions = {a, b};
  w.brief.supply.hubs = {stock::ClassId{2}};
  const Assessment x = assess(w.brief, {{&a, &luff}, {&b, &hoist}}, {}, draws(10));
  EXPECT_DOUBLE_EQ(x.stance.load_g, 200);
  EXPECT_TRUE(x.stance.worst.loaded);
}

TEST(Stance, RemediesAreTriedAndTrue) {
  World w;
  w.brief.limits.tipping_angle_deg = 40;
  brief::Body ballast;
  ballast.id = "battery";
  ballast.parent = 0;
  ballast.mass_g = base::Triple::exact(800);
  ballast.centre_mm = {80, 0, 50};
  w.brief.bodies.push_back(ballast);
  w.brief.support.points_mm = {{-100, -90, 0}, {60, -90, 0}, {60, 90, 0}, {-100, 90, 0}};
  const Assessment a = assess(w.brief, {}, {}, draws(10));
  ASSERT_FALSE(a.findings.empty());
  const Finding& f = a.findings.front();
  EXPECT_EQ(f.code, "stance.below_wanted");
  ASSERT_FALSE(f.remedies.empty());
  const Remedy& move = f.remedies.front();
  EXPECT_TRUE(move.enough);
  // Closed form: after k pitches back the centre is at 800 (80 - 8 k) / 1800.
  int k = 0;
  double deg = 0;
  do {
    ++k;
    deg = std::atan2(60 - 800.0 * (80 - 8 * k) / 1800, 50) / kDeg;
  } while (deg < 40);
  EXPECT_NE(move.text.find(std::to_string(k) + " pitch"), std::string::npos) << move.text;
  EXPECT_NEAR(move.after, deg, 1e-9);
}

TEST(Mass, AnEstimateIsEnvelopeAndDrives) {
  World w;
  w.brief.bodies[0].mass_is_estimate = true;
  w.brief.bodies[0].size_mm = {200, 100, 50};  // 1000 cm3: 100 g of filling
  w.brief.supply.hubs = {stock::ClassId{2}};
  const candidate::Candidate c = motors(2, 100);
  const brief::Function f = function("travel");
  w.brief.functions = {f};
  const Assessment a = assess(w.brief, {{&f, &c}}, {}, draws(10));
  // Two motors and a hub on top of the filling; the gears (10 g) are inside it.
  EXPECT_NEAR(a.mass_g, 100 + 2 * 50 + 200, 1e-9);
  EXPECT_TRUE(a.mass_is_estimate);
  EXPECT_NEAR(a.masses[0].fill_g, 90, 1e-9);
}

TEST(Mass, AnEnteredMassIsKept) {
  World w;
  const candidate::Candidate c = motors(1, 100);
  const brief::Function f = function("travel");
  w.brief.functions = {f};
  w.brief.supply.hubs = {stock::ClassId{2}};
  EXPECT_DOUBLE_EQ(assess(w.brief, {{&f, &c}}, {}, draws(10)).mass_g, 1000);
}

// Every way to plug the motors in, by counting.
TEST(Power, SocketsAreSharedOutAsWellAsPossible) {
  World w;
  w.brief.supply.hubs = {stock::ClassId{2}, stock::ClassId{2}};
  const std::vector<double> current{700, 500, 400, 300, 90};
  std::vector<candidate::Candidate> candidates;
  std::vector<brief::Function> functions;
  for (std::size_t i = 0; i < current.size(); ++i) {
    candidates.push_back(motors(1, current[i]));
    functions.push_back(function("f" + std::to_string(i)));
  }
  std::vector<Chosen> chosen;
  for (std::size_t i = 0; i < current.size(); ++i) chosen.push_back({&functions[i], &candidates[i]});
  const Power p = judge_power(w.brief, chosen, {}, draws(0));
  double best = 1e9;
  for (unsigned mask = 0; mask < 32; ++mask) {
    double load[2] = {0, 0};
    int used[2] = {0, 0};
    for (std::size_t i = 0; i < 5; ++i) {
      load[(mask >> i) & 1U] += current[i];
      ++used[(mask >> i) & 1U];
    }
    if (used[0] <= 3 && used[1] <= 3) best = std::min(best, std::max(load[0], load[1]));
  }
  ASSERT_EQ(p.ports.size(), 5u);
  EXPECT_DOUBLE_EQ(std::max(p.hub_running_ma[0], p.hub_running_ma[1]), best);
  EXPECT_TRUE(p.fits == (best <= 1000));
}

TEST(Power, RunTimeIsChargeOverMeanCurrent) {
  World w;
  w.brief.supply.hubs = {stock::ClassId{2}};
  const candidate::Candidate a = motors(1, 600), b = motors(1, 200);
  const brief::Function f = function("a", 0.5), g = function("b", 0.25);
  w.brief.functions = {f, g};
  const Assessment x = assess(w.brief, {{&f, &a}, {&g, &b}}, {}, draws(400));
  EXPECT_DOUBLE_EQ(x.power.average_ma, 350);
  EXPECT_NEAR(x.power.run_time_min.nominal, 60 * 1000 / 350.0, 1e-9);
  // Triangular between 900 and 1100: 5 % lies at 900 + sqrt(0.05 * 200 * 100).
  EXPECT_NEAR(x.power.run_time_min.low, 60 * (900 + std::sqrt(0.05 * 200 * 100)) / 350, 1.5);
}

TEST(Certainty, CountsTheDrawsInWhichEverythingHolds) {
  World w;
  w.brief.parameters.figure[static_cast<std::size_t>(brief::Parameter::pin_friction)].value = {0, 0.5, 1};
  const auto fragile = [](double from, double to) {
    candidate::Candidate c = motors(1, 100);
    c.evaluate = [c, from, to](const brief::Sample& s) {
      candidate::Evaluation e = c.nominal;
      const double x = s[brief::Parameter::pin_friction];
      e.margins[0].ratio = x >= from && x <= to ? 2 : 0.5;
      return e;
    };
    return c;
  };
  // Holds for x <= 0.6 and for x >= 0.4: both together between them. Triangular on [0, 1] with its peak at 0.5:
  // P(x <= 0.4) = 2 * 0.16 = 0.32, so each alone holds in 68 % and both in 36 %, because draw k is one world for both.
  const candidate::Candidate a = fragile(-1, 0.6), b = fragile(0.4, 2);
  const brief::Function f = function("a"), g = function("b");
  w.brief.functions = {f, g};
  w.brief.supply.hubs = {stock::ClassId{2}};
  const Assessment x = assess(w.brief, {{&f, &a}, {&g, &b}}, {}, draws(4000));
  EXPECT_NEAR(x.certainty.functions[0].confidence, 0.68, 0.03);
  EXPECT_NEAR(x.certainty.functions[1].confidence, 0.68, 0.03);
  EXPECT_NEAR(x.certainty.confidence, 0.36, 0.03);
}

TEST(Interval, IsTheNearestRank) {
  std::vector<double> values;
  for (int i = 100; i >= 1; --i) values.push_back(i);
  const base::Triple t = interval_of(values, 50);
  EXPECT_DOUBLE_EQ(t.low, 5);
  EXPECT_DOUBLE_EQ(t.nominal, 50);
  EXPECT_DOUBLE_EQ(t.high, 95);
}
