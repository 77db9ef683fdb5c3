// Covers lifting: rated loads against the moment balance by hand, which limit governs, feet, moves that are tried.
// Machine and figures invented.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "assessment/internal.h"

using namespace assessment;

namespace {

constexpr double kG = 9.81;

/// A block of 1000 g over a rectangle of 200 by 120, a boom of 100 g that reaches to 300 mm in front of its pivot.
struct Crane {
  std::shared_ptr<stock::Catalogue> catalogue = std::make_shared<stock::Catalogue>();
  brief::Brief brief;
  brief::Function luff;
  candidate::Candidate candidate;

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
    boom.joint = {brief::Joint::Type::pitch, {0, 0, 100}, 0, std::numbers::pi / 3};
    boom.mass_g = base::Triple::exact(100);
    boom.centre_mm = {150, 0, 100};
    brief.bodies = {chassis, boom};
    brief.support.type = brief::Support::Type::wheels;
    brief.support.points_mm = {{-100, -60, 0}, {100, -60, 0}, {100, 60, 0}, {-100, 60, 0}};
    luff.id = "lift";
    candidate.payloads = {{1, {300, 0, 100}, 200}};
  }

  [[nodiscard]] Assessment judge() const { return assess(brief, {{&luff, &candidate}}, {}, {1, 10}); }
};

/// Load over the front line by moments: everything about x = 100.
double tips_g(double radius_mm) {
  const double boom_x_mm = radius_mm / 2;  // the boom's centre is half way out
  return (1000 * 120 - 100 * (boom_x_mm - 100)) / (radius_mm - 100);
}

}  // namespace

TEST(Lifting, WithoutALoadThereIsNoChart) {
  Crane w;
  w.candidate.payloads.clear();
  const Assessment a = w.judge();
  EXPECT_FALSE(a.lifting.judged);
  EXPECT_EQ(a.lifting.why_not, "no load hangs on a body that luffs: give load_g to a hoist, a luff or a grip");
  w.candidate.payloads = {{0, {0, 0, 80}, 100}};
  EXPECT_EQ(w.judge().lifting.why_not, "no load hangs on a body that luffs: what is carried hangs on \"chassis\"");
  w.brief.bodies[1].joint.type = brief::Joint::Type::fixed;
  EXPECT_NE(w.judge().lifting.why_not.find("no body of the project luffs"), std::string::npos);
}

TEST(Lifting, SaysWhichJointsNothingIsKnownToHold) {
  Crane w;
  EXPECT_EQ(w.judge().lifting.note, "what holds \"boom\" at its pivot, which no function tells");
  w.candidate.holdings = {{candidate::Holding::Limit::luff, "fingers", 1, {0, 1.1}, {9000, 9000}, ""}};
  EXPECT_EQ(w.judge().lifting.note, "");
}

TEST(Lifting, TippingFollowsTheMomentsAboutTheFrontLine) {
  const Assessment a = Crane().judge();
  const Lifting& l = a.lifting;
  ASSERT_TRUE(l.judged) << l.why_not;
  EXPECT_EQ(l.hook_on, "boom");
  EXPECT_EQ(l.states, (std::vector<std::string>{"on its wheels"}));
  EXPECT_EQ(l.slew_deg, (std::vector<double>{0}));
  ASSERT_EQ(l.at_wanted.size(), 1u);
  // 75 % of the tipping load (ISO 10567 as quoted in the Kubota U25 operator manual, p. 69).
  EXPECT_NEAR(l.at_wanted[0].rigid_g, 0.75 * tips_g(300), 0.01);
  EXPECT_LT(l.at_wanted[0].rated_g, l.at_wanted[0].rigid_g);  // the ground gives
  EXPECT_GT(l.at_wanted[0].rated_g, 0.9 * l.at_wanted[0].rigid_g);
  for (std::size_t r = 0; r < l.radius_mm.size(); ++r) {
    const LiftCell& cell = l.at(0, 0, 0, r);
    ASSERT_TRUE(cell.reached);
    EXPECT_EQ(l.limits[static_cast<std::size_t>(cell.governs)], "tipping");
    EXPECT_NEAR(cell.greatest_g, tips_g(l.radius_mm[r]), 0.08 * tips_g(l.radius_mm[r])) << l.radius_mm[r];
    EXPECT_LE(cell.greatest_g, tips_g(l.radius_mm[r]) + 1e-6);
  }
}

