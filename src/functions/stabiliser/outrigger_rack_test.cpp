// Beams run out in pairs by a pinion between their racks: forces by the equations of the whole beam solved another way,
// geometry and stance by hand, what cannot be, the kind's laws with them.
#include "functions/stabiliser/outrigger_rack.h"

#include <Eigen/Dense>
#include <cmath>
#include <numbers>

#include "functions/crawler/small_kit.h"
#include "functions/luff/fixture.h"
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

/// Mouths 56 mm out; feet to 112 mm are 56 mm of reach, 40 of them travel.
const std::string kPair = "foot_mm = [64, 112]\nhip_mm = [56, 28]\nfoot_height_mm = 24\nlifts = false\n";

brief::Function function(const std::string& toml) {
  brief::Function f = lift_fixture::function("stabiliser", "way = \"slides\"\nby = \"rack\"\nmost_stages = 1\n" + toml);
  f.body = -1;
  f.room = lattice::Box3{{-4, -24, 2}, {36, 24, 36}};
  return f;
}

/// The crane with beams up to 19 holes and racks of ten teeth; every figure invented.
brief::Brief machine() {
  brief::Brief b = crane();
  b.bodies[0].size_mm = {240, 240, 96};
  b.bodies[0].centre_mm = {0, 0, 64};
  auto catalogue = std::make_shared<stock::Catalogue>(*b.catalogue);
  const auto add = [&](std::string id, stock::Family family, double mass_g, stock::PartData data) {
    stock::PartClass part;
    part.id = part.name = std::move(id);
    part.family = family;
    part.mass_g = lift_fixture::exact(mass_g);
    part.data = std::move(data);
    catalogue->classes.push_back(std::move(part));
  };
  for (const int length : {11, 13, 15, 17, 19})
    add("beam_" + std::to_string(length), stock::Family::beam, 0.5 * length, stock::Beam{length, 1});
  add("rack_10", stock::Family::rack, 2, stock::Rack{10, 10 * std::numbers::pi, 7});
  b.stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*catalogue, 16));
  b.catalogue = catalogue;
  return b;
}

/// The problem of one pinion of the kit.
struct One {
  std::shared_ptr<const SlideProblem> problem;
  drive::RackPinion mover;
};
One beside(const std::string& pinion, const std::string& toml, const brief::Brief& b, candidate::RejectionLog& log) {
  const brief::Function f = function(toml);
  document::Diagnostics d;
  const auto wants = read(f, b, d);
  EXPECT_NE(wants, nullptr) << toml;
  SlideProblem base;
  base.brief = std::make_shared<const brief::Brief>(b);
  base.wants = dynamic_cast<const Wants&>(*wants);
  base.beam = find_outrigger(base.wants, b, f, std::numeric_limits<double>::infinity(), log);
  base.nominal = stance_of(b, base.wants, base.beam.leg, 1);
  for (int i = 0; i < kRuns; ++i) base.run_mm.push_back(base.beam.travel_mm * i / (kRuns - 1));
  base.loaded_from = base.run_mm.size();
  One out;
  for (const drive::RackPinion& m : drive::rack_pinions(b, f, base.beam.travel_mm, 2, 1, log))
    if (b.catalogue->at(m.pinion).id == pinion) out.mover = m;
  out.problem = beside_pinion(base, out.mover, log);
  return out;
}

