// Covers motors and hubs as load-bearing bodies: series of shell, arms and beddings in closed form, order of the
// levels, and a body that closes a frame.
#include "structure/bearing_body.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/check.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

stock::Motor motor() {
  stock::Motor m;
  m.length_p = 6;
  m.width_p = 4;
  m.height_p = 3;
  return m;
}

}  // namespace

TEST(BearingBody, HolesOnOneLineAreSpringsInARow) {
  // One hole at each end, one pitch above the middle line, pin across: stretch = beddings, arms and shell in a row, the
  // arms bending: F a^3/(3 E I) each, the shell between them bent by the couple F a: + F a^2 L/(E I).
  BodyShape s = motor_body(motor(), 58, 8);
  const std::vector<FixingHole> holes{{{-20, 0, 8}, {0, 1, 0}}, {{20, 0, 8}, {0, 1, 0}}};
  // Held by one pin each the body would turn about it; the pins here are clamped, so it is the closed row that counts.
  const BarSection shell = box_section(24, 32, 1.5, 0.5);
  Frame f;
  const auto outer = add_body(f, s, holes, {}, Level::nominal);
  f.nodes[static_cast<std::size_t>(outer[0])].held = kFixed;
  f.nodes[static_cast<std::size_t>(outer[1])].held = {false, true, true, true, true, true};
  const FrameModel model(f);
  ASSERT_FALSE(model.mechanism());
  Loads l;
  l.nodes = {{outer[1], {1, 0, 0, 0, 0, 0}}};
  const double got = model.solve(l).displacement[static_cast<std::size_t>(outer[1])][0];
  const double bedding = 2 / (900.0 * 4);
  // The pins turn freely, so no moment comes in at the holes.
  const double ei = 2300 * shell.second_y_mm4, arm_ei = 2300 * shell.second_y_mm4;
  const double arms = 2 * std::pow(8, 3) / (3 * arm_ei), spine = 8.0 * 8 * 40 / ei + 40 / (2300 * shell.area_mm2);
  EXPECT_NEAR(got, bedding + arms + spine, 1e-9);
}

TEST(BearingBody, LevelsAreOrderedAndBodiesAreStifferThanBeams) {
  stock::Hub hub;
  hub.length_p = 11;
  hub.width_p = 8;
  hub.height_p = 5;
  for (const BodyShape& s : {motor_body(motor(), 58, 8), hub_body(hub, 214, 8)}) {
    const BodyStiffness k = body_stiffness(s, corner_holes(s, 8));
    for (const base::Triple& t : {k.stretch_n_mm, k.sideways_n_mm, k.upright_n_mm, k.twist_nmm_rad}) {
      EXPECT_GT(t.low, 0);
      EXPECT_LT(t.low, t.nominal);
      EXPECT_LT(t.nominal, t.high);
    }
    // Against a solid beam 7.8 mm square over the same span, clamped at both ends: T L/(G K).
    const double span = s.length_mm - 16;
    const double beam = 850 * bar_section({Form::rectangle, 7.8, 7.8}).torsion_mm4 / span;
    EXPECT_GT(k.twist_nmm_rad.low, 2 * beam);
  }
  EXPECT_GE(body_assumptions().size(), 4U);
}

TEST(BearingBody, SlitSeamCostsTorsionOnly) {
  BodyShape s = motor_body(motor(), 58, 8);
  BodyShape slit = s;
  slit.seam = {0, 0, 0};
  const auto holes = corner_holes(s, 8);
  const BodyStiffness whole = body_stiffness(s, holes), open = body_stiffness(slit, holes);
  EXPECT_LT(open.twist_nmm_rad.nominal, 0.8 * whole.twist_nmm_rad.nominal);
  EXPECT_NEAR(open.upright_n_mm.nominal, whole.upright_n_mm.nominal, 0.15 * whole.upright_n_mm.nominal);
}

TEST(BearingBody, StandsInAnyDirection) {
  const BodyShape s = motor_body(motor(), 58, 8);
  const auto holes = corner_holes(s, 8);
  const auto push = [&](const BodyPlace& place, const Vec3& force) {
    Frame f;
    const auto outer = add_body(f, s, holes, place, Level::low);
    for (std::size_t i = 0; i < outer.size(); ++i) {
      const SixFlags turns_held{false, false, false, true, true, true};
      f.nodes[static_cast<std::size_t>(outer[i])].held = i < 4 ? kFixed : turns_held;
    }
    const FrameModel model(f);
    EXPECT_FALSE(model.mechanism());
    Loads l;
    l.nodes = {{outer[6], {force[0], force[1], force[2], 0, 0, 0}}};
    const Six u = model.solve(l).displacement[static_cast<std::size_t>(outer[6])];
    return u[0] * force[0] + u[1] * force[1] + u[2] * force[2];
  };
  // Along x and along z, pushed along its own height.
  EXPECT_NEAR(push({}, {0, 0, 1}), push({{5, -3, 60}, {0, 0, 1}, {0, 1, 0}}, {0, 1, 0}), 1e-12);
  Frame f;
  EXPECT_THROW((void)add_body(f, s, {{{0, 0, 0}, {0, 1, 0}}, {{0, 8, 0}, {0, 1, 0}}}, {}, Level::low),
               base::InternalFault);
}

