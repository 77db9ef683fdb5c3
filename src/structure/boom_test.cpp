// Covers booms: sag, play and actuator force in closed form, shares, mirror, what cannot be built, and the remedies.
#include "structure/boom.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/triple.h"
#include "structure/beam.h"
#include "structure/sample_boom.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

constexpr Gauge kGauges[] = {Gauge::sag, Gauge::sway, Gauge::roll};

/// The jib lying level with all joints tight, axles and beddings as good as rigid, actuator straight below its mount.
Boom rigid_jointed() {
  Boom b = sample::jib();
  b.parts.pin_clearance = b.parts.axle_clearance = b.foot.bearing = b.foot.turntable = {};
  b.parts.bedding_mpa = 1e7;
  b.parts.axle = {1e4, 1e5, 1e5, 1e5};
  b.parts.beam_mass_g_mm = b.parts.axle_mass_g_mm = b.parts.pin_mass_g = 0;
  b.foot.bearing.engaged_mm = 7.4;
  b.actuator.base_x_p = b.actuator.at_p;
  b.actuator.base_z_p = -12;
  b.actuator.play_mm = 0;
  return b;
}

Boom spliced(int pins) {
  Boom b = sample::jib();
  b.beams = {{0, 14, 0}, {11, 24, 1}};
  b.foot.bearing_p = 4.5;
  const int stations[] = {11, 14, 12};
  for (int i = 0; i < pins; ++i) b.pins.push_back({stations[i], 0});
  return b;
}

}  // namespace

TEST(Boom, SagIsTheOverhangingBeamOnItsActuator) {
  // F c^2 (a + c)/(3 E I) for the overhang (Shigley Table A-9), plus the actuator's give times (l/a)^2.
  const Boom b = rigid_jointed();
  BoomLoad load;
  load.tip_mass_g = 200;
  const BoomReport r = judge(b, load);
  ASSERT_FALSE(r.mechanism);
  const double f = 0.2 * 9.81, a = 8 * 8, c = 16 * 8, l = a + c;
  const double bends = f * c * c * (a + c) / (3 * 2300 * 2 * b.parts.beam.second_y_mm4);
  const double gives = f * (l / a) * (l / a) / 40;
  EXPECT_NEAR(r.sag.elastic, bends + gives, 2e-3 * (bends + gives));
  EXPECT_NEAR(r.sag.share_of("beam 0-24 in plane 0"), bends / (bends + gives), 2e-3);
  EXPECT_NEAR(r.sag.share_of("actuator"), gives / (bends + gives), 2e-3);
  EXPECT_EQ(r.sag.play, 0);
  EXPECT_NEAR(r.sway.total, 0, 1e-9);
}

TEST(Boom, PlayOfActuatorAndTurntableInClosedForm) {
  Boom b = rigid_jointed();
  b.actuator.play_mm = 0.2;
  b.foot.turntable.turn_rad = 0.01;
  b.foot.turntable.tilt_rad = 0.003;
  b.foot.turntable_below_p = 5;
  const double l = 24 * 8;
  const BoomReport level = judge(b, {});
  EXPECT_NEAR(level.sag.play, 0.2 * 3 + 0.003 * l, 2e-3 * 0.6 + 1e-9);
  // Sideways: slewing backlash over the length, rocking over the height above the turntable.
  EXPECT_NEAR(level.sway.play, 0.01 * l + 0.003 * 5 * 8, 1e-9);
  EXPECT_NEAR(level.roll.play, 0.003, 1e-12);
  EXPECT_NEAR(level.rock_rad, std::atan2(level.sway.total, l), 1e-12);
  // Raised, the backlash counts over the reach only, and the tip stands higher over the turntable.
  BoomLoad raised;
  raised.luff_rad = 1.0;
  EXPECT_NEAR(judge(b, raised).sway.play, 0.01 * l * std::cos(1.0) + 0.003 * (l * std::sin(1.0) + 40), 1e-9);
}

