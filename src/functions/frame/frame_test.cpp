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

/// The bench with these holes told of the large motor, 6 x 4 x 4 p.
brief::Brief bench_with(const std::vector<stock::FixingHole>& holes) {
  brief::Brief b = bench();
  auto catalogue = std::make_shared<stock::Catalogue>(*b.catalogue);
  for (stock::PartClass& part : catalogue->classes)
    if (part.id == "motor_large") std::get<stock::Motor>(part.data).fixing_holes = holes;
  b.catalogue = catalogue;
  return b;
}

constexpr auto kAcross = stock::HoleAxis::across;
constexpr auto kAlong = stock::HoleAxis::along;
constexpr auto kUp = stock::HoleAxis::up;

/// Two holes a half, `place` from its middle to either side: at -2.5, -0.5, 0.5 and 2.5 pitches along.
std::vector<stock::FixingHole> pairs(const std::array<double, 3>& place, stock::HoleAxis axis) {
  std::vector<stock::FixingHole> out;
  for (const double x : {-2.5, -0.5, 0.5, 2.5})
    for (const double side : {-1.0, 1.0}) out.push_back({{x, side * place[1], side * place[2]}, axis});
  return out;
}

int pins_of(const candidate::Candidate& c, const brief::Brief& b) {
  int out = 0;
  for (const candidate::Need& n : c.demand.needs)
    if (b.catalogue->at(n.accepts.front()).family == stock::Family::pin) out += n.count;
  return out;
}

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

// Second route: as above by moments and Castigliano, for pins at -20, -4, 4 and 20 mm, 12 mm off the middle line.
TEST(Frame, HolesOfTheCatalogueBearInsteadOfTheCorners) {
  const double weight = 0.4 * 9.81, reach = 60, a = 12, e = 2300;
  const structure::BarSection shell = structure::box_section(32, 32, 1.5, 0.5);
  const auto cube = [](double x) { return x * x * x; };
  const double between = weight * weight * (cube(reach + 4) - cube(reach - 4)) / 3;
  const double ends = std::pow(weight * (reach + 4), 2) * 16 / 3 + std::pow(weight * (reach - 4), 2) * 16 / 3;
  double sum = (between + ends) / (e * shell.second_y_mm4);
  for (const double arm : {reach + 4, reach + 20, reach - 20, reach - 4}) {
    const double r = weight * arm / 16 / 2;
    sum += 2 * r * r * (cube(a) / (3 * e * shell.second_z_mm4) + 1 / (900.0 * 4));
  }
  const double most = weight * (reach + 20) / 16 / 2;

  const brief::Brief sides = bench_with(pairs({0, 1.5, 0}, kAcross));
  frame::Wants w = *wants(kLoad, sides);
  EXPECT_EQ(w.holes_from, frame::HolesFrom::catalogue);
  w.shape.mass_g = 0;
  const frame::Carried got = frame::carry(w, sides.system(), 0, structure::Level::nominal);
  EXPECT_NEAR(got.pin_n, most, 1e-6 * most);
  EXPECT_NEAR(got.sag_mm, sum / weight, 1e-4 * got.sag_mm);
  EXPECT_EQ(got.pull_n, 0);
  // Not the assumed corners.
  frame::Wants corners = *wants(kLoad, bench());
  corners.shape.mass_g = 0;
  EXPECT_EQ(corners.holes_from, frame::HolesFrom::assumed);
  EXPECT_GT(std::fabs(frame::carry(corners, sides.system(), 0, structure::Level::nominal).sag_mm / got.sag_mm - 1),
            0.05);

  // The same holes turned up, pushed across by the same force: the body is as wide as it is high.
  const brief::Brief upright = bench_with(pairs({0, 0, 1.5}, kUp));
  frame::Wants u = *wants(kLoad + "side_n = 3.924\n", upright);
  const frame::Carried turned = frame::carry(u, upright.system(), 0, structure::Level::nominal);
  EXPECT_NEAR(turned.sway_mm, sum / weight, 1e-4 * got.sag_mm);
  // Pinned above and below the frame clasps it: nothing is pulled out.
  EXPECT_EQ(turned.pull_n, 0);
}

