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
  EXPECT_EQ(a.lifting.why_not, "no load hangs on a body that luffs");
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
  ASSERT_EQ(found->remedies.size(), 2u);
  const Remedy& move = found->remedies[0].text.find("move") == 0 ? found->remedies[0] : found->remedies[1];
  // Moved k pitches of 8 mm back, 300 g gain 300 x 8 k / 200 g of tipping load and 75 % of it rated.
  const int k = std::stoi(move.text.substr(std::string("move \"ballast\" ").size()));
  EXPECT_NEAR(move.after - move.before, 0.75 * 300 * 8 * k / 200, 0.5);
  // The remedy holds when it is done.
  Crane done = w;
  done.brief.bodies[2].centre_mm.x_mm -= 8 * k;
  EXPECT_NEAR(done.judge().lifting.at_wanted[0].rated_g, move.after, 1e-6);
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
