// Covers functions/crawler: belt length and step in closed form against brute force and known values, the vehicle
// checks through the kind, the best candidate recomputed from the catalogue's line, the laws, and what it says without
// parts.
#include "functions/crawler/crawler.h"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>

#include "functions/crawler/evaluate.h"
#include "functions/crawler/going.h"
#include "functions/crawler/small_kit.h"
#include "gearing/train_load.h"
#include "gearing/train_search.h"
#include "stock/catalogue.h"

namespace crawler = functions::crawler;
using brief::Parameter;
using crawler::Centre;
using crawler::Grip;
using crawler::Outline;

namespace {

constexpr double kPi = std::numbers::pi;
const candidate::Kind kCrawler = crawler::kind();

/// A tracked machine of weight 20 N as in the vehicle checks: contact 160 mm, gauge 120 mm.
brief::Brief check_machine() {
  brief::Brief b = small_kit::machine();
  b.bodies.resize(1);
  b.bodies[0].mass_g = base::Triple::exact(20 / 9.81 * 1000);
  b.bodies[0].centre_mm = {0, 0, 60};
  return b;
}

const std::string kPlain = "speed_mm_s = 60\nslope_deg = 12\nstep_mm = 16\nmotors_per_side = 2\n";

}  // namespace

// Statics on a 0.41 m long outline, 8 road wheels 40 mm apart, end wheels r 16 mm raised 16 mm with their centres 48 mm
// beyond the contact, centre of mass 50 mm up: an independent scan of the same closed form on a 0.5 mm grid (golden).
TEST(Going, StepOfALongTrackMatchesTheScannedClosedForm) {
  const Outline track{280, 16, 32, 48};
  const Centre centre{0, 50};
  const std::pair<double, double> rows[] = {{0.40, 22.0}, {0.50, 25.0}, {0.60, 28.0}, {0.70, 30.5}, {0.75, 31.5}};
  for (const auto& [friction, step] : rows) {
    const auto limit = crawler::friction_step_mm(track, centre, {friction, friction});
    ASSERT_TRUE(limit.has_value()) << friction;
    EXPECT_GE(*limit, step) << friction;
    EXPECT_LT(*limit, step + 0.5) << friction;
    EXPECT_EQ(crawler::climbable_step_mm(track, centre, {friction, friction}), *limit);
  }
  EXPECT_FALSE(crawler::friction_step_mm(track, centre, {0.8, 0.8}).has_value());
  EXPECT_NEAR(crawler::balance_step_mm(track, centre), 94.0, 0.1);
  EXPECT_EQ(crawler::climbable_step_mm(track, centre, {0.8, 0.8}), crawler::balance_step_mm(track, centre));
}

// Second route: equilibrium of the three unknowns (both normals and the place of the rear one) solved by elimination at
// the step's limit; the rear contact must then stand at the last road wheel.
TEST(Going, AtItsLimitTheFloorCarriesAtTheLastRoadWheel) {
  const Outline track{200, 20, 34, 30};
  const Centre centre{12, 55};
  const double mu = 0.55;
  const auto limit = crawler::friction_step_mm(track, centre, {mu, mu});
  ASSERT_TRUE(limit.has_value());
  const double sine = (track.end_height_mm - *limit) / track.end_radius_mm;
  const std::complex<double> normal(-std::sqrt(1 - sine * sine), sine), along(sine, std::sqrt(1 - sine * sine));
  const std::complex<double> front = normal + mu * along;  // force per unit of normal force
  // rear: (mu, 1) n1; sum of forces (0, 1)
  const double n2 = 1 / (front.imag() - front.real() / mu), n1 = -front.real() * n2 / mu;
  EXPECT_NEAR(n1 + n2 * front.imag(), 1, 1e-12);
  const std::complex<double> touch =
      std::complex<double>(track.contact_length_mm / 2 + track.end_reach_mm, track.end_height_mm) -
      track.end_radius_mm * normal;
  EXPECT_NEAR(touch.imag(), *limit, 1e-9);
  // moments about the centre of mass: rear contact at x
  const double front_moment =
      n2 * ((touch.real() - centre.ahead_mm) * front.imag() - (touch.imag() - centre.height_mm) * front.real());
  const double x = centre.ahead_mm - (front_moment + mu * n1 * centre.height_mm) / n1;
  EXPECT_NEAR(x, -track.contact_length_mm / 2, 1e-6);
}

