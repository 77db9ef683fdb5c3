// Legs that slide: geometry by hand, forces by the equations of the whole beam solved another way, what the stock and
// the middle of the machine allow, the kind's answers with them.
#include "functions/stabiliser/outrigger.h"

#include <Eigen/Dense>
#include <cmath>
#include <numbers>

#include "functions/crawler/small_kit.h"
#include "functions/luff/fixture.h"
#include "functions/stabiliser/outrigger_design.h"
#include "functions/stabiliser/site.h"
#include "functions/stabiliser/stabiliser.h"
#include "routing/checker.h"

namespace functions::stabiliser {
namespace {

using lift_fixture::crane;
using lift_fixture::figure;
using lift_fixture::kRad;
using lift_fixture::margin;
using lift_fixture::problems;
using lift_fixture::propose;
using lift_fixture::set_count;
using lift_fixture::text_of;
using Lines = std::vector<std::string>;

brief::Function function(const std::string& toml) {
  brief::Function f = lift_fixture::function("stabiliser", "way = \"slides\"\n" + toml);
  f.body = -1;
  f.room = lattice::Box3{{-34, -18, 2}, {34, 18, 32}};  // tight, so that layouts are found quickly
  return f;
}

/// A broad crane with beams up to 17 holes; every figure invented.
brief::Brief machine() {
  brief::Brief b = crane();
  b.bodies[0].size_mm = {240, 240, 96};
  b.bodies[0].centre_mm = {0, 0, 64};
  auto catalogue = std::make_shared<stock::Catalogue>(*b.catalogue);
  for (const int length : {11, 13, 15, 17}) {
    stock::PartClass part;
    part.id = part.name = "beam_" + std::to_string(length);
    part.family = stock::Family::beam;
    part.mass_g = lift_fixture::exact(0.5 * length);
    part.data = stock::Beam{length, 1};
    catalogue->classes.push_back(part);
  }
  for (const int length : {11, 12, 14, 16}) {
    stock::PartClass part;
    part.id = part.name = "axle_" + std::to_string(length);
    part.family = stock::Family::axle;
    part.mass_g = lift_fixture::exact(0.3 * length);
    part.data = stock::Axle{length};
    catalogue->classes.push_back(part);
  }
  b.stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*catalogue, 16));
  b.catalogue = catalogue;
  return b;
}

/// Level beams to 144 mm, sloping ones from a mouth 44 mm up.
const std::string kLevel = "foot_mm = [64, 144]\nlegs = 4\nhip_mm = [112, 12]\nlifts = false\nmost_stages = 0\n";
const std::string kSloping =
    "foot_mm = [64, 157]\nlegs = 4\nhip_mm = [104, 36]\nlift_mm = 4\nmost_stages = 0\ntime_s = 20\n";

Outrigger find(const std::string& toml, const brief::Brief& b, candidate::RejectionLog& log, double stroke_mm = 46) {
  const brief::Function f = function(toml);
  document::Diagnostics d;
  const auto wants = read(f, b, d);
  EXPECT_NE(wants, nullptr) << toml;
  return find_outrigger(dynamic_cast<const Wants&>(*wants), b, f, stroke_mm, log);
}

TEST(Outrigger, GeometryByHand) {
  const brief::Brief b = machine();
  candidate::RejectionLog log;
  // Level: 144 - 112 = 32 mm beyond the mouth, 16 of them run in; 32 + 40 mm are nine pitches, ten holes.
  const Outrigger level = find(kLevel, b, log);
  EXPECT_TRUE(level.level());
  EXPECT_NEAR(level.travel_mm, 16, 1e-9);
  EXPECT_EQ(level.leg.length_p, 9);
  EXPECT_NEAR(level.gap_mm, 8, 1e-9);  // mouth 12 up, pin 4 over its underside
  EXPECT_NEAR(level.leg.foot_out_mm, 144, 1e-9);
  // 17 holes less 5 p: 88 mm; 46 + 16 = 62 mm of stroke; the middle: 112 - 4 + 16 - 40 = 84 mm.
  EXPECT_NEAR(level.widest_mm, 112 + 62, 1e-9);
  EXPECT_STREQ(level.widest_by, "the actuator's stroke");
  // 3-4-5: pin from 36 mm to 4 - 4 = 0 mm up: 36/0.6 = 60 mm along, 48 mm out.
  const Outrigger slope = find(kSloping, b, log);
  EXPECT_NEAR(slope.slope_rad, std::asin(0.6), 1e-12);
  EXPECT_NEAR(slope.reach_mm, 60, 1e-9);
  EXPECT_NEAR(slope.travel_mm, 44, 1e-9);
  EXPECT_NEAR(slope.loaded_mm, 4 / 0.6, 1e-9);
  EXPECT_NEAR(slope.leg.foot_out_mm, 104 + 48, 1e-9);
  EXPECT_NEAR(slope.leg.foot_miss_mm, 5, 1e-9);
  EXPECT_NEAR(slope.clearance_mm, 32 - 16 * 0.6, 1e-9);
  EXPECT_TRUE(log.take().empty());
}

