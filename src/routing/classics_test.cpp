// One stage between two shafts, for pairs whose distance is known by hand: a = m (z1 + z2) / 2 (ISO 21771-1:2024,
// reference centre distance of an external pair), module 1 mm on a lattice of 8 mm. Feasible exactly at the offsets
// whose distance is within 0.1 mm of it, on paper here, and not one half-pitch off.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "routing/checker.h"
#include "routing/random_problem.h"
#include "routing/route.h"

namespace routing {
namespace {

using base::Rational;

constexpr double kMisfitMm = 0.1;

/// A motor on one shaft, the output `u` x `v` half-pitches off, room all round, walls at 1 and 6, wheels between them.
Problem stage(int driver, int driven, int u, int v, double misfit_mm = kMisfitMm) {
  Problem p;
  Kit& k = p.kit;
  k.axle_radius_mm = 2.4;
  k.bush_radius_mm = 3.7;
  k.wheels = {test::spur_wheel(driver, 1), test::spur_wheel(driven, 1)};
  if (driver == driven) {
    k.wheels.own().pop_back();
    k.wheels.own()[0].count = 2;
  }
  k.pairs = test::pairs_of(k, std::vector<bool>(k.wheels.size(), false), misfit_mm);
  k.axles = {{0, 4, 2}, {1, 5, 2}};
  p.box = {{-20, 0, -20}, {20, 8, 20}};
  p.walls.at_hp[1] = {1, 6};
  Terminal motor;
  motor.face = {0, 0, 0};
  motor.solids = {{{-2, -4, -2}, {2, 0, 2}}};
  motor.name = "motor";
  p.inputs = {{{motor}}};
  Output out;
  out.name = "shaft";
  Place place;
  place.at = {u, v};
  out.places = {place};
  out.low = out.high = Rational(driver, driven);
  p.outputs = {out};
  p.most_stages = 1;
  return p;
}

/// The one layout there is, approved by the judge; its misfit in micrometres, or -1 when there is none.
int misfit_um(const Problem& p) {
  const Routes routes = route(p);
  EXPECT_TRUE(routes.complete);
  EXPECT_EQ(routes.found, static_cast<std::int64_t>(routes.layouts.size()));
  if (routes.layouts.empty()) {
    EXPECT_FALSE(routes.refusals.empty());  // "none" comes with a reason
    return -1;
  }
  EXPECT_EQ(routes.layouts.size(), 1U);
  const Layout& l = routes.layouts[0];
  for (const std::string& fault : check(p, l)) ADD_FAILURE() << fault;
  EXPECT_EQ(l.meshes.size(), 1U);
  EXPECT_LT(l.ratios[0], Rational(0));  // an external pair turns back
  return l.meshes[0].misfit_um;
}

struct Classic {
  int z1, z2;
  int dx_hp, dz_hp;
  int misfit_um;  ///< from sqrt(dx^2 + dz^2) * 4 mm by hand
};

TEST(RoutingClassics, StraightPairsMeetOnTheirPitches) {
  // 2, 2, 2.5, 3 and 3 pitches of 8 mm: 16, 16, 20, 24 and 24 mm.
  for (const Classic& c : {Classic{8, 24, 4, 0, 0}, Classic{12, 20, 4, 0, 0}, Classic{16, 24, 5, 0, 0},
                           Classic{20, 28, 6, 0, 0}, Classic{8, 40, 6, 0, 0}}) {
    EXPECT_DOUBLE_EQ(0.5 * (c.z1 + c.z2), 4.0 * c.dx_hp);
    for (const auto& [u, v] : {std::pair{c.dx_hp, 0}, {-c.dx_hp, 0}, {0, c.dx_hp}, {0, -c.dx_hp}}) {
      EXPECT_EQ(misfit_um(stage(c.z1, c.z2, u, v)), 0) << c.z1 << ":" << c.z2 << " at " << u << "," << v;
      EXPECT_EQ(misfit_um(stage(c.z2, c.z1, u, v)), 0) << c.z2 << ":" << c.z1 << " at " << u << "," << v;
    }
    for (const auto& [u, v] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}})
      EXPECT_EQ(misfit_um(stage(c.z1, c.z2, c.dx_hp + u, v)), -1) << c.z1 << ":" << c.z2 << " off by " << u << "," << v;
  }
}

