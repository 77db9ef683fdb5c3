// Figures beside their closed forms, from a judged ground and a machine that lifts.
#include "trial/trial.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/parallel.h"
#include "design/design.h"

namespace trial {
namespace {

/// Invented: a belt vehicle whose closed figures are worked out here, as the assessment does.
assessment::Assessment belt_machine() {
  assessment::Assessment out;
  assessment::Ground& g = out.ground;
  g.judged = true;
  g.friction = {0.4, 0.5, 0.6};
  balance::SideView& v = g.vehicle;
  v.belt = true;
  v.wheels.push_back({{-140, 32}, 16});
  for (int i = 0; i < 6; ++i) v.wheels.push_back({{-100.0 + 40 * i, 16}, 16});
  v.wheels.push_back({{140, 32}, 16});
  v.weight_n = 24;
  v.centre = {0, 45};
  for (const double y_mm : {-25.0, 25.0}) g.state.supports.push_back({"track", {-100, y_mm}, {100, y_mm}});
  const double frictions[] = {0.4, 0.5, 0.6};
  for (auto* range : {&g.step, &g.trench}) {
    balance::Family family;
    family.ground = range == &g.step ? balance::step_up : [](double w) { return balance::trench(w, 100); };
    family.most_mm = range->looked_up_to_mm = range == &g.step ? 60 : 120;
    const auto found = balance::largest_passed(v, family, frictions);
    std::copy(found.begin(), found.end(), range->at.begin());
  }
  for (std::size_t i = 0; i < 3; ++i) g.grade[i] = {std::atan(frictions[i]), balance::GradeStop::adhesion, 1};
  return out;
}

TEST(Trial, FiguresOfABeltAgreeWithTheirClosedForms) {
  Options options;
  options.doubts = false;
  const Report r = try_all(belt_machine(), options);
  ASSERT_EQ(r.why_not, "");
  ASSERT_EQ(r.figures.size(), 12U);
  for (const Beside& b : r.figures) {
    EXPECT_EQ(b.why_not, "") << b.what;
    if (b.id == "step") {
      EXPECT_LE(std::fabs(b.trial - b.closed), 4) << b.what;
    }
    if (b.id == "side_slope") {
      // Statics: it slides at atan(friction); at 0.6 (31 deg) it would have tipped at atan(25/45) = 29.05 deg.
      const double by_hand_deg = b.friction < 0.55 ? std::atan(b.friction) * 57.2958 : 29.05;
      EXPECT_NEAR(b.closed, by_hand_deg, 0.02) << b.what;
      EXPECT_FALSE(b.told()) << b.what << b.trial;
      EXPECT_EQ(b.trial_stop, b.friction < 0.55 ? "friction" : "balance");
      EXPECT_EQ(b.trial_stop, b.closed_stop);
    }
    if (b.id == "slope") {
      EXPECT_LE(std::fabs(b.trial - b.closed), 1.5) << b.what;
      EXPECT_EQ(b.trial_stop, "friction");
    }
  }
  EXPECT_FALSE(r.cannot_say.empty());
}

TEST(Trial, AGapIsBeyondTheGridOnly) {
  Beside b;
  b.closed = 20;
  b.trial = 23;
  b.grid = 2;
  EXPECT_NEAR(b.gap(), 0.05, 1e-12);
  EXPECT_FALSE(b.told());
  b.trial = 25;
  EXPECT_TRUE(b.told());
  b.closed_open = b.trial_open = true;
  EXPECT_EQ(b.gap(), 0);
}

TEST(Trial, RunsOnTwoThreadsAreThoseOfOne) {
  const assessment::Assessment machine = belt_machine();
  const auto hashes = [&](int jobs) {
    std::vector<std::uint64_t> out(4);
    base::parallel_for(out.size(), jobs, [&](std::size_t i) {
      DriveOptions o;
      o.sample_ms = 0;
      out[i] = try_course(machine.ground, {CourseType::step, 6.0 * static_cast<double>(i + 1)}, 0.5, o).run.state_hash;
    });
    return out;
  };
  EXPECT_EQ(hashes(1), hashes(2));
}

TEST(Trial, NothingToTryIsSaid) {
  EXPECT_NE(try_all({}, {}).why_not.find("nothing to try"), std::string::npos);
}

TEST(Trial, AVehicleIsDrivenAtItsMotorsSpeed) {
  design::Options from;
  from.project = KW_SOURCE_DIR "/examples/tow_tractor";
  const design::Result r = design::run(from);
  ASSERT_TRUE(r.feasible() && r.assessed);
  const double own_mm_s = own_speed_mm_s(*r.brief, design::chosen_of(r));
  // On level ground it comes close to the speed that its motors have without load; rolling takes the rest.
  const CourseTrial flat = try_course(r.assessed->ground, {CourseType::flat, 0}, 0.8, {}, own_mm_s);
  ASSERT_EQ(flat.run.why_not, "");
  EXPECT_EQ(flat.run.end, End::passed);
  EXPECT_LT(flat.run.samples.back().speed_mm_s, 1.001 * own_mm_s);
  EXPECT_GT(flat.run.samples.back().speed_mm_s, 0.8 * own_mm_s);
  EXPECT_EQ(own_speed_mm_s(*r.brief, {}), 0);
  // A step that only a run-up takes, and one that both take.
  const CourseTrial high = try_course(r.assessed->ground, {CourseType::step, 8}, 0.65, {}, own_mm_s);
  EXPECT_TRUE(high.run.passed());
  EXPECT_NE(high.closed_stop, balance::Stop::nothing);
  EXPECT_NE(high.cause.find("run-up carries it over"), std::string::npos) << high.cause;
  EXPECT_EQ(try_course(r.assessed->ground, {CourseType::step, 2}, 0.65, {}, own_mm_s).cause, "");
}

TEST(Trial, RaisingTimesAreTheDesigns) {
  design::Options from;
  from.project = KW_SOURCE_DIR "/examples/bascule_bridge";
  const design::Result r = design::run(from);
  ASSERT_TRUE(r.feasible() && r.assessed);
  Options options;
  options.doubts = false;
  const std::vector<Beside> times = try_motions(*r.brief, design::chosen_of(r), options);
  ASSERT_EQ(times.size(), 4U);
  for (const Beside& b : times) {
    if (b.what.find("leaf") == std::string::npos) {
      EXPECT_NE(b.why_not.find("several output shafts"), std::string::npos) << b.what;
      continue;
    }
    EXPECT_EQ(b.why_not, "") << b.what;
    // Its weight is light for its motor: statics and the engine differ by the start only.
    EXPECT_NEAR(b.trial, b.closed, 0.03 * b.closed) << b.what;
    EXPECT_FALSE(b.told());
  }
}

TEST(Course, NamesComeBack) {
  for (const CourseType type : kCourseTypes) EXPECT_EQ(course_type(name_of(type)), type);
  EXPECT_FALSE(course_type("mud"));
  const balance::GroundLine waves = Course{CourseType::washboard, 8}.ground(200, 80);
  EXPECT_EQ(waves.size(), 13U);
  EXPECT_NEAR(waves[1].z_mm, 8, 1e-12);
}

}  // namespace
}  // namespace trial
