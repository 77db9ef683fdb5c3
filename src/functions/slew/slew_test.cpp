// Covers functions/slew: bearing friction against numerical integration, the swing after a stop against a simulated
// pendulum, the best candidate recomputed by brute force, what holds, spur against bevel, the laws, and what it says
// without parts.
#include "functions/slew/slew.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "functions/crawler/small_kit.h"
#include "functions/slew/evaluate.h"
#include "functions/slew/turning.h"
#include "gearing/train_load.h"
#include "gearing/train_search.h"
#include "stock/catalogue.h"

namespace slew = functions::slew;
using brief::Parameter;

namespace {

constexpr double kPi = std::numbers::pi;
const candidate::Kind kSlew = slew::kind();
const std::string kPlain = "moves = \"upper\"\nrpm = 5\nload_g = 200\nradius_mm = 200\nslope_deg = 5\n";

}  // namespace

// Second route: the pressure round the circle summed in small steps.
TEST(Turning, BearingFrictionMatchesTheIntegratedPressure) {
  for (const double moment : {0.0, 100.0, 239.0, 241.0, 400.0, 3000.0}) {
    const double axial = 20, radius = 24, friction = 0.2, radial = 3;
    double pressing = 0;
    constexpr int kSteps = 100000;
    for (int i = 0; i < kSteps; ++i) {
      const double f = 2 * kPi * (i + 0.5) / kSteps;
      pressing += std::fabs(axial / (2 * kPi) + moment / (kPi * radius) * std::cos(f)) * 2 * kPi / kSteps;
    }
    EXPECT_NEAR(slew::bearing_friction_nmm(axial, moment, radial, friction, radius),
                friction * radius * (pressing + radial), 1e-6)
        << moment;
  }
  // Small moments only shift the pressure (M <= V r / 2); without weight the friction is 4 mu M / pi.
  EXPECT_DOUBLE_EQ(slew::bearing_friction_nmm(20, 0, 0, 0.2, 24), slew::bearing_friction_nmm(20, 240, 0, 0.2, 24));
  EXPECT_NEAR(slew::bearing_friction_nmm(0, 500, 0, 0.2, 24), 4 * 0.2 * 500 / kPi, 1e-9);
}

// Second route: a pendulum of small angles under a suspension point that brakes evenly, integrated in time.
TEST(Turning, StopSwingIsTheEnvelopeOfASimulatedPendulum) {
  const double rope = 300, speed = 120, g = 9810;
  for (const double stop : {0.02, 0.1, 0.3, 0.8, 1.7}) {
    double x = 0, v = 0, t = 0, most = 0;
    const double dt = 1e-5;
    for (; t < stop + 4; t += dt) {
      const double a = (t < stop ? speed / stop : 0) - g / rope * x;
      v += a * dt;
      x += v * dt;
      if (t > stop) most = std::max(most, std::fabs(x));
    }
    const double told = slew::stop_swing_mm(speed, rope, stop);
    EXPECT_GE(told, most * 0.999) << stop;
    const double exact = 2 * speed / stop * rope / g * std::fabs(std::sin(std::sqrt(g / rope) * stop / 2));
    EXPECT_NEAR(most, exact, 0.01 * told) << stop;
  }
  EXPECT_NEAR(slew::stop_swing_mm(speed, rope, 1e-6), speed * std::sqrt(rope / g), 1e-9);
}

