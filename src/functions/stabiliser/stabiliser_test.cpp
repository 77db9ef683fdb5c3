// The kind as a whole: what it refuses to read, that the best candidate equals a search by brute force, answers in
// numbers when nothing serves, cross shafts, and what the figures say.
#include "functions/stabiliser/stabiliser.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "functions/luff/fixture.h"
#include "functions/stabiliser/evaluate.h"
#include "functions/stabiliser/site.h"
#include "linkage/actuator.h"
#include "routing/checker.h"
#include "routing/tables.h"
#include "structure/torsion.h"

namespace functions::stabiliser {
namespace {

using lift_fixture::crane;
using lift_fixture::figure;
using lift_fixture::margin;
using lift_fixture::problems;
using lift_fixture::propose;
using lift_fixture::set_count;
using lift_fixture::text_of;
using Lines = std::vector<std::string>;

brief::Function function(const std::string& toml) {
  brief::Function f = lift_fixture::function("stabiliser", toml);
  f.body = -1;
  return f;
}

/// Crane with a room for drives inside its chassis and plenty of every part.
brief::Brief machine() {
  brief::Brief b = crane();
  auto catalogue = std::make_shared<stock::Catalogue>(*b.catalogue);
  for (const int length : {11, 12, 16}) {
    stock::PartClass part;
    part.id = part.name = "axle_" + std::to_string(length);
    part.family = stock::Family::axle;
    part.mass_g = lift_fixture::exact(0.3 * length);
    part.data = stock::Axle{length};
    catalogue->classes.push_back(part);
  }
  stock::PartClass plate;
  plate.id = plate.name = "plate_2x4";
  plate.family = stock::Family::plate;
  plate.mass_g = lift_fixture::exact(2);
  catalogue->classes.push_back(plate);
  b.stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*catalogue, 16));
  for (stock::StockType& t : const_cast<stock::Stock&>(*b.stock).types)
    if (catalogue->at(t.part).family == stock::Family::pin) t.count = 80;
  b.catalogue = catalogue;
  return b;
}

/// One or two meshes keep the tests quick.
const std::string kFour =
    "foot_mm = [64, 108]\nlegs = 4\nhip_mm = [72, 44]\nleg_p = 7\nclearance_mm = 50\ntime_s = 15\nmost_stages = 1\n"
    "base_region_p = { x = [-5, 0], z = [7, 12] }\nlegs_per_motor = 1\n";

double best_worst(const candidate::Proposal& p) {
  return p.candidates.empty() ? 0 : p.candidates.front().nominal.worst();
}

const candidate::Rejection* rejection(const candidate::Proposal& p, std::string_view code) {
  const auto it = std::find_if(p.rejections.begin(), p.rejections.end(),
                               [&](const candidate::Rejection& r) { return r.code == code; });
  return it == p.rejections.end() ? nullptr : &*it;
}

