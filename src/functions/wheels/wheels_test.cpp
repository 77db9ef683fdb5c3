// Covers functions/wheels: a cart of an invented kit with a differential; margins recomputed by hand, parts of each
// delivery, the laws of a kind, what is said when parts lack.
#include "functions/wheels/wheels.h"

#include <gtest/gtest.h>

#include <cmath>

#include "functions/crawler/small_kit.h"
#include "functions/wheels/differential.h"
#include "functions/wheels/evaluate.h"
#include "routing/checker.h"

namespace wheels = functions::wheels;
using brief::Parameter;

namespace {

const candidate::Kind kWheels = wheels::kind();

/// Wheelbase 160 mm, track 72 mm: the longest axle of the kit carries both wheels.
brief::Brief cart() {
  brief::Brief b = small_kit::machine();
  b.bodies.resize(1);
  b.bodies[0].mass_g = base::Triple::exact(900);
  b.bodies[0].centre_mm = {-20, 0, 45};
  stock::Catalogue c = small_kit::kit();
  stock::PartClass part;
  part.id = part.name = "differential_28";
  part.family = stock::Family::differential;
  part.mass_g = small_kit::exact(6);
  part.data = stock::Differential{28, 3.8, false, 12, 3};
  c.classes.push_back(part);
  stock::Stock s = small_kit::plenty(c, 8);
  small_kit::use(b, std::move(c), std::move(s));
  b.support.type = brief::Support::Type::wheels;
  b.support.points_mm = {{80, 36, 0}, {80, -36, 0}, {-80, -36, 0}, {-80, 36, 0}};
  return b;
}

/// Between wider wheels there is room for a motor beside a case, but no axle reaches through both of them.
const std::string kWide = "track_mm = 120\n";
const std::string kPlain = "speed_mm_s = 60\nslope_deg = 8\nstep_mm = 4\nmost_stages = 1\n";

int pieces(const candidate::Candidate& c, const stock::Catalogue& catalogue, std::string_view id) {
  int out = 0;
  for (const candidate::Need& n : c.demand.needs)
    if (n.accepts.size() == 1 && catalogue.at(n.accepts[0]).id == id) out += n.count;
  return out;
}
bool delivers(const candidate::Candidate& c, std::string_view how) {
  return c.key.find(how) != std::string::npos;
}

}  // namespace

TEST(Wheels, OffersBothWaysToShareTheTorqueOfAnAxle) {
  const brief::Brief b = cart();
  auto p = small_kit::propose(kWheels, small_kit::function("wheels", kPlain), b);
  auto wide = small_kit::propose(kWheels, small_kit::function("wheels", kPlain + kWide), b);
  std::move(wide.candidates.begin(), wide.candidates.end(), std::back_inserter(p.candidates));
  ASSERT_FALSE(p.candidates.empty());
  int cases = 0, solid = 0;
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_EQ(pieces(c, *b.catalogue, "wheel_43"), 4) << c.key;
    ASSERT_NE(c.route, nullptr);
    const routing::Problem& problem = *c.route->problem;
    for (const std::string& fault : routing::check(problem, c.route->layout)) ADD_FAILURE() << c.key << ": " << fault;
    if (delivers(c, "|differential")) {
      ++cases;
      EXPECT_EQ(pieces(c, *b.catalogue, "differential_28"), 1) << c.key;
      EXPECT_GE(pieces(c, *b.catalogue, "bevel_12"), 3) << c.key;
      EXPECT_EQ(small_kit::figure(c, "pull with a driven wheel in the air"), 0) << c.key;
    } else {
      ++solid;
      EXPECT_EQ(pieces(c, *b.catalogue, "differential_28"), 0) << c.key;
      EXPECT_GE(pieces(c, *b.catalogue, "axle_12"), 1) << c.key;  // through both wheels
      EXPECT_GT(small_kit::figure(c, "pull with a driven wheel in the air"), 0) << c.key;
    }
  }
  EXPECT_GT(cases, 0);
  EXPECT_GT(solid, 0);
}

// Second route: speed and slope from the motor's straight line, the ratio of the layout and the losses of each mesh and
// bearing multiplied up by hand.
TEST(Wheels, SpeedAndPullFollowFromTheMotorsLine) {
  const brief::Brief b = cart();
  const auto p = small_kit::propose(kWheels, small_kit::function("wheels", kPlain), b);
  ASSERT_FALSE(p.candidates.empty());
  const double weight = 0.9 * 9.81, rolling = 0.05, radius = 21.5;
  const double flat = weight * rolling * radius;
  const double slope = weight * (std::sin(8 * small_kit::kDeg) + rolling * std::cos(8 * small_kit::kDeg)) * radius;
  for (const candidate::Candidate& c : p.candidates) {
    const bool small = delivers(c, "motor_small");
    const double stall = small ? 40 : 110, rpm = small ? 380 : 240;
    double keeps = 1;
    for (const routing::PlacedMesh& m : c.route->layout.meshes) {
      const routing::PairType type = c.route->problem->kit.pairs[static_cast<std::size_t>(m.pair)].type;
      if (type == routing::PairType::worm) keeps = 0;
      keeps *= 0.93;
    }
    if (keeps == 0) continue;  // a worm's loss is covered by gearing
    const double shafts = std::pow(0.98, static_cast<double>(c.route->layout.meshes.size()) + 1);
    const double ratio = std::fabs(c.route->layout.ratios[0].value());
    const double out = stall / ratio * keeps * shafts;
    const double ratio_margin = out / slope;
    EXPECT_NEAR(small_kit::margin(c.nominal, "slope torque").ratio, std::min(ratio_margin, candidate::kMarginCap),
                1e-9 * ratio_margin)
        << c.key;
    EXPECT_NEAR(small_kit::margin(c.nominal, "speed").capability,
                rpm * std::numbers::pi / 30 * (1 - flat / out) * ratio * radius, 1e-6)
        << c.key;
  }
}

