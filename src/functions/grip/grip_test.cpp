// Covers functions/grip: a grip of an invented kit; squeeze and time recomputed by hand, holding, parts, the laws of a
// kind, what is said when parts lack.
#include "functions/grip/grip.h"

#include <gtest/gtest.h>

#include <cmath>

#include "functions/crawler/small_kit.h"
#include "functions/grip/evaluate.h"
#include "routing/checker.h"

namespace grip = functions::grip;

namespace {

const candidate::Kind kGrip = grip::kind();
const std::string kLog =
    "opening_mm = [12, 44]\nforce_n = 1.5\njaw_p = 6\nat_mm = [40, 56]\nat_y_mm = -24\nmost_stages = 1\n"
    "longest_bar_p = 4\ncrank_region_p = { x = [-5, -4], z = [0, 2] }\n";

brief::Brief rig() {
  brief::Brief b = small_kit::machine();
  b.bodies.resize(1);
  stock::Catalogue c = small_kit::kit();
  stock::PartClass part;
  part.id = part.name = "connector";
  part.family = stock::Family::connector;
  part.mass_g = small_kit::exact(1);
  c.classes.push_back(part);
  stock::Stock s = small_kit::plenty(c, 8);
  small_kit::use(b, std::move(c), std::move(s));
  return b;
}

}  // namespace

