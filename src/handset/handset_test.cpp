// Covers the handset plan: who gets which control, mixing, senses, ends, interlocks, the engine's rule, travel times.
#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "candidate/running.h"
#include "candidate/test_parts.h"
#include "handset/guide.h"
#include "handset/plan.h"
#include "handset/travel.h"

using namespace handset;
using Type = Control::Type;

namespace {

struct World {
  brief::Brief brief;
  std::vector<candidate::Candidate> candidates;
  std::vector<assessment::Chosen> chosen;
  assessment::Assessment assessed;

  World() {
    brief.catalogue = candidate::test::parts();
    brief.supply.voltage_v = 9;
    for (auto& f : brief.parameters.figure) f.value = base::Triple::exact(1);
    brief.functions.reserve(10);
    candidates.reserve(10);
  }
  using Use = candidate::Drive::Use;
  candidate::Drive& add(const char* id, Use use, const char* moves, const char* plus, const char* minus,
                        int drives = 1) {
    brief.functions.emplace_back();
    brief.functions.back().id = id;
    candidates.emplace_back();
    for (int i = 0; i < drives; ++i) {
      candidate::Drive d;
      d.motor = stock::ClassId{0};
      d.name = drives == 1 ? "" : i == 0 ? "left" : "right";
      d.channel = i;
      d.use = use;
      d.moves = moves;
      d.plus = plus;
      d.minus = minus;
      d.sense = 1;
      d.at = {0};
      d.per_rad = {1};
      d.plus_nmm = d.minus_nmm = d.plus_free_nmm = d.minus_free_nmm = {30};
      d.heaviest_nmm = 30;
      candidates.back().drives.push_back(d);
    }
    chosen.clear();
    for (std::size_t i = 0; i < candidates.size(); ++i) chosen.push_back({&brief.functions[i], &candidates[i]});
    return candidates.back().drives.back();
  }
  [[nodiscard]] Plan make() const { return plan(brief, chosen, assessed); }
};

World crane() {
  World w;
  w.add("travel", candidate::Drive::Use::travel, "machine", "forward", "back", 2).sense = -1;
  w.add("slewing", candidate::Drive::Use::slew, "upper", "left", "right").body = 1;
  w.add("boom", candidate::Drive::Use::raise, "boom", "up", "down").body = 2;
  w.add("winch", candidate::Drive::Use::hoist, "hook", "up", "down");
  w.add("legs", candidate::Drive::Use::stand, "legs", "up", "down").sense = 0;
  w.add("fan", candidate::Drive::Use::other, "fan", "on", "backwards").looks_only = true;
  return w;
}

const Assignment& of(const Plan& p, const std::string& name) {
  for (const Assignment& a : p.assignments) {
    if (a.name == name) return a;
  }
  ADD_FAILURE() << name;
  return p.assignments.front();
}

}  // namespace

TEST(Handset, EveryDriveGetsAControlOfItsOwnAndTheHandsSwap) {
  World w = crane();
  for (const bool left_handed : {false, true}) {
    w.brief.handset.left_handed = left_handed;
    const Plan p = w.make();
    const int drive = left_handed ? 2 : 1, work = 3 - drive;
    EXPECT_EQ(of(p, "travel left").control.type, Type::stick_along);
    EXPECT_EQ(of(p, "travel left").control.number, drive);
    EXPECT_EQ(of(p, "travel left").mixing, "push - left");
    EXPECT_EQ(of(p, "travel right").mixing, "push + left");
    EXPECT_EQ(of(p, "slewing").control.type, Type::stick_across);
    EXPECT_EQ(of(p, "slewing").control.number, work);
    EXPECT_EQ(of(p, "boom").control.type, Type::stick_along);
    EXPECT_EQ(of(p, "boom").control.number, work);
    EXPECT_EQ(of(p, "winch").control.type, Type::slider);
    EXPECT_EQ(of(p, "legs").control.type, Type::buttons);
    EXPECT_EQ(of(p, "fan").control.type, Type::rule);
    std::set<std::pair<int, int>> used;
    for (const Assignment& a : p.assignments) {
      if (a.name == "travel right") continue;  // shares the stick by mixing
      EXPECT_TRUE(used.insert({static_cast<int>(a.control.type), a.control.number}).second) << a.name;
    }
    EXPECT_TRUE(p.left_over.empty());
  }
}

