// Covers functions/frame: sag and pin forces in closed form, what beams beside the body save, whose part it is, and
// what is said to wants that cannot be.
#include "functions/frame/frame.h"

#include <gtest/gtest.h>

#include <cmath>

#include "functions/crawler/small_kit.h"
#include "functions/frame/carry.h"
#include "structure/kit_parts.h"

namespace frame = functions::frame;

namespace {

const candidate::Kind kFrame = frame::kind();

brief::Brief bench() {
  brief::Brief b = small_kit::machine();
  b.bodies.resize(1);
  small_kit::fix(b, brief::Parameter::stiffness_factor, 1);
  return b;
}

std::shared_ptr<const frame::Wants> wants(const std::string& text, const brief::Brief& b) {
  document::Diagnostics d;
  const auto w = kFrame.read(small_kit::function("frame", text), b, d);
  EXPECT_FALSE(d.has_errors());
  return std::dynamic_pointer_cast<const frame::Wants>(w);
}

std::string refusal(const std::string& text, const brief::Brief& b) {
  document::Diagnostics d;
  EXPECT_EQ(kFrame.read(small_kit::function("frame", text), b, d), nullptr) << text;
  std::string out;
  for (const document::Diagnostic& x : d.sorted()) out += x.code + ": " + x.message + "\n";
  return out;
}

const std::string kLoad = "part = \"motor_large\"\nload_g = 400\nload_at_mm = [60, 0, 0]\n";
// All pins at half height, so that the wall's stretch does not load them along: forces then follow from statics alone.
const std::string kMiddle =
    "holes_p = [[-2.5, 2, 0], [-2.5, -2, 0], [-1.5, 2, 0], [-1.5, -2, 0], [1.5, 2, 0], [1.5, -2, 0], [2.5, 2, 0], "
    "[2.5, -2, 0]]\n";

}  // namespace

// Second route: forces by moments, sag by Castigliano: (1/W) (integral of M^2/(E I) + sum of R^2 (a^3/(3 E I) + 1/k)).
TEST(Frame, SagAndPinForcesInClosedForm) {
  const brief::Brief b = bench();
  frame::Wants w = *wants(kLoad + kMiddle, b);
  w.shape.mass_g = 0;
  const frame::Carried got = frame::carry(w, b.system(), 0, structure::Level::nominal);
  const double weight = 0.4 * 9.81, reach = 60;
  // By moments about the neighbouring pin; two sides share each.
  const double near_outer = weight * (reach + 12) / 8 / 2, near_inner = weight * (reach + 20) / 8 / 2;
  const double far_inner = weight * (reach - 20) / 8 / 2, far_outer = weight * (reach - 12) / 8 / 2;
  EXPECT_NEAR(got.pin_n, near_inner, 1e-6 * near_inner);
  const structure::BarSection shell = structure::box_section(32, 32, 1.5, 0.5);
  const double e = 2300, a = 16;
  // Moment along the body: from nothing at the outer pins to W (L - x) between the inner ones.
  const auto cube = [](double x) { return x * x * x; };
  const double between = weight * weight * (cube(reach + 12) - cube(reach - 12)) / 3;
  const double near_end = std::pow(weight * (reach + 12), 2) * 8 / 3,
               far_end = std::pow(weight * (reach - 12), 2) * 8 / 3;
  double sum = (between + near_end + far_end) / (e * shell.second_y_mm4);
  for (const double r : {near_outer, near_inner, far_inner, far_outer})
    sum += 2 * r * r * (cube(a) / (3 * e * shell.second_z_mm4) + 1 / (900.0 * 4));
  EXPECT_NEAR(got.sag_mm, sum / weight, 1e-4 * got.sag_mm);
  // Stress of the wall at the inner held pins: M c / I.
  EXPECT_NEAR(got.housing_mpa, weight * (reach + 12) * 16 / shell.second_y_mm4, 1e-6 * got.housing_mpa);
  EXPECT_NEAR(got.housing_share + got.pin_share, 1, 1e-3);
  // Without beams their share is nothing, and told without a sign.
  EXPECT_EQ(got.beam_share, 0);
  EXPECT_FALSE(std::signbit(got.beam_share));
  // Nothing moves across without a force across.
  EXPECT_NEAR(got.sway_mm, 0, 1e-9);
}

