// Covers the kind "steer": the best candidate recomputed with other means, wheel loads, what holds, both axles, rear
// axle, mean angle, defaults and what they say, refusals in numbers, located problems of the wants, the laws.
#include "functions/steer/steer.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "functions/crawler/small_kit.h"
#include "functions/steer/evaluate.h"
#include "linkage/four_bar.h"
#include "stock/catalogue.h"

namespace steer = functions::steer;
using brief::Parameter;

namespace {

constexpr double kPi = std::numbers::pi;
const candidate::Kind kSteer = steer::kind();
const std::string kPlain =
    "angle_deg = 30\ntime_s = 2\nwheel = \"wheel_43\"\npatch_mm = 12\nmost_stages = 2\nmax_error_deg = 3\n";

/// The small kit with beams of every length and a connector, on four wheels. Every figure is invented.
brief::Brief machine() {
  brief::Brief b = small_kit::machine();
  stock::Catalogue c = small_kit::kit();
  for (const int length : {2, 3, 4, 6, 8, 10, 11, 12, 13, 14, 15}) {
    stock::PartClass part;
    part.id = part.name = "beam_" + std::to_string(length);
    part.family = stock::Family::beam;
    part.mass_g = small_kit::exact(0.5 * length);
    part.data = stock::Beam{length, 1};
    c.classes.push_back(part);
  }
  stock::PartClass part;
  part.id = part.name = "connector";
  part.family = stock::Family::connector;
  part.mass_g = small_kit::exact(0.5);
  c.classes.push_back(part);
  stock::Stock s = small_kit::plenty(c, 6);
  small_kit::use(b, std::move(c), std::move(s));
  b.bodies.resize(1);
  b.bodies[0].size_mm = {256, 160, 90};
  b.bodies[0].centre_mm = {0, 0, 60};
  b.support.type = brief::Support::Type::wheels;
  b.support.points_mm = {{88, 72, 0}, {88, -72, 0}, {-88, -72, 0}, {-88, 72, 0}};
  return b;
}

steer::Wants wants_of(const std::string& toml, const brief::Brief& b) {
  document::Diagnostics diagnostics;
  const auto wants = kSteer.read(small_kit::function("steer", toml), b, diagnostics);
  EXPECT_NE(wants, nullptr);
  return wants ? dynamic_cast<const steer::Wants&>(*wants) : steer::Wants{};
}

bool noted(const candidate::Candidate& c, std::string_view words) {
  return std::any_of(c.notes.begin(), c.notes.end(),
                     [&](const std::string& n) { return n.find(words) != std::string::npos; });
}

/// Numbers of a key "arm 2,6|crank -8,-2 2p|drag 6p right|...".
steer::Rods rods_of(const std::string& key) {
  steer::Rods r;
  char side[8] = "";
  EXPECT_EQ(std::sscanf(key.c_str(), "arm %d,%d|crank %d,%d %dp|drag %dp %5[a-z]", &r.arm.x_hp, &r.arm.z_hp,
                        &r.pivot.x_hp, &r.pivot.z_hp, &r.crank_p, &r.drag_p, side),
            7);
  r.side = std::string(side) == "left" ? 1 : -1;
  return r;
}

/// The same with racks of ten teeth, invented.
brief::Brief machine_with_racks(int pieces) {
  brief::Brief b = machine();
  auto c = std::make_shared<stock::Catalogue>(*b.catalogue);
  stock::PartClass part;
  part.id = part.name = "rack_10";
  part.family = stock::Family::rack;
  part.mass_g = small_kit::exact(2);
  part.data = stock::Rack{10, 31.42, 7};
  c->classes.push_back(part);
  auto s = std::make_shared<stock::Stock>(*b.stock);
  s->types.push_back({*c->find("rack_10"), "", pieces, 0});
  b.catalogue = c;
  b.stock = s;
  return b;
}
const std::string kRack =
    "angle_deg = 25\ntime_s = 3\nwheel = \"wheel_43\"\npatch_mm = 12\nmost_stages = 1\nhold = false\n"
    "stops = \"hard\"\nlongest_arm_p = 3\ncrank_region_p = { x = [-3, 1], y = [0, 0] }\nby = \"rack\"\n";

}  // namespace