TEST(Frame, PinsFollowTheHolesUsedAndTheNotesNameThem) {
  // Side holes in both halves, those of the far one in one line; four in the end face about the shaft.
  auto holes = pairs({0, 1.5, 0}, kAcross);
  holes.resize(6);
  for (const double y : {-1.0, 1.0})
    for (const double z : {-1.5, 1.5}) holes.push_back({{2.5, y, z}, kAlong});
  const brief::Brief b = bench_with(holes);
  // So tight that every beam counts.
  const auto p = small_kit::propose(kFrame, small_kit::function("frame", kLoad + "sag_mm = 0.03\n"), b);
  EXPECT_TRUE(p.complete);
  // Sides to end, along which no beam reaches the other half, and all holes with up to two beams.
  EXPECT_EQ(p.examined, 1 + 3);
  const auto find = [&](const std::string& key) {
    const auto it = std::find_if(p.candidates.begin(), p.candidates.end(), [&](const auto& c) { return c.key == key; });
    EXPECT_NE(it, p.candidates.end()) << key;
    return it == p.candidates.end() ? candidate::Candidate{} : *it;
  };
  const candidate::Candidate end = find("motor_large|beams 0|across-along"), all = find("motor_large|beams 2|all");
  EXPECT_EQ(pins_of(end, b), 4 + 4);
  EXPECT_EQ(pins_of(all, b), 6 + 4);
  const auto told = [](const candidate::Candidate& c, const std::string& words) {
    return std::any_of(c.notes.begin(), c.notes.end(),
                       [&](const std::string& n) { return n.find(words) != std::string::npos; });
  };
  EXPECT_TRUE(told(end,
                   "held in its holes (along / across / up from its middle, in pitches): "
                   "across at -2.5 / ±1.5 / 0; across at -0.5 / ±1.5 / 0"));
  EXPECT_TRUE(told(end,
                   "carries in its holes (along / across / up from its middle, in pitches): "
                   "along at 2.5 / ±1 / -1.5; along at 2.5 / ±1 / 1.5"));
  EXPECT_TRUE(told(end, "they are invented"));
  // Side holes at -2.5, -0.5 and 0.5: three pitches, so beams of four holes at least, two a side on either side.
  const auto beam = std::find_if(all.demand.needs.begin(), all.demand.needs.end(), [](const candidate::Need& n) {
    return n.label.find("beam, length 4 to 6") != std::string::npos;
  });
  ASSERT_NE(beam, all.demand.needs.end());
  EXPECT_EQ(beam->count, 4);
  // Without a list the corners, told as assumed.
  const auto assumed = small_kit::propose(kFrame, small_kit::function("frame", kLoad), bench());
  ASSERT_FALSE(assumed.candidates.empty());
  EXPECT_TRUE(told(assumed.candidates.front(), "The catalogue tells no fixing holes of motor_large"));
}