TEST(Stabiliser, RefusesAtThePlaceOfTheFault) {
  const brief::Brief b = machine();
  EXPECT_EQ(problems(kind(), function("legs = 2\n"), b), (Lines{"stabiliser.missing_key /foot_mm"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [-64, -10]\nlegs = 4\n"), b),
            (Lines{"stabiliser.foot_side /foot_mm", "stabiliser.foot_front /foot_mm"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 100]\nlegs = 3\n"), b), (Lines{"stabiliser.legs /legs"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 100]\nclearance_mm = 30\nstowed_deg = 20\n"), b),
            (Lines{"stabiliser.stowed_twice /stowed_deg"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 100]\nlegs_per_motor = 2\n"), b),
            (Lines{"stabiliser.cross_shaft /legs_per_motor"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 100]\npad = \"plate_2x5\"\n"), b),
            (Lines{"stabiliser.unknown_part /pad"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 100]\nbase_region_p = { x = [0.1, 0.2], z = [0, 1] }\n"), b),
            (Lines{"stabiliser.empty_region /base_region_p"}));
  brief::Function on_upper = function("foot_mm = [64, 100]\n");
  on_upper.body = 1;
  EXPECT_EQ(problems(kind(), on_upper, b), (Lines{"stabiliser.body /foot_mm"}));
  brief::Function pair = function("foot_mm = [100, 64]\nswing = \"lengthways\"\nlegs_per_motor = 2\n");
  pair.sides = 2;
  EXPECT_EQ(problems(kind(), pair, b), (Lines{"stabiliser.sides /legs_per_motor"}));
  for (const document::FieldDoc& f : fields()) EXPECT_GT(f.doc.size(), 20U) << f.key;
}

TEST(Stabiliser, FourLegsWithAMotorEach) {
  const brief::Brief b = machine();
  const candidate::Proposal p = propose(kind(), function(kFour), b);
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_TRUE(p.complete);
  EXPECT_GE(best_worst(p), 1);
  std::set<std::string> keys;
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_TRUE(keys.insert(c.key).second) << c.key;
    EXPECT_EQ(c.demand.ports, 4);
    EXPECT_EQ(c.demand.channels, 1);
    EXPECT_TRUE(routing::check(*c.route->problem, c.route->layout).empty()) << c.key;
    EXPECT_EQ(c.nominal.margins.front().name, "foot force");
    // Greatest share of four feet: see StabiliserStance.
    const double x = (500 * -40 + 120 * 130 + 60 * 290) / 1880.0;
    EXPECT_NEAR(margin(c.nominal, "foot force").requirement, 1.880 * 9.81 / 2 * (64 + x) / 128, 1e-9);
    EXPECT_NEAR(margin(c.nominal, "hold").requirement, 1.880 * 9.81, 1e-9);
    // Self-locking: 0.2 against lead/(pi dm) = 2/(5 pi).
    EXPECT_NEAR(margin(c.nominal, "lock").requirement, 2 / (5 * std::numbers::pi), 1e-12);
    // Every cell has its images left and right, front and rear.
    for (const lattice::Point3& cell : c.cells.front().cells) {
      const auto& all = c.cells.front().cells;
      ASSERT_TRUE(all.has({cell.x_hp, -cell.y_hp - 1, cell.z_hp}));
      ASSERT_TRUE(all.has({-cell.x_hp - 1, cell.y_hp, cell.z_hp}));
    }
  }
}

TEST(Stabiliser, BestCandidateEqualsBruteForceOverItsMountsAndMotors) {
  // Every mount of the regions, every actuator and motor, without a gear: the margins from the formulas of statics
  // alone, in double, without the search's bounds, fronts or pruning.
  const brief::Brief b = machine();
  const candidate::Proposal p = propose(kind(), function(kFour), b);
  ASSERT_FALSE(p.candidates.empty());
  const candidate::Candidate& best = p.candidates.front();
  const Leg leg = [&] {
    const brief::Function f = function(kFour);
    document::Diagnostics d;
    const auto wants = read(f, b, d);
    candidate::RejectionLog log;
    return find_leg(dynamic_cast<const Wants&>(*wants), b, f, log);
  }();
  const Wants wants = [&] {
    document::Diagnostics d;
    return dynamic_cast<const Wants&>(*read(function(kFour), b, d));
  }();
  const brief::Sample nominal = b.parameters.nominal();
  // The best "hold" any mount gives bounds the proposal's; the proposal's own mount must reach what it says.
  double most_hold = 0;
  std::int64_t fits = 0;
  for (const char* id : {"actuator_medium", "actuator_long"}) {
    const auto& part = std::get<stock::Actuator>(b.catalogue->at(*b.catalogue->find(id)).data);
    for (int bx = -10; bx <= 0; ++bx) {
      for (int bz = 14; bz <= 24; ++bz) {
        if (leg.hip.y_hp + bx < 2 || shaft_struck(wants, leg, {bx, bz})) continue;
        for (int rx = 2; rx <= 12; rx += 2) {
          const double up = leg.hip_up_mm + leg.lift_mm + rx * 4 * std::sin(leg.deployed_rad);
          if (up < 8 - 1e-9) continue;
          double least = 1e9, shortest = 1e9, longest = 0;
          int sign = 0;
          bool turns = true;
          for (int i = 0; i <= 200; ++i) {
            const double a = leg.deployed_rad + (leg.stowed_rad - leg.deployed_rad) * i / 200;
            const double x = rx * 4 * std::cos(a), z = rx * 4 * std::sin(a), dx = x - bx * 4, dz = z - bz * 4;
            const double length = std::hypot(dx, dz), lever = (bx * 4 * z - bz * 4 * x) / length;
            least = std::min(least, std::fabs(lever));
            shortest = std::min(shortest, length);
            longest = std::max(longest, length);
            const int now = lever > 0 ? 1 : -1;
            turns = turns && (sign == 0 || sign == now);
            sign = now;
          }
          if (!turns || least < 8 || shortest < part.closed_mm + 1 || longest > part.open_mm - 1) continue;
          ++fits;
          const double a = leg.deployed_rad;
          const double x = rx * 4 * std::cos(a), z = rx * 4 * std::sin(a);
          const double lever = std::fabs(bx * 4 * z - bz * 4 * x) / std::hypot(x - bx * 4, z - bz * 4);
          const double held = (part.max_force_n.value.nominal * lever + leg.weight_n * leg.centre_mm * std::cos(a)) /
                              (56 * std::cos(a));
          most_hold = std::max(most_hold, held);
        }
      }
    }
  }
  ASSERT_GT(fits, 10);
  double offered = 0;
  for (const candidate::Candidate& c : p.candidates) {
    const double held = margin(c.nominal, "hold").capability;
    EXPECT_LE(held, most_hold * (1 + 1e-9)) << c.key;
    offered = std::max(offered, held);
    // What the figures say of the mount holds by the triangle itself.
    const double bx = figure(c, "base mount from hip, outward"), bz = figure(c, "base mount from hip, up");
    const double rx = figure(c, "rod mount from hip, along the leg");
    const auto length = [&](double a) { return std::hypot(rx * std::cos(a) - bx, rx * std::sin(a) - bz); };
    const double deployed_mm = length(leg.deployed_rad), stowed_mm = length(leg.stowed_rad);
    EXPECT_NEAR(figure(c, "shortest length"), std::min(deployed_mm, stowed_mm), 1e-9);
    EXPECT_NEAR(figure(c, "longest length"), std::max(deployed_mm, stowed_mm), 1e-9);
  }
  EXPECT_GE(best.nominal.worst(), 1);
  // Nothing beats the best: every motor straight on every mount that fits, by the kind's own margins.
  auto problem = std::make_shared<Problem>();
  problem->brief = std::make_shared<const brief::Brief>(b);
  problem->wants = wants;
  problem->leg = leg;
  problem->nominal = stance_of(b, wants, leg, 1);
  for (int i = 0; i < kAngles; ++i)
    problem->angle_rad.push_back(leg.deployed_rad + (leg.stowed_rad - leg.deployed_rad) * i / (kAngles - 1));
  while (problem->angle_rad[problem->loaded - 1] < leg.contact_rad - 1e-12) ++problem->loaded;
  double direct = 0;
  for (const char* id : {"actuator_medium", "actuator_long"}) {
    const stock::ClassId actuator = *b.catalogue->find(id);
    const auto& part = std::get<stock::Actuator>(b.catalogue->at(actuator).data);
    for (int bx = -10; bx <= 0; ++bx) {
      for (int bz = 14; bz <= 24; ++bz) {
        if (leg.hip.y_hp + bx < 2 || shaft_struck(wants, leg, {bx, bz})) continue;
        for (int rx = 2; rx <= 12; rx += 2) {
          if (leg.hip_up_mm + leg.lift_mm + rx * 4 * std::sin(leg.deployed_rad) < 8 - 1e-9) continue;
          const Mount mount = mount_of(*problem, {bx, bz}, {rx, 0});
          const auto [low, high] = std::minmax(mount.travel.length_mm.front(), mount.travel.length_mm.back());
          const bool monotone = std::is_sorted(mount.travel.length_mm.begin(), mount.travel.length_mm.end()) ||
                                std::is_sorted(mount.travel.length_mm.rbegin(), mount.travel.length_mm.rend());
          if (!monotone || mount.travel.least_lever_mm < 8 || low < part.closed_mm + 1 || high > part.open_mm - 1)
            continue;
          for (const char* motor : {"motor_small", "motor_large"}) {
            drive::Powertrain powertrain;
            powertrain.motor = *b.catalogue->find(motor);
            const Design d{problem, actuator, 1, 4, mount, powertrain, nullptr, std::nullopt};
            direct = std::max(direct, evaluate(d, nominal).worst());
          }
        }
      }
    }
  }
  EXPECT_GT(direct, 0);
  EXPECT_GE(best.nominal.worst(), direct * (1 - 1e-9));
}

TEST(Stabiliser, TooLongAnActuatorIsToldInMillimetres) {
  brief::Brief b = machine();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  set_count(*stock, *b.catalogue, "actuator_medium", 0);
  b.stock = stock;
  // Mounts within 3 p of a hip and 5 p along the leg are never 121 mm apart: closed 120 mm and 1 mm of clearance.
  const candidate::Proposal p =
      propose(kind(),
              function("foot_mm = [64, 108]\nlegs = 4\nhip_mm = [72, 44]\nleg_p = 7\nclearance_mm = 50\n"
                       "base_region_p = { x = [-1, 0], z = [2, 3] }\nrod_region_p = { x = [1, 5], z = [0, 0] }\n"),
              b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* r = rejection(p, "stabiliser.actuator_too_long");
  ASSERT_NE(r, nullptr) << text_of(p);
  EXPECT_EQ(r->unit, "mm");
  // By hand over all mounts: the shortest length of each is at one end of the travel.
  const double stowed = std::asin(10.0 / 56), deployed = -std::asin(44.0 / 56);
  double best = 0;
  for (const double bx : {-8.0, -4.0, 0.0}) {
    for (const double bz : {16.0, 20.0, 24.0}) {
      for (const double rx : {8.0, 16.0, 24.0, 32.0, 40.0}) {
        double least = 1e9, shortest = 1e9;
        bool turns = true;
        for (const double a : {deployed, stowed}) {
          const double x = rx * std::cos(a), z = rx * std::sin(a), length = std::hypot(x - bx, z - bz);
          turns = turns && bx * z - bz * x < 0;
          least = std::min(least, std::fabs(bx * z - bz * x) / length);
          shortest = std::min(shortest, length);
        }
        if (turns && least >= 8) best = std::max(best, shortest);
      }
    }
  }
  ASSERT_GT(best, 0);
  EXPECT_NEAR(r->shortfall, 121 - best, 0.01);
}

TEST(Stabiliser, WhatOneFootMustHoldAtTippingIsAMargin) {
  const brief::Brief b = machine();
  const candidate::Proposal light = propose(kind(), function(kFour), b);
  const candidate::Proposal heavy = propose(kind(), function(kFour + "load_g = 600\n"), b);
  ASSERT_FALSE(light.candidates.empty());
  ASSERT_FALSE(heavy.candidates.empty());
  EXPECT_NEAR(margin(heavy.candidates[0].nominal, "hold").requirement, 2.480 * 9.81, 1e-9);
  EXPECT_EQ(margin(heavy.candidates[0].nominal, "foot force").requirement,
            margin(light.candidates[0].nominal, "foot force").requirement)
      << "lifted before the load hangs";
  const candidate::Proposal absurd = propose(kind(), function(kFour + "load_g = 40000\n"), b);
  EXPECT_TRUE(absurd.candidates.empty());
  ASSERT_NE(rejection(absurd, "stabiliser.force_too_high"), nullptr) << text_of(absurd);
}

TEST(Stabiliser, WideningAsksForLittleAndSaysSo) {
  const brief::Brief b = machine();
  const candidate::Proposal p = propose(kind(), function(kFour + "lifts = false\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  const candidate::Candidate& c = p.candidates.front();
  EXPECT_NEAR(margin(c.nominal, "foot force").requirement, 0.1 * 1.880 * 9.81 / 4, 1e-9);
  EXPECT_GT(figure(c, "area covered, feet"), figure(c, "area covered, wheels"));
  EXPECT_GT(figure(c, "tipping angle, feet"), figure(c, "tipping angle, wheels"));
  EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(),
                          [](const std::string& n) { return n.find("only widens") != std::string::npos; }));
  EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(),
                          [](const std::string& n) { return n.find("lifting would take") != std::string::npos; }));
}