TEST(Frame, WeightOfTheBodyItselfAddsToTheSag) {
  const brief::Brief b = bench();
  frame::Wants w = *wants(kLoad, b), none = w;
  none.shape.mass_g = 0;
  const auto level = structure::Level::nominal;
  EXPECT_GT(frame::carry(w, b.system(), 0, level).sag_mm, frame::carry(none, b.system(), 0, level).sag_mm);
  // Linear: twice the load, twice the sag.
  frame::Wants twice = none;
  twice.load_g *= 2;
  EXPECT_NEAR(frame::carry(twice, b.system(), 0, level).sag_mm, 2 * frame::carry(none, b.system(), 0, level).sag_mm,
              1e-9);
}

TEST(Frame, BeamsBesideItSaveSagAndTheShareIsTold) {
  const brief::Brief b = bench();
  const auto w = wants(kLoad + "side_n = 2\n", b);
  double sag = 1e9, sway = 1e9;
  for (const int beams : {0, 1, 2}) {
    const frame::Carried c = frame::carry(*w, b.system(), beams, structure::Level::nominal);
    EXPECT_LT(c.sag_mm, sag);
    EXPECT_LT(c.sway_mm, sway);
    EXPECT_NEAR(c.housing_share + c.pin_share + c.beam_share, 1, 1e-9);
    EXPECT_EQ(c.beam_mpa > 0, beams > 0);
    const double soft = frame::carry(*w, b.system(), beams, structure::Level::low).sag_mm;
    EXPECT_GT(soft, c.sag_mm);
    sag = c.sag_mm;
    sway = c.sway_mm;
  }
  const double bare = frame::carry(*w, b.system(), 0, structure::Level::nominal).sag_mm;
  // So tight that every beam counts in the worst margin.
  const auto p = small_kit::propose(
      kFrame, small_kit::function("frame", kLoad + "sag_mm = " + std::to_string(bare * 1.2) + "\n"), b);
  ASSERT_EQ(p.examined, 3);
  const auto doubled = std::find_if(p.candidates.begin(), p.candidates.end(),
                                    [](const candidate::Candidate& c) { return c.key == "motor_large|beams 2"; });
  ASSERT_NE(doubled, p.candidates.end());
  const double told = doubled->figures.back().value;
  EXPECT_EQ(doubled->figures.back().unit, "%");
  EXPECT_NEAR(told, 100 * (1 - sag / bare), 1e-6);
}

TEST(Frame, APartThatTheMachineHasAnywayIsCountedOnce) {
  brief::Brief b = bench();
  const auto motors = [&](const std::string& text) {
    const auto p = small_kit::propose(kFrame, small_kit::function("frame", text + "sag_mm = 2\n"), b);
    EXPECT_FALSE(p.candidates.empty());
    if (p.candidates.empty()) return -1;
    int out = 0;
    for (const candidate::Need& n : p.candidates.front().demand.needs)
      if (n.accepts.front() == *b.catalogue->find("motor_large")) out += n.count;
    return out;
  };
  EXPECT_EQ(motors(kLoad), 1);
  b.functions.push_back(small_kit::function("slew", "rpm = 10"));
  b.functions.back().id = "turn";
  EXPECT_NE(refusal(kLoad + "of = \"turn\"\n", b).find("may be given another motor"), std::string::npos);
  b.functions.back().must_use = {*b.catalogue->find("motor_large")};
  EXPECT_EQ(motors(kLoad + "of = \"turn\"\n"), 0);
}

TEST(Frame, WantsThatCannotBeAreToldWhy) {
  const brief::Brief b = bench();
  EXPECT_NE(refusal("part = \"motor_larg\"\nload_g = 1\nload_at_mm = [1, 0, 0]\n", b).find("no motor or hub"),
            std::string::npos);
  EXPECT_NE(refusal(kLoad + "holes_p = [[-2, 2, 0], [2, 2, 0], [2, -2, 0], [1, 2, 0]]\n", b).find("turns about them"),
            std::string::npos);
  EXPECT_NE(refusal(kLoad + "holes_p = [[-9, 2, 0], [-2, 2, 0], [2, -2, 0], [1, 2, 0]]\n", b).find("not on the side"),
            std::string::npos);
  // Too heavy a load far out: a number, not a silence.
  const auto p = small_kit::propose(
      kFrame, small_kit::function("frame", "part = \"motor_small\"\nload_g = 9000\nload_at_mm = [300, 0, 0]\n"), b);
  EXPECT_TRUE(p.candidates.empty());
  ASSERT_FALSE(p.rejections.empty());
  EXPECT_GT(p.rejections.front().shortfall, 0);
}