TEST(Lifting, AWeakDriveGovernsAndIsRatedAt87PerCent) {
  Crane w;
  const double holds_nmm = 600;
  w.candidate.holdings = {{candidate::Holding::Limit::luff, "actuator", 1, {0, 1.1}, {holds_nmm, holds_nmm}, "force"}};
  const Lifting l = w.judge().lifting;
  // The boom's own weight takes 100 g x 150 mm of it; at half the radius the boom is up at 60 deg.
  const double left_g = (holds_nmm - 0.1 * kG * 150) / (kG * 300) * 1000;
  EXPECT_NEAR(l.at_wanted[0].rigid_g, (0.87 * holds_nmm - 0.1 * kG * 150) / (kG * 300) * 1000,
              0.2 * left_g);  // of the load or of what is held: either reading of the rule
  EXPECT_EQ(l.limits[static_cast<std::size_t>(l.at_wanted[0].governs)], "luff");
  EXPECT_NEAR(l.cells.back().greatest_g, left_g, 0.01 * left_g);
}

// Second route: moments about the front line with jib and load moved out by the stop.
TEST(Lifting, StopsOfASlideArePosturesOfTheChart) {
  Crane w;
  brief::Body jib;
  jib.id = "jib";
  jib.parent = 1;
  jib.mass_g = base::Triple::exact(50);
  jib.centre_mm = {260, 0, 100};
  w.brief.bodies.push_back(jib);
  w.candidate.payloads = {{2, {300, 0, 100}, 150}};
  brief::Function slide;
  slide.id = "jib_out";
  candidate::Candidate out;
  out.reaches = {{0, 40, 80}, true, 2, {1, 0, 0}};
  const double holds_n = 3;
  const std::vector<Chosen> without{{&w.luff, &w.candidate}}, with{{&w.luff, &w.candidate}, {&slide, &out}};
  const Lifting in = assess(w.brief, without, {}, {1, 10}).lifting;
  const Lifting l = assess(w.brief, with, {}, {1, 10}).lifting;
  EXPECT_EQ(in.postures, (std::vector<std::string>{"as it stands"}));
  ASSERT_EQ(l.postures, (std::vector<std::string>{"jib at 0 mm", "jib at 40 mm", "jib at 80 mm"}));
  EXPECT_NEAR(in.radius_mm.back(), 300, 1e-6);
  EXPECT_NEAR(l.radius_mm.back(), 380, 1e-6);
  const LiftCell& cell = l.at(0, 2, 0, l.radius_mm.size() - 1);
  ASSERT_TRUE(cell.reached);
  const double tips = (1000 * 120 - 100 * 50 - 50 * (260 + 80 - 100)) / 280.0;
  EXPECT_LE(cell.greatest_g, tips + 1e-6);
  EXPECT_GT(cell.greatest_g, 0.92 * tips);
  EXPECT_FALSE(l.at(0, 0, 0, l.radius_mm.size() - 1).reached);
  // Raised by 60 deg, jib and load pull along the line: the pin holds 3 N of it.
  out.holdings = {{candidate::Holding::Limit::structure, "pin", 2, {}, {holds_n}, "hold"}};
  const Lifting held = assess(w.brief, with, {}, {1, 10}).lifting;
  const LiftCell& steep = held.at(0, 0, 0, 0);
  ASSERT_TRUE(steep.reached);
  const double sine = std::sqrt(1 - std::pow(held.radius_mm[0] / 300, 2));
  EXPECT_NEAR(steep.greatest_g, holds_n / (kG * sine) * 1000 - 50, 4);
  EXPECT_EQ(held.limits[static_cast<std::size_t>(steep.governs)], "structure");
}