TEST(Grip, SqueezeAndTimeFollowFromTheMotorsLine) {
  const brief::Brief b = rig();
  const auto p = small_kit::propose(kGrip, small_kit::function("grip", kLog + "hold = false\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    ASSERT_NE(c.route, nullptr);
    for (const std::string& fault : routing::check(*c.route->problem, c.route->layout))
      ADD_FAILURE() << c.key << ": " << fault;
    double keeps = 0.98;
    bool worm = false;
    for (const routing::PlacedMesh& m : c.route->layout.meshes) {
      worm = worm || c.route->problem->kit.pairs[static_cast<std::size_t>(m.pair)].type == routing::PairType::worm;
      keeps *= 0.93 * 0.98;
    }
    const bool small = c.key.find("motor_small") != std::string::npos;
    const double ratio = std::fabs(c.route->layout.ratios[0].value());
    const double turn = small_kit::figure(c, "turn of the crank") * small_kit::kDeg;
    const double idle = (small ? 380 : 240) * std::numbers::pi / 30 * ratio;
    EXPECT_NEAR(small_kit::figure(c, "time to close"), turn / idle, 1e-9) << c.key;
    if (worm) continue;  // a worm's loss is covered by gearing
    // Work: a motor of even torque at stall over the whole turn against the squeeze over the closing, loss-free
    // linkage; the mean of the curve of needed torque is the work of the wanted squeeze.
    const candidate::Curve& need = c.curves[1];
    const candidate::Curve& squeeze = c.curves[0];
    const double stall = (small ? 40 : 110) / ratio * keeps;
    for (std::size_t i = 0; i < need.x.size(); ++i)
      EXPECT_NEAR(squeeze.y[i] * need.y[i], stall * 1.5, 1e-9 * stall) << c.key;
  }
}

// Second route: meshes of spur gears turn over once each, and the jaw's angle follows the crank by the closed form.
TEST(Grip, TheMotorsSenseFollowsFromMeshesAndLinkage) {
  const brief::Brief b = rig();
  const auto p = small_kit::propose(kGrip, small_kit::function("grip", kLog + "hold = false\n"), b);
  int spur = 0;
  for (const candidate::Candidate& c : p.candidates) {
    ASSERT_EQ(c.drives.size(), 1U);
    EXPECT_NE(c.drives[0].sense, 0) << c.key;
    const routing::Layout& l = c.route->layout;
    int sign = c.route->problem->inputs.at(static_cast<std::size_t>(l.input)).motors.front().direction;
    bool all_spur = true;
    for (const routing::PlacedMesh& m : l.meshes) {
      all_spur =
          all_spur && c.route->problem->kit.pairs[static_cast<std::size_t>(m.pair)].type == routing::PairType::spur;
      sign = -sign;
    }
    if (!all_spur) continue;
    ++spur;
    // The drawn crank, closed first and then open; angles of the plane x, z run about -y.
    std::vector<double> angles;
    for (const candidate::Shape& x : c.shapes) {
      const bool closed = x.label == "crank", open = angles.size() == 1 && x.role == candidate::Shape::Role::ghost;
      if (closed || open) angles.push_back(std::atan2(x.z2_mm - x.z1_mm, x.x2_mm - x.x1_mm));
    }
    ASSERT_EQ(angles.size(), 2U);
    const double turn = std::remainder(angles[1] - angles[0], 2 * std::numbers::pi);
    EXPECT_EQ(c.drives[0].sense, turn > 0 ? -sign : sign) << c.key;
  }
  EXPECT_GT(spur, 0);
}

// Second route: energy. Closing against a constant squeeze takes F x travel of both tips and the gears' loss for one of
// them, whatever the linkage.
TEST(Grip, TheCranksWorkIsTheJawsWork) {
  const brief::Brief b = rig();
  grip::JawTask task;
  task.pitch_mm = 8;
  task.pairs = {{48, 12, true}};
  task.opening_mm = {12, 44};
  task.crank_pivots = {{-10, 0}, {-8, 2}, {-8, -2}};
  task.bars = {{5, 9, "bar of 5"}};
  task.min_transmission_rad = 0.5;
  const grip::JawDrives found = grip::find_jaw_drives(task, {});
  ASSERT_FALSE(found.best.at(0).empty());
  for (const grip::JawDrive& d : found.best[0]) {
    double work = 0;
    constexpr int kSteps = 20000;
    for (int i = 0; i < kSteps; ++i) {
      const double crank = d.closed_rad + (d.open_rad - d.closed_rad) * (i + 0.5) / kSteps;
      const double jaw = grip::rocker_rad(d, 8, crank) + d.quarter * std::numbers::pi / 2;
      const double opening = 2 * (12 + 48 * std::sin(jaw));
      work += std::fabs(grip::rocker_rate(d, 8, crank)) * grip::jaw_moment_nmm(task.pairs[0], opening, 1, 0.93) *
              std::fabs(d.open_rad - d.closed_rad) / kSteps;
    }
    EXPECT_NEAR(work, 16 * (1 + 1 / 0.93), 1e-5);  // each tip moves 16 mm across
  }
}

TEST(Grip, WhatItCarriesHangsBetweenTheJaws) {
  const brief::Brief b = rig();
  const auto p = small_kit::propose(kGrip, small_kit::function("grip", kLog + "hold = false\nload_g = 40\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    ASSERT_EQ(c.payloads.size(), 1u);
    EXPECT_EQ(c.payloads[0].mass_g, 40);
    EXPECT_DOUBLE_EQ(c.payloads[0].at_mm.x_mm, 40 + 6 * 8);
    EXPECT_EQ(c.payloads[0].at_mm.y_mm, -24);
    EXPECT_LT(c.payloads[0].at_mm.z_mm, 56);  // the lower jaw's pivot is a gear's pitch circle below
  }
  EXPECT_TRUE(small_kit::propose(kGrip, small_kit::function("grip", kLog + "hold = false\n"), b)
                  .candidates.front()
                  .payloads.empty());
}

TEST(Grip, HoldsByAWormOrNotAtAll) {
  const brief::Brief b = rig();
  const auto held = small_kit::propose(kGrip, small_kit::function("grip", kLog + "time_s = 20\n"), b);
  ASSERT_FALSE(held.candidates.empty());
  for (const candidate::Candidate& c : held.candidates) EXPECT_NE(c.key.find("worm"), std::string::npos) << c.key;
}

TEST(Grip, TakesTheJawsTwiceAndJoinsThem) {
  const brief::Brief b = rig();
  const auto both = small_kit::propose(kGrip, small_kit::function("grip", kLog + "hold = false\n"), b);
  const auto one = small_kit::propose(kGrip, small_kit::function("grip", kLog + "hold = false\njaws = \"one\"\n"), b);
  const auto pieces = [](const candidate::Candidate& c, std::string_view role) {
    int out = 0;
    for (const candidate::Need& n : c.demand.needs)
      if (n.role == role) out += n.count;
    return out;
  };
  ASSERT_FALSE(both.candidates.empty());
  ASSERT_FALSE(one.candidates.empty());
  // Gears beside those of the train.
  const auto extra = [&](const candidate::Candidate& c) {
    int gears = 0;
    for (const candidate::Need& n : c.demand.needs)
      if (b.catalogue->at(n.accepts[0]).family == stock::Family::gear) gears += n.count;
    return gears - static_cast<int>(c.route->layout.wheels.size());
  };
  EXPECT_EQ(extra(both.candidates.front()), 2);
  EXPECT_EQ(extra(one.candidates.front()), 0);
  EXPECT_EQ(pieces(both.candidates.front(), "pivots of jaws"), 2);
  EXPECT_EQ(pieces(one.candidates.front(), "pivots of jaws"), 1);
}

TEST(Grip, ObeysTheLawsOfAKind) {
  small_kit::expect_laws(kGrip, small_kit::function("grip", kLog + "hold = false\njaws = \"one\"\n"), rig());
}

TEST(Grip, SaysWhatIsOutOfReach) {
  const brief::Brief b = rig();
  const auto f = small_kit::function("grip", "opening_mm = [12, 160]\nforce_n = 1\njaw_p = 6\n");
  const auto p = small_kit::propose(kGrip, f, b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* jaw = small_kit::rejection(p, "grip.jaw_too_short");
  ASSERT_NE(jaw, nullptr);
  EXPECT_NEAR(jaw->shortfall, 160 - (40 + 96), 1e-9);  // widest: pivots 40 mm apart on gears of 40 teeth
}

TEST(GripWants, ReportsEveryProblemAtItsPlace) {
  const auto order =
      small_kit::problems(kGrip, small_kit::function("grip", "opening_mm = [40, 10]\nforce_n = 2\nfoo = 1\n"), rig());
  EXPECT_EQ(order.size(), 2u) << ::testing::PrintToString(order);
  const auto found = small_kit::problems(
      kGrip,
      small_kit::function("grip",
                          "opening_mm = [10, 60]\nforce_n = 2\njaws = \"one\"\ncrank_region_p = { x = [0.6, 0.8], z "
                          "= [0, 1] }\n"),
      rig());
  ASSERT_EQ(found.size(), 2u) << ::testing::PrintToString(found);
  EXPECT_EQ(found[0], "grip.jaw_too_short 1 /opening_mm");
  EXPECT_EQ(found[1], "grip.empty_region 4 /crank_region_p");
}