TEST(Going, NeededFrictionIsTheInverseOfTheStep) {
  const Outline track{160, 13, 21, 15};
  const Centre centre{-5, 45};
  for (const double step : {12.0, 15.0, 18.0}) {
    const auto friction = crawler::friction_needed(track, centre, step, true, true);
    ASSERT_TRUE(friction.has_value()) << step;
    const auto limit = crawler::friction_step_mm(track, centre, {*friction, *friction});
    if (limit) {
      EXPECT_NEAR(*limit, step, 1e-3) << step;
    }
    const auto below = crawler::friction_step_mm(track, centre, {*friction * 0.99, *friction * 0.99});
    ASSERT_TRUE(below.has_value()) << step;
    EXPECT_LT(*below, step);
  }
}

TEST(Going, AnUndrivenFrontWheelClimbsLessThanADrivenOne) {
  const Outline wheels{160, 21.5, 21.5, 0};
  const Centre centre{0, 50};
  const auto pushed = crawler::friction_step_mm(wheels, centre, {0, 0.7});
  const auto driven = crawler::friction_step_mm(wheels, centre, {0.7, 0.7});
  ASSERT_TRUE(pushed && driven);
  EXPECT_GT(*driven, *pushed);
  EXPECT_GT(*pushed, 0);
}

// Second route: perimeter of the convex hull of both end circles and the contact line, as a fine polygon.
TEST(Going, BeltLengthIsThePerimeterOfTheHull) {
  EXPECT_NEAR(crawler::belt_length_mm({160, 12.7, 12.7, 0}), 2 * 160 + 2 * kPi * 12.7, 1e-9);
  for (const Outline o : {Outline{160, 12.7, 12.7, 25}, Outline{160, 12.7, 28.7, 25}, Outline{120, 23, 39, 0},
                          Outline{120, 23, 30, 60}}) {
    double length = 0;
    // Gift of symmetry: support function integrated over all directions (Cauchy: perimeter = integral of the support).
    constexpr int kDirections = 200000;
    for (int i = 0; i < kDirections; ++i) {
      const double a = 2 * kPi * (i + 0.5) / kDirections, c = std::cos(a), s = std::sin(a);
      const double end = o.contact_length_mm / 2 + o.end_reach_mm;
      double most = -1e9;
      for (const double side : {-1.0, 1.0}) {
        most = std::max(most, side * end * c + o.end_height_mm * s + o.end_radius_mm);
        most = std::max(most, side * o.contact_length_mm / 2 * c);
      }
      length += most * 2 * kPi / kDirections;
    }
    EXPECT_NEAR(crawler::belt_length_mm(o), length, 1e-3);
  }
}

// VEH-04, Wong, Theory of Ground Vehicles, ch. 6: W 20 N, l 160 mm, B 120 mm, mu 0.7, f 0.08: M 0.560 N m, outer track
// 5.4667 N; on the spot both sides give that force.
TEST(Crawler, TurningOnTheSpotAsksWongsTrackForce) {
  brief::Brief b = check_machine();
  small_kit::fix(b, Parameter::ground_friction, 0.7);
  small_kit::fix(b, Parameter::rolling_resistance, 0.08);
  const auto p = small_kit::propose(kCrawler, small_kit::function("crawler", "speed_mm_s = 40\n", 2), b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    const double radius = c.key.find("sprocket_small") != std::string::npos ? 12.7 : 22.9;
    EXPECT_NEAR(small_kit::margin(c.nominal, "turning torque").requirement, 5.46667 * radius, 1e-4 * radius);
    EXPECT_NEAR(small_kit::figure(c, "turning moment"), 560, 1e-6);
    // Grip along the tracks: mu against mu l/(2 B), so the ratio is 2 B/l whatever the friction.
    EXPECT_NEAR(small_kit::margin(c.nominal, "turning grip").ratio, 2 * 120.0 / 160, 1e-12);
  }
}