TEST(Lifting, FeetMakeASecondStateAndTheFindingSaysTheyAreNeeded) {
  Crane w;
  w.candidate.payloads[0].mass_g = 600;
  brief::Function legs;
  legs.id = "legs";
  candidate::Candidate down;
  down.stands_on_mm = {{-160, -120, 0}, {160, -120, 0}, {160, 120, 0}, {-160, 120, 0}};
  const Assessment a = assess(w.brief, {{&w.luff, &w.candidate}, {&legs, &down}}, {}, {1, 10});
  EXPECT_EQ(a.lifting.states, (std::vector<std::string>{"on its wheels", "with \"legs\" down"}));
  // 85 % on outriggers (SAE J765 as quoted by crane makers).
  EXPECT_NEAR(a.lifting.at_wanted[1].rigid_g, 0.85 * (1000 * 180 + 100 * 10) / 140.0, 0.01);
  const auto found = std::find_if(a.findings.begin(), a.findings.end(),
                                  [](const Finding& f) { return f.code == "lifting.feet_needed"; });
  ASSERT_NE(found, a.findings.end());
  EXPECT_NE(found->text.find("with \"legs\" down"), std::string::npos) << found->text;
}

TEST(Lifting, FeetThatStandFurtherInLiftLessAndTheFindingSaysSo) {
  Crane w;
  brief::Function legs;
  legs.id = "legs";
  candidate::Candidate down;
  down.stands_on_mm = {{-80, -120, 0}, {80, -120, 0}, {80, 120, 0}, {-80, 120, 0}};
  const Assessment a = assess(w.brief, {{&w.luff, &w.candidate}, {&legs, &down}}, {}, {1, 10});
  // About x = 80 with 85 %, about x = 100 with 75 % (SAE J765 as quoted by crane makers).
  EXPECT_NEAR(a.lifting.at_wanted[1].rigid_g, 0.85 * (1000 * 100 - 100 * 70) / 220.0, 0.01);
  EXPECT_NEAR(a.lifting.at_wanted[0].rigid_g, 0.75 * (1000 * 120 - 100 * 50) / 200.0, 0.01);
  const auto found = std::find_if(a.findings.begin(), a.findings.end(),
                                  [](const Finding& f) { return f.code == "lifting.feet_lower"; });
  ASSERT_NE(found, a.findings.end());
  EXPECT_EQ(found->numbers[0].value, a.lifting.at_wanted[0].rated_g);
  EXPECT_EQ(found->numbers[1].value, a.lifting.at_wanted[1].rated_g);
}

TEST(Lifting, MovesOfFixedBodiesAreTriedAndComputed) {
  Crane w;
  brief::Body ballast;
  ballast.id = "ballast";
  ballast.parent = 0;
  ballast.mass_g = base::Triple::exact(300);
  ballast.centre_mm = {0, 0, 60};
  w.brief.bodies.push_back(ballast);
  w.candidate.payloads[0].mass_g = 560;
  const Assessment a = w.judge();
  const auto found = std::find_if(a.findings.begin(), a.findings.end(),
                                  [](const Finding& f) { return f.code == "lifting.below_wanted"; });
  ASSERT_NE(found, a.findings.end());
  const auto at = std::find_if(found->remedies.begin(), found->remedies.end(),
                               [](const Remedy& r) { return r.text.find("move \"ballast\"") == 0; });
  ASSERT_NE(at, found->remedies.end());
  const Remedy& move = *at;
  // Moved k pitches of 8 mm back, 300 g gain 300 x 8 k / 200 g of tipping load and 75 % of it rated.
  const int k = std::stoi(move.text.substr(std::string("move \"ballast\" ").size()));
  EXPECT_NEAR(move.after - move.before, 0.75 * 300 * 8 * k / 200, 0.5);
  // The remedy holds when it is done.
  Crane done = w;
  done.brief.bodies[2].centre_mm.x_mm -= 8 * k;
  EXPECT_NEAR(done.judge().lifting.at_wanted[0].rated_g, move.after, 1e-6);
  // So does a longer stand, by as many pitches of 8 mm at either end.
  const auto longer = std::find_if(found->remedies.begin(), found->remedies.end(),
                                   [](const Remedy& r) { return r.text.find("set what it stands on") == 0; });
  ASSERT_NE(longer, found->remedies.end());
  EXPECT_NE(longer->text.find("at either end"), std::string::npos) << longer->text;
  done = w;
  const int steps = std::stoi(longer->text.substr(std::string("set what it stands on ").size()));
  for (brief::Vec3& p : done.brief.support.points_mm) p.x_mm += (p.x_mm > 0 ? 8 : -8) * steps;
  EXPECT_NEAR(done.judge().lifting.at_wanted[0].rated_g, longer->after, 1e-6);
  EXPECT_EQ(longer->enough, longer->after >= 560);
}