TEST(Stabiliser, FeetThatCannotCarryTheMachineAreRefusedInMillimetres) {
  // Centre of gravity at x = 6.9 mm (see StabiliserStance); feet at x = -4 lift against the contacts at x = 100.
  brief::Brief b = machine();
  b.bodies[0].centre_mm.x_mm = -160;
  const candidate::Proposal p =
      propose(kind(), function("foot_mm = [64, 108]\nlegs = 4\nhip_mm = [72, 44]\nleg_p = 7\n"), b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* r = rejection(p, "stabiliser.falls");
  ASSERT_NE(r, nullptr);
  const double x = (1200 * -160 + 500 * -40 + 120 * 130 + 60 * 290) / 1880.0;
  EXPECT_NEAR(r->shortfall, -x - 64, 1e-9);
}

TEST(Stabiliser, ACrossShaftJoinsFrontAndRear) {
  const brief::Brief b = machine();
  const std::string joined = kFour.substr(0, kFour.find("legs_per_motor")) + "legs_per_motor = 2\n";
  const candidate::Proposal p = propose(kind(), function(joined), b);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  const candidate::Candidate& c = p.candidates.front();
  EXPECT_EQ(c.demand.ports, 2);
  EXPECT_TRUE(routing::check(*c.route->problem, c.route->layout).empty());
  // The output's axle goes from inside one actuator to inside the other: the distance of the planes, 128 mm = 16 p.
  const routing::Layout& l = c.route->layout;
  const auto out = std::find_if(l.shafts.begin(), l.shafts.end(), [](const auto& s) { return s.output == 0; });
  ASSERT_NE(out, l.shafts.end());
  EXPECT_EQ(out->from_hp, -16);
  EXPECT_EQ(out->to_hp, 16);
  EXPECT_EQ(c.route->problem->kit.axles[static_cast<std::size_t>(out->axle)].length_p, 16);
  EXPECT_GE(figure(c, "wind-up, far actuator"), figure(c, "wind-up, near actuator"));
  EXPECT_GT(figure(c, "wind-up, far actuator"), 0);
  // Twist T L/(G K) of both ends together: the wheel stands somewhere between the faces, 112 mm apart.
  const structure::Section section = structure::section_of(b.system().axle);
  const double whole_rad = structure::twist_rad(section, figure(c, "torque at one actuator's input"), 112, 800);
  EXPECT_NEAR(figure(c, "wind-up, far actuator") + figure(c, "wind-up, near actuator"),
              whole_rad * 180 / std::numbers::pi, 1e-9);
  EXPECT_GE(figure(c, "far foot lags behind by"), 0);
  EXPECT_LT(figure(c, "far foot lags behind by"), 0.5);
  for (const lattice::Point3& cell : c.cells.front().cells) {
    const auto& all = c.cells.front().cells;
    ASSERT_TRUE(all.has({cell.x_hp, -cell.y_hp - 1, cell.z_hp}));
  }
  // Torque of both: the drive gives twice what one actuator takes.
  EXPECT_NEAR(margin(c.nominal, "axle").requirement, 2 * figure(c, "torque at one actuator's input"), 1e-9);
}

// No axle of 16 p, but 12 + 4, 11 + 5, ... and a sleeve: the play is that of two crosses, 2 c/w with c 0.1 and w 4.8
// mm, and the rod moves lead/(2 pi) of it.
TEST(Stabiliser, ACrossShaftLongerThanAnyAxleIsTwoInAJoiner) {
  brief::Brief b = machine();
  auto catalogue = std::make_shared<stock::Catalogue>(*b.catalogue);
  stock::PartClass sleeve;
  sleeve.id = sleeve.name = "joiner";
  sleeve.family = stock::Family::joiner;
  sleeve.mass_g = lift_fixture::exact(1);
  sleeve.data = stock::Bush{2};
  catalogue->classes.push_back(sleeve);
  const std::string joined = kFour.substr(0, kFour.find("legs_per_motor")) + "legs_per_motor = 2\n";
  const auto with = [&](int joiners) {
    auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*catalogue, 16));
    for (stock::StockType& t : stock->types)
      if (catalogue->at(t.part).family == stock::Family::pin) t.count = 80;
    set_count(*stock, *catalogue, "axle_16", 0);
    set_count(*stock, *catalogue, "joiner", joiners);
    brief::Brief own = b;
    own.catalogue = catalogue;
    own.stock = stock;
    return propose(kind(), function(joined), own);
  };
  const candidate::Proposal p = with(2);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  for (const candidate::Candidate& c : p.candidates) {
    const routing::Layout& l = c.route->layout;
    const auto out = std::find_if(l.shafts.begin(), l.shafts.end(), [](const auto& s) { return s.output == 0; });
    ASSERT_NE(out, l.shafts.end());
    EXPECT_EQ(out->to_hp - out->from_hp, 32);
    EXPECT_TRUE(routing::joint_hp(c.route->problem->kit, *out).has_value());
    EXPECT_TRUE(routing::check(*c.route->problem, l).empty()) << c.key;
    const std::string play =
        "play in the joiner, shaft " + routing::shaft_names(l)[static_cast<std::size_t>(out - l.shafts.begin())];
    EXPECT_NEAR(figure(c, play), 2 * 0.1 / 4.8 * 180 / std::numbers::pi, 1e-9);
    // A degree of play and one of twist move the feet by the same.
    EXPECT_NEAR(figure(c, "play between the feet, by the joiner") *
                    (figure(c, "wind-up, far actuator") - figure(c, "wind-up, near actuator")),
                figure(c, "far foot lags behind by") * figure(c, play), 1e-9);
    int joiners = 0;
    for (const candidate::Need& n : c.demand.needs) joiners += n.label == "axle joiner" ? n.count : 0;
    EXPECT_EQ(joiners, 2) << c.key;
  }
  // One sleeve is too few for two drives.
  const candidate::Proposal none = with(1);
  EXPECT_TRUE(none.candidates.empty());
  EXPECT_NE(rejection(none, "stabiliser.cross_shaft"), nullptr) << text_of(none);
}