TEST(Handset, SaysWhatIsMissingWhenControlsRunOut) {
  World w = crane();
  w.brief.handset.sliders = 0;
  w.brief.handset.buttons = 0;
  w.brief.handset.programs = false;
  const Plan p = w.make();
  EXPECT_EQ(p.left_over, (std::vector<std::string>{"winch", "legs", "fan"}));
  EXPECT_NE(p.shortage.find("3 of 7"), std::string::npos);
}

TEST(Handset, SensesComeFromTheTrain) {
  const Plan p = crane().make();
  EXPECT_EQ(of(p, "travel left").invert, Invert::no);
  EXPECT_EQ(of(p, "travel right").invert, Invert::yes);  // the mirrored side
  EXPECT_EQ(of(p, "legs").invert, Invert::find_out);
}

TEST(Handset, TravelTimesAreTheWayOverTheSpeed) {
  World w;
  candidate::Drive& d = w.add("boom", candidate::Drive::Use::raise, "boom", "up", "down");
  d.endless = false;
  d.at = {0, 0.5, 1};
  d.per_rad = {0.01, 0.01, 0.01};
  d.plus_nmm = d.minus_nmm = d.plus_free_nmm = d.minus_free_nmm = {30, 30, 30};
  w.add("winch", candidate::Drive::Use::hoist, "hook", "up", "down");
  const motor::Constants m =
      candidate::motor_constants(w.candidates[0].drives[0], w.brief, w.brief.parameters.nominal());
  const double speed = (9 - m.resistance_ohm * (m.no_load_current_a + 30 / m.torque_nmm_per_a)) / m.emf_v_s;
  EXPECT_NEAR(TravelClock(w.brief, w.chosen, {}, 0).times(0, 1, 1).plus_s.nominal, 1 / (0.01 * speed), 1e-9);
  const Plan p = w.make();
  EXPECT_TRUE(of(p, "boom").has_ends);
  EXPECT_GE(of(p, "boom").soft_end_s, 0.1 * of(p, "boom").plus_s.nominal - 1e-12);
  EXPECT_FALSE(of(p, "winch").has_ends);
}

TEST(Handset, QuickFunctionsAreLimited) {
  World w;
  w.add("winch", candidate::Drive::Use::hoist, "hook", "up", "down");
  w.candidates[0].nominal.margins = {candidate::at_least("speed", 60, 20, "mm/s")};
  // Three times as quick as asked: the least tenth of the input at which it is still 1.5 times as quick.
  const Assignment a = w.make().assignments[0];
  const double full_s = TravelClock(w.brief, w.chosen, {}, 0).times(0, 1, 1).plus_s.nominal;
  EXPECT_LT(a.speed_limit, 1);
  EXPECT_LE(TravelClock(w.brief, w.chosen, {}, 0).times(0, 1, a.speed_limit).plus_s.nominal, 2 * full_s);
  EXPECT_GT(TravelClock(w.brief, w.chosen, {}, 0).times(0, 1, a.speed_limit - 0.1).plus_s.nominal, 2 * full_s);
}

TEST(Handset, InterlocksFollowTheFindings) {
  World w = crane();
  w.candidates[4].stands_on_mm = {{1, 1, 0}, {1, -1, 0}, {-1, 0, 0}};
  w.assessed.power.duty.exclusions = {{"boom", "winch", "hub 1 switches off", 2800, 2600, "mA"}};
  const Plan p = w.make();
  const auto has = [&](const std::string& text) {
    return std::any_of(p.interlocks.begin(), p.interlocks.end(), [&](const Interlock& i) { return i.text == text; });
  };
  EXPECT_TRUE(has("\"boom\" and \"winch\" never together under full load"));
  EXPECT_TRUE(has("no \"travel\" while \"legs\" are down"));
  EXPECT_FALSE(has("no \"boom\" under load while \"legs\" are up"));  // nothing found that the feet are needed
  w.assessed.findings.push_back(
      {assessment::Finding::Severity::note, "lifting.feet_needed", "only with the feet down", "", {}, {}});
  const Plan needed = w.make();
  EXPECT_TRUE(std::any_of(needed.interlocks.begin(), needed.interlocks.end(), [](const Interlock& i) {
    return i.text == "no \"boom\" under load while \"legs\" are up" && i.why == "only with the feet down";
  }));
}

