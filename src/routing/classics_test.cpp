// One stage between two shafts, for pairs whose distance is known by hand: a = m (z1 + z2) / 2 (ISO 21771-1:2024,
// reference centre distance of an external pair), module 1 mm on a lattice of 8 mm. Feasible exactly at the offsets
// whose distance is within 0.1 mm of it, on paper here, and not one half-pitch off.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

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
    k.wheels.pop_back();
    k.wheels[0].count = 2;
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

}  // namespace
}  // namespace routing