TEST(Slew, LoadAndBodiesAddUpAboutTheAxis) {
  const brief::Brief b = small_kit::machine();
  document::Diagnostics diagnostics;
  const auto f = small_kit::function("slew", kPlain);
  const auto wants = kSlew.read(f, b, diagnostics);
  ASSERT_TRUE(wants);
  const slew::Slewed s = slew::slewed(dynamic_cast<const slew::Wants&>(*wants), b, 1);
  // upper 600 g 20 mm behind, boom 200 g 140 mm ahead, load 200 g at 200 mm; g = 9.81
  EXPECT_NEAR(s.weight_n, 9.81, 1e-12);
  EXPECT_NEAR(s.moment_nmm, 9.81e-3 * (-600 * 20 + 200 * 140 + 200 * 200), 1e-9);
  EXPECT_NEAR(s.inertia_g_mm2,
              600.0 * (400 + (160.0 * 160 + 120 * 120) / 12) + 200.0 * (140 * 140 + (240.0 * 240 + 20 * 20) / 12) +
                  200.0 * 200 * 200,
              1e-3);
  EXPECT_NEAR(s.height_moment_nmm, 9.81e-3 * (600 * 50 + 200 * 60), 1e-9);
}

// Second route: every motor and train on the ring, with the motor's straight line and all losses written out.
TEST(Slew, BestCandidateIsTheBestOfAllByBruteForce) {
  const brief::Brief b = small_kit::machine();
  const auto p = small_kit::propose(kSlew, small_kit::function("slew", kPlain + "hold = false\nmost_stages = 3\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  const double slope = 5 * small_kit::kDeg, moment = 9.81e-3 * 56000, high = 9.81e-3 * 42000, weight = 9.81;
  const double over = moment * std::cos(slope) + high * std::sin(slope);
  const double friction = slew::bearing_friction_nmm(weight * std::cos(slope), over, weight * std::sin(slope), 0.2, 24);
  const double running = friction + moment * std::sin(slope);
  const double inertia = 600.0 * (400 + (160.0 * 160 + 120 * 120) / 12) +
                         200.0 * (140 * 140 + (240.0 * 240 + 20 * 20) / 12) + 200.0 * 200 * 200;
  const double wanted = 5 * 2 * kPi / 60;
  const double starting = running + inertia * 1e-6 * wanted / 1.0;

  const gearing::MeshTable table = gearing::find_meshes(*b.catalogue);
  std::vector<gearing::GearStock> gears;
  for (std::size_t i = 0; i < b.catalogue->classes.size(); ++i)
    gears.push_back({stock::ClassId{static_cast<int>(i)}, 4});
  const gearing::MeshEfficiencies losses{0.93, 0.93, 0.93, 0.93, 0.2, 0.02};
  const gearing::ToothLimits teeth{25, 0.5, 0.5};
  double best = 0;
  for (const bool on_ring : {true, false}) {
    gearing::TrainQuery query;
    query.low = base::Rational(1, 2000);
    query.high = base::Rational(50);
    query.max_stages = 3;
    query.end_on_ring = on_ring;
    for (const gearing::Train& train : gearing::find_trains(table, gears, query)) {
      const gearing::MeshType last = train.stages.back().type;
      if (!on_ring && last != gearing::MeshType::bevel && last != gearing::MeshType::worm) continue;
      double ratio = 1, efficiency = std::pow(0.98, train.shafts());
      for (const gearing::Stage& s : train.stages) {
        ratio *= std::fabs(s.ratio.value());
        efficiency *= gearing::forward_efficiency(s, losses);
      }
      for (const auto& [stall, rpm] : {std::pair{40.0, 380.0}, std::pair{110.0, 240.0}}) {
        const double out_stall = stall / ratio * efficiency;
        const double speed = rpm * kPi / 30 * std::max(0.0, 1 - running / out_stall) * ratio;
        double worst = std::min({speed / wanted, out_stall / starting, candidate::kMarginCap});
        worst = std::min(worst, gearing::torque_at_stages(train, starting, losses, teeth).worst_tooth_margin);
        best = std::max(best, worst);
      }
    }
  }
  const candidate::Evaluation& e = p.candidates.front().nominal;
  EXPECT_GT(small_kit::margin(e, "axle").ratio, best);  // wide enough here not to govern
  EXPECT_NEAR(e.worst(), best, 1e-9 * best);
}

// Trade fact (common practice, no source): a spur pinion on the ring keeps its teeth at a load where an unsupported
// bevel on the slewing axle jumps.
TEST(Slew, SpurOnTheRingKeepsItsTeethWhereABevelJumps) {
  const brief::Brief b = small_kit::machine();
  const std::string heavy =
      "moves = \"upper\"\nrpm = 3\nload_g = 500\nradius_mm = 300\nslope_deg = 8\nhold = false\nmost_stages = 3\n";
  const auto ring = small_kit::propose(kSlew, small_kit::function("slew", heavy + "final = \"outer\"\n"), b);
  ASSERT_FALSE(ring.candidates.empty());
  EXPECT_GE(ring.candidates.front().nominal.worst(), 1);
  EXPECT_GT(small_kit::margin(ring.candidates.front().nominal, "tooth").ratio, 1);

  const auto bevel = small_kit::propose(kSlew, small_kit::function("slew", heavy + "final = \"bevel\"\n"), b);
  for (const candidate::Candidate& c : bevel.candidates) {
    EXPECT_LT(small_kit::margin(c.nominal, "tooth").ratio, 1) << c.key;
    EXPECT_EQ(small_kit::margin(c.nominal, "tooth").note.rfind("bevel", 0), 0u)
        << small_kit::margin(c.nominal, "tooth").note;
  }
  const candidate::Rejection* jumps = small_kit::rejection(bevel, "drive.tooth");
  ASSERT_TRUE(!bevel.candidates.empty() || jumps != nullptr);
}

TEST(Slew, EveryEndingUsesTheRingAndEndsAsNamed) {
  const brief::Brief b = small_kit::machine();
  const stock::ClassId ring = *b.catalogue->find("ring_60");
  for (const std::string final : {"outer", "inner", "bevel", "worm"}) {
    const std::string light = "moves = \"upper\"\nrpm = 2\nhold = false\nfinal = \"" + final + "\"\n";
    const auto p = small_kit::propose(kSlew, small_kit::function("slew", light), b);
    ASSERT_FALSE(p.candidates.empty()) << final;
    for (const candidate::Candidate& c : p.candidates) {
      EXPECT_NE(c.key.find("|" + final + "|at "), std::string::npos) << c.key;
      int rings = 0;
      for (const candidate::Need& n : c.demand.needs)
        if (n.accepts == std::vector{ring}) rings += n.count;
      EXPECT_EQ(rings, 1) << c.key;
    }
  }
}

TEST(Slew, WhatHoldsOnTheSlopeIsNamed) {
  brief::Brief b = small_kit::machine();
  small_kit::fix(b, Parameter::ring_friction, 0.01);  // a bearing too smooth to hold
  const std::string steep = "moves = \"upper\"\nrpm = 2\nload_g = 400\nradius_mm = 300\nslope_deg = 15\n";
  const auto p = small_kit::propose(kSlew, small_kit::function("slew", steep + "most_stages = 3\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  bool locks = false;
  for (const candidate::Candidate& c : p.candidates) {
    const bool worm = c.key.find("worm_1") != std::string::npos;
    const candidate::Margin& m = small_kit::margin(c.nominal, "hold");
    if (worm) {
      EXPECT_EQ(m.ratio, candidate::kMarginCap) << c.key;
      EXPECT_EQ(m.note, "held by self-locking train");
      locks = true;
    } else {
      EXPECT_LT(m.ratio, candidate::kMarginCap) << c.key;
    }
  }
  EXPECT_TRUE(locks);
  // Without worms the same slope turns a free-running train back.
  brief::Function f = small_kit::function("slew", steep);
  f.must_not_use = {*b.catalogue->find("worm_1")};
  for (const candidate::Candidate& c : small_kit::propose(kSlew, f, b).candidates)
    EXPECT_NE(small_kit::margin(c.nominal, "hold").note, "held by self-locking train");
}

TEST(Slew, ASlowerStopSwingsLess) {
  const brief::Brief b = small_kit::machine();
  const std::string hanging = kPlain + "rope_mm = 200\nsway_mm = 12\n";
  const auto quick = small_kit::propose(kSlew, small_kit::function("slew", hanging + "start_s = 0.3\n"), b);
  const auto slow = small_kit::propose(kSlew, small_kit::function("slew", hanging + "start_s = 2\n"), b);
  ASSERT_FALSE(slow.candidates.empty());
  const double best_slow = slow.candidates.front().nominal.worst();
  EXPECT_GT(best_slow, quick.candidates.empty() ? 0 : quick.candidates.front().nominal.worst());
}

TEST(Slew, CarriesItsLoadForTheStance) {
  const auto p = small_kit::propose(kSlew, small_kit::function("slew", kPlain), small_kit::machine());
  ASSERT_FALSE(p.candidates.empty());
  ASSERT_EQ(p.candidates.front().payloads.size(), 1u);
  EXPECT_EQ(p.candidates.front().payloads[0].mass_g, 200);
  EXPECT_EQ(p.candidates.front().payloads[0].at_mm.x_mm, 200);
  EXPECT_EQ(p.candidates.front().payloads[0].body, 1);
}

TEST(Slew, ObeysTheLawsOfAKind) {
  small_kit::expect_laws(kSlew, small_kit::function("slew", kPlain), small_kit::machine());
}

TEST(Slew, TwoSidesNeedExactlyTwiceOne) {
  small_kit::expect_mirror(kSlew, small_kit::function("slew", kPlain), small_kit::machine());
}

TEST(Slew, WithoutATurntableItSaysSo) {
  brief::Brief b = small_kit::machine();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  small_kit::set_count(*stock, *b.catalogue, "ring_60", 0);
  b.stock = stock;
  const auto p = small_kit::propose(kSlew, small_kit::function("slew", kPlain), b);
  EXPECT_TRUE(p.candidates.empty());
  EXPECT_NE(small_kit::rejection(p, "slew.no_ring"), nullptr);
}

TEST(SlewWants, ReportsEveryProblemAtItsPlace) {
  const auto f = small_kit::function("slew",
                                     "moves = \"uper\"\nrpm = 4\ntime_s = 5\nload_g = 100\nsway_mm = 5\n"
                                     "ring = \"ring_6\"\nfinal = \"outter\"\n");
  const auto found = small_kit::problems(kSlew, f, small_kit::machine());
  const std::vector<std::string> expected{"slew.unknown_body 1 /moves", "slew.speed 2 /rpm", "slew.radius_mm 4 /load_g",
                                          "slew.rope_mm 5 /sway_mm", "slew.unknown_part 6 /ring"};
  for (const std::string& e : expected)
    EXPECT_NE(std::find(found.begin(), found.end(), e), found.end()) << e << ::testing::PrintToString(found);
  EXPECT_EQ(found.size(), 6u) << ::testing::PrintToString(found);
}

TEST(SlewWants, TheBodyMustSlew) {
  const auto found =
      small_kit::problems(kSlew, small_kit::function("slew", "moves = \"boom\"\nrpm = 4\n"), small_kit::machine());
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0], "slew.body_does_not_slew 1 /moves");
}

TEST(Slew, ProposesFromTheMetricKitSystem) {
  document::Diagnostics diagnostics;
  const auto catalogue = stock::read_catalogue(KW_SOURCE_DIR "/catalogue/metric8", diagnostics);
  ASSERT_TRUE(catalogue.has_value());
  brief::Brief b = small_kit::machine();
  small_kit::use(b, *catalogue, small_kit::plenty(*catalogue, 2));
  const auto p = small_kit::propose(kSlew, small_kit::function("slew", kPlain), b);
  EXPECT_TRUE(p.complete) << p.limit_text;
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_GE(p.candidates.front().nominal.worst(), 1);
}