TEST(Wheels, ASolidAxleScrubsAndADifferentialDoesNot) {
  const brief::Brief b = cart();
  const std::string curve = kPlain + "curve_radius_mm = 300\n";
  auto p = small_kit::propose(kWheels, small_kit::function("wheels", curve), b);
  auto wide = small_kit::propose(kWheels, small_kit::function("wheels", curve + kWide), b);
  std::move(wide.candidates.begin(), wide.candidates.end(), std::back_inserter(p.candidates));
  ASSERT_FALSE(p.candidates.empty());
  bool solid = false, split = false;
  const double weight = 0.9 * 9.81;
  for (const candidate::Candidate& c : p.candidates) {
    const double force = small_kit::figure(c, "force in the curve");
    if (delivers(c, "|solid axle")) {
      solid = true;
      // Rear axle load W (80 + 20)/160; mu N (B/2)/R on top of rolling.
      EXPECT_NEAR(force, weight * (0.05 + 0.7 * 100.0 / 160 * 36 / 300), 1e-9);
    } else {
      split = true;
      EXPECT_NEAR(force, weight * 0.05, 1e-9);
    }
  }
  EXPECT_TRUE(solid);
  EXPECT_TRUE(split);
}

TEST(Wheels, ObeysTheLawsOfAKind) {
  const brief::Brief b = cart();
  small_kit::expect_laws(kWheels, small_kit::function("wheels", kPlain + "driven_axles = 2\n"), b);
  small_kit::expect_laws(kWheels, small_kit::function("wheels", kPlain + kWide), b);
}

TEST(Wheels, EveryWheelOfAPairHasADriveOfItsOwn) {
  const auto f = small_kit::function("wheels", "speed_mm_s = 60\nslope_deg = 6\nmost_stages = 1\n", 2);
  small_kit::expect_mirror(kWheels, f, cart());
  const auto p = small_kit::propose(kWheels, f, cart());
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_EQ(c.demand.ports, 2);
    EXPECT_EQ(c.demand.channels, 2);
  }
}

TEST(Wheels, SaysWhatADifferentialLacks) {
  brief::Brief b = cart();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  small_kit::set_count(*stock, *b.catalogue, "bevel_12", 2);
  b.stock = stock;
  const auto f = small_kit::function("wheels", kPlain + "split = \"differential\"\n");
  const auto p = small_kit::propose(kWheels, f, b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* bevels = small_kit::rejection(p, "wheels.too_few_bevels");
  ASSERT_NE(bevels, nullptr);
  EXPECT_EQ(bevels->shortfall, 1);

  // A track whose half shafts are longer than any axle: (240 + 22)/2 mm = 16.4 pitches.
  const auto wide = small_kit::propose(
      kWheels, small_kit::function("wheels", kPlain + "split = \"differential\"\ntrack_mm = 240\n"), cart());
  EXPECT_TRUE(wide.candidates.empty());
  const candidate::Rejection* shafts = small_kit::rejection(wide, "wheels.half_shafts");
  ASSERT_NE(shafts, nullptr);
  EXPECT_NE(shafts->text.find("17"), std::string::npos) << shafts->text;
}

TEST(Wheels, SaysWhatTheFloorForbids) {
  brief::Brief b = cart();
  small_kit::fix(b, Parameter::ground_friction, 0.15);
  const auto p = small_kit::propose(kWheels, small_kit::function("wheels", "speed_mm_s = 60\nslope_deg = 30\n"), b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* grip = small_kit::rejection(p, "wheels.traction");
  ASSERT_NE(grip, nullptr);
  EXPECT_GT(grip->shortfall, 20);
}

TEST(WheelsWants, ReportsEveryProblemAtItsPlace) {
  const auto found = small_kit::problems(
      kWheels, small_kit::function("wheels", "speed_mm_s = -3\nframe = \"rokcing\"\nwheel = \"wheel_44\"\nfoo = 1\n"),
      cart());
  EXPECT_EQ(found.size(), 4u) << ::testing::PrintToString(found);
  const auto bogies = small_kit::problems(
      kWheels, small_kit::function("wheels", "speed_mm_s = 50\nframe = \"rocking\"\ndriven_axles = 3\n"), cart());
  ASSERT_EQ(bogies.size(), 2u) << ::testing::PrintToString(bogies);
  EXPECT_EQ(bogies[0], "wheels.rocking 2 /frame");
  EXPECT_EQ(bogies[1], "wheels.driven_axles 3 /driven_axles");
}
