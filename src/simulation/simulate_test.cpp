// Covers a design through a script: the tipping margin with the script's share of the load against moments by hand, and
// what is taken over from the handset's plan. Machine and figures invented.
#include "simulation/simulate.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "simulation/fixture.h"

using namespace simulation;
using fixture::drive;
using fixture::hub;
using fixture::script;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

/// A block of 1000 g on 160 x 240 mm with a boom of 100 g, level and straight ahead, that carries 200 g.
struct Crane {
  std::shared_ptr<stock::Catalogue> catalogue = std::make_shared<stock::Catalogue>();
  brief::Brief brief;
  candidate::Candidate luff, winch;
  std::vector<assessment::Chosen> chosen;
  Machine machine;

  Crane() {
    catalogue->system.pitch_mm = 8;
    brief.catalogue = catalogue;
    brief.stock = std::make_shared<stock::Stock>();
    brief::Body chassis, boom;
    chassis.id = "chassis";
    chassis.mass_g = base::Triple::exact(1000);
    chassis.centre_mm = {-20, 0, 50};
    boom.id = "boom";
    boom.parent = 0;
    boom.joint = {brief::Joint::Type::pitch, {0, 0, 100}, 0, 60 * kDeg};
    boom.mass_g = base::Triple::exact(100);
    boom.centre_mm = {150, 0, 100};
    brief.bodies = {chassis, boom};
    brief.support.type = brief::Support::Type::wheels;
    brief.support.points_mm = {{-80, -120, 0}, {80, -120, 0}, {80, 120, 0}, {-80, 120, 0}};
    brief.functions.resize(2);
    brief.functions[0].id = "lift";
    brief.functions[1].id = "winch";
    luff.payloads = winch.payloads = {{1, {300, 0, 100}, 200}};
    chosen = {{&brief.functions[0], &luff}, {&brief.functions[1], &winch}};
    DriveModel lift = drive("lift", 20, 20), wind = drive("winch", 20, 20);
    lift.drive.body = 1;
    lift.drive.angle = true;
    lift.drive.endless = false;
    lift.drive.at = {0, 60 * kDeg};
    lift.drive.per_rad = {0.02, 0.02};
    lift.drive.plus_nmm = lift.drive.minus_nmm = {20, 20};
    lift.drive.plus_free_nmm = lift.drive.minus_free_nmm = {0, 0};
    wind.function = 1;
    machine = {{lift, wind}, {hub(9, 0)}};
  }
  /// Forwards or backwards over x = 80 or -80 (to the side there are 120 mm), with a share of the load and the boom at
  /// an angle.
  [[nodiscard]] static double tips_deg(double share, double angle) {
    const double load_g = 200 * share, all_g = 1100 + load_g;
    const double out = (1000 * -20 + (100 * 150 + load_g * 300) * std::cos(angle)) / all_g;
    const double up =
        (1000 * 50 + 100 * (100 + 150 * std::sin(angle)) + load_g * (100 + 300 * std::sin(angle))) / all_g;
    return std::atan((80 - std::fabs(out)) / up) / kDeg;
  }
};

}  // namespace

TEST(Simulate, TheScriptsLoadCountsInTheTippingMargin) {
  const Crane c;
  const assessment::Assessment assessed = assessment::assess(c.brief, c.chosen, {}, {1, 10});
  Script s = script({"lift", "winch"}, {{0, {0, 0}}, {0.5, {0, 0}}, {1, {1, 0}}, {2, {0, 0}}});
  // Both functions carry the same load: the greater share counts.
  s.loads = {"lift", "winch"};
  s.steps[0].load = {0, 0};
  s.steps[1].load = {0.5, 0.25};
  s.steps[2].load = {0, 1};
  s.steps[3].load = {std::nan(""), std::nan("")};
  Options o;
  o.sample_s = 0.1;
  const Outcome out = simulate(c.brief, c.chosen, assessed, c.machine, s, o);
  ASSERT_GT(out.samples.size(), 15u);
  for (const Sample& row : out.samples) {
    const double share = row.time_s < 0.5 - 1e-9 ? 0 : row.time_s < 1 - 1e-9 ? 0.5 : 1;
    EXPECT_NEAR(row.tipping_deg, Crane::tips_deg(share, row.position[0]), 1e-6) << row.time_s;
  }
  EXPECT_GT(out.samples.back().position[0], 5 * kDeg);
}

TEST(Simulate, TakesRampsLimitsEndsAndInterlocksFromThePlan) {
  const Crane c;
  handset::Plan plan;
  handset::Assignment lift;
  lift.name = "lift";
  lift.control.type = handset::Control::Type::stick_along;
  lift.ramp_s = 0.3;
  lift.speed_limit = 0.7;
  lift.has_ends = true;
  lift.soft_end_share = 0.1;
  plan.assignments = {lift};
  plan.interlocks = {{handset::Interlock::Rule::not_together, 0, 1, "not both", "", ""},
                     {handset::Interlock::Rule::not_while_up, 0, 1, "no winch while it is up", "", ""}};
  Options o;
  const Script both = script({"lift", "winch"}, {{0, {1, 1}}, {1, {1, 1}}});
  EXPECT_TRUE(follow_plan(plan, c.brief, c.machine, both, o).empty());
  ASSERT_EQ(o.handling.size(), 2u);
  EXPECT_EQ(o.handling[0].ramp_s, 0.3);
  EXPECT_EQ(o.handling[0].limit, 0.7);
  EXPECT_NEAR(o.handling[0].soft_zone, 6 * kDeg, 1e-12);
  EXPECT_EQ(o.handling[0].soft_input, handset::kSoftEndInput);
  EXPECT_EQ(o.handling[1].limit, 1);
  ASSERT_EQ(o.interlocks.size(), 2u);
  EXPECT_EQ(o.interlocks[0].rule, Interlock::Rule::not_together);
  EXPECT_EQ(o.interlocks[1].rule, Interlock::Rule::not_before_there);
  // A script that does not move the legs leaves their interlocks out and says so.
  Options without;
  const auto told = follow_plan(plan, c.brief, c.machine, script({"winch"}, {{0, {1}}, {1, {1}}}), without);
  ASSERT_EQ(told.size(), 1u);
  EXPECT_NE(told[0].find("\"lift\""), std::string::npos);
  ASSERT_EQ(without.interlocks.size(), 1u);
}