TEST(RoutingClassics, ObliquePairsWithinATenthOfAMillimetre) {
  for (const Classic& c : {
           Classic{16, 24, 4, 3, 0},   // 20 mm exactly: 3-4-5
           Classic{8, 10, 2, 1, 56},   // 8.9443 for 9
           Classic{10, 24, 3, 3, 29},  // 16.9706 for 17
           Classic{28, 40, 6, 6, 59},  // 33.9411 for 34
           Classic{26, 40, 8, 2, 15},  // 32.9848 for 33
           Classic{13, 16, 3, 2, 78},  // 14.4222 for 14.5
           Classic{20, 23, 5, 2, 41},  // 21.5407 for 21.5
       }) {
    for (const auto& [u, v] : {std::pair{c.dx_hp, c.dz_hp}, {-c.dz_hp, c.dx_hp}, {-c.dx_hp, -c.dz_hp}})
      EXPECT_EQ(misfit_um(stage(c.z1, c.z2, u, v)), c.misfit_um) << c.z1 << ":" << c.z2 << " at " << u << "," << v;
    for (const auto& [u, v] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}})
      EXPECT_EQ(misfit_um(stage(c.z1, c.z2, c.dx_hp + u, c.dz_hp + v)), -1)
          << c.z1 << ":" << c.z2 << " off by " << u << "," << v;
  }
}

TEST(RoutingClassics, NearMissesAreRefusedUntilTheLimitAllowsThem) {
  for (const Classic& c : {
           Classic{12, 24, 4, 2, 111},  // 17.8885 for 18
           Classic{18, 40, 7, 2, 120},  // 29.1204 for 29
           Classic{34, 40, 9, 2, 122},  // 36.8782 for 37
       }) {
    EXPECT_EQ(misfit_um(stage(c.z1, c.z2, c.dx_hp, c.dz_hp)), -1) << c.z1 << ":" << c.z2;
    EXPECT_EQ(misfit_um(stage(c.z1, c.z2, c.dx_hp, c.dz_hp, c.misfit_um * 1e-3 - 1e-3)), -1) << c.z1 << ":" << c.z2;
    EXPECT_EQ(misfit_um(stage(c.z1, c.z2, c.dx_hp, c.dz_hp, c.misfit_um * 1e-3 + 1e-3)), c.misfit_um)
        << c.z1 << ":" << c.z2;
  }
}

TEST(RoutingClassics, EveryOffsetInReachIsUsedExactlyWhenItFits) {
  // 12:20, distance 16 mm: over all offsets, feasible exactly where sqrt(u^2 + v^2) * 4 is within 0.1 mm of it.
  for (int u = -6; u <= 6; ++u) {
    for (int v = -6; v <= 6; ++v) {
      if (u == 0 && v == 0) continue;
      const bool fits = std::abs(4 * std::hypot(u, v) - 16) <= kMisfitMm;
      EXPECT_EQ(misfit_um(stage(12, 20, u, v)) >= 0, fits) << u << "," << v;
    }
  }
}

