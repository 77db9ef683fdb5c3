// Covers functions/slide: the three movers on an invented kit; margins recomputed by hand, reaches by hand and pin, the
// laws of a kind, what is said when parts lack.
#include "functions/slide/slide.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

#include "functions/crawler/small_kit.h"
#include "functions/slide/evaluate.h"
#include "gearing/tooth.h"
#include "routing/checker.h"

namespace slide = functions::slide;

namespace {

const candidate::Kind kSlide = slide::kind();

brief::Brief bench() {
  brief::Brief b = small_kit::machine();
  b.bodies.resize(1);
  stock::Catalogue c = small_kit::kit();
  const auto add = [&](std::string id, stock::Family family, double mass_g, stock::PartData data) {
    stock::PartClass part;
    part.id = part.name = std::move(id);
    part.family = family;
    part.mass_g = small_kit::exact(mass_g);
    part.data = std::move(data);
    c.classes.push_back(std::move(part));
  };
  add("rack_10", stock::Family::rack, 2, stock::Rack{10, 31.42, 7});
  add("beam_13", stock::Family::beam, 6, stock::Beam{13, 1});
  stock::Actuator a;
  a.closed_mm = 56;
  a.open_mm = 96;
  a.lead_mm = 2;
  a.thread_mean_diameter_mm = 5;
  a.thread_friction = small_kit::exact(0.2);
  a.max_force_n = small_kit::exact(70);
  add("actuator_40", stock::Family::actuator, 12, a);
  stock::Stock s = small_kit::plenty(c, 6);
  small_kit::use(b, std::move(c), std::move(s));
  return b;
}

const std::string kLine = "travel_mm = 36\nload_g = 300\nguide_p = 5\nat_mm = [-40, 60]\nmost_stages = 1\n";

brief::Function motorised(const std::string& more) {
  return small_kit::function("slide", kLine + more);
}

}  // namespace