// Second route: along, across and moments of the beam as one linear system for each choice of the reactions' signs.
TEST(Outrigger, ForcesKeepTheBeamInEquilibrium) {
  const brief::Brief b = machine();
  candidate::RejectionLog log;
  int checked = 0;
  for (const std::string& toml : {kLevel, kSloping}) {
    const Outrigger o = find(toml, b, log);
    const double c = std::cos(o.slope_rad), s = std::sin(o.slope_rad);
    for (const double out_mm : {0.0, 7.0, o.travel_mm}) {
      for (const double foot_n : {0.0, 3.0, 11.0}) {
        for (const Motion motion : {Motion::deploying, Motion::stowing}) {
          const double way = motion == Motion::deploying ? 1 : -1;
          const SlideContact contact{0.6, 0.25, 20};
          const SlideForce got = slide_force(o, out_mm, foot_n, contact, motion);
          const double e = o.reach_mm - o.travel_mm + out_mm, inner_end = e - o.leg.length_mm;
          const double fx = -way * contact.foot_friction * foot_n, fz = foot_n;  // on the foot, outward and up
          int agree = 0;
          for (const double sa : {-1.0, 1.0}) {
            for (const double sb : {-1.0, 1.0}) {
              // Unknowns F, A, B; u = (c, -s) outward along, n = (s, c) across.
              Eigen::Matrix3d m;
              Eigen::Vector3d rhs;
              m.row(0) << 1, -way * contact.guide_friction * sa, -way * contact.guide_friction * sb;
              rhs[0] = -(fx * c - fz * s) - o.leg.weight_n * s;
              m.row(1) << 0, 1, 1;
              rhs[1] = -(fx * s + fz * c) + o.leg.weight_n * c;
              m.row(2) << -contact.offset_mm, 0, -o.guide_mm;
              rhs[2] = -(fx * s + fz * c) * e + o.leg.weight_n * c * (inner_end + o.leg.centre_mm);
              const Eigen::Vector3d x = m.fullPivLu().solve(rhs);
              if (x[1] * sa < -1e-12 || x[2] * sb < -1e-12) continue;
              ++agree;
              EXPECT_NEAR(got.force_n, x[0], 1e-9 * (1 + std::fabs(x[0])));
              EXPECT_NEAR(got.guide_n, std::fabs(x[1]) + std::fabs(x[2]), 1e-9 * (1 + got.guide_n));
            }
          }
          EXPECT_GE(agree, 1);
          checked += agree;
          if (o.level() || motion == Motion::stowing || foot_n == 0) continue;
          EXPECT_NEAR(slide_foot_n(o, out_mm, got.force_n, contact), foot_n, 1e-9 * foot_n);
        }
      }
    }
  }
  EXPECT_GE(checked, 36);
}

TEST(Outrigger, RefusesAtThePlaceOfTheFault) {
  const brief::Brief b = machine();
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 144]\nslope_p = [1, 0]\n"), b),
            (Lines{"stabiliser.level /slope_p"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 144]\nslope_p = [4, 1]\n"), b),
            (Lines{"stabiliser.slope /slope_p"}));  // hypot(4, 1) = 4.123
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 144]\nslope_p = [2.5, 1]\n"), b),
            (Lines{"stabiliser.slope /slope_p"}));
  EXPECT_TRUE(problems(kind(), function("foot_mm = [64, 144]\nslope_p = [12, 5]\n"), b).empty());
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 144]\nstowed_deg = 10\n"), b),
            (Lines{"stabiliser.swings_only /stowed_deg"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 144]\nslope_p = [12, 5]\nguide_p = 6\n"), b),
            (Lines{"stabiliser.sleeve /guide_p"}));
  brief::Function swings = lift_fixture::function("stabiliser", "foot_mm = [64, 144]\nguide_p = 4\n");
  swings.body = -1;
  EXPECT_EQ(problems(kind(), swings, b), (Lines{"stabiliser.slides_only /guide_p"}));
}