TEST(BearingBody, HolesOfTheCatalogueStandInMillimetresAndUnknownOnesAreTheCorners) {
  const BodyShape s = motor_body(motor(), 58, 8);
  const auto same = fixing_holes({}, s, 8);
  ASSERT_EQ(same.size(), 8U);
  EXPECT_EQ(same.front().at_mm, corner_holes(s, 8).front().at_mm);
  const auto told = fixing_holes(
      std::vector<stock::FixingHole>{{{2.5, -1, 0}, stock::HoleAxis::along}, {{-2, 0.5, 1}, stock::HoleAxis::up}}, s,
      8);
  ASSERT_EQ(told.size(), 2U);
  EXPECT_EQ(told[0].at_mm, (Vec3{20, -8, 0}));
  EXPECT_EQ(told[0].axis, (Vec3{1, 0, 0}));
  EXPECT_EQ(told[1].at_mm, (Vec3{-16, 4, 8}));
  EXPECT_EQ(told[1].axis, (Vec3{0, 0, 1}));
  EXPECT_TRUE(fixing_holes(std::vector<stock::FixingHole>{}, s, 8).empty());
}

// Second route: the frame itself, held by these pins, is a mechanism or not.
TEST(BearingBody, PinsOnOneLineLeaveATurn) {
  const BodyShape s = motor_body(motor(), 58, 8);
  const std::vector<std::vector<FixingHole>> cases{
      {{{-20, 16, 0}, {0, 1, 0}}},
      {{{-20, 16, 0}, {0, 1, 0}}, {{-20, -16, 0}, {0, 1, 0}}},
      {{{-20, 16, 0}, {0, 1, 0}}, {{-20, 16, 8}, {0, 1, 0}}},
      {{{-20, 16, 0}, {0, 1, 0}}, {{-20, 8, 8}, {0, 0, 1}}},
      {{{-20, 8, 8}, {0, 0, 1}}, {{-20, 8, -8}, {0, 0, 1}}},
      {{{-20, 8, 0}, {1, 0, 0}}, {{-20, -8, 0}, {1, 0, 0}}},
  };
  const std::vector<bool> firm{false, false, true, true, false, true};
  for (std::size_t i = 0; i < cases.size(); ++i) {
    EXPECT_EQ(hold_firmly(cases[i]), firm[i]) << i;
    Frame f;
    auto holes = cases[i];
    holes.push_back({{20, 0, 0}, holes.front().axis});  // free, so that the body has a length
    const auto outer = add_body(f, s, holes, {}, Level::nominal);
    for (std::size_t k = 0; k + 1 < outer.size(); ++k) f.nodes[static_cast<std::size_t>(outer[k])].held = kFixed;
    f.nodes[static_cast<std::size_t>(outer.back())].held = {false, false, false, true, true, true};
    // The free pin's own spin is held above; what is left is the body's.
    EXPECT_EQ(FrameModel(f).mechanism().has_value(), !firm[i]) << i;
  }
}

TEST(BearingBody, BeamsGoWhereHolesAreInLineAndWholePitchesApart) {
  const auto hole = [](double x, double y, double z, int axis) {
    FixingHole h{{8 * x, 8 * y, 8 * z}, {}};
    h.axis.at(static_cast<std::size_t>(axis)) = 1;
    return h;
  };
  // A side: three of four holes are whole pitches apart. Above: one half only. Below: two, six pitches apart. The ends
  // have none; the other side has a hole higher up.
  const std::vector<FixingHole> holes{hole(-2.5, 1.5, -1, 1), hole(-0.5, 1.5, -1, 1), hole(0, 1.5, -1, 1),
                                      hole(1.5, 1.5, -1, 1),  hole(1, 0, 1, 2),       hole(2, 0, 1, 2),
                                      hole(-3, 1, -1, 2),     hole(3, 1, -1, 2),      hole(-2.5, 1, 0, 0),
                                      hole(2.5, 1, 0, 0),     hole(-1, -1.5, 0, 1),   hole(1, -1.5, 1, 1)};
  const auto rows = beam_rows(holes, 8);
  ASSERT_EQ(rows.size(), 2U);
  EXPECT_EQ(rows[0].holes, (std::vector<std::size_t>{0, 1, 3}));
  EXPECT_EQ(rows[0].length_p, 5);
  EXPECT_EQ(rows[1].holes, (std::vector<std::size_t>{6, 7}));
  EXPECT_EQ(rows[1].length_p, 7);
}

TEST(BearingBody, WeightComesInWhole) {
  const BodyShape s = motor_body(motor(), 58, 8);
  Frame f;
  const auto outer = add_body(f, s, corner_holes(s, 8), {}, Level::nominal);
  for (const int n : outer) f.nodes[static_cast<std::size_t>(n)].held = kFixed;
  Loads l;
  l.gravity_m_s2 = {0, 0, -9.81};
  const FrameState state = FrameModel(f).solve(l);
  double up = 0;
  for (const Six& r : state.reaction) up += r[2];
  EXPECT_NEAR(up, 0.058 * 9.81, 1e-9);
}