// VEH-06: mu 0.6, L 120, b 50, h 60 mm: all-wheel 30.964 deg, rear drive 26.565 deg, backward tip-over 39.806 deg.
TEST(Crawler, SteepestSlopeIsTheAdhesionLimit) {
  brief::Brief b = check_machine();
  b.bodies[0].centre_mm = {-10, 0, 60};  // 50 mm ahead of the rear end of a contact of 120 mm
  small_kit::fix(b, Parameter::ground_friction, 0.6);
  small_kit::fix(b, Parameter::rolling_resistance, 0);
  const std::string ground = "speed_mm_s = 40\ncontact_length_mm = 120\ngauge_mm = 120\nslope_deg = 20\n";
  const auto tracks = small_kit::propose(kCrawler, small_kit::function("crawler", ground, 2), b);
  ASSERT_FALSE(tracks.candidates.empty());
  const candidate::Evaluation& e = tracks.candidates.front().nominal;
  EXPECT_NEAR(small_kit::margin(e, "traction").capability, 30.964, 0.001);
  EXPECT_NEAR(small_kit::margin(e, "slope balance").capability, 39.806, 0.001);

  const auto wheels = small_kit::propose(
      kCrawler, small_kit::function("crawler", ground + "running = \"wheels\"\nmotors_per_side = 2\n", 2), b);
  ASSERT_FALSE(wheels.candidates.empty());
  bool rear = false, all = false;
  for (const candidate::Candidate& c : wheels.candidates) {
    const bool both = c.key.find("|2 driven") != std::string::npos;
    (both ? all : rear) = true;
    EXPECT_NEAR(small_kit::margin(c.nominal, "traction").capability, both ? 30.964 : 26.565, 0.001) << c.key;
  }
  EXPECT_TRUE(rear);
  EXPECT_TRUE(all);
}

// What stands on the ground is as long and as wide as was asked; the pull is that of the stalled motors.
TEST(Crawler, TellsItsRunningGear) {
  const brief::Brief b = check_machine();
  const std::string ground = "speed_mm_s = 40\ncontact_length_mm = 120\ngauge_mm = 110\n";
  const auto tracks = small_kit::propose(
      kCrawler, small_kit::function("crawler", ground + "end_raise_mm = 8\nend_reach_mm = 20\n", 2), b);
  ASSERT_FALSE(tracks.candidates.empty());
  for (const candidate::Candidate& c : tracks.candidates) {
    ASSERT_TRUE(c.running_gear);
    const candidate::RunningGear& g = *c.running_gear;
    EXPECT_TRUE(g.belt);
    EXPECT_EQ(g.gauge_mm, 110);
    ASSERT_EQ(g.wheels.size(), 4u);
    EXPECT_NEAR(g.wheels[3].x_mm - g.wheels[0].x_mm, 120 + 2 * 20, 1e-9);
    EXPECT_NEAR(g.wheels[2].x_mm - g.wheels[1].x_mm, 120, 1e-9);
    EXPECT_NEAR(g.wheels[0].axle_height_mm - g.wheels[0].radius_mm, 8, 1e-9);
    EXPECT_FALSE(g.wheels[0].carries);
    EXPECT_TRUE(g.wheels[1].carries);
    EXPECT_NEAR(g.pull_n, small_kit::figure(c, "pull at stall"), 1e-9);
  }
  const std::string on_wheels = "speed_mm_s = 40\ncontact_length_mm = 120\ngauge_mm = 120\nrunning = \"wheels\"\n";
  const auto wheels = small_kit::propose(kCrawler, small_kit::function("crawler", on_wheels, 2), b);
  ASSERT_FALSE(wheels.candidates.empty());
  const candidate::RunningGear& g = *wheels.candidates.front().running_gear;
  ASSERT_EQ(g.wheels.size(), 2u);
  EXPECT_TRUE(g.wheels[0].driven);
  EXPECT_FALSE(g.wheels[1].driven);
  EXPECT_NEAR(g.wheels[1].x_mm - g.wheels[0].x_mm, 120, 1e-9);
}

