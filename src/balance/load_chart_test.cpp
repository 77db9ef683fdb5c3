// Covers load charts: published truck, shares, sag against a boom solved by hand, mirror images, threads, confidence
// against drawn machines, tables between cells.
#include "balance/load_chart.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <numbers>

#include "balance/lifting.h"
#include "balance/sample_loader.h"
#include "base/check.h"

using balance::ChartAxes;
using balance::Curve;
using balance::Joint;
using balance::LiftCell;
using balance::Lifter;
using balance::LiftingMachine;
using balance::Limit;
using balance::Vec3;

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kDeg = kPi / 180;

/// CRANE-01's truck as a lifting machine: no upper structure, weightless boom, boom rearwards (x from the front axle).
LiftingMachine boom_truck() {
  LiftingMachine m;
  balance::LiftingBody truck, boom;
  truck.weighed.body = {-1, Joint::fixed, {}, {0, 0, 1}, 0, 0, 4300e3, {500, 0, 0}};
  boom.weighed.body = {0, Joint::turns, {900, 0, 0}, {0, -1, 0}, 0, 0, 0, {}};
  m.bodies = {truck, boom};
  m.luff_body = m.hook_body = 1;
  m.hook = {6000, 0, 0};
  m.luff_high_rad = 80 * kDeg;
  m.postures = {{"boom", {0, 0}}};
  balance::SupportState wheels{"wheels", {}, {}};
  for (const double x : {0.0, 5200.0}) {
    for (const double y : {-800.0, 800.0}) wheels.supports.push_back({"wheel", {x, y}, {x, y}, 0, 0, 1e15, 0});
  }
  m.states = {wheels};
  return m;
}

/// Level, weightless boom of length `reach` on a spring, over four hard wheels.
LiftingMachine springy(double give) {
  LiftingMachine m = boom_truck();
  m.bodies[0].weighed.body.mass_g = 3000;
  m.bodies[0].weighed.body.centre = {0, 0, 0};
  m.bodies[1].weighed.body.origin = {0, 0, 0};
  m.bodies[1].give = Curve::constant(give);
  m.hook = {400, 0, 0};
  for (auto& s : m.states[0].supports) {
    s.from = s.to = {s.from.x_mm > 0 ? 150.0 : -150.0, s.from.y_mm > 0 ? 110.0 : -110.0};
    s.stiffness_n_per_mm = 1e12;
  }
  return m;
}

bool same_bytes(const std::vector<LiftCell>& a, const std::vector<LiftCell>& b) {
  const auto same = [](double x, double y) { return std::memcmp(&x, &y, sizeof x) == 0; };
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (a[i].reached != b[i].reached || a[i].governs != b[i].governs || a[i].rated_governs != b[i].rated_governs ||
        !same(a[i].luff_rad, b[i].luff_rad) || !same(a[i].tipping_n, b[i].tipping_n) ||
        !same(a[i].drive_n, b[i].drive_n) || !same(a[i].greatest_n, b[i].greatest_n) ||
        !same(a[i].rated_n, b[i].rated_n) || !same(a[i].sagged_radius_mm, b[i].sagged_radius_mm) ||
        !same(a[i].hook_height_mm, b[i].hook_height_mm) || !same(a[i].confidence, b[i].confidence)) {
      return false;
    }
  }
  return true;
}

double normal(std::uint64_t stream, std::uint64_t index) {
  const double u = base::uniform_draw(12, 2 * stream, index), v = base::uniform_draw(12, 2 * stream + 1, index);
  return std::sqrt(-2 * std::log(1 - u)) * std::cos(2 * kPi * v);
}

}  // namespace