TEST(RoutingClassics, TwoShortAxlesAreJoinedWhereNoneThatIsLeftIsLongEnough) {
  // Walls at 1 and 16, wheels between them: the output's shaft reaches from 0 to 17, 8.5 pitches or more, and the
  // motor's from -2 (inside the motor) to 17, 9.5 or more. Axles of 4 and 6 pitches: joined 8, 10, 10, 12.
  const auto joined_stage = [](int joiners, int sixes) {
    Problem p = stage(8, 24, 4, 0);
    p.walls.at_hp[1] = {1, 16};
    p.box = {{-20, 0, -20}, {20, 20, 20}};
    p.wheels_outside = false;
    p.kit.axles = {{0, 4, 2}, {1, 6, sixes}};
    p.kit.joiners = joiners;
    p.kit.joiner_hp = 4;
    join_axles(p.kit);
    return p;
  };
  const Problem p = joined_stage(2, 2);
  std::vector<std::string> joined;
  for (std::size_t a = 2; a < p.kit.axles.size(); ++a) joined.push_back(axle_text(p.kit, static_cast<int>(a)));
  EXPECT_EQ(joined, (std::vector<std::string>{"4 + 4", "4 + 6", "6 + 4", "6 + 6"}));
  const Routes routes = route(p);
  ASSERT_FALSE(routes.layouts.empty());
  for (const Layout& l : routes.layouts) {
    for (const std::string& fault : check(p, l)) ADD_FAILURE() << fault;
    for (const PlacedShaft& s : l.shafts) {
      EXPECT_EQ(s.to_hp - s.from_hp, 20);
      ASSERT_TRUE(joint_hp(p.kit, s).has_value());
      const int joint = *joint_hp(p.kit, s);
      EXPECT_TRUE(joint - s.from_hp == 8 || joint - s.from_hp == 12);
      // Half a joiner each way, clear of the walls' slots 0..2 and 15..17.
      EXPECT_GE(joint - 2, 2);
      EXPECT_LE(joint + 2, 15);
      for (const PlacedWheel& w : l.wheels)
        EXPECT_TRUE(!(w.at == s.at) || w.to_hp <= joint - 2 || w.from_hp >= joint + 2);
    }
    // Wheels 2, axles 2 + 2, joiners 2, bushes; the search's points and the rule's agree.
    EXPECT_EQ(l.cost, cost_of(p, l));
  }
  // A joiner or an axle less, and the other shaft cannot be made.
  EXPECT_TRUE(route(joined_stage(1, 2)).layouts.empty());
  EXPECT_TRUE(route(joined_stage(2, 1)).layouts.empty());
  EXPECT_TRUE(route(joined_stage(0, 2)).layouts.empty());
  // With a single axle that is long enough, nothing is joined.
  Problem single = joined_stage(0, 2);
  single.kit.axles = {{0, 4, 2}, {1, 6, 2}, {2, 10, 2}};
  single.kit.joiners = 2;
  join_axles(single.kit);
  for (const Layout& l : route(single).layouts)
    for (const PlacedShaft& s : l.shafts) EXPECT_FALSE(joint_hp(single.kit, s).has_value());
  // With one such axle for the two shafts, one of them is joined.
  single.kit.axles = {{0, 4, 2}, {1, 6, 2}, {2, 10, 1}};
  join_axles(single.kit);
  const Routes mixed = route(single);
  ASSERT_FALSE(mixed.layouts.empty());
  for (const Layout& l : mixed.layouts) {
    for (const std::string& fault : check(single, l)) ADD_FAILURE() << fault;
    EXPECT_EQ(std::count_if(l.shafts.begin(), l.shafts.end(),
                            [&](const PlacedShaft& s) { return joint_hp(single.kit, s).has_value(); }),
              1);
  }
}

TEST(RoutingClassics, TheJudgeRefusesAJoinerInTheWrongPlace) {
  Problem p = stage(8, 24, 4, 0);
  p.walls.at_hp[1] = {1, 16};
  p.box = {{-20, 0, -20}, {20, 20, 20}};
  p.wheels_outside = false;
  p.kit.axles = {{0, 4, 2}, {1, 6, 2}};
  p.kit.joiners = 2;
  p.kit.joiner_hp = 4;
  join_axles(p.kit);
  const Routes routes = route(p);
  ASSERT_FALSE(routes.layouts.empty());
  const Layout& l = routes.layouts[0];
  const auto faulty = [&](const std::string& word) {
    const std::vector<std::string> faults = check(p, l);
    return std::any_of(faults.begin(), faults.end(),
                       [&](const std::string& f) { return f.find(word) != std::string::npos; });
  };
  EXPECT_TRUE(check(p, l).empty());
  p.kit.joiners = 1;
  EXPECT_TRUE(faulty("2 joiners, 1 in stock"));
  p.kit.joiners = 2;
  // The motor's shaft begins at -2 and is joined at 6 or 10: a sleeve of 12 reaches into a wall, one of 22 into the
  // motor.
  p.kit.joiner_hp = 12;
  EXPECT_TRUE(faulty("it is in the wall"));
  p.kit.joiner_hp = 22;
  EXPECT_TRUE(faulty("behind the face of motor"));
  p.kit.joiner_hp = 4;
  p.kit.axles.own()[1].length_p = 7;
  EXPECT_TRUE(faulty("joiner: 4 + 7 pitches are not the 10") || faulty("joiner: 7 + 4 pitches are not the 10"));
}