TEST(Steer, WheelLoadFollowsFromTheLevers) {
  brief::Brief b = machine();
  b.bodies[0].mass_g = base::Triple::exact(1000);
  b.bodies[0].centre_mm = {22, 0, 50};
  // Front axle: 1000 g x (22 + 88)/176 = 625 g, half a wheel; rear axle the rest.
  EXPECT_NEAR(steer::wheel_load_n(wants_of(kPlain, b), b, 1), 0.3125 * 9.81, 1e-9);
  EXPECT_NEAR(steer::wheel_load_n(wants_of(kPlain + "axle = \"rear\"\n", b), b, 1), 0.1875 * 9.81, 1e-9);
  EXPECT_NEAR(steer::wheel_load_n(wants_of(kPlain + "axles = 2\n", b), b, 1), 0.3125 * 9.81, 1e-9);
  EXPECT_NEAR(steer::wheel_load_n(wants_of(kPlain + "wheel_load_g = 100\n", b), b, 3), 0.981, 1e-9);
  b.bodies[0].mass_is_estimate = true;
  EXPECT_NEAR(steer::wheel_load_n(wants_of(kPlain, b), b, 1.2), 1.2 * 0.3125 * 9.81, 1e-9);
}

TEST(Steer, DefaultsComeFromTheGroundAndTheTyres) {
  const brief::Brief b = machine();
  const steer::Wants w = wants_of("angle_deg = 30\ntime_s = 2\n", b);
  EXPECT_EQ(w.base_mm, 176);
  EXPECT_EQ(w.tread_mm, 144);
  EXPECT_EQ(w.diameter_mm, 43);
  EXPECT_EQ(w.patch_radius_mm, 11);
  // 144 - 22 - 2 x 8 = 106 mm: 13 whole pitches.
  EXPECT_EQ(w.kingpins_hp, 26);
  EXPECT_EQ(w.offset_mm, 20);
  EXPECT_EQ(w.least_time_s, 0.5);
  EXPECT_EQ(w.assumed.size(), 2u);
  EXPECT_EQ(wants_of(kPlain + "axles = 2\n", b).base_mm, 88);
}

TEST(Steer, AMeanAngleIsHalfTheSumOfBothWheels) {
  const brief::Brief b = machine();
  const steer::Wants w = wants_of(kPlain + "angle_of = \"mean\"\n", b);
  const double cot = 1 / std::tan(w.inner_rad) + w.kingpins_at_mm / w.base_mm;  // Ackermann
  EXPECT_NEAR((w.inner_rad + std::atan(1 / cot)) / 2, kPi / 6, 1e-9);
}