// The hook sinks by reach x give x moment; beams that bear less than the tipping load govern.
TEST(Lifting, BeamsGiveAndBreak) {
  Crane w;
  const double give = 2e-5;
  w.candidate.gives = {{1, {}, {give}}};
  const Lifting soft = w.judge().lifting;
  const LiftCell& far = soft.cells.back();
  const double moment_nmm = kG * (far.greatest_g * 300 + 100 * 150) / 1000;
  EXPECT_NEAR(100 - far.hook_height_mm, 300 * std::sin(give * moment_nmm), 0.05 * 300 * give * moment_nmm);
  w.candidate.holdings = {{candidate::Holding::Limit::structure, "beam 0-38 in plane 0", 1, {0, 1.1}, {900, 900}, ""}};
  const Lifting weak = w.judge().lifting;
  EXPECT_EQ(weak.limits[static_cast<std::size_t>(weak.at_wanted[0].governs)], "structure");
  const double left_g = (900 - 0.1 * kG * 150) / (kG * 300) * 1000;
  EXPECT_NEAR(weak.cells.back().greatest_g, left_g, 0.01 * left_g);
}

// On a slope that falls forward by a, gravity's line is moved by height x tan a: with the hook at height z
//   P (x_h + z tan a - x_e) = sum of W (x_e - x - z_c tan a).
TEST(Lifting, ASlopeTakesOfTheTippingLoad) {
  Crane w;
  w.brief.limits.lifting_slope_rad = 0.1;
  w.brief.limits.lifting_downhill_rad = 0;
  const double t = std::tan(0.1);
  const double tips = (1000 * (120 - 50 * t) + 100 * (100 - 150 - 100 * t)) / (200 + 100 * t);
  const Lifting forward = w.judge().lifting;
  EXPECT_NEAR(forward.at_wanted[0].rigid_g, 0.75 * tips, 0.01);
  EXPECT_LT(forward.at_wanted[0].rated_g, Crane().judge().lifting.at_wanted[0].rated_g);
  // Falling any way: the boom points forward, so forward is the worst.
  w.brief.limits.lifting_downhill_rad.reset();
  const Lifting any = w.judge().lifting;
  EXPECT_EQ(any.downhill_deg.size(), 12u);
  EXPECT_NEAR(any.at_wanted[0].rated_g, forward.at_wanted[0].rated_g, 1e-6);
  EXPECT_NEAR(any.at_wanted[0].downhill_deg, 0, 1e-9);
  for (std::size_t i = 0; i < any.cells.size(); ++i) EXPECT_LE(any.cells[i].rated_g, forward.cells[i].rated_g + 1e-9);
}

// Where the frame's origin lies is the user's choice; radii count from the pivot.
TEST(Lifting, AShiftedMachineHasTheSameChart) {
  const Lifting here = Crane().judge().lifting;
  EXPECT_EQ(here.radius_from, "luffing pivot");
  Crane w;
  constexpr double kBy_mm = -70;
  for (brief::Body& b : w.brief.bodies) {
    b.centre_mm.x_mm += kBy_mm;
    if (b.parent >= 0) b.joint.pivot_mm.x_mm += kBy_mm;
  }
  for (brief::Vec3& p : w.brief.support.points_mm) p.x_mm += kBy_mm;
  w.candidate.payloads[0].at_mm.x_mm += kBy_mm;
  const Lifting there = w.judge().lifting;
  EXPECT_NEAR(there.wanted_radius_mm, 300, 1e-9);
  ASSERT_EQ(there.cells.size(), here.cells.size());
  for (std::size_t i = 0; i < here.cells.size(); ++i) {
    EXPECT_NEAR(there.radius_mm[i], here.radius_mm[i], 1e-6);
    EXPECT_NEAR(there.cells[i].rated_g, here.cells[i].rated_g, 1e-6);
  }
}