TEST(RoutingClassics, AShaftBetweenTwoTerminalsIsJoinedToALengthThatNoAxleHas) {
  // The output's shaft runs from 1 pitch inside one actuator to 1 pitch inside another, their faces 12 pitches apart:
  // 14 pitches exactly.
  const auto between = [](std::vector<AxleStock> axles) {
    Problem p = stage(8, 24, 4, 0);
    p.walls.at_hp[1] = {2, 22};
    p.box = {{-20, 0, -20}, {20, 24, 20}};
    p.wheels_outside = false;
    Place& place = p.outputs[0].places[0];
    place.terminal = Terminal{Axis::y, {place.at.u_hp, 0, place.at.v_hp}, 1, 2, {}, "actuator"};
    place.far_terminal = Terminal{Axis::y, {place.at.u_hp, 24, place.at.v_hp}, -1, 2, {}, "far actuator"};
    p.kit.axles = std::move(axles);
    p.kit.joiners = 2;
    p.kit.joiner_hp = 4;
    join_axles(p.kit);
    return p;
  };
  const auto axle_of_output = [](const Problem& p) {
    const Routes routes = route(p);
    if (routes.layouts.empty()) return std::string("none");
    for (const std::string& fault : check(p, routes.layouts[0])) ADD_FAILURE() << fault;
    for (const PlacedShaft& s : routes.layouts[0].shafts)
      if (s.output == 0) return axle_text(p.kit, s.axle);
    return std::string("no shaft");
  };
  EXPECT_EQ(axle_of_output(between({{0, 4, 4}, {1, 14, 2}, {2, 16, 2}})), "14");
  const std::string joined = axle_of_output(between({{0, 4, 4}, {1, 10, 4}, {2, 12, 2}, {3, 16, 2}}));
  EXPECT_TRUE(joined == "4 + 10" || joined == "10 + 4") << joined;
  EXPECT_EQ(axle_of_output(between({{0, 5, 4}, {1, 12, 2}, {2, 16, 2}})), "none");
}

TEST(RoutingClassics, AFullBushNeedsTwoFreeSlots) {
  // Walls with one, two and three slots between them and wheels of one slot: the wheel touches both faces; one face and
  // leaves a slot; one face and leaves two. The motor's shaft is stopped at its far face only, so the wheels go there.
  for (const auto& [slots, half, full] : {std::tuple{1, 0, 0}, {2, 1, -1}, {3, 1, 1}}) {
    for (const auto& [bush_hp, bushes] : {std::pair{1, half}, {2, full}}) {
      Problem p = stage(8, 24, 4, 0);
      p.kit.bush_hp = bush_hp;
      p.wheels_outside = false;
      p.walls.at_hp[1] = {1, 3 + slots};
      const Routes routes = route(p);
      ASSERT_EQ(routes.layouts.empty(), bushes < 0) << slots << " slots, bushes of " << bush_hp;
      if (bushes < 0) continue;
      const Layout& l = routes.layouts[0];
      for (const std::string& fault : check(p, l)) ADD_FAILURE() << fault;
      EXPECT_TRUE(l.shafts[0].bushes_hp.empty());
      EXPECT_EQ(l.shafts[1].bushes_hp, std::vector<int>(static_cast<std::size_t>(bushes), 2));
    }
  }
}

}  // namespace
}  // namespace routing