TEST(Boom, WhatReachesBeyondTheTipSagsAndSwaysWithTheSlopeOfTheTip) {
  // A stiff arm of length r beyond the tip with the weight at its end: deflection at the load, cantilever held at its
  // foot sideways: F L^3/3 + F r L^2 + F r^2 L over E I (Shigley Table A-9, end load and end moment).
  BoomLoad load;
  load.side_force_n = 0.5;
  load.gauge_mm = {80, 0};
  load.mass_mm = {80, 0};
  const double l = 24 * 8, r = 80;
  const auto side = [&](double reach) { return l * l * l / 3 + reach * l * l + reach * reach * l; };
  // Two rows tied by stiff axles work like a portal, so the comparison is with a boom of one row.
  Boom one = rigid_jointed();
  one.sides = 1;
  one.foot.bearing_p = 1;
  one.actuator.y_p = {0};
  BoomLoad at_tip;
  at_tip.side_force_n = 0.5;
  const double tip = judge(one, at_tip).sway.elastic, beyond = judge(one, load).sway.elastic;
  const double ei = 2300 * one.parts.beam.second_z_mm4;
  EXPECT_NEAR(tip, 0.5 * side(0) / ei, 3e-3 * tip);
  EXPECT_NEAR(beyond, 0.5 * side(r) / ei, 3e-3 * beyond);
  // Reciprocity (Maxwell): the weight at the tip moves the far gauge as far as the same weight there moves the tip.
  BoomLoad here = at_tip, there;
  here.side_force_n = there.side_force_n = 0;
  here.tip_mass_g = there.tip_mass_g = 100;
  here.gauge_mm = {80, 16};
  there.mass_mm = {80, 16};
  const Boom jib = sample::jib();
  const auto tight = [](Boom x) {
    x.parts.beam_mass_g_mm = x.parts.axle_mass_g_mm = x.parts.pin_mass_g = 0;
    return x;
  };
  here.side_slope_rad = there.side_slope_rad = std::numbers::pi / 2;  // all weight sideways
  EXPECT_NEAR(judge(tight(jib), here).sway.elastic, judge(tight(jib), there).sway.elastic, 1e-4);
}

TEST(Boom, AStageBeyondBendsTheBoomByItsMomentToo) {
  // Beam on the actuator at a, overhang c, load F a reach r beyond its end, sag at the load (Shigley Table A-9 with
  // end force and end moment): F [c^3/3 + r c^2 + r^2 c + (c + r)^2 a/3]/(E I), I of both rows, and the actuator's give
  // times ((a + c + r)/a)^2.
  const Boom b = rigid_jointed();
  BoomLoad load;
  load.tip_mass_g = 200;
  load.gauge_mm = load.mass_mm = {80, 0};
  const BoomReport report = judge(b, load);
  const double f = 0.2 * 9.81, a = 8 * 8, c = 16 * 8, r = 80;
  const double bends =
      f * (c * c * c / 3 + r * c * c + r * r * c + (c + r) * (c + r) * a / 3) / (2300 * 2 * b.parts.beam.second_y_mm4);
  const double gives = f * std::pow((a + c + r) / a, 2) / 40;
  EXPECT_NEAR(report.sag.elastic, bends + gives, 3e-3 * (bends + gives));
}

TEST(Boom, AStageBelowTurnsGravityOnly) {
  BoomLoad one = sample::jib_load(), two = one;
  one.luff_rad = two.luff_rad = 0.2;
  two.carrier_rad = 0.4;
  const BoomFrame a = frame_of(sample::jib(), one), b = frame_of(sample::jib(), two);
  for (std::size_t i = 0; i < a.frame.joints.size(); ++i) EXPECT_EQ(a.frame.joints[i].axis, b.frame.joints[i].axis);
  EXPECT_NEAR(b.loads.gravity_m_s2[0], -9.81 * std::cos(0.05) * std::sin(0.6), 1e-12);
  EXPECT_NEAR(b.loads.gravity_m_s2[2], -9.81 * std::cos(0.05) * std::cos(0.6), 1e-12);
}