TEST(Engine, IdlesFollowsAndSettles) {
  const Engine e{0.3, 0.2, 0.4, 1.5};
  EngineFollower f(e);
  EXPECT_DOUBLE_EQ(f.step(1, 0), 0.3);
  // Closed form of the first-order rule: after one time constant 63 % of the way.
  EXPECT_NEAR(f.step(0.4, 0.2), 1 - 0.7 * std::exp(-1), 1e-12);
  for (int i = 0; i < 100; ++i) f.step(0.1, 5);
  EXPECT_NEAR(f.step(0.1, 5), 1, 1e-6);  // never above full
  EXPECT_NEAR(f.step(1.5, 0), 0.3 + 0.7 * std::exp(-1), 1e-6);
}

TEST(Engine, TheProgramDoesWhatTheRuleDoes) {
  const Engine e{0.3, 0.2, 0.4, 1.5};
  const std::vector<std::string> lines = program_of(e, {"boom", "winch"});
  ASSERT_EQ(lines.size(), 8u);
  EXPECT_EQ(lines[0], "speed := 30");
  EXPECT_NE(lines[3].find("30 + 70 * load / 20"), std::string::npos);
  // The printed steps, run by hand for a second of half load.
  const double up = std::round(100 * (1 - std::exp(-0.1 / 0.4))) / 100;
  EXPECT_NE(lines[5].find("step := 0.22 else step := 0.06"), std::string::npos);
  double speed = 30;
  EngineFollower f(e);
  for (int i = 0; i < 10; ++i) {
    speed += up * (30 + 70 * 10.0 / 20 - speed);
    EXPECT_NEAR(speed, 100 * f.step(0.1, 0.1), 0.5);
  }
}

// A handset without programs: the engine gets a control, and the guide shows marks instead of a program.
TEST(Engine, WithoutProgramsItIsMarksOnASlider) {
  World w = crane();
  w.brief.handset.programs = false;
  const Plan p = w.make();
  ASSERT_TRUE(p.has_engine);
  EXPECT_TRUE(p.engine_program.empty());
  EXPECT_EQ(of(p, "fan").control.type, Type::slider);
  EXPECT_EQ(p.engine_simple.find("\"fan\" is on slider 2: a mark at "), 0u) << p.engine_simple;
  for (const GuideStep& s : guide(w.brief, w.chosen, w.assessed, p)) {
    if (s.figure != GuideStep::Figure::engine) continue;
    EXPECT_EQ(s.lines, std::vector<std::string>{p.engine_simple});
  }
  w.brief.handset.sliders = w.brief.handset.buttons = 0;
  EXPECT_NE(w.make().engine_simple.find("no control is left"), std::string::npos);
}

// Names of what is moved are the user's: a boom called "legs" is still a boom.
TEST(Handset, TheUseDecidesNotTheName) {
  World w;
  w.add("first", candidate::Drive::Use::raise, "legs", "up", "down");
  w.add("second", candidate::Drive::Use::slew, "wheels", "left", "right");
  const Plan p = w.make();
  EXPECT_EQ(of(p, "first").control.type, Type::stick_along);
  EXPECT_EQ(of(p, "second").control.type, Type::stick_across);
  EXPECT_EQ(of(p, "second").control.number, 2);  // the working hand's, not the driving one's
  EXPECT_EQ(of(p, "second").ways, "left and right as it is pushed");
}

TEST(Guide, EveryStepHasATitleLinesAndAFigure) {
  const World w = crane();
  const Plan p = w.make();
  const std::vector<GuideStep> steps = guide(w.brief, w.chosen, w.assessed, p);
  ASSERT_GE(steps.size(), 7u);
  std::set<int> figures;
  for (const GuideStep& s : steps) {
    EXPECT_FALSE(s.title.empty());
    EXPECT_FALSE(s.lines.empty()) << s.title;
    EXPECT_TRUE(figures.insert(static_cast<int>(s.figure)).second);
  }
  ASSERT_FALSE(p.checks.empty());
  EXPECT_NE(p.checks[0].text.find("push = forward"), std::string::npos);
  // The mixed pair is timed once; the share of the input is told only where there is a limit.
  int timed = 0;
  for (const Check& c : p.checks) {
    timed += c.text.find("travel") != std::string::npos && c.text.find("1 m on the level") != std::string::npos;
    EXPECT_EQ(c.otherwise.find("input_percent"), std::string::npos) << c.otherwise;
  }
  EXPECT_EQ(timed, 1);
}