// VEH-07: W 20 N, grade 20 %, c 0.05: 4.9029 N.
TEST(Crawler, SlopeTorqueIsTheGradesTractiveEffort) {
  brief::Brief b = check_machine();
  small_kit::fix(b, Parameter::rolling_resistance, 0.05);
  const double slope_deg = std::atan(0.2) / small_kit::kDeg;
  const auto p = small_kit::propose(
      kCrawler, small_kit::function("crawler", "speed_mm_s = 40\nslope_deg = " + std::to_string(slope_deg), 2), b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    const double radius = c.key.find("sprocket_small") != std::string::npos ? 12.7 : 22.9;
    EXPECT_NEAR(small_kit::margin(c.nominal, "slope torque").requirement, 4.9029 / 2 * radius, 5e-4 * radius);
  }
}

// Second route: every motor, train and sprocket, with the motor's straight line written out and the losses of each mesh
// and bearing multiplied up by hand.
TEST(Crawler, BestCandidateIsTheBestOfAllByBruteForce) {
  const brief::Brief b = small_kit::machine();
  const auto f = small_kit::function("crawler", "speed_mm_s = 90\nslope_deg = 14\nturns_on_spot = true\n", 2);
  const auto p = small_kit::propose(kCrawler, f, b);
  ASSERT_FALSE(p.candidates.empty());
  ASSERT_TRUE(p.complete);

  const double weight = 2.0 * 9.81, rolling = 0.05, mu = 0.7, length = 160, gauge = 120;
  const double flat = weight * rolling / 2;
  const double slope = weight * (std::sin(14 * small_kit::kDeg) + rolling * std::cos(14 * small_kit::kDeg)) / 2;
  const double turn = weight * rolling / 2 + mu * weight * length / 4 / gauge;
  const gearing::MeshTable table = gearing::find_meshes(*b.catalogue);
  std::vector<gearing::GearStock> gears;
  for (std::size_t i = 0; i < b.catalogue->classes.size(); ++i)
    gears.push_back({stock::ClassId{static_cast<int>(i)}, 4});
  gearing::TrainQuery query;
  query.low = base::Rational(1, 100);
  query.high = base::Rational(100);
  query.min_stages = 0;
  query.max_stages = 2;
  query.copies = 2;
  const gearing::ToothLimits teeth{25, 0.5, 0.5};
  const gearing::MeshEfficiencies losses{0.93, 0.93, 0.93, 0.93, 0.2, 0.02};
  double best = 0;
  for (const gearing::Train& train : gearing::find_trains(table, gears, query)) {
    double ratio = 1, efficiency = std::pow(0.98, train.shafts());
    for (const gearing::Stage& s : train.stages) {
      ratio *= std::fabs(s.ratio.value());
      efficiency *= gearing::forward_efficiency(s, losses);
    }
    for (const auto& [stall, rpm] : {std::pair{40.0, 380.0}, std::pair{110.0, 240.0}}) {
      for (const double radius : {12.7, 22.9}) {
        const double out_stall = stall / ratio * efficiency;
        const double speed = rpm * kPi / 30 * std::max(0.0, 1 - flat * radius / out_stall) * ratio * radius;
        const double most = std::max(slope, turn) * radius;
        double worst = std::min({speed / 90, out_stall / most, candidate::kMarginCap});
        worst = std::min(worst, gearing::torque_at_stages(train, most, losses, teeth).worst_tooth_margin);
        worst = std::min(worst, std::atan(mu) / (14 * small_kit::kDeg));
        worst = std::min(worst, 2 * gauge / length);
        best = std::max(best, worst);
      }
    }
  }
  // The axle and the balance on the slope are wide enough here not to govern.
  const candidate::Evaluation& e = p.candidates.front().nominal;
  EXPECT_GT(small_kit::margin(e, "axle").ratio, best);
  EXPECT_GT(small_kit::margin(e, "slope balance").ratio, best);
  EXPECT_NEAR(e.worst(), best, 1e-9 * best);
}