// Second route: crank angles by the four-bar in closed form (Freudenstein), torque by the work of small steps of the
// crank, speed along the drive's straight line from its told stall torque and speed without load.
TEST(Steer, MarginsOfACandidateRecomputed) {
  brief::Brief b = machine();
  small_kit::fix(b, Parameter::pin_friction, 0);
  const auto p = small_kit::propose(kSteer, small_kit::function("steer", kPlain + "hold = false\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  const steer::Wants w = wants_of(kPlain, b);
  const double load = 1200.0 / 4 / 1000 * 9.81;
  const double moment = load * (2.0 / 3 * 0.7 * 6 + 0.05 * 20);
  int judged = 0;
  for (const candidate::Candidate& c : p.candidates) {
    steer::Rods r = rods_of(c.key);
    const double kx = 0, ky = 52, ax = -r.arm.z_hp * 4, ay = -r.arm.x_hp * 4;
    const double gx = kx - r.pivot.x_hp * 4, gy = ky - r.pivot.z_hp * 4;
    const double ground = std::hypot(gx, gy), base = std::atan2(gy, gx);
    // Driven arm as the closed form's rocker: its angle for a crank's, nearest to the one before.
    const linkage::FourBar bar{ground, r.crank_p * 8.0, r.drag_p * 8.0, std::hypot(ax, ay)};
    const double arm0 = std::atan2(ay, ax);
    const auto arm_at = [&](double crank, double near) {
      double best = 1e9;
      for (const auto which : {linkage::Closure::open, linkage::Closure::crossed}) {
        const auto at = linkage::closure(bar, crank - base, which);
        if (!at) continue;
        const double turn = std::remainder(at->rocker_rad + base - arm0, 2 * kPi);
        if (std::fabs(turn - near) < std::fabs(best - near)) best = turn;
      }
      return best;
    };
    const candidate::Curve& curve = c.curves.at(2);
    const linkage::Trapezoid t{104, r.arm.x_hp * 4.0, r.arm.z_hp * 4.0};
    double peak = 0, time = 0;
    const auto line = small_kit::figure(c, "torque at the crank, motor stalled");
    const double from = curve.y.front() * small_kit::kDeg, to = curve.y.back() * small_kit::kDeg;
    constexpr int kSteps = 3000;
    double left = curve.x.front() * small_kit::kDeg, right = *linkage::outer_angle_rad(t, left);
    const double no_load = small_kit::figure(c, "crank, from stop to stop") * small_kit::kDeg /
                           small_kit::figure(c, "time from stop to stop, rolling");
    for (int i = 1; i <= kSteps; ++i) {
      const double crank = from + (to - from) * i / kSteps;
      const double l = arm_at(crank, left);
      const double rt = *linkage::outer_angle_rad(t, l);
      const double torque = moment * (std::fabs(l - left) + std::fabs(rt - right)) / std::fabs((to - from) / kSteps);
      peak = std::max(peak, torque);
      time += std::fabs((to - from) / kSteps) / (no_load * (1 - torque / line));
      left = l;
      right = rt;
    }
    EXPECT_NEAR(left, 30 * small_kit::kDeg, 1e-6) << c.key;
    EXPECT_NEAR(small_kit::margin(c.nominal, "torque").requirement, peak, 2e-3 * peak) << c.key;
    EXPECT_NEAR(small_kit::figure(c, "time from stop to stop, standing"), time, 2e-3 * time) << c.key;
    EXPECT_NEAR(small_kit::figure(c, "moment at a kingpin, standing"), moment, 1e-9);
    if (++judged == 12) break;
  }
  EXPECT_GE(judged, 5);
  EXPECT_EQ(w.kingpins_at_mm, 104);
}

// The output of the drive is the crank: its stall torque and speed are the motor's through the train.
TEST(Steer, StallAndSpeedAreTheMotorsThroughTheTrain) {
  const brief::Brief b = machine();
  const auto p = small_kit::propose(kSteer, small_kit::function("steer", kPlain), b);
  int judged = 0;
  for (const candidate::Candidate& c : p.candidates) {
    const std::size_t worm = c.key.find("|worm_1>gear_");
    if (worm == std::string::npos || c.key.find(',', worm) != std::string::npos) continue;
    const int teeth = std::stoi(c.key.substr(worm + 13));
    const bool small = c.key.find("motor_small") != std::string::npos;
    // Worm of one start, pitch radius 4 mm, lead pi mm, pressure angle 20 deg, friction 0.2; two bearings.
    const double lead = std::atan(1.0 / 8), slip = std::atan(0.2 / std::cos(20 * small_kit::kDeg));
    const double keeps = std::tan(lead) / std::tan(lead + slip);
    const double stall = (small ? 40.0 : 110.0) * teeth * keeps;
    const double told = small_kit::margin(c.nominal, "torque").capability;
    EXPECT_NEAR(told / stall, 0.98 * 0.98, 0.01) << c.key;
    const double speed = (small ? 380.0 : 240.0) * kPi / 30 / teeth;
    EXPECT_NEAR(small_kit::figure(c, "time from stop to stop, rolling"),
                small_kit::figure(c, "crank, from stop to stop") * small_kit::kDeg / speed, 1e-6)
        << c.key;
    ++judged;
  }
  EXPECT_GE(judged, 1);
}

TEST(Steer, LockedWheelsAndHeavierOnesAskMore) {
  const brief::Brief b = machine();
  const brief::Sample nominal = b.parameters.nominal();
  const double rolling = steer::kingpin_moment_nmm(wants_of(kPlain, b), b, nominal);
  EXPECT_GT(steer::kingpin_moment_nmm(wants_of(kPlain + "wheels_roll = false\n", b), b, nominal), 2 * rolling);
  const double once = steer::kingpin_moment_nmm(wants_of(kPlain + "wheel_load_g = 200\n", b), b, nominal);
  EXPECT_NEAR(steer::kingpin_moment_nmm(wants_of(kPlain + "wheel_load_g = 400\n", b), b, nominal), 2 * once, 1e-9);
  // Half the entered friction halves the drilling, whatever is drawn.
  steer::Wants grippy = wants_of(kPlain + "tyre_friction = 1.4\n", b);
  EXPECT_NEAR(steer::tyre_friction(grippy, b, nominal), 1.4, 1e-12);
  brief::Sample drawn = nominal;
  drawn.value[static_cast<std::size_t>(Parameter::ground_friction)] *= 1.1;
  EXPECT_NEAR(steer::tyre_friction(grippy, b, drawn), 1.54, 1e-12);
}

TEST(Steer, AWormHoldsAgainstAKerbAndSpurGearsMayNot) {
  const brief::Brief b = machine();
  const auto p = small_kit::propose(kSteer, small_kit::function("steer", kPlain + "hold = true\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  bool locks = false;
  for (const candidate::Candidate& c : p.candidates) {
    const candidate::Margin& m = small_kit::margin(c.nominal, "hold");
    if (c.key.find("worm_1") != std::string::npos) {
      EXPECT_EQ(m.ratio, candidate::kMarginCap);
      EXPECT_TRUE(noted(c, "the train locks"));
      locks = true;
    } else {
      EXPECT_EQ(m.note, "held by the motor's friction");
      // Push x offset x the rods' greatest rate; 0.7 x wheel load x 20 mm.
      EXPECT_GE(m.requirement, 0.7 * 300.0 / 1000 * 9.81 * 20 * 0.2);
    }
  }
  EXPECT_TRUE(locks);
  const auto free = small_kit::propose(kSteer, small_kit::function("steer", kPlain + "hold = false\n"), b);
  for (const candidate::Candidate& c : free.candidates)
    for (const candidate::Margin& m : c.nominal.margins) EXPECT_NE(m.name, "hold");
}

TEST(Steer, TwoAxlesTakeTwoDrivesAndHalveTheCircle) {
  const brief::Brief b = machine();
  const std::string loose = kPlain + "max_error_deg = 8\nhold = false\n";
  const auto strip = [](std::string text) { return text.replace(text.find("max_error_deg = 3\n"), 18, ""); };
  const auto one = small_kit::propose(kSteer, small_kit::function("steer", strip(loose)), b);
  const auto two = small_kit::propose(kSteer, small_kit::function("steer", strip(loose) + "axles = 2\n"), b);
  ASSERT_FALSE(one.candidates.empty());
  ASSERT_FALSE(two.candidates.empty());
  for (const candidate::Candidate& c : two.candidates) {
    EXPECT_EQ(c.demand.ports, 2) << c.key;
    EXPECT_EQ(c.demand.channels, 1) << c.key;
    for (const candidate::Need& n : c.demand.needs) EXPECT_EQ(n.count % 2, 0) << c.key << " " << n.label;
    EXPECT_TRUE(noted(c, "the other axle is the mirror image"));
    for (const candidate::BodyCells& cells : c.cells)
      for (const lattice::Point3& at : cells.cells) ASSERT_TRUE(cells.cells.has({-at.x_hp - 1, at.y_hp, at.z_hp}));
  }
  const double single = small_kit::figure(one.candidates.front(), "turning circle between kerbs");
  const double both = small_kit::figure(two.candidates.front(), "turning circle between kerbs");
  EXPECT_LT(both, 0.75 * single);
}

TEST(Steer, TheRearAxleIsTheMirrorImageOfTheFrontOne) {
  brief::Brief b = machine();
  b.bodies[0].centre_mm.x_mm = 0;
  const auto front = small_kit::propose(kSteer, small_kit::function("steer", kPlain), b);
  const auto rear = small_kit::propose(kSteer, small_kit::function("steer", kPlain + "axle = \"rear\"\n"), b);
  ASSERT_FALSE(front.candidates.empty());
  ASSERT_FALSE(rear.candidates.empty());
  EXPECT_NEAR(rear.candidates.front().nominal.worst(), front.candidates.front().nominal.worst(), 1e-12);
  for (const candidate::BodyCells& cells : rear.candidates.front().cells) EXPECT_LT((*cells.cells.begin()).x_hp, 0);
}

TEST(Steer, SoftStopsDropTheStopMargin) {
  const brief::Brief b = machine();
  const auto soft = small_kit::propose(kSteer, small_kit::function("steer", kPlain + "stops = \"soft\"\n"), b);
  ASSERT_FALSE(soft.candidates.empty());
  bool warned = false;
  for (const candidate::Candidate& c : soft.candidates) {
    for (const candidate::Margin& m : c.nominal.margins) EXPECT_NE(m.name, "stop");
    warned = warned || noted(c, "run against a stop");
  }
  EXPECT_TRUE(warned);
  const auto hard = small_kit::propose(kSteer, small_kit::function("steer", kPlain), b);
  for (const candidate::Candidate& c : hard.candidates) {
    if (c.key.find("|direct|") != std::string::npos) continue;
    const candidate::Margin& m = small_kit::margin(c.nominal, "stop");
    EXPECT_NEAR(m.requirement, small_kit::figure(c, "torque at the crank, motor stalled"), 1e-9);
  }
}

TEST(Steer, WhatCannotBeIsToldInNumbers) {
  brief::Brief b = machine();
  const auto tight = small_kit::propose(kSteer, small_kit::function("steer", kPlain + "turning_circle_mm = 60\n"), b);
  EXPECT_TRUE(tight.candidates.empty());
  EXPECT_FALSE(tight.rejections.empty());
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  for (const int length : {12, 13, 14, 15})
    small_kit::set_count(*stock, *b.catalogue, "beam_" + std::to_string(length), 0);
  for (const int length : {8, 9, 10, 11})
    small_kit::set_count(*stock, *b.catalogue, "beam_" + std::to_string(length), 0);
  b.stock = stock;
  // Kingpins follow the longest beam, 7 holes, unless they are told.
  EXPECT_EQ(wants_of(kPlain, b).kingpins_at_mm, (7 - 1 + 2) * 8);
  const auto none = small_kit::propose(kSteer, small_kit::function("steer", kPlain + "kingpins_mm = 104\n"), b);
  EXPECT_TRUE(none.candidates.empty());
  const candidate::Rejection* bars = small_kit::rejection(none, "steer.bars");
  ASSERT_NE(bars, nullptr);
  EXPECT_NE(bars->text.find("track rod"), std::string::npos);
  brief::Function pair = small_kit::function("steer", kPlain, 2);
  EXPECT_NE(small_kit::rejection(small_kit::propose(kSteer, pair, machine()), "steer.sides"), nullptr);
}

TEST(SteerWants, ReportsEveryProblemAtItsPlace) {
  brief::Brief b = machine();
  EXPECT_EQ(
      small_kit::problems(kSteer, small_kit::function("steer", "angle_deg = 30\ntime_s = 2\nwheel = \"wheel_4\"\n"), b),
      (std::vector<std::string>{"steer.unknown_part 3 /wheel"}));
  EXPECT_EQ(small_kit::problems(kSteer, small_kit::function("steer", kPlain + "kingpins_mm = 160\n"), b),
            (std::vector<std::string>{"steer.kingpins_mm 7 /kingpins_mm"}));
  EXPECT_EQ(small_kit::problems(kSteer, small_kit::function("steer", kPlain + "track_mm = 60\n"), b),
            (std::vector<std::string>{"steer.kingpins_mm 7 /track_mm"}));
  EXPECT_EQ(small_kit::problems(kSteer, small_kit::function("steer", kPlain + "quickest_s = 4\n"), b),
            (std::vector<std::string>{"steer.quickest_s 7 /quickest_s"}));
  EXPECT_EQ(small_kit::problems(
                kSteer, small_kit::function("steer", kPlain + "crank_region_p = { x = [0.1, 0.3], y = [0, 1] }\n"), b),
            (std::vector<std::string>{"steer.empty_region 7 /crank_region_p"}));
  b.support.type = brief::Support::Type::tracks;
  const auto found = small_kit::problems(kSteer, small_kit::function("steer", kPlain), b);
  ASSERT_EQ(found.size(), 2u) << ::testing::PrintToString(found);
  EXPECT_EQ(found[0].rfind("steer.wheelbase_mm", 0), 0u);
  EXPECT_EQ(found[1].rfind("steer.track_mm", 0), 0u);
}

TEST(Steer, ObeysTheLawsOfAKind) {
  small_kit::expect_laws(kSteer, small_kit::function("steer", kPlain), machine());
}

// Second route: Lewis by hand, Ackermann by its formula at the told angles, time by the drive's straight line.
TEST(Steer, ARackTurnsTheWheelsAndItsTeethAreJudged) {
  const brief::Brief b = machine_with_racks(6);
  const auto p = small_kit::propose(kSteer, small_kit::function("steer", kRack), b);
  ASSERT_FALSE(p.candidates.empty());
  const steer::Wants w = wants_of(kRack, b);
  for (const candidate::Candidate& c : p.candidates) {
    ASSERT_EQ(c.key.find("arm "), 0U);
    const double inner = small_kit::figure(c, "largest angle, inner wheel") * kPi / 180;
    const double outer = small_kit::figure(c, "largest angle, outer wheel") * kPi / 180;
    const double wanted = std::atan(1 / (1 / std::tan(inner) + w.kingpins_at_mm / w.base_mm));
    EXPECT_LE(std::fabs(outer - wanted) * 180 / kPi, small_kit::figure(c, "Ackermann error, largest") + 1e-9) << c.key;
    EXPECT_LE(small_kit::margin(c.nominal, "Ackermann error").capability, 6) << c.key;
    int racks = 0, teeth = 0;
    ASSERT_EQ(std::sscanf(c.key.c_str() + c.key.find('|'), "|gear_%d", &teeth), 1) << c.key;
    for (const candidate::Need& n : c.demand.needs) {
      if (n.role == "rack") racks += n.count;
    }
    const double travel = small_kit::figure(c, "rack, from stop to stop");
    EXPECT_EQ(racks, std::ceil((std::ceil(travel / kPi) + 2) / 10)) << c.key;
    EXPECT_NEAR(small_kit::figure(c, "pinion turns, from stop to stop"), travel / (kPi * teeth), 1e-9) << c.key;
    const auto& tooth = small_kit::margin(c.nominal, "rack tooth");
    EXPECT_NEAR(tooth.requirement, small_kit::figure(c, "torque at the pinion, greatest"), 1e-9);
    // A motor that stalls against the stop loads the rack as well.
    EXPECT_LE(small_kit::margin(c.nominal, "stop").ratio,
              tooth.capability / small_kit::figure(c, "torque at the pinion, motor stalled") * (1 + 1e-9));
    // The pinion's mesh keeps 0.93 of its torque at the rack's pitch line.
    EXPECT_NEAR(tooth.requirement, small_kit::figure(c, "force along the rack, greatest") * teeth / 2 / 0.93, 1e-6);
  }
  const auto either = small_kit::propose(
      kSteer, small_kit::function("steer", kRack.substr(0, kRack.find("by =")) + "by = \"either\"\n"), b);
  ASSERT_FALSE(either.candidates.empty());
  EXPECT_GE(either.candidates.front().nominal.worst(), p.candidates.front().nominal.worst() * (1 - 1e-12));
}

TEST(Steer, WithoutARackOrWithTooFewTeethItSaysSo) {
  for (const int pieces : {0, 1}) {
    const auto p =
        small_kit::propose(kSteer, small_kit::function("steer", kRack + "axles = 2\n"), machine_with_racks(pieces));
    const auto r = std::find_if(p.rejections.begin(), p.rejections.end(),
                                [](const candidate::Rejection& x) { return x.code == "steer.rack"; });
    ASSERT_NE(r, p.rejections.end()) << pieces;
    if (pieces == 0) {
      EXPECT_TRUE(p.candidates.empty());
    }
    EXPECT_NE(r->text.find(pieces == 0 ? "no rack" : "teeth of rack"), std::string::npos) << r->text;
    EXPECT_GE(r->shortfall, 1);
  }
}

TEST(Steer, ARackObeysTheLawsOfAKind) {
  small_kit::expect_laws(kSteer, small_kit::function("steer", kRack), machine_with_racks(6));
}