TEST(LoadChart, TippingMassesOfTheBoomTruck) {
  // CRANE-06: truck of CRANE-01 (Beer & Johnston, Statics, Problem 4.1) about its rear axle; 1e-4 relative, 0.001 deg.
  const LiftingMachine m = boom_truck();
  ChartAxes axes{{}, {0}};
  for (const double deg : {44.221, 44.219, 40.0, 30.0, 15.0}) {
    axes.radius_mm.push_back(900 + 6000 * std::cos(deg * kDeg));
  }
  const auto chart = load_chart(m, axes);
  EXPECT_TRUE(std::isinf(chart.cells[0].tipping_n));
  EXPECT_EQ(chart.cells[0].governs, Limit::none);
  EXPECT_TRUE(std::isfinite(chart.cells[1].tipping_n));
  const double expected_kg[] = {68215.6, 22552.0, 13513.4};
  for (std::size_t i = 0; i < 3; ++i) {
    const LiftCell& c = chart.cells[2 + i];
    EXPECT_NEAR(c.greatest_n / 9.81, expected_kg[i], 1e-4 * expected_kg[i]);
    EXPECT_EQ(c.governs, Limit::tipping);
    EXPECT_NEAR(c.rated_n, 0.75 * c.greatest_n, 1e-6 * c.greatest_n);
    EXPECT_NEAR(c.sagged_radius_mm, axes.radius_mm[2 + i], 1e-2);  // the wheels hardly give
  }
}

TEST(LoadChart, SharesDecideWhatGovernsTheRatedLoad) {
  // CRANE-04: ISO 10567 as quoted in the Kubota U25 operator manual, p. 69; exact. CRANE-05: 85 % on outriggers (SAE
  // J765 as quoted by crane makers).
  LiftingMachine m = springy(0);
  m.bodies[0].weighed.body.mass_g = 1000 * 250 / 150.0 / balance::weight_n(1);  // tips at 1000 N
  for (const auto& [drive, rated, governs] :
       {std::tuple{900.0, 750.0, Limit::tipping}, std::tuple{800.0, 696.0, Limit::hoist}}) {
    m.payload_limits = {{Limit::hoist, "rope", [d = drive](const balance::LiftPose&) { return d; }, 0}};
    const LiftCell c = load_chart(m, {{400}, {0}}).cells[0];
    EXPECT_NEAR(c.tipping_n, 1000, 1e-6);
    EXPECT_NEAR(c.rated_n, rated, 1e-6);
    EXPECT_EQ(c.rated_governs, governs);
    EXPECT_EQ(c.governs, Limit::hoist);
  }
  m.payload_limits.clear();
  m.states[0].tipping_share = balance::kOutriggerShare;
  EXPECT_NEAR(load_chart(m, {{400}, {0}}).cells[0].rated_n, 850, 1e-6);
  // A hook block counts as load.
  m.tare_n = 40;
  EXPECT_NEAR(load_chart(m, {{400}, {0}}).cells[0].rated_n, 810, 1e-6);
  EXPECT_NEAR(load_chart(m, {{400}, {0}}).cells[0].tipping_n, 960, 1e-6);
}

TEST(LoadChart, SagFollowsTheSpringOfTheBoom) {
  // By hand: boom set at angle q0 sags to q = q0 - give x P r cos q, tips when P (r cos q - 150) = 150 W.
  const double w = balance::weight_n(3000), r = 400;
  for (const double give : {0.0, 1e-5, 4e-5}) {
    const LiftingMachine m = springy(give);
    for (const double q0 : {0.3, 0.5, 0.7}) {
      double low = -0.5, high = q0;  // q, by halving
      for (int i = 0; i < 200; ++i) {
        const double q = (low + high) / 2, p = 150 * w / (r * std::cos(q) - 150);
        (q + give * p * r * std::cos(q) > q0 ? high : low) = q;
      }
      const LiftCell c = load_chart(m, {{r * std::cos(q0)}, {0}}).cells[0];
      EXPECT_NEAR(c.greatest_n, 150 * w / (r * std::cos(low) - 150), 1e-6) << give << " " << q0;
      EXPECT_NEAR(c.sagged_radius_mm, r * std::cos(low), 1e-5);
    }
  }
}