TEST(Crawler, ObeysTheLawsOfAKind) {
  small_kit::expect_laws(kCrawler, small_kit::function("crawler", kPlain, 2), small_kit::machine());
  small_kit::expect_laws(
      kCrawler,
      small_kit::function("crawler", "running = \"wheels\"\nspeed_mm_s = 60\nslope_deg = 8\nmotors_per_side = 2\n", 2),
      small_kit::machine());
}

TEST(Crawler, TwoSidesNeedExactlyTwiceOne) {
  brief::Brief light = small_kit::machine();
  light.bodies.resize(1);
  light.bodies[0].mass_g = base::Triple::exact(600);
  auto stock = std::make_shared<stock::Stock>(*light.stock);
  for (stock::StockType& t : stock->types) t.count += 12;
  light.stock = stock;
  small_kit::expect_mirror(
      kCrawler, small_kit::function("crawler", "speed_mm_s = 60\nslope_deg = 10\nturns_on_spot = false\n", 2), light);
}

// One drive for both sides: the builder must know that the mirrored motors are set the other way.
TEST(Crawler, TellsThatTheOtherSidesMotorsFaceTheOtherWay) {
  brief::Brief light = small_kit::machine();
  auto stock = std::make_shared<stock::Stock>(*light.stock);
  for (stock::StockType& t : stock->types) t.count += 12;
  light.stock = stock;
  for (const bool on_spot : {true, false}) {
    const auto p = small_kit::propose(
        kCrawler,
        small_kit::function(
            "crawler",
            std::string("speed_mm_s = 60\nslope_deg = 10\nturns_on_spot = ") + (on_spot ? "true\n" : "false\n"), 2),
        light);
    ASSERT_FALSE(p.candidates.empty());
    const std::vector<candidate::Drive>& drives = p.candidates.front().drives;
    ASSERT_EQ(drives.size(), on_spot ? 2u : 1u);
    for (const candidate::Drive& d : drives) {
      EXPECT_EQ(d.use, candidate::Drive::Use::travel);
      EXPECT_EQ(d.sense_note.find("the motors of the right one face the other way") == std::string::npos, on_spot);
    }
    if (on_spot) {
      EXPECT_EQ(drives[0].sense, -drives[1].sense);
    }
  }
}

TEST(Crawler, StepIsToldAsARangeOverFriction) {
  const auto p = small_kit::propose(kCrawler, small_kit::function("crawler", kPlain, 2), small_kit::machine());
  ASSERT_FALSE(p.candidates.empty());
  const candidate::Candidate& c = p.candidates.front();
  const double low = small_kit::figure(c, "step at the lowest friction");
  const double high = small_kit::figure(c, "step at the highest friction");
  EXPECT_LE(low, small_kit::figure(c, "step at the nominal friction"));
  EXPECT_LT(low, high);
  ASSERT_EQ(c.curves.size(), 1u);
  EXPECT_EQ(c.curves[0].y.front(), low);
  EXPECT_EQ(c.curves[0].y.back(), high);
  EXPECT_TRUE(std::is_sorted(c.curves[0].y.begin(), c.curves[0].y.end()));
}