TEST(OutriggerRack, GeometryByHand) {
  const brief::Brief b = machine();
  candidate::RejectionLog log;
  const One one = beside("gear_8", kPair, b, log);
  ASSERT_NE(one.problem, nullptr);
  const Outrigger& o = one.problem->beam;
  EXPECT_NEAR(o.travel_mm, 40, 1e-9);
  // 56 mm beyond the mouth, 56 to the pinion and a tooth, 3.14 mm: 115.14 mm are 15 pitches.
  EXPECT_EQ(o.leg.length_p, 15);
  // 19 holes: 144 - 59.14 mm. Run in against the other mouth there is room for 2 x 56 - 4 + 16 = 124 mm, a beam of 15
  // pitches: 120 - 59.14 = 60.86 mm beyond the mouth.
  EXPECT_NEAR(o.widest_mm, 56 + 120 - 56 - std::numbers::pi, 1e-9);
  EXPECT_STREQ(o.widest_by, "the opposite mouth, which its inner end reaches when run in");
  // Pitch radius 4 mm and a pitch: 12 mm to either side.
  EXPECT_NEAR(o.leg.stagger_mm, 12, 1e-12);
  const auto feet = o.leg.feet_mm(one.problem->wants);
  ASSERT_EQ(feet.size(), 2U);
  EXPECT_EQ(feet[0].x_mm, 76);
  EXPECT_EQ(feet[0].y_mm, 112);
  EXPECT_EQ(feet[1].x_mm, 52);
  EXPECT_EQ(feet[1].y_mm, -112);
  // 40 mm are 13 teeth and two more: two racks of ten a beam.
  EXPECT_EQ(one.mover.racks, 2);
  EXPECT_TRUE(log.take().empty());
}

TEST(OutriggerRack, ShareOfTheSleeveByHandAndWhereItJams) {
  const brief::Brief b = machine();
  candidate::RejectionLog log;
  const One one = beside("gear_8", kPair, b, log);
  ASSERT_NE(one.problem, nullptr);
  // m = 56, g = 40, o = 8 mm, tan 20 deg = 0.36397, mu = 0.2. Out: b = (20.382 - 8)/40 = 0.3096, below the tangent, so
  // the share is mu tan a. In: b = 28.382/40 = 0.7096; 0.2 (0.7096 + 0.3456) = 0.2110.
  EXPECT_NEAR(rack_share(*one.problem, 0.2, Motion::deploying), 0.0728, 5e-5);
  EXPECT_NEAR(rack_share(*one.problem, 0.2, Motion::stowing), 0.2110, 5e-5);
  // 2 x 0.2 x 28.382/1.0728 = 10.58 mm; just there the whole force goes into the sleeve.
  const double least_mm = rack_sleeve_mm(*one.problem, 0.2);
  EXPECT_NEAR(least_mm, 10.58, 5e-3);
  SlideProblem shortest = *one.problem;
  shortest.beam.guide_mm = least_mm;
  EXPECT_NEAR(rack_share(shortest, 0.2, Motion::stowing), 1, 1e-12);
}

