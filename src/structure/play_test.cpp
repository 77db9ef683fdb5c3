// Covers free play: single joints against sampling, statically determinate structures in closed form, structures held
// twice, and every reachable state inside the bound.
#include "structure/play.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/triple.h"
#include "structure/frame_matrices.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

constexpr Material kPlastic{2300, 850};
constexpr BarSection kBar{50, 200, 300, 150};

double dot(const Six& a, const Six& b) {
  double s = 0;
  for (std::size_t i = 0; i < 6; ++i) s += a[i] * b[i];
  return s;
}

/// A dislocation inside a clearance: both pin ends within their circle, the rest within their bounds.
Six random_inside(const Clearance& c, std::uint64_t seed, std::uint64_t& stream) {
  const auto draw = [&](double half) { return half * (2 * base::uniform_draw(seed, stream++, 0) - 1); };
  const auto in_circle = [&](double r, double& a, double& b) {
    const double angle = draw(std::numbers::pi), size = r * std::sqrt(base::uniform_draw(seed, stream++, 1));
    a = size * std::cos(angle);
    b = size * std::sin(angle);
  };
  double py = 0, pz = 0, qy = 0, qz = 0, ty = 0, tz = 0;
  in_circle(c.diametral_mm / 2, py, pz);
  in_circle(c.diametral_mm / 2, qy, qz);
  in_circle(c.tilt_rad, ty, tz);
  Six out{draw(c.axial_mm), (py + qy) / 2, (pz + qz) / 2, draw(c.turn_rad), ty, tz};
  if (c.diametral_mm > 0) {
    out[4] -= (pz - qz) / c.engaged_mm;
    out[5] += (py - qy) / c.engaged_mm;
  }
  return out;
}

/// Beam along x on two sprung pins along y, 0 and `a`, tip at `l`.
struct Seesaw {
  Frame frame;
  int tip = 0;
  std::vector<Clearance> clearances;
};
Seesaw seesaw(double a, double l, double c1, double c2) {
  Seesaw s;
  SixFlags sides{false, true, false, true, false, true};
  s.frame.nodes = {{"ground 1", {0, 0, 0}, kFixed},
                   {"ground 2", {a, 0, 0}, kFixed},
                   {"foot", {0, 0, 0}, sides},
                   {"middle", {a, 0, 0}, sides},
                   {"tip", {l, 0, 0}, sides}};
  s.frame.members = {{"beam", 2, 3, kBar, kPlastic}, {"beam", 3, 4, kBar, kPlastic}};
  s.frame.joints = {{"pin 1", 0, 2, {0, 1, 0}, {1000, 1000, 1000, 0, 4000, 4000}},
                    {"pin 2", 1, 3, {0, 0, 1}, {1000, 0, 0, 0, 0, 0}}};
  s.tip = 4;
  Clearance one, two;
  one.diametral_mm = c1;
  one.engaged_mm = 8;
  two.axial_mm = c2;
  s.clearances = {one, two};
  return s;
}

}  // namespace

TEST(Play, GreatestMotionIsWhatSamplingApproaches) {
  const Clearance c{0.1, 8, 0.05, 0.01, 0.004};
  for (std::uint64_t seed = 0; seed < 10; ++seed) {
    Six f{};
    for (std::size_t i = 0; i < 6; ++i) f[i] = (2 * base::uniform_draw(seed, 100 + i, 0) - 1) * (i < 3 ? 1 : 6);
    const double most = greatest_motion(c, f);
    EXPECT_NEAR(dot(worst_dislocation(c, f), f), most, 1e-12);
    double best = 0;
    std::uint64_t stream = 0;
    for (int i = 0; i < 40000; ++i) best = std::max(best, dot(random_inside(c, seed, stream), f));
    EXPECT_LE(best, most + 1e-12);
    EXPECT_GT(best, 0.8 * most);
  }
}

TEST(Play, PinCannotShiftAndTiltByTheFullClearance) {
  Clearance c;
  c.diametral_mm = 0.1;
  c.engaged_mm = 8;
  EXPECT_NEAR(greatest_motion(c, {0, 1, 0, 0, 0, 0}), 0.05, 1e-15);     // radial: half the clearance
  EXPECT_NEAR(greatest_motion(c, {0, 0, 0, 0, 0, 1}), 0.1 / 8, 1e-15);  // tilt: clearance over length
  EXPECT_NEAR(greatest_motion(c, {0, 1, 0, 0, 0, 3}), 0.05, 1e-15);     // both: the shift governs ...
  EXPECT_NEAR(greatest_motion(c, {0, 1, 0, 0, 0, 8}), 0.1, 1e-15);      // ... or the tilt, never the sum 0.15
  EXPECT_THROW((void)greatest_motion({0.1, 0, 0, 0, 0}, {}), base::InternalFault);
  EXPECT_THROW((void)greatest_motion({0, 0, -0.1, 0, 0}, {}), base::InternalFault);
}