TEST(Outrigger, LevelBeamsOnlyWidenAndSayHowFarItLeansFirst) {
  const brief::Brief b = machine();
  const candidate::Proposal p = propose(kind(), function(kLevel), b);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_EQ(c.nominal.margins.front().name, "force") << c.key;
    EXPECT_EQ(c.demand.ports % 2, 0);
    ASSERT_NE(c.route, nullptr);
    EXPECT_TRUE(routing::check(*c.route->problem, c.route->layout).empty()) << c.key;
    // Right wheels 70 mm from the middle, the left foot 144: 8 mm over 214.
    EXPECT_NEAR(figure(c, "leans before a foot bears"), std::atan2(8, 214) / kRad, 1e-9);
    EXPECT_EQ(c.stands_on_mm.size(), 8U);
    EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(), [](const std::string& n) {
      return n.find("it cannot lift, it only widens") != std::string::npos;
    })) << c.key;
    // Shoelace by hand: feet 64 by 144 and tracks 100 by 70 make an octagon.
    const double area = 2 * 64 * 2 * 144 + 2 * (2 * 70 + 2 * 144) / 2.0 * (100 - 64);
    EXPECT_NEAR(figure(c, "area covered, feet"), area / 100, 1e-9);
  }
}

// Beams run out by hand. Second routes: the drawer's force by hand, the hollow pin's two cuts, the stance's tipping
// angle at every hole by its nearest edge.
TEST(Outrigger, ByHandEveryHoleIsAReachAndNoMotorIsTaken) {
  const brief::Brief b = machine();
  const std::string by_hand = "foot_mm = [64, 160]\nlegs = 4\nhip_mm = [112, 12]\nlifts = false\nby = \"hand\"\n";
  const candidate::Proposal p = propose(kind(), function(by_hand), b);
  ASSERT_EQ(p.candidates.size(), 1U) << text_of(p);
  const candidate::Candidate& c = p.candidates.front();
  EXPECT_EQ(c.demand.ports, 0);
  EXPECT_EQ(c.demand.channels, 0);
  EXPECT_TRUE(c.drives.empty());
  EXPECT_EQ(c.cells.size(), 1U);
  EXPECT_FALSE(c.cells.front().cells.empty());
  // 48 mm beyond the mouth, 16 of them run in: positions at 128, 136, ... 160 mm.
  ASSERT_EQ(c.curves.size(), 2U);
  EXPECT_EQ(c.curves[0].y, (std::vector<double>{128, 136, 144, 152, 160}));
  EXPECT_NEAR(figure(c, "beam runs out"), 32, 1e-9);
  // The beam's weight w at its middle, on a sleeve of 40 mm with friction mu: run out it hangs over by e; both ends
  // carry |w (1 + e/b)| + |w e/b|.
  const double weight = figure(c, "beam, length") / 8 * 0.5 * 9.80665e-3;  // half a gram a hole in this kit, about
  EXPECT_GT(figure(c, "hand force out"), 0);
  EXPECT_LT(figure(c, "hand force out"), 3 * weight);
  const double tips = figure(c, "foot load when it tips");
  EXPECT_NEAR(margin(c.nominal, "hold").capability,
              2 * b.parameters.nominal()[brief::Parameter::axle_shear_stress_mpa] * std::numbers::pi / 4 *
                  (4.8 * 4.8 - 3.0 * 3.0),
              1e-6);
  EXPECT_NEAR(margin(c.nominal, "hold").requirement, tips * b.parameters.nominal()[brief::Parameter::ground_friction],
              1e-9);
  EXPECT_NEAR(margin(c.nominal, "beam").requirement, tips * 48, 1e-9);
  // The further out, the steeper the ground may be, and the last place is the candidate's own figure.
  for (std::size_t i = 1; i < c.curves[1].y.size(); ++i) EXPECT_GE(c.curves[1].y[i], c.curves[1].y[i - 1] - 1e-9);
  EXPECT_NEAR(c.curves[1].y.back(), figure(c, "tipping angle, feet"), 1e-9);
  // A foot between two holes stands at the nearer one.
  candidate::RejectionLog log;
  const Outrigger between = find("foot_mm = [64, 157]\nlegs = 4\nhip_mm = [112, 12]\nlifts = false\nby = \"hand\"\n", b,
                                 log, std::numeric_limits<double>::infinity());
  EXPECT_NEAR(between.leg.foot_out_mm, 160, 1e-9);
  EXPECT_NEAR(between.leg.foot_miss_mm, 3, 1e-9);
  small_kit::expect_laws(kind(), function(by_hand), b);
}

TEST(Outrigger, ByHandNothingThatBelongsToAMotorIsAsked) {
  const brief::Brief b = machine();
  const std::string by_hand = "foot_mm = [64, 160]\nby = \"hand\"\n";
  EXPECT_EQ(problems(kind(), function(by_hand), b), (Lines{"stabiliser.hand_lifts /by"}));
  EXPECT_EQ(problems(kind(), function(by_hand + "lifts = false\ntime_s = 3\n"), b),
            (Lines{"stabiliser.motor_on_hand /time_s"}));
  EXPECT_EQ(problems(kind(), function(by_hand + "lifts = false\nslope_p = [4, 3]\n"), b),
            (Lines{"stabiliser.hand_lifts /slope_p"}));
  EXPECT_EQ(problems(kind(), function("foot_mm = [64, 160]\nlifts = false\nhand_n = 5\n"), b),
            (Lines{"stabiliser.hand_on_motor /hand_n"}));
}