TEST(Stabiliser, ACrossShaftWithoutAnAxleIsToldInPitches) {
  const brief::Brief b = machine();
  std::string joined = kFour.substr(0, kFour.find("legs_per_motor")) + "legs_per_motor = 2\n";
  joined.replace(joined.find("[64,"), 4, "[56,");
  const candidate::Proposal p = propose(kind(), function(joined), b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* r = rejection(p, "stabiliser.cross_shaft");
  ASSERT_NE(r, nullptr);
  EXPECT_EQ(r->shortfall, 2);  // 14 p wanted, 12 and 16 in stock
}

TEST(Stabiliser, LengthwaysLegsAreJoinedAcrossTheMachine) {
  const brief::Brief b = machine();
  const candidate::Proposal p =
      propose(kind(),
              function("foot_mm = [-156, 48]\nswing = \"lengthways\"\nhip_mm = [120, 44]\nleg_p = 7\n"
                       "clearance_mm = 50\ntime_s = 15\nmost_stages = 1\nlegs_per_motor = 2\n"
                       "base_region_p = { x = [-5, 0], z = [7, 12] }\n"),
              b);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  const candidate::Candidate& c = p.candidates.front();
  EXPECT_EQ(c.demand.ports, 1);
  const routing::Layout& l = c.route->layout;
  const auto out = std::find_if(l.shafts.begin(), l.shafts.end(), [](const auto& s) { return s.output == 0; });
  ASSERT_NE(out, l.shafts.end());
  EXPECT_EQ(out->axis, lattice::Axis::y);
  EXPECT_EQ(out->to_hp - out->from_hp, 24);
}

TEST(Stabiliser, LegsPadsAndPinsAreCounted) {
  const brief::Brief b = machine();
  const candidate::Proposal p = propose(kind(), function(kFour + "pad = \"plate_2x4\"\nfoot_height_mm = 4\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  const auto count = [&](const char* id) {
    int n = 0;
    for (const candidate::Need& need : p.candidates.front().demand.needs)
      if (std::find(need.accepts.begin(), need.accepts.end(), *b.catalogue->find(id)) != need.accepts.end())
        n += need.count;
    return n;
  };
  EXPECT_EQ(count("plate_2x4"), 4);
  EXPECT_GE(count("beam_9"), 8);  // a leg of 7 p has 8 holes; the stock's next beam has 9
  EXPECT_GE(count("pin"), 4 * 5);
  brief::Brief poor = b;
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  set_count(*stock, *b.catalogue, "plate_2x4", 3);
  poor.stock = stock;
  const candidate::Proposal none = propose(kind(), function(kFour + "pad = \"plate_2x4\"\nfoot_height_mm = 4\n"), poor);
  EXPECT_TRUE(none.candidates.empty());
  EXPECT_NE(rejection(none, "drive.too_few_parts"), nullptr) << text_of(none);
}

TEST(Stabiliser, SameBytesForAnyNumberOfThreads) {
  const brief::Brief b = machine();
  base::RunControl one, three;
  one.jobs = 1;
  three.jobs = 3;
  EXPECT_EQ(text_of(propose(kind(), function(kFour), b, one)), text_of(propose(kind(), function(kFour), b, three)));
}

TEST(Stabiliser, NoActuatorIsAnAnswer) {
  brief::Brief b = machine();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  set_count(*stock, *b.catalogue, "actuator_medium", 3);
  set_count(*stock, *b.catalogue, "actuator_long", 2);
  b.stock = stock;
  const candidate::Proposal p = propose(kind(), function(kFour), b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* r = rejection(p, "stabiliser.no_actuator");
  ASSERT_NE(r, nullptr);
  EXPECT_EQ(r->shortfall, 1);
}

}  // namespace
}  // namespace functions::stabiliser