TEST(LoadChart, RigidPosesOverstateASoftCrane) {
  const LiftingMachine m = balance::sample::loader();
  const ChartAxes axes = even_axes(m, 12, 12, 0, 2 * kPi);
  const auto sagged = load_chart(m, axes), rigid = load_chart(m, axes, {.sagged = false, .drive_share = 0.87});
  double most = 0;
  int compared = 0;
  for (std::size_t i = 0; i < sagged.cells.size(); ++i) {
    if (!std::isfinite(rigid.cells[i].tipping_n) || rigid.cells[i].tipping_n <= 0) continue;
    if (rigid.cells[i].tipping_n > 15) continue;  // loads this machine could hold
    // Boom and stick both rising: sag then moves the hook outwards. A hanging stick sags inwards.
    const double fold = m.postures[i / 144 % 5].joint[3];
    if (rigid.cells[i].luff_rad < 0.1 || rigid.cells[i].luff_rad + fold < 0.1) continue;
    EXPECT_LE(sagged.cells[i].tipping_n, rigid.cells[i].tipping_n) << i;
    most = std::max(most, 1 - sagged.cells[i].tipping_n / rigid.cells[i].tipping_n);
    ++compared;
  }
  EXPECT_GT(compared, 100);
  EXPECT_GT(most, 0.04);
}

TEST(LoadChart, LeanOnSoftFeetByHand) {
  // Boom level at height h; at tipping the two front feet carry all, so it leans by (W + P)/(2 k)/300.
  LiftingMachine m = springy(0);
  m.bodies[0].weighed.body.centre = {0, 0, 60};
  m.bodies[1].weighed.body.origin = {0, 0, 200};
  for (auto& s : m.states[0].supports) s.stiffness_n_per_mm = 15;
  const double w = balance::weight_n(3000);
  double p = 10;
  for (int i = 0; i < 100; ++i) {
    const double lean = (w + p) / 30 / 300;
    p = w * (150 - 60 * lean) / (250 + 200 * lean);
  }
  const LiftCell c = load_chart(m, {{400}, {0}}).cells[0];
  EXPECT_NEAR(c.tipping_n, p, 1e-7);
  EXPECT_LT(p, 0.995 * w * 150 / 250);
}

TEST(LoadChart, LoadsTheMachineHoldsFallWithTheRadiusAndNeverTipIt) {
  const LiftingMachine m = balance::sample::loader();
  const auto chart = load_chart(m, even_axes(m, 24, 12, 0, 2 * kPi));
  std::size_t reached = 0;
  for (const LiftCell& c : chart.cells) {
    if (!c.reached) continue;
    ++reached;
    EXPECT_GE(c.tipping_n, c.greatest_n);
    EXPECT_LE(c.rated_n, 0.87 * c.greatest_n + 1e-12);
    EXPECT_GE(c.sagged_radius_mm, 0);
    EXPECT_GE(c.confidence, 0);
    EXPECT_LE(c.confidence, 1);
  }
  EXPECT_GT(reached, chart.cells.size() / 3);
  for (const Limit limit : {Limit::tipping, Limit::luff, Limit::knuckle}) EXPECT_GT(chart.governed_by(limit), 0U);
  for (std::size_t r = 1; r < 24; ++r) {
    // Straight stick: same posture, further out, boom lower.
    const LiftCell &in = chart.at(2, 0, 3, r - 1), &out = chart.at(2, 0, 3, r);
    if (!in.reached || !out.reached || !std::isfinite(in.tipping_n)) continue;
    EXPECT_LT(out.tipping_n, in.tipping_n);
  }
}

TEST(LoadChart, MirroredSlewAnglesLiftTheSame) {
  LiftingMachine m = balance::sample::loader(2);
  for (const double slope : {0.0, 0.08}) {
    m.slope = {slope, 0};  // falling ahead: still the same left and right
    ChartAxes axes = even_axes(m, 9, 8, 0.1, 1.9);
    const auto left = load_chart(m, axes);
    for (double& s : axes.slew_rad) s = -s;
    const auto right = load_chart(m, axes);
    for (std::size_t i = 0; i < left.cells.size(); ++i) {
      const LiftCell &a = left.cells[i], &b = right.cells[i];
      ASSERT_EQ(a.reached, b.reached);
      if (!a.reached || !std::isfinite(a.greatest_n)) continue;
      EXPECT_EQ(a.governs, b.governs);
      EXPECT_NEAR(a.greatest_n, b.greatest_n, 1e-8 * (1 + a.greatest_n));
      EXPECT_NEAR(a.confidence, b.confidence, 1e-8);
    }
  }
}