TEST(Outrigger, SlopingBeamsLiftAndTheFootForceIsThatOfTheStalledMotor) {
  const brief::Brief b = machine();
  const candidate::Proposal p = propose(kind(), function(kSloping), b);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  for (const candidate::Candidate& c : p.candidates) {
    const candidate::Margin& foot = margin(c.nominal, "foot force");
    EXPECT_NEAR(foot.requirement, figure(c, "foot force needed"), 1e-12);
    EXPECT_NEAR(figure(c, "foot force given"), foot.capability, 1e-9 * foot.capability);
    EXPECT_GE(c.nominal.worst(), candidate::kNearMiss) << c.key;
    // All weight on one foot: W sin b along the beam, W cos b at 60 mm across it.
    EXPECT_NEAR(margin(c.nominal, "hold").requirement, figure(c, "weight of the machine") * 0.6, 1e-9);
    EXPECT_NEAR(margin(c.nominal, "beam").requirement, figure(c, "weight of the machine") * 0.8 * 60, 1e-9);
    EXPECT_TRUE(routing::check(*c.route->problem, c.route->layout).empty()) << c.key;
  }
}

TEST(Outrigger, SaysHowWideTheStockAndTheMiddleAllow) {
  brief::Brief b = machine();
  // 200 mm out: 88 mm beyond the mouth and 40 in the sleeve are 17 holes; run in they pass the middle by
  // 128 + 4 - 16 - 112 = 4 mm.
  const candidate::Proposal over =
      propose(kind(), function("foot_mm = [64, 200]\nlegs = 4\nhip_mm = [112, 12]\nlifts = false\n"), b);
  EXPECT_TRUE(over.candidates.empty());
  ASSERT_EQ(over.rejections.size(), 1U);
  EXPECT_EQ(over.rejections[0].code, "stabiliser.beams_meet");
  EXPECT_NEAR(over.rejections[0].shortfall, 4, 1e-9);
  EXPECT_NE(over.rejections[0].text.find("196 mm out at most"), std::string::npos) << over.rejections[0].text;
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  for (const char* id : {"beam_9", "beam_11", "beam_13", "beam_15", "beam_17"}) set_count(*stock, *b.catalogue, id, 0);
  b.stock = stock;
  const candidate::Proposal shorter = propose(kind(), function(kLevel), b);
  EXPECT_TRUE(shorter.candidates.empty());
  ASSERT_EQ(shorter.rejections.size(), 1U);
  EXPECT_EQ(shorter.rejections[0].code, "stabiliser.beam_too_short");
  EXPECT_NEAR(shorter.rejections[0].shortfall, 3, 1e-9);  // 10 holes, the longest has 7
}

TEST(Outrigger, OneMotorRunsTwoBeamsOutByACrossShaft) {
  brief::Brief b = machine();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  for (const char* id : {"gear_8", "gear_40", "worm_1", "motor_large", "actuator_long"})
    set_count(*stock, *b.catalogue, id, 0);
  b.stock = stock;
  const candidate::Proposal p = propose(kind(),
                                        function("foot_mm = [64, 157]\nlegs = 4\nhip_mm = [104, 36]\nmost_stages = 1\n"
                                                 "time_s = 20\nlegs_per_motor = 2\n"),
                                        b);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_EQ(c.demand.ports, 2);
    EXPECT_GT(figure(c, "wind-up, far actuator"), figure(c, "wind-up, near actuator"));
    // Lead 2 mm: the far rod lags by the difference of both twists.
    EXPECT_NEAR(figure(c, "far foot lags behind by"),
                2 * (figure(c, "wind-up, far actuator") - figure(c, "wind-up, near actuator")) / 360, 1e-9);
  }
}

TEST(Outrigger, ObeysTheLawsOfAKind) {
  brief::Brief b = machine();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  for (const char* id : {"motor_large", "actuator_long"}) set_count(*stock, *b.catalogue, id, 0);
  b.stock = stock;
  small_kit::expect_laws(kind(), function(kLevel + "legs_per_motor = 1\n"), b);
  small_kit::expect_laws(kind(), function(kSloping + "legs_per_motor = 1\n"), b);
  small_kit::expect_mirror(kind(), function(kSloping + "legs_per_motor = 1\n"), b);
}

}  // namespace
}  // namespace functions::stabiliser