TEST(Frame, PinsOnOneFaceOnlyArePulled) {
  std::vector<stock::FixingHole> under;
  for (const double x : {-2.5, -0.5, 0.5, 2.5})
    for (const double y : {-1.0, 1.0}) under.push_back({{x, y, -1.5}, kUp});
  const brief::Brief b = bench_with(under);
  frame::Wants w = *wants(kLoad, b);
  w.shape.mass_g = 0;
  const frame::Carried got = frame::carry(w, b.system(), 0, structure::Level::nominal);
  // By moments about the neighbouring pins, as if pins did not resist tilting; they take some of the moment off.
  const double weight = 0.4 * 9.81, statics = weight * (60 + 20) / 16 / 2;
  EXPECT_LT(got.pull_n, statics);
  EXPECT_GT(got.pull_n, 0.8 * statics);
  const auto p = small_kit::propose(kFrame, small_kit::function("frame", kLoad + "sag_mm = 2\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  const auto& margins = p.candidates.front().nominal.margins;
  const auto pull = std::find_if(margins.begin(), margins.end(), [](const auto& m) { return m.name == "pull"; });
  ASSERT_NE(pull, margins.end());
  EXPECT_EQ(pull->capability, 10);
}

TEST(Frame, ABodyThatCannotBearIsRefusedWithItsReasonAndAWayOut) {
  const auto told = [&](const std::vector<stock::FixingHole>& holes, const std::string& more = "") {
    document::Diagnostics d;
    EXPECT_EQ(kFrame.read(small_kit::function("frame", kLoad + more), bench_with(holes), d), nullptr);
    const auto all = d.sorted();
    EXPECT_EQ(all.size(), 1U);
    if (all.empty()) return std::string();
    EXPECT_EQ(all[0].code.substr(all[0].code.find('.') + 1), "cannot_bear");
    EXPECT_NE(all[0].hint.find("holes_p"), std::string::npos);
    return all[0].message;
  };
  EXPECT_NE(told({}).find("the half that is held (along <= 0) has no fixing hole"), std::string::npos);
  EXPECT_NE(told({{{-2, 1.5, 0}, kAcross}, {{2, 1.5, 0}, kAcross}}).find("one fixing hole only"), std::string::npos);
  EXPECT_NE(told({{{-2, 1.5, 0}, kAcross}, {{-1, 1.5, 0}, kAcross}, {{2, 1.5, 0}, kAcross}, {{2, -1.5, 0}, kAcross}})
                .find("the half that carries (along > 0) lie in one line"),
            std::string::npos);
  // The way out: the holes that the user's own has.
  document::Diagnostics d;
  EXPECT_NE(kFrame.read(small_kit::function("frame", kLoad + kMiddle), bench_with({}), d), nullptr);
  EXPECT_FALSE(d.has_errors());
}

TEST(Frame, HolesThatTheCatalogueDoesNotTellAreNamed) {
  const auto said = [&](const brief::Brief& b) {
    const auto p = small_kit::propose(kFrame, small_kit::function("frame", kLoad + kMiddle + "sag_mm = 2\n"), b);
    EXPECT_FALSE(p.candidates.empty());
    for (const std::string& note : p.candidates.empty() ? std::vector<std::string>{} : p.candidates.front().notes)
      if (note.find("measure yours") != std::string::npos) return note;
    return std::string();
  };
  std::vector<stock::FixingHole> told;
  for (const double x : {-2.5, -1.5, 1.5, 2.5})
    for (const double y : {2.0, -2.0})
      if (x < 2 || y > 0) told.push_back({{x, y, 0}, kAcross});
  const std::string note = said(bench_with(told));
  EXPECT_NE(note.find("at [2.5, -2, 0] p"), std::string::npos) << note;
  EXPECT_EQ(note.find("[2.5, 2, 0]"), std::string::npos) << note;
  told.push_back({{2.5, -2, 0}, kAcross});
  EXPECT_EQ(said(bench_with(told)), "");
  EXPECT_EQ(said(bench()), "") << "nothing told, so nothing to differ from";
}

TEST(Frame, AKitOfSheetMetalHasAngleBarsBesideIt) {
  brief::Brief b = bench();
  auto catalogue = std::make_shared<stock::Catalogue>(*b.catalogue);
  catalogue->system.axle = {false, 4.06, 0};
  catalogue->system.craft.axle_shear_modulus_mpa = small_kit::exact(80000);
  b.catalogue = catalogue;
  const auto p = small_kit::propose(kFrame, small_kit::function("frame", kLoad + "sag_mm = 0.04\n"), b);
  EXPECT_EQ(p.examined, 3);
  const auto one = std::find_if(p.candidates.begin(), p.candidates.end(),
                                [](const candidate::Candidate& c) { return c.key == "motor_large|beams 1"; });
  ASSERT_NE(one, p.candidates.end());
  EXPECT_GT(one->figures.back().value, 0);  // less sag than by itself
  EXPECT_NE(std::find(one->notes.begin(), one->notes.end(),
                      "An angle bar counts as the leg that is pinned, alone: on the safe side."),
            one->notes.end());
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
  EXPECT_NE(
      refusal(kLoad + "holes_p = [[-2, 2, 0], [2, 2, 0], [2, -2, 0], [1, 2, 0]]\n", b).find("turns about its pin"),
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