// Second route: forces along and aside, and moments about the mouth, as one linear system for each choice of the
// reactions' signs; weight of beam and racks by moments about the sleeve's ends.
TEST(OutriggerRack, ForceAtTheRackKeepsTheBeamInEquilibrium) {
  const brief::Brief b = machine();
  candidate::RejectionLog log;
  const One one = beside("gear_24", kPair, b, log);
  ASSERT_NE(one.problem, nullptr);
  const SlideProblem& p = *one.problem;
  const brief::Sample nominal = b.parameters.nominal();
  const RackCycle c = rack_cycle(p, one.mover, p.nominal, nominal);
  const double mu = 0.2, m = 56, g = 40, o = 8, t = std::tan(20 * kRad), gravity = 9.81e-3;
  // A beam of 17 holes, 8.5 g, taken as 120 mm long; two racks of 2 g from a tooth beyond the pinion: when run out the
  // beam's inner end is 64 mm inside the mouth, the racks' middle 20 mm beyond the pinion, 36 mm inside the mouth.
  const double beam_n = 8.5 * gravity, racks_n = 4 * gravity;
  for (const auto& [at, x] : {std::pair{std::size_t{0}, 0.0}, std::pair{p.run_mm.size() - 1, 40.0}}) {
    const double beam_at = -64 + 60 - (40 - x), racks_at = -36 - (40 - x), w = beam_n + racks_n;
    const double e = (beam_n * beam_at + racks_n * racks_at) / w;
    const double upright = w * (std::fabs(1 + e / g) + std::fabs(e / g));
    for (const double way : {1.0, -1.0}) {
      int agree = 0;
      for (const double sa : {-1.0, 1.0}) {
        for (const double sb : {-1.0, 1.0}) {
          // Unknowns F (along, in the sense of the motion), A at the mouth and B at the inner end, away from the
          // pinion.
          Eigen::Matrix3d k;
          Eigen::Vector3d rhs;
          k.row(0) << 1, -mu * sa, -mu * sb;
          rhs[0] = mu * upright;
          k.row(1) << t, 1, 1;
          rhs[1] = 0;
          // About the mouth, y outward, x away from the pinion: z moment x f_y - y f_x of F at (-o, -m), B at (0, -g).
          k.row(2) << -o * way + m * t, 0, g;
          rhs[2] = 0;
          const Eigen::Vector3d x3 = k.fullPivLu().solve(rhs);
          if (x3[1] * sa < -1e-12 || x3[2] * sb < -1e-12) continue;
          ++agree;
          EXPECT_NEAR(x3[0], way > 0 ? c.out_n[at] : c.in_n[at], 1e-9) << x << " " << way;
        }
      }
      EXPECT_GE(agree, 1);
    }
  }
  // Both racks at the pinion's radius of 12 mm.
  EXPECT_NEAR(c.peak_nmm, 2 * c.peak_n * 12 / 0.93, 1e-12);
  // All weight N on one foot: drawer with N outside and the beam's weight inside, friction of both ends.
  const double tips = p.nominal.tipping_foot_n, e = (beam_n * -4 + racks_n * -36) / (beam_n + racks_n);
  const double inner = (tips * 56 - (beam_n + racks_n) * e) / g, mouth = inner + tips - beam_n - racks_n;
  EXPECT_NEAR(c.rests_n, mu * (inner + mouth), 1e-9);
  EXPECT_NEAR(c.slips_n, 0.6 * tips, 1e-12);
}

TEST(OutriggerRack, StanceIsJudgedWhereTheFeetStandAndBothSidesHaveOneMotor) {
  const brief::Brief b = machine();
  const candidate::Proposal p = propose(kind(), function(kPair + "tipping_deg = 20\n"), b);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_EQ(c.demand.ports, 1) << c.key;
    EXPECT_EQ(c.drives.size(), 1U);
    ASSERT_NE(c.route, nullptr);
    EXPECT_TRUE(routing::check(*c.route->problem, c.route->layout).empty()) << c.key;
    EXPECT_NE(c.drives.front().sense, 0);
    const double d = figure(c, "beam beside the pinion's axle");
    // Tracks 100 by 70 and feet at (64 + d, 112), (64 - d, -112). Shoelace by hand, in square millimetres: the
    // rectangle and a triangle over each long side, 200 mm by 42, wherever its point is.
    EXPECT_NEAR(figure(c, "area covered, feet"), (200 * 140 + 2 * 200 * 42 / 2.0) / 100, 1e-9);
    // Least angle over the hexagon's edges by hand.
    double mass = 0, x = 0, y = 0, z = 0;
    for (const brief::Body& body : b.bodies) {
      const double g = body.mass_g.nominal;
      mass += g;
      x += g * body.centre_mm.x_mm;
      y += g * body.centre_mm.y_mm;
      z += g * body.centre_mm.z_mm;
    }
    const std::vector<std::array<double, 2>> ring{{100, -70}, {100, 70},   {64 + d, 112},
                                                  {-100, 70}, {-100, -70}, {64 - d, -112}};
    double least = 90;
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const auto &from = ring[i], &to = ring[(i + 1) % ring.size()];
      const double ex = to[0] - from[0], ey = to[1] - from[1];
      const double away = (ex * (y / mass - from[1]) - ey * (x / mass - from[0])) / std::hypot(ex, ey);
      least = std::min(least, std::atan2(away, z / mass) / kRad);
    }
    EXPECT_NEAR(margin(c.nominal, "tipping angle").capability, least, 1e-6);
    EXPECT_NEAR(figure(c, "torque at the pinion"), margin(c.nominal, "rack tooth").requirement * 2 / 0.93, 1e-9);
    EXPECT_NEAR(margin(c.nominal, "beam").requirement, figure(c, "foot load when it tips") * 56, 1e-9);
    // Four racks of ten teeth, one pinion; three sleeve beams and one leg for each of two sides.
    int racks = 0, beams = 0;
    for (const candidate::Need& n : c.demand.needs) {
      if (n.role == "rack") racks += n.count;
      if (n.role == "sleeve" || n.role == "leg") beams += n.count;
    }
    EXPECT_EQ(racks, 4);
    EXPECT_EQ(beams, 8);
    EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(), [](const std::string& n) {
      return n.find("it cannot lift, it only widens") != std::string::npos;
    })) << c.key;
  }
}