TEST(Boom, AMountOffTheHolesHasItsOwnLever) {
  // The actuator's force balances the moment about the foot by the lever of where it really is.
  Boom b = sample::jib();
  b.actuator.ahead_p = -0.5;
  b.actuator.above_p = -1;
  const BoomLoad load = [] {
    BoomLoad l = sample::jib_load();
    l.side_slope_rad = 0;
    return l;
  }();
  const BoomReport r = judge(b, load);
  ASSERT_FALSE(r.mechanism) << *r.mechanism;
  const BoomFrame f = frame_of(b, load);
  double moment = 0;  // about the foot, boom axes: x f_z - z f_x
  const auto add = [&](double x, double z, double fx, double fz) { moment += x * fz - z * fx; };
  for (const NodeLoad& n : f.loads.nodes) {
    const Vec3& at = f.frame.nodes[static_cast<std::size_t>(n.node)].at_mm;
    add(at[0], at[2], n.load[0], n.load[2]);
  }
  for (const FrameMember& m : f.frame.members) {
    const Vec3 &p = f.frame.nodes[static_cast<std::size_t>(m.a)].at_mm,
               &q = f.frame.nodes[static_cast<std::size_t>(m.b)].at_mm;
    const double kg = 1e-3 * m.mass_g_mm * std::hypot(q[0] - p[0], q[1] - p[1], q[2] - p[2]);
    add((p[0] + q[0]) / 2, (p[2] + q[2]) / 2, kg * f.loads.gravity_m_s2[0], kg * f.loads.gravity_m_s2[2]);
  }
  const double c = std::cos(load.luff_rad), s = std::sin(load.luff_rad), rx = 7.5 * 8, rz = -8;
  const double mx = rx * c - rz * s, mz = rx * s + rz * c, bx = 48, bz = -48;
  const double lever = std::fabs(bx * mz - bz * mx) / std::hypot(mx - bx, mz - bz);
  EXPECT_NEAR(r.actuator_force_n, -moment / lever, 1e-7 * std::fabs(moment / lever));
}

TEST(Boom, ActuatorForceBalancesTheMomentAboutTheFoot) {
  const Boom b = sample::jib();
  for (const double luff : {-0.2, 0.3, 0.9}) {
    BoomLoad load = sample::jib_load();
    load.luff_rad = luff;
    load.side_slope_rad = 0;
    const BoomReport r = judge(b, load);
    const BoomFrame f = frame_of(b, load);
    double moment = 0;  // of all weights about the foot, N mm, boom axes: x f_z (every weight lies on z = 0)
    for (const NodeLoad& n : f.loads.nodes) {
      moment += f.frame.nodes[static_cast<std::size_t>(n.node)].at_mm[0] * n.load[2];
    }
    for (const FrameMember& m : f.frame.members) {
      const Vec3 &p = f.frame.nodes[static_cast<std::size_t>(m.a)].at_mm,
                 &q = f.frame.nodes[static_cast<std::size_t>(m.b)].at_mm;
      const double length = std::hypot(q[0] - p[0], q[1] - p[1], q[2] - p[2]);
      moment += (p[0] + q[0]) / 2 * 1e-3 * m.mass_g_mm * length * f.loads.gravity_m_s2[2];
    }
    // Lever: distance of the foot from the actuator's line, chassis axes.
    const double mx = 64 * std::cos(luff), mz = 64 * std::sin(luff), bx = 48, bz = -48;
    const double lever = std::fabs(bx * mz - bz * mx) / std::hypot(mx - bx, mz - bz);
    EXPECT_NEAR(r.actuator_force_n, -moment / lever, 1e-7 * std::fabs(moment / lever)) << luff;
  }
}