// Second route: torque from the screw's work, force and time from the motor's straight line and the layout's ratio.
TEST(Slide, AScrewsForceAndTimeFollowFromTheMotorsLine) {
  const brief::Brief b = bench();
  const auto p = small_kit::propose(kSlide, motorised("by = \"screw\"\ntime_s = 20\nlift_deg = 30\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  const double weight = 0.3 * 9.81, normal = weight * std::cos(30 * small_kit::kDeg);
  // The actuator lies 20 mm beside the bar: its sleeve of 40 mm keeps 1 - 2 mu a/b of the force.
  const auto out = [&](double x) { return (weight / 2 + 0.2 * normal * (1 + 2 * x / 40)) / (1 - 2 * 0.2 * 20 / 40); };
  const linkage::Screw screw{5, 2, 0.2, 0, 0, 0};
  const double per_n = 2 / (2 * std::numbers::pi) / linkage::efficiency(screw);
  for (const candidate::Candidate& c : p.candidates) {
    ASSERT_NE(c.route, nullptr);
    for (const std::string& fault : routing::check(*c.route->problem, c.route->layout))
      ADD_FAILURE() << c.key << ": " << fault;
    const bool small = c.key.find("motor_small") != std::string::npos;
    const double ratio = std::fabs(c.route->layout.ratios[0].value());
    double keeps = 0.98;  // of the motor's own shaft
    bool worm = false;
    for (const routing::PlacedMesh& m : c.route->layout.meshes) {
      worm = worm || c.route->problem->kit.pairs[static_cast<std::size_t>(m.pair)].type == routing::PairType::worm;
      keeps *= 0.93 * 0.98;
    }
    if (worm) continue;  // a worm's loss is covered by gearing
    const double stall = (small ? 40 : 110) / ratio * keeps, idle = (small ? 380 : 240) * std::numbers::pi / 30 * ratio;
    const double force = stall / per_n;
    EXPECT_NEAR(small_kit::margin(c.nominal, "force").capability, force, 1e-9 * force) << c.key;
    double seconds = 0;
    constexpr int kFine = 4000;
    for (int i = 0; i < kFine; ++i) {
      const double torque = out(36.0 * (i + 0.5) / kFine) * per_n;
      seconds += 36.0 / kFine / (idle * (1 - torque / stall) * 2 / (2 * std::numbers::pi));
    }
    EXPECT_NEAR(small_kit::figure(c, "time to move out"), seconds, 1e-3 * seconds) << c.key;
    EXPECT_NEAR(small_kit::margin(c.nominal, "travel").capability, 40, 1e-12);
  }
}

// Second routes: a motor on the actuator's own input turns it the other way round, seen on that input; the same layout
// with the racks the other way about moves the other way.
TEST(Slide, TheMotorsSenseIsToldForScrewAndRack) {
  const brief::Brief b = bench();
  int direct = 0, flipped = 0;
  for (const candidate::Candidate& c :
       small_kit::propose(kSlide, motorised("by = \"screw\"\ntime_s = 20\n"), b).candidates) {
    ASSERT_EQ(c.drives.size(), 1U);
    EXPECT_NE(c.drives[0].sense, 0) << c.key;
    if (!c.route->layout.meshes.empty()) continue;
    EXPECT_EQ(c.drives[0].sense, -1) << c.key;
    ++direct;
  }
  EXPECT_GT(direct, 0);
  const auto out = small_kit::propose(kSlide, motorised("by = \"rack\"\ntime_s = 4\nhold = false\n"), b);
  const auto back =
      small_kit::propose(kSlide, motorised("by = \"rack\"\ntime_s = 4\nhold = false\nbackward = true\n"), b);
  for (const candidate::Candidate& c : out.candidates) {
    EXPECT_NE(c.drives[0].sense, 0) << c.key;
    for (const candidate::Candidate& o : back.candidates) {
      if (o.key != c.key) continue;
      EXPECT_EQ(o.drives[0].sense, -c.drives[0].sense) << c.key;
      ++flipped;
    }
  }
  EXPECT_GT(flipped, 0);
}

TEST(Slide, ARackIsLimitedByItsTeethAndHeldByAWormAlone) {
  const brief::Brief b = bench();
  const auto p = small_kit::propose(kSlide, motorised("by = \"rack\"\ntime_s = 4\nlift_deg = 60\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  bool worm_seen = false;
  for (const candidate::Candidate& c : p.candidates) {
    const bool worm = c.key.find("worm") != std::string::npos;
    worm_seen = worm_seen || worm;
    EXPECT_GT(small_kit::margin(c.nominal, "hold").ratio, 0) << c.key;
    EXPECT_TRUE(worm) << c.key << ": nothing else holds 2.5 N on a steep line";
    // 36 mm need ceil(36/pi) + 2 = 14 teeth: two racks of ten.
    int racks = 0;
    for (const candidate::Need& n : c.demand.needs)
      if (n.role == "rack") racks += n.count;
    EXPECT_EQ(racks, 2) << c.key;
  }
  EXPECT_TRUE(worm_seen);
  slide::Mover m;
  m.pinion = *b.catalogue->find("gear_12");
  m.rack = *b.catalogue->find("rack_10");
  m.radius_mm = 6;
  // Lewis, W = S b m Y with Y = 0.245 at 12 teeth (Shigley, Table 14-2).
  EXPECT_NEAR(slide::rack_limit_nmm(m, b, 25), 25 * 7 * 1 * 0.245 * 6, 1e-9);
}

// Closed forms of rack and pinion: v = omega m z/2, F = T/(m z/2); the racks' and the bar's own limits of travel.
TEST(Slide, ARackMovesByItsPinionsRadiusAndTellsItsJoints) {
  const brief::Brief b = bench();
  const auto p = small_kit::propose(kSlide, motorised("by = \"rack\"\ntime_s = 4\nhold = false\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  int seen = 0;
  for (const candidate::Candidate& c : p.candidates) {
    const std::size_t at = c.key.rfind("gear_", c.key.find(" on rack"));
    if (c.key.find("worm") != std::string::npos || at == std::string::npos) continue;
    ++seen;
    const double radius = std::stoi(c.key.substr(at + 5)) / 2.0;  // module 1 mm
    const bool small = c.key.find("motor_small") != std::string::npos;
    const double ratio = std::fabs(c.route->layout.ratios[0].value());
    const double keeps = 0.98 * std::pow(0.93 * 0.98, static_cast<double>(c.route->layout.meshes.size()));
    // Torque at the pinion's shaft; its own mesh with the rack loses once more.
    const double torque = (small ? 40 : 110) / ratio * keeps, force = torque * 0.93 / radius;
    EXPECT_NEAR(small_kit::margin(c.nominal, "force").capability, force, 1e-9 * force) << c.key;
    // Level, 2.943 N: guide G = W (1 + 2 x/40), the rack 8 mm above the bar's middle; speed at every place from the
    // motor's straight line.
    const double idle = (small ? 380 : 240) * std::numbers::pi / 30 * ratio;
    double seconds = 0;
    constexpr int kFine = 4000;
    for (int i = 0; i < kFine; ++i) {
      const double n = 0.2 * 2.943 * (1 + 2 * 36.0 * (i + 0.5) / kFine / 40) / (1 - 2 * 0.2 * 8 / 40);
      seconds += 36.0 / kFine / (idle * (1 - n * radius / 0.93 / torque) * radius);
    }
    EXPECT_NEAR(small_kit::figure(c, "time to move out"), seconds, 1e-3 * seconds) << c.key;
    // 36 mm need 12 teeth and two more: two racks of ten, 18 teeth of travel; the longest bar that serves,
    // 13 holes, leaves 96 - 40 mm.
    EXPECT_EQ(small_kit::figure(c, "racks in line"), 2);
    EXPECT_EQ(small_kit::figure(c, "joints between racks"), 1);
    EXPECT_NEAR(small_kit::figure(c, "travel that the racks offer"), 18 * std::numbers::pi, 1e-9);
    EXPECT_NEAR(small_kit::margin(c.nominal, "travel").capability, 56, 1e-12);
    EXPECT_EQ(small_kit::margin(c.nominal, "travel").note, "bar that stays in its sleeve");
    // Racks of 31.42 mm on holes 8 mm apart: the second would start at 32 mm.
    EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(), [](const std::string& n) {
      return n.find("joints between racks 31.42 mm") == 0 && n.find("gape 0.58 mm") != std::string::npos;
    }));
    EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(), [](const std::string& n) {
      return n.find("with the motor off the guide's friction holds it") == 0;
    }));
  }
  EXPECT_GT(seen, 0);
}

// b > 2 mu a: Beer & Johnston, Statics, ch. 8 (from memory). mu 0.2 here, the actuator 2.5 p = 20 mm beside the bar.
TEST(Slide, ASleeveThatIsTooShortJams) {
  const brief::Brief b = bench();
  const auto ask = [&](const char* more) {
    return small_kit::propose(
        kSlide,
        small_kit::function("slide", fmt::format("travel_mm = 36\nload_g = 100\nat_mm = [-40, 60]\n"
                                                 "most_stages = 1\ntime_s = 20\nby = \"screw\"\n{}",
                                                 more)),
        b);
  };
  const auto fits = ask("guide_p = 3\n");
  ASSERT_FALSE(fits.candidates.empty());
  const candidate::Margin& sleeve = small_kit::margin(fits.candidates.front().nominal, "sleeve");
  EXPECT_NEAR(sleeve.capability, 24, 1e-12);
  EXPECT_NEAR(sleeve.requirement, 2 * 0.2 * 20, 1e-12);
  // 8 mm of sleeve is the limit itself.
  const auto stuck = ask("guide_p = 1\n");
  EXPECT_TRUE(stuck.candidates.empty());
  const candidate::Rejection* jams = small_kit::rejection(stuck, "slide.jams");
  ASSERT_NE(jams, nullptr);
  EXPECT_NE(jams->text.find("needs more than 8 mm"), std::string::npos) << jams->text;
  // In line with the bar nothing tilts it.
  const auto straight = ask("guide_p = 1\noffset_p = 0\n");
  ASSERT_FALSE(straight.candidates.empty());
  for (const candidate::Margin& m : straight.candidates.front().nominal.margins) EXPECT_NE(m.name, "sleeve");
}

TEST(Slide, ByHandOffersEveryHoleAsAReach) {
  const brief::Brief b = bench();
  const auto f = small_kit::function(
      "slide", "by = \"hand\"\ntravel_mm = 44\nload_g = 300\nguide_p = 5\nlift_deg = 20\noverhang_mm = 10\n");
  const auto p = small_kit::propose(kSlide, f, b);
  ASSERT_EQ(p.candidates.size(), 1u);
  const candidate::Candidate& c = p.candidates.front();
  EXPECT_EQ(c.reaches.at_mm, (std::vector<double>{0, 8, 16, 24, 32, 40, 48}));
  EXPECT_EQ(c.demand.ports, 0);
  EXPECT_EQ(c.demand.channels, 0);
  const double weight = 0.3 * 9.81;
  const double friction = 0.2 * weight * std::cos(20 * small_kit::kDeg) * (1 + 2 * 58.0 / 40);
  EXPECT_NEAR(small_kit::figure(c, "hand force out"), weight * std::sin(20 * small_kit::kDeg) + friction, 1e-9);
  // Hollow pin 4.8 x 3 mm, cut twice at 30 MPa.
  EXPECT_NEAR(small_kit::margin(c.nominal, "hold").capability, 2 * 30 * std::numbers::pi / 4 * (4.8 * 4.8 - 3.0 * 3.0),
              1e-6);
}

TEST(Slide, TellsTheLoadChartWhichBodyRunsOutAndWhereItStops) {
  brief::Brief b = bench();
  brief::Body jib;
  jib.id = "jib";
  jib.parent = 0;
  b.bodies.push_back(jib);
  const std::string by_hand = "by = \"hand\"\ntravel_mm = 24\nload_g = 300\nguide_p = 5\nlift_deg = 30\n";
  const auto nobody = small_kit::propose(kSlide, small_kit::function("slide", by_hand), b).candidates.at(0);
  EXPECT_EQ(nobody.reaches.body, -1);
  EXPECT_TRUE(nobody.holdings.empty());
  const auto c =
      small_kit::propose(kSlide, small_kit::function("slide", by_hand + "moves = \"jib\"\n"), b).candidates.at(0);
  EXPECT_EQ(c.reaches.at_mm, (std::vector<double>{0, 8, 16, 24}));
  EXPECT_TRUE(c.reaches.pinned);
  EXPECT_EQ(c.reaches.body, 1);
  EXPECT_NEAR(c.reaches.along.x_mm, std::sqrt(3.0) / 2, 1e-12);
  EXPECT_NEAR(c.reaches.along.z_mm, 0.5, 1e-12);
  ASSERT_EQ(c.holdings.size(), 1U);
  EXPECT_EQ(c.holdings[0].holds.front(), small_kit::margin(c.nominal, "hold").capability);
  const auto driven =
      small_kit::propose(kSlide, motorised("by = \"screw\"\ntime_s = 20\nbackward = true\nmoves = \"jib\"\n"), b);
  ASSERT_FALSE(driven.candidates.empty());
  for (const candidate::Candidate& d : driven.candidates) {
    EXPECT_EQ(d.reaches.at_mm, (std::vector<double>{0, 18, 36}));
    EXPECT_FALSE(d.reaches.pinned);
    EXPECT_EQ(d.reaches.along.x_mm, -1);
    EXPECT_EQ(d.holdings.at(0).holds.front(), small_kit::margin(d.nominal, "force").capability);
  }
}

TEST(Slide, RefusesToRunOutTheChassisOrABodyThatTurns) {
  brief::Brief b = bench();
  brief::Body boom;
  boom.id = "boom";
  boom.parent = 0;
  boom.joint = {brief::Joint::Type::pitch, {0, 0, 0}, 0, 1};
  b.bodies.push_back(boom);
  for (const std::string_view id : {"boom", "nobody", ""}) {
    const std::string moves = fmt::format("moves = \"{}\"\n", id.empty() ? b.bodies[0].id : std::string(id));
    document::Diagnostics d;
    EXPECT_EQ(kSlide.read(small_kit::function("slide", kLine + moves), b, d), nullptr) << moves;
    ASSERT_EQ(d.sorted().size(), 1U) << moves;
  }
}

TEST(Slide, ObeysTheLawsOfAKind) {
  small_kit::expect_laws(kSlide, motorised("by = \"screw\"\ntime_s = 12\n"), bench());
  small_kit::expect_laws(kSlide, motorised("by = \"rack\"\ntime_s = 4\nhold = false\n"), bench());
  small_kit::expect_laws(kSlide, small_kit::function("slide", "by = \"hand\"\ntravel_mm = 44\nload_g = 300\n"),
                         bench());
}

TEST(Slide, TwoSidesNeedExactlyTwiceOne) {
  small_kit::expect_mirror(kSlide, motorised("by = \"screw\"\ntime_s = 12\n"), bench());
  small_kit::expect_mirror(kSlide, motorised("by = \"rack\"\ntime_s = 4\nhold = false\n"), bench());
}

TEST(Slide, SaysHowFarTheLongestBarReaches) {
  const auto p = small_kit::propose(
      kSlide, small_kit::function("slide", "by = \"hand\"\ntravel_mm = 200\nload_g = 100\n"), bench());
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* bar = small_kit::rejection(p, "slide.bar_too_short");
  ASSERT_NE(bar, nullptr);
  EXPECT_EQ(bar->shortfall, 31 - 13);                                  // (200 + 40)/8 + 1 holes
  EXPECT_NE(bar->text.find("56 mm"), std::string::npos) << bar->text;  // 12 pitches less 5
}

TEST(Slide, SaysWhichStrokeIsTooShort) {
  const auto p = small_kit::propose(
      kSlide, small_kit::function("slide", "by = \"screw\"\ntravel_mm = 85\nguide_p = 1\noffset_p = 0\nload_g = 100\n"),
      bench());
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* stroke = small_kit::rejection(p, "slide.stroke");
  ASSERT_NE(stroke, nullptr);
  EXPECT_NEAR(stroke->shortfall, 45, 1e-12);
}

TEST(SlideWants, ReportsEveryProblemAtItsPlace) {
  const auto found =
      small_kit::problems(kSlide, small_kit::function("slide", "travel_mm = -1\nby = \"foot\"\nfoo = 1\n"), bench());
  EXPECT_EQ(found.size(), 3u) << ::testing::PrintToString(found);
  const auto hand = small_kit::problems(
      kSlide, small_kit::function("slide", "travel_mm = 20\nby = \"hand\"\ntime_s = 3\npositions = 9\n"), bench());
  ASSERT_EQ(hand.size(), 2u) << ::testing::PrintToString(hand);
  EXPECT_EQ(hand[0], "slide.motor_on_hand 3 /time_s");
  EXPECT_EQ(hand[1], "slide.positions 4 /positions");
}