TEST(Play, SeesawOnTwoPinsInClosedForm) {
  // Held once only: tip = pin 1 (l/a - 1) + pin 2 l/a, whatever the stiffness; free = bound.
  const double a = 50, l = 180, c1 = 0.12, c2 = 0.05;
  const Seesaw s = seesaw(a, l, c1, c2);
  const FrameModel model(s.frame);
  const FrameState unit = model.solve_unit(s.tip, Freedom::z);
  const double expected = c1 / 2 * (l / a - 1) + c2 * l / a;
  double sum = 0;
  for (std::size_t i = 0; i < 2; ++i) sum += greatest_motion(s.clearances[i], unit.joint_force[i]);
  EXPECT_NEAR(sum, expected, 1e-9);
  const FreePlay play = free_play(model, unit, s.tip, Freedom::z, s.clearances);
  EXPECT_NEAR(play.bound, expected, 1e-9);
  EXPECT_NEAR(play.free, expected, 2e-3 * expected);
  EXPECT_NEAR(play.at_least, expected, 2e-3 * expected);
  EXPECT_NEAR(play.by_joint[0], c1 / 2 * (l / a - 1), 2e-3 * expected);
}

TEST(Play, TwoLinksSideBySideGoOnlyAsFarAsTheTighterOne) {
  // A block held along x by two springs with plays 0.1 and 0.3: rigidly it moves 0.1; elastically each contact state
  // shares out, so the superposed bound is 0.2 with equal springs.
  Frame f;
  const SixFlags rail{false, true, true, true, true, true};
  f.nodes = {{"ground", {0, 0, 0}, kFixed}, {"block", {0, 0, 0}, rail}};
  f.joints = {{"tight", 0, 1, {1, 0, 0}, {500, 0, 0, 0, 0, 0}}, {"wide", 0, 1, {1, 0, 0}, {500, 0, 0, 0, 0, 0}}};
  Clearance tight, wide;
  tight.axial_mm = 0.1;
  wide.axial_mm = 0.3;
  const FrameModel model(f);
  const FreePlay play = free_play(model, model.solve_unit(1, Freedom::x), 1, Freedom::x, {tight, wide});
  EXPECT_NEAR(play.bound, 0.2, 1e-12);
  EXPECT_NEAR(play.free, 0.1, 2e-4);
  EXPECT_NEAR(play.at_least, 0.1, 3e-4);
}

TEST(Play, EveryContactStateStaysInsideElasticPlusBound) {
  // Frictionless contact under a load, solved by brute force: each joint's dislocation minimises the energy within its
  // clearance (projected descent on the two pins' four numbers, held twice by a third pin).
  Seesaw s = seesaw(50, 180, 0.2, 0.1);
  s.frame.nodes.push_back({"ground 3", {180, 0, 0}, kFixed});
  s.frame.joints.push_back({"pin 3", 5, 4, {0, 0, 1}, {20, 0, 0, 0, 0, 0}});
  Clearance three;
  three.axial_mm = 0.15;
  s.clearances.push_back(three);
  const FrameModel model(s.frame);
  const FrameState unit = model.solve_unit(s.tip, Freedom::z);
  const FreePlay play = free_play(model, unit, s.tip, Freedom::z, s.clearances);
  EXPECT_LT(play.free, play.bound);
  for (const double force : {-8.0, -0.5, -0.01, 0.02, 1.0, 20.0}) {
    Loads l;
    l.nodes = {{s.tip, {0, 0, force, 0, 0, 0}}};
    const FrameState loaded = model.solve(l);
    // Vertical dislocations v1 (pin 1 along z), v2, v3 within +-c; joint forces fall linearly with them.
    const std::array<double, 3> half{0.1, 0.1, 0.15};
    const std::array<std::size_t, 3> axis{2, 0, 0};
    const std::array<double, 3> up{internal::joint_rows({0, 1, 0})(2, 2), 1, 1};
    std::array<FrameState, 3> moved;
    for (std::size_t j = 0; j < 3; ++j) {
      Six one{};
      one[axis[j]] = up[j];
      moved[j] = model.dislocate(static_cast<int>(j), one);
    }
    std::array<double, 3> d{};
    for (int sweep = 0; sweep < 20000; ++sweep) {
      for (std::size_t j = 0; j < 3; ++j) {
        // Energy falls along the joint's force; its curvature is minus the force its own dislocation causes.
        double pull = up[j] * loaded.joint_force[j][axis[j]];
        for (std::size_t k = 0; k < 3; ++k) pull += d[k] * up[j] * moved[k].joint_force[j][axis[j]];
        const double curvature = -up[j] * moved[j].joint_force[j][axis[j]];
        if (curvature < 1e-9) {
          d[j] = pull > 0 ? half[j] : -half[j];
          continue;
        }
        d[j] = std::clamp(d[j] + pull / curvature, -half[j], half[j]);
      }
    }
    double tip = loaded.displacement[4][2];
    const double elastic = tip;
    for (std::size_t j = 0; j < 3; ++j) tip += d[j] * moved[j].displacement[4][2];
    EXPECT_LE(std::fabs(tip - elastic), play.bound + 1e-9) << force;
    if (std::fabs(force) < 0.05) {
      EXPECT_NEAR(std::fabs(tip), play.free, 0.05 * play.free) << force;
    }
  }
}