TEST(Boom, SharesSumToOneAndAreSorted) {
  for (const Boom& b : {sample::jib(), spliced(2)}) {
    const BoomReport r = judge(b, sample::jib_load());
    ASSERT_FALSE(r.mechanism) << *r.mechanism;
    for (const Gauge g : kGauges) {
      const GaugeReport& x = r.at(g);
      double sum = 0, plays = 0;
      for (std::size_t i = 0; i < x.sources.size(); ++i) {
        sum += x.sources[i].share;
        if (x.sources[i].way == Way::plays) plays += x.sources[i].value;
        if (i > 0) {
          EXPECT_GE(std::fabs(x.sources[i - 1].value), std::fabs(x.sources[i].value));
        }
      }
      EXPECT_NEAR(sum, 1, 1e-6) << name_of(g);
      EXPECT_NEAR(plays, x.play, 1e-9);
      EXPECT_NEAR(x.total, std::fabs(x.elastic) + x.play, 1e-12);
      EXPECT_LE(x.play, x.play_bound * (1 + 1e-9));
      EXPECT_GE(x.play_at_least, 0.994 * x.play);
    }
  }
}

TEST(Boom, SlopeToTheOtherSideSwaysTheOtherWay) {
  BoomLoad left = sample::jib_load(), right = left;
  right.side_slope_rad = -left.side_slope_rad;
  const BoomReport a = judge(spliced(2), left), b = judge(spliced(2), right);
  EXPECT_NEAR(a.sway.elastic, -b.sway.elastic, 1e-9);
  EXPECT_GT(a.sway.elastic, 0);
  EXPECT_NEAR(a.sway.total, b.sway.total, 1e-9);
  EXPECT_NEAR(a.sag.total, b.sag.total, 1e-9);
}

TEST(Boom, OrderOfTheDescriptionDoesNotMatter) {
  Boom a = spliced(2);
  a.axles = {{4}, {18}};
  a.ties = {{6, 1}, {20, -1}};
  Boom b = a;
  std::reverse(b.beams.begin(), b.beams.end());
  std::reverse(b.pins.begin(), b.pins.end());
  std::reverse(b.axles.begin(), b.axles.end());
  std::reverse(b.ties.begin(), b.ties.end());
  const BoomReport one = judge(a, sample::jib_load()), two = judge(b, sample::jib_load());
  for (const Gauge g : kGauges) {
    EXPECT_NEAR(one.at(g).elastic, two.at(g).elastic, 1e-9);
    EXPECT_NEAR(one.at(g).play, two.at(g).play, 4e-3 * one.at(g).play);
  }
}

TEST(Boom, NothingThatIsAddedLoosensABoom) {
  // Free play of rigid parts can only shrink when one more pin, axle or tie holds (0.4 %: twice the gap it is known
  // to).
  const Boom base = spliced(2);
  const BoomReport before = judge(base, sample::jib_load());
  std::vector<Boom> held;
  for (const int s : {3, 17, 20}) {
    held.push_back(base);
    held.back().axles.push_back({s});
    held.push_back(base);
    held.back().ties.push_back({s, s == 3 ? 1 : -1});
  }
  held.push_back(base);
  held.back().pins.push_back({12, 0});
  for (const Boom& b : held) {
    const BoomReport after = judge(b, sample::jib_load());
    for (const Gauge g : kGauges) {
      EXPECT_LE(after.at(g).play, before.at(g).play * 1.004) << name_of(g);
    }
  }
}

TEST(Boom, MechanismsAreNamed) {
  // The actuator's base in line with its mount and the foot: no lever.
  Boom b = sample::jib();
  b.actuator.base_x_p = -4;
  b.actuator.base_z_p = 0;
  const BoomReport dead = judge(b, {});
  ASSERT_TRUE(dead.mechanism.has_value());
  // A splice on one pin folds.
  const BoomReport folds = judge(spliced(1), {});
  ASSERT_TRUE(folds.mechanism.has_value());
  EXPECT_NE(folds.mechanism->find("moves freely"), std::string::npos) << *folds.mechanism;
}