TEST(OutriggerRack, WithoutAWormTheSleevesFrictionHoldsAndWithOneARacksTooth) {
  const brief::Brief b = machine();
  const candidate::Proposal p = propose(kind(), function(kPair), b);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  const auto told = [](const candidate::Candidate& c, const std::string& words) {
    return std::any_of(c.notes.begin(), c.notes.end(),
                       [&](const std::string& n) { return n.find(words) != std::string::npos; });
  };
  int worms = 0;
  for (const candidate::Candidate& c : p.candidates) {
    const candidate::Margin& hold = margin(c.nominal, "hold");
    EXPECT_NEAR(hold.requirement, figure(c, "foot pushed along the ground with"), 1e-9);
    const bool worm = hold.note.find("worm") != std::string::npos;
    worms += worm ? 1 : 0;
    if (worm) {
      EXPECT_TRUE(told(c, "the worm holds the beams")) << c.key;
    } else {
      EXPECT_NEAR(hold.capability, figure(c, "sleeve's friction holds"), 1e-9);
      EXPECT_TRUE(told(c, "not against a knock")) << c.key;
    }
  }
  EXPECT_LT(worms, static_cast<int>(p.candidates.size()));
}

TEST(OutriggerRack, RacksThatServeInOneRoomAreOneNeed) {
  brief::Brief b = machine();
  auto catalogue = std::make_shared<stock::Catalogue>(*b.catalogue);
  for (const int teeth : {20, 40}) {
    stock::PartClass part = catalogue->at(*catalogue->find("rack_10"));
    part.id = part.name = "rack_" + std::to_string(teeth);
    part.mass_g = lift_fixture::exact(0.2 * teeth);
    part.data = stock::Rack{teeth, teeth * std::numbers::pi, 7};
    catalogue->classes.push_back(part);
  }
  b.stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*catalogue, 16));
  b.catalogue = catalogue;
  // 15 teeth: two of ten, or one of twenty, which is as heavy, or of forty.
  const candidate::Proposal p = propose(kind(), function(kPair), b);
  ASSERT_FALSE(p.candidates.empty()) << text_of(p);
  bool two = false, one = false;
  for (const candidate::Candidate& c : p.candidates) {
    for (const candidate::Need& n : c.demand.needs) {
      if (n.role != "rack") continue;
      two = two || (n.accepts.size() == 1 && n.count == 4 && n.label == "rack_10");
      one = one || (n.accepts.size() == 2 && n.count == 2 && n.label == "rack_20 or rack_40");
    }
  }
  EXPECT_TRUE(two);
  EXPECT_TRUE(one);
}