TEST(LoadChart, SlewingLimitsOnlyOnASlope) {
  LiftingMachine m = balance::sample::loader();
  EXPECT_EQ(load_chart(m, even_axes(m, 9, 12, 0, 2 * kPi)).governed_by(Limit::slew), 0U);
  m.slope = {0.2, kPi / 2};
  EXPECT_GT(load_chart(m, even_axes(m, 9, 12, 0, 2 * kPi)).governed_by(Limit::slew), 0U);
}

TEST(LoadChart, SameBytesForAnyThreadCount) {
  LiftingMachine m = balance::sample::loader();
  m.slope = {0.05, 0.4};
  const ChartAxes axes = even_axes(m, 8, 9, 0, 2 * kPi);
  const auto one = load_chart(m, axes, {}, 1);
  for (const int jobs : {2, 3, 7}) EXPECT_TRUE(same_bytes(one.cells, load_chart(m, axes, {}, jobs).cells)) << jobs;
  // Neither does a cell depend on its neighbours.
  ChartAxes few{{axes.radius_mm[5]}, {axes.slew_rad[4]}};
  const auto alone = load_chart(m, few);
  for (std::size_t s = 0; s < 3; ++s) {
    for (std::size_t p = 0; p < 5; ++p) EXPECT_TRUE(same_bytes({one.at(s, p, 4, 5)}, {alone.at(s, p, 0, 0)}));
  }
}

TEST(LoadChart, ConfidenceIsALowerBoundOfDrawnMachines) {
  // Second route: draw masses and centres, hang the rated load, look whether it stands. Rigid and stiff, tipping only.
  LiftingMachine m = balance::sample::loader(1);
  m.joint_limits.clear();
  m.payload_limits.clear();
  m.states = {balance::sample::on_tracks()};
  m.states[0].tipping_share = 0.97;
  for (auto& b : m.bodies) {
    b.give = {};
    b.weighed.mass_sd_g *= 0.5;
  }
  const balance::LiftOptions options{.sagged = false, .drive_share = 0.87};
  for (const double slew : {0.0, 0.9, kPi / 2}) {
    Lifter lifter(m, options);
    const auto d = lifter.detail(0, 0, slew, 260);
    ASSERT_TRUE(d.cell.reached && std::isfinite(d.cell.tipping_n));
    constexpr std::uint64_t kDraws = 4000;
    int stood = 0;
    const auto hull = balance::tipping_polygon(m.states[0]);
    for (std::uint64_t k = 0; k < kDraws; ++k) {
      std::vector<balance::Body> bodies;
      for (std::size_t i = 0; i < m.bodies.size(); ++i) {
        const auto& w = m.bodies[i].weighed;
        balance::Body b = w.body;
        b.angle_rad = d.joint[i];
        b.mass_g += w.mass_sd_g * normal(10 * i, k);
        b.centre =
            b.centre + Vec3{w.centre_sd_mm.x_mm * normal(10 * i + 1, k), w.centre_sd_mm.y_mm * normal(10 * i + 2, k),
                            w.centre_sd_mm.z_mm * normal(10 * i + 3, k)};
        bodies.push_back(b);
      }
      const auto own = balance::total_mass(bodies);
      stood += tipping_load(hull, balance::weight_n(own.mass_g), own.at, d.hook).load_n >= d.cell.rated_n;
    }
    const double share = stood / static_cast<double>(kDraws);
    EXPECT_GT(share, 0.6);
    EXPECT_LT(share, 0.999);
    EXPECT_NEAR(d.cell.confidence, share, 0.025) << slew;  // 4000 draws: 0.8 % deviation
  }
}