TEST(Boom, FaultsNameStationsAndPlanes) {
  const auto expect = [](const Boom& b, const std::string& part) {
    const auto wrong = fault(b);
    ASSERT_TRUE(wrong.has_value()) << part;
    EXPECT_NE(wrong->find(part), std::string::npos) << *wrong;
  };
  EXPECT_FALSE(fault(sample::jib()));
  EXPECT_FALSE(fault(spliced(2)));
  Boom b = sample::jib();
  b.beams.push_back({20, 28, 0});
  expect(b, "beam 0-24 in plane 0 and beam 20-28 in plane 0 are in the same place");
  b = sample::jib();
  b.beams.push_back({0, 5, 1});
  expect(b, "beam 0-5 in plane 1 and the foot's bearing are in the same place");
  b = sample::jib();
  b.beams.push_back({3, 9, -2});
  expect(b, "beam 3-9 in plane -2 crosses the middle");
  b = sample::jib();
  b.pins = {{4, 0}};
  expect(b, "the pin at 4 finds no beam in plane 1");
  b = spliced(2);
  b.axles = {{11}};
  expect(b, "the pin at 11 is where an axle is");
  b = sample::jib();
  b.axles = {{24}};
  expect(b, "two axles at station 24");
  b = sample::jib();
  b.actuator.at_p = 30;
  expect(b, "actuator axle at station 30 passes through no beam");
  b = sample::jib();
  b.ties = {{7, 1}};
  expect(b, "the tie at 7 needs hole 8, which is taken");
  b = sample::jib();
  b.sides = 1;
  b.ties = {{3, 1}};
  expect(b, "one side has nothing to tie");
  b = sample::jib();
  b.parts.bedding_mpa = 0;
  expect(b, "the bedding must be positive");
  EXPECT_THROW((void)judge(b, {}), base::InternalFault);
}

TEST(Boom, OneSidedBoomStandsOnItsOwn) {
  Boom b = sample::jib();
  b.sides = 1;
  b.actuator.y_p = {-1, 1};
  b.foot.bearing_p = 1.5;
  const BoomReport r = judge(b, sample::jib_load());
  ASSERT_FALSE(r.mechanism) << *r.mechanism;
  // Half the beams, so it sways further than two sides do.
  EXPECT_GT(r.sway.total, judge(sample::jib(), sample::jib_load()).sway.total);
}

TEST(Boom, BucklesAtAFactorThatFallsWithTheLoad) {
  Boom b = sample::jib();
  b.parts.beam_mass_g_mm = b.parts.axle_mass_g_mm = b.parts.pin_mass_g = 0;
  BoomLoad load;
  load.luff_rad = 1.2;
  load.tip_mass_g = 300;
  const Buckling once = buckling(b, load);
  load.tip_mass_g = 600;
  const Buckling twice = buckling(b, load);
  ASSERT_TRUE(once.found && twice.found);
  EXPECT_NEAR(once.factor, 2 * twice.factor, 1e-6 * once.factor);
}

TEST(Remedies, EachIsRecomputedAndSaysItsShare) {
  const Boom b = sample::jib();
  const BoomLoad load = sample::jib_load();
  const Remedies all = try_remedies(b, load);
  ASSERT_EQ(all.remedies.size(), 4U);
  for (const Remedy& r : all.remedies) {
    ASSERT_TRUE(r.possible) << r.what;
    EXPECT_FALSE(fault(r.boom));
    const BoomReport again = judge(r.boom, load);
    for (const Gauge g : kGauges) {
      EXPECT_DOUBLE_EQ(again.at(g).total, r.after.at(g).total);
      EXPECT_NEAR(r.cut(g), 1 - r.after.at(g).total / all.before.at(g).total, 1e-12);
    }
    EXPECT_GT(r.tried, 0);
    EXPECT_FALSE(r.what.empty());
  }
  // Parts as a count of what the changed boom has more.
  const Remedy& twin = all.remedies[0];
  EXPECT_EQ(twin.boom.beams.size(), b.beams.size() + 1);
  EXPECT_EQ(twin.added.beams_holes, (std::vector<int>{25, 25}));
  EXPECT_EQ(twin.added.pins, static_cast<int>(2 * twin.boom.pins.size()));
  const Remedy& box = all.remedies[1];
  EXPECT_EQ(box.added.brackets, static_cast<int>(2 * box.boom.ties.size()));
  EXPECT_GT(box.roll_cut, 0.25);  // a torsion box is what it is for
  EXPECT_GT(box.sway_cut, 0.25);
}