TEST(Crawler, SaysHowManyLinksAreMissing) {
  brief::Brief b = small_kit::machine();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  small_kit::set_count(*stock, *b.catalogue, "link_8", 90);
  small_kit::set_count(*stock, *b.catalogue, "sprocket_large", 3);
  b.stock = stock;
  const auto p = small_kit::propose(kCrawler, small_kit::function("crawler", "speed_mm_s = 60\n", 2), b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* links = small_kit::rejection(p, "crawler.too_few_links");
  ASSERT_NE(links, nullptr);
  // 2 x 160 + 2 pi 12.7 = 399.8 mm, that is 50 links of 8 mm a side.
  EXPECT_EQ(links->shortfall, 10);
  EXPECT_NE(links->text.find("100"), std::string::npos) << links->text;
  const candidate::Rejection* sprockets = small_kit::rejection(p, "crawler.too_few_sprockets");
  ASSERT_NE(sprockets, nullptr);
  EXPECT_EQ(sprockets->shortfall, 1);
}

TEST(Crawler, SaysWhatTheFloorForbids) {
  brief::Brief b = small_kit::machine();
  small_kit::fix(b, Parameter::ground_friction, 0.15);
  const auto p =
      small_kit::propose(kCrawler, small_kit::function("crawler", "speed_mm_s = 60\nslope_deg = 30\n", 2), b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* grip = small_kit::rejection(p, "crawler.traction");
  ASSERT_NE(grip, nullptr);
  EXPECT_NEAR(grip->shortfall, 30 - std::atan(0.15) / small_kit::kDeg, 1e-9);
}

TEST(Crawler, TooFastForEveryMotorIsAnAnswerInNumbers) {
  const auto p =
      small_kit::propose(kCrawler, small_kit::function("crawler", "speed_mm_s = 4000\n", 2), small_kit::machine());
  EXPECT_TRUE(p.candidates.empty());
  ASSERT_FALSE(p.rejections.empty());
  EXPECT_GT(p.rejections.front().shortfall, 0);
}

TEST(Crawler, UsesWhatItMustAndNotWhatItMustNot) {
  const brief::Brief b = small_kit::machine();
  brief::Function f = small_kit::function("crawler", "speed_mm_s = 60\n", 2);
  const stock::ClassId large = *b.catalogue->find("sprocket_large"), g24 = *b.catalogue->find("gear_24");
  f.must_use = {large};
  f.must_not_use = {g24};
  const auto p = small_kit::propose(kCrawler, f, b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    bool uses = false;
    for (const candidate::Need& n : c.demand.needs) {
      uses = uses || n.accepts == std::vector{large};
      EXPECT_EQ(std::count(n.accepts.begin(), n.accepts.end(), g24), 0);
    }
    EXPECT_TRUE(uses) << c.key;
  }
}

TEST(CrawlerWants, ReportsEveryProblemAtItsPlace) {
  const auto f = small_kit::function("crawler",
                                     "running = \"trakcs\"\nspeed_mm_s = -3\nsprocket = \"sproket_small\"\nfoo = 1\n"
                                     "motors_per_side = 3\nwheels_per_side = 2\n",
                                     2);
  const auto found = small_kit::problems(kCrawler, f, small_kit::machine());
  EXPECT_EQ(found.size(), 6u) << ::testing::PrintToString(found);
  EXPECT_NE(std::find(found.begin(), found.end(), "crawler.unknown_part 3 /sprocket"), found.end())
      << ::testing::PrintToString(found);
}

TEST(CrawlerWants, NeedsALengthOnTheGround) {
  brief::Brief b = small_kit::machine();
  b.support = {};
  const auto found = small_kit::problems(kCrawler, small_kit::function("crawler", "speed_mm_s = 50\n", 2), b);
  ASSERT_EQ(found.size(), 2u) << ::testing::PrintToString(found);
  EXPECT_EQ(found[0].substr(0, 25), "crawler.contact_length_mm");
}

TEST(Crawler, ProposesFromTheMetricKitSystem) {
  document::Diagnostics diagnostics;
  const auto catalogue = stock::read_catalogue(KW_SOURCE_DIR "/catalogue/metric8", diagnostics);
  ASSERT_TRUE(catalogue.has_value());
  brief::Brief b = small_kit::machine();
  small_kit::use(b, *catalogue, small_kit::plenty(*catalogue, 6));
  const auto p = small_kit::propose(kCrawler, small_kit::function("crawler", kPlain, 2), b);
  EXPECT_TRUE(p.complete) << p.limit_text;
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_GE(p.candidates.front().nominal.worst(), 1);
}