TEST(LoadChart, ReachFindsTheRaisedBoomAndTheLimitsOfTheReach) {
  LiftingMachine m = balance::sample::loader();
  Lifter lifter(m, {});
  for (int p = 0; p < 5; ++p) {
    const auto [low, high] = lifter.radius_range_mm(p);
    EXPECT_FALSE(lifter.reach(p, low - 0.1).reached);
    EXPECT_FALSE(lifter.reach(p, high + 0.1).reached);
    for (double r = low; r <= high; r += (high - low) / 7) {
      const auto at = lifter.reach(p, r);
      ASSERT_TRUE(at.reached) << p << " " << r;
      // Second route: pose the tree.
      std::vector<balance::Body> bodies;
      for (std::size_t i = 0; i < m.bodies.size(); ++i) {
        bodies.push_back(m.bodies[i].weighed.body);
        bodies[i].angle_rad = m.postures[static_cast<std::size_t>(p)].joint[i];
      }
      const auto hook = [&](double luff) {
        bodies[2].angle_rad = luff;
        return balance::poses(bodies)[3].apply(m.hook);
      };
      const auto off = [&](double luff) { return std::hypot(hook(luff).x_mm - 10, hook(luff).y_mm) - r; };
      EXPECT_NEAR(off(at.luff_rad), 0, 1e-6);
      for (double q = m.luff_low_rad; q + 0.01 < m.luff_high_rad; q += 0.01) {
        if ((off(q) < 0) == (off(q + 0.01) < 0)) continue;
        EXPECT_LT(hook(q).z_mm, hook(at.luff_rad).z_mm + 5);  // no other one higher than a step of the search
      }
    }
  }
}

TEST(LoadChart, BetweenCellsTheLeastNeighbourCounts) {
  const LiftingMachine m = balance::sample::loader(1);
  const auto chart = load_chart(m, even_axes(m, 10, 12, 0, 2 * kPi));
  const auto& r = chart.axes.radius_mm;
  EXPECT_EQ(between(chart, 1, 0, chart.axes.slew_rad[3], r[4]).rated_n, chart.at(1, 0, 3, 4).rated_n);
  const auto middle = between(chart, 1, 0, 11.5 * kPi / 6, 0.5 * (r[4] + r[5]));
  EXPECT_EQ(middle.rated_n, std::min(std::min(chart.at(1, 0, 11, 4).rated_n, chart.at(1, 0, 0, 4).rated_n),
                                     std::min(chart.at(1, 0, 11, 5).rated_n, chart.at(1, 0, 0, 5).rated_n)));
  EXPECT_FALSE(between(chart, 1, 0, 0, r.back() + 1).reached);
  EXPECT_LE(middle.least_height_mm, middle.most_height_mm);
  EXPECT_LE(chart.rated_all_round_n(1, 0, 4), chart.at(1, 0, 2, 4).rated_n);
}

TEST(LoadChart, VerySoftMachinesSaySo) {
  LiftingMachine m = springy(5e-4);
  const LiftCell c = load_chart(m, {{400 * std::cos(0.2)}, {0}}).cells[0];
  EXPECT_EQ(c.governs, Limit::sag);
  EXPECT_GE(c.greatest_n, 0);
  EXPECT_LT(c.greatest_n, balance::weight_n(3000) * 150 / 250);
}

TEST(LoadChart, FaultsNameThePart) {
  LiftingMachine m = balance::sample::loader();
  EXPECT_EQ(fault_of(m), "");
  m.joint_limits[1].holds = {{0, 0}, {1, 1}};
  EXPECT_NE(fault_of(m).find("stick screw"), std::string::npos);
  EXPECT_THROW(Lifter(m, {}), base::InternalFault);
  m = balance::sample::loader();
  m.postures[2].joint.pop_back();
  EXPECT_NE(fault_of(m).find("stick folded 2"), std::string::npos);
  m = balance::sample::loader();
  m.states[0].supports[2].stiffness_n_per_mm = 0;
  EXPECT_NE(fault_of(m).find("rear left"), std::string::npos);
}