TEST(Remedies, DoublingTheBeamsCutsSwayAndTheReportSaysByWhatShare) {
  // Trade fact: common practice, no source. Recomputed here by doubling by hand.
  const Boom b = sample::jib();
  const Remedies all = try_remedies(b, sample::jib_load());
  const Remedy& twin = all.remedies[0];
  EXPECT_EQ(twin.kind, RemedyKind::double_the_beam);
  EXPECT_GT(twin.sway_cut, 0.1);
  EXPECT_LT(twin.sway_cut, 0.9);
  Boom by_hand = b;
  by_hand.beams.push_back({0, 24, -1});
  for (const int s : {3, 6, 9, 12, 15, 18, 21}) by_hand.pins.push_back({s, -1});
  const double cut = 1 - judge(by_hand, sample::jib_load()).sway.total / all.before.sway.total;
  EXPECT_NEAR(twin.sway_cut, cut, 1e-9);
  // Elastically the doubled pair is stiffer by more than the second row alone.
  EXPECT_LT(twin.after.sway.elastic, 0.55 * all.before.sway.elastic);
}

TEST(Remedies, ActuatorMovesToTheBestHole) {
  const Boom b = sample::jib();
  RemedyOptions o;
  o.judged_by = Gauge::sag;
  o.actuator_from_p = 5;
  o.actuator_to_p = 14;
  const Remedy r = try_remedies(b, sample::jib_load(), o).remedies[2];
  double best = 1e9;
  int at = 0;
  for (int s = 5; s <= 14; ++s) {
    Boom moved = b;
    moved.actuator.at_p = s;
    const double sag = s == 8 ? 1e9 : judge(moved, sample::jib_load()).sag.total;
    if (sag < best) {
      best = sag;
      at = s;
    }
  }
  EXPECT_EQ(r.boom.actuator.at_p, at);
  EXPECT_EQ(r.tried, 9);
  EXPECT_GT(r.sag_cut, 0.1);
}

TEST(Remedies, APinMoreHoldsASpliceThatFolds) {
  const Remedies all = try_remedies(spliced(1), sample::jib_load());
  EXPECT_TRUE(all.before.mechanism.has_value());
  const Remedy& pin = all.remedies[3];
  ASSERT_TRUE(pin.possible);
  EXPECT_FALSE(pin.after.mechanism.has_value()) << *pin.after.mechanism;
  // A second pin would do; a cross axle through the overlap holds both sides at once and comes out better.
  EXPECT_EQ(pin.boom.pins.size() + pin.boom.axles.size(), 2U);
  EXPECT_EQ(pin.sway_cut, 0);
  // Two pins close together rattle; one more, or one further off, cuts the play.
  Boom close = spliced(0);
  close.pins = {{11, 0}, {12, 0}};
  RemedyOptions o;
  o.judged_by = Gauge::sag;
  const Remedies second = try_remedies(close, sample::jib_load(), o);
  ASSERT_FALSE(second.before.mechanism) << *second.before.mechanism;
  EXPECT_EQ(second.remedies[3].boom.pins.back().at_p, 14);
  EXPECT_GT(second.remedies[3].sag_cut, 0.02);
}

TEST(Remedies, WhatCannotBeDoneSaysWhy) {
  Boom b = sample::jib();
  b.sides = 1;
  b.actuator.y_p = {-1, 1};
  b.foot.bearing_p = 1.5;
  RemedyOptions o;
  o.actuator_from_p = o.actuator_to_p = 8;
  const Remedies all = try_remedies(b, sample::jib_load(), o);
  EXPECT_FALSE(all.remedies[0].possible);
  EXPECT_NE(all.remedies[0].what.find("foot's bearing"), std::string::npos) << all.remedies[0].what;
  EXPECT_FALSE(all.remedies[1].possible);
  EXPECT_NE(all.remedies[1].what.find("no box"), std::string::npos);
  EXPECT_FALSE(all.remedies[2].possible);
  EXPECT_FALSE(all.remedies[3].possible);
  EXPECT_EQ(all.remedies[0].sway_cut, 0);
}