TEST(OutriggerRack, SaysWhatCannotBeInNumbers) {
  const brief::Brief b = machine();
  const auto only = [&](const std::string& toml) {
    const candidate::Proposal p = propose(kind(), function(toml), b);
    EXPECT_TRUE(p.candidates.empty());
    EXPECT_FALSE(p.rejections.empty()) << toml;
    return p.rejections.empty() ? candidate::Rejection{} : p.rejections.front();
  };
  // 74 mm of reach and 59.14 are 17 pitches; run in the inner end is 136 + 4 - 16 - 56 - 56 = 12 mm beyond the mouth.
  const auto out = only("foot_mm = [64, 130]\nhip_mm = [56, 28]\nfoot_height_mm = 24\nlifts = false\n");
  EXPECT_EQ(out.code, "stabiliser.beam_sticks_out");
  EXPECT_NEAR(out.shortfall, 12, 1e-9);
  const auto jams = only(kPair + "guide_p = 1\n");
  EXPECT_EQ(jams.code, "stabiliser.jams");
  EXPECT_NEAR(jams.shortfall, 10.58 - 8, 5e-3);
  EXPECT_NE(jams.text.find("guide_p = 2"), std::string::npos) << jams.text;
  // 4 mm and 1.2 pitches are 13.6 mm, 1.6 off the half-pitches; 12 and 20 mm likewise.
  const auto off = only(kPair + "offset_p = 1.2\n");
  EXPECT_EQ(off.code, "stabiliser.rack_off_lattice");
  EXPECT_NEAR(off.shortfall, 1.6, 1e-9);
  candidate::RejectionLog log;
  // Beams 12 mm aside and 12 more with their outer walls, pairs 16 mm from the middle.
  EXPECT_EQ(
      beside("gear_8", "foot_mm = [16, 112]\nlegs = 4\nhip_mm = [56, 28]\nfoot_height_mm = 24\nlifts = false\n", b, log)
          .problem,
      nullptr);
  const auto meet = log.take();
  ASSERT_EQ(meet.size(), 1U);
  EXPECT_EQ(meet.front().code, "stabiliser.pairs_meet");
  EXPECT_NEAR(meet.front().shortfall, 8, 1e-9);
}

TEST(OutriggerRack, RefusesAtThePlaceOfTheFault) {
  const brief::Brief b = machine();
  const std::string where = "foot_mm = [64, 112]\nhip_mm = [56, 28]\n";
  EXPECT_EQ(problems(kind(), function(where), b), (Lines{"stabiliser.rack_lifts /by"}));
  EXPECT_EQ(problems(kind(), function(kPair + "slope_p = [4, 3]\n"), b), (Lines{"stabiliser.rack_lifts /slope_p"}));
  EXPECT_EQ(problems(kind(), function(kPair + "legs_per_motor = 1\n"), b),
            (Lines{"stabiliser.screw_on_rack /legs_per_motor"}));
  EXPECT_EQ(problems(kind(), function(kPair + "swing = \"lengthways\"\n"), b), (Lines{"stabiliser.rack_pair /by"}));
  EXPECT_EQ(problems(kind(), function(kPair + "leg_beams = 2\n"), b), (Lines{"stabiliser.rack_beams /leg_beams"}));
  EXPECT_EQ(problems(kind(), function(kPair + "hand_n = 5\n"), b), (Lines{"stabiliser.hand_on_motor /hand_n"}));
  brief::Function hand = lift_fixture::function(
      "stabiliser", "way = \"slides\"\nby = \"hand\"\nlifts = false\noffset_p = 1\nfoot_mm = [64, 160]\n");
  hand.body = -1;
  EXPECT_EQ(problems(kind(), hand, b), (Lines{"stabiliser.rack_only /offset_p"}));
}

TEST(OutriggerRack, ObeysTheLawsOfAKindWithOnePairAndWithTwo) {
  brief::Brief b = machine();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  for (const char* id : {"motor_large", "gear_40"}) set_count(*stock, *b.catalogue, id, 0);
  b.stock = stock;
  small_kit::expect_laws(kind(), function(kPair), b);
  const candidate::Proposal two = propose(kind(), function(kPair + "legs = 4\n"), b);
  ASSERT_FALSE(two.candidates.empty()) << text_of(two);
  for (const candidate::Candidate& c : two.candidates) {
    EXPECT_EQ(c.demand.ports, 2);
    EXPECT_EQ(c.stands_on_mm.size(), 8U);
  }
}

}  // namespace
}  // namespace functions::stabiliser
