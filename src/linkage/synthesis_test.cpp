// Covers the searches on the lattice: against brute force with the general engine, textbook and invented cases, the
// actuated search against the unpruned one, steering against the general engine, and what is said when nothing serves.
#include "linkage/synthesis.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

#include "linkage/actuated.h"
#include "linkage/fixture.h"
#include "linkage/four_bar.h"
#include "linkage/steering.h"

using namespace linkage;
using fixture::kDeg;

namespace {

/// A small invented kit: bars of 3, 5 and 6 holes.
std::vector<Bar> small_kit() {
  return {{3, 2, "bar 3"}, {5, 2, "bar 5"}, {6, 1, "bar 6"}};
}

FourBarTask leaf_task() {
  FourBarTask task;
  task.pitch_mm = 8;
  task.crank_pivots = {{0, 0}, {2, 1}};
  task.rocker_pivots = {{8, 0}, {9, 3}};
  task.bars = small_kit();
  task.swing_rad = 50 * kDeg;
  task.start_step_rad = 60 * kDeg;
  task.output_swing_rad = {40 * kDeg, 90 * kDeg};
  task.min_transmission_rad = 30 * kDeg;
  task.output_moment_nmm = {200, 50};
  task.max_torque_nmm = 260;
  task.keep = 1000;
  return task;
}

struct Brute {
  std::map<Unfit, std::int64_t> unfit;
  std::int64_t feasible = 0;
  std::set<std::tuple<int, int, int, int, int>> linkages;
  std::map<std::tuple<int, int, int, int, int>, double> transmission;
};

/// Every combination with the general engine: branches, a fine sweep, rates and angles from the bodies. Shares no code
/// with the search but the task.
Brute brute_force(const FourBarTask& task) {
  Brute out;
  constexpr int kFine = 40;
  const auto fits_stock = [&](std::vector<int> wanted) {
    // Exhaustive assignment of bars, not greedy.
    std::vector<int> left;
    for (const Bar& b : task.bars) left.push_back(b.pieces);
    const auto place = [&](auto&& self, std::size_t i) -> bool {
      if (i == wanted.size()) return true;
      for (std::size_t b = 0; b < left.size(); ++b) {
        if (left[b] == 0 || task.bars[b].holes - 1 < wanted[i]) continue;
        --left[b];
        const bool done = self(self, i + 1);
        ++left[b];
        if (done) return true;
      }
      return false;
    };
    return place(place, 0);
  };
  for (const auto crank_pivot : task.crank_pivots) {
    for (const auto rocker_pivot : task.rocker_pivots) {
      const Vec2 from = at_hole(crank_pivot, task.pitch_mm), to = at_hole(rocker_pivot, task.pitch_mm);
      for (int a = 1; a <= 5; ++a) {
        for (int b = 1; b <= 5; ++b) {
          for (int c = 1; c <= 5; ++c) {
            if (!fits_stock({a, b, c})) {
              out.unfit[Unfit::stock] += 2 * 6;
              continue;
            }
            Mechanism m;
            const int crank = m.add_body("crank"), coupler = m.add_body("coupler"), rocker = m.add_body("rocker");
            m.drive(m.add_pin(0, from, crank, {}));
            const int out_pivot = m.add_pin(0, to, rocker, {});
            const int crank_pin = m.add_pin(crank, {a * 8.0, 0}, coupler, {});
            const int rocker_pin = m.add_pin(coupler, {b * 8.0, 0}, rocker, {c * 8.0, 0});
            const Loops loops(m);
            for (int s = 0; s < 6; ++s) {
              const double start = s * 60 * kDeg;
              const double input[] = {start};
              const Branches all = all_branches(loops, input);
              if (all.positions.size() < 2) {
                out.unfit[Unfit::closes] += 2;
                continue;
              }
              bool closes = true;
              double worst = 90 * kDeg;
              std::vector<Sweep> ways;
              for (const Position& p : all.positions) {
                ways.push_back(sweep(loops, p, 0, start + task.swing_rad, kFine));
                closes = closes && ways.back().arrives;
                for (const Position& q : ways.back().positions) {
                  worst = std::min(worst, transmission_angle_rad(loops, q, crank_pin, rocker_pin, out_pivot));
                }
              }
              if (!closes) {
                out.unfit[Unfit::closes] += 2;
                continue;
              }
              if (worst < task.min_transmission_rad - 1e-7) {
                out.unfit[Unfit::transmission] += 2;
                continue;
              }
              for (const Sweep& way : ways) {
                double least = 1e9, most = -1e9;
                for (const Position& q : way.positions) {
                  const double rate = motion(loops, q, 0).bodies[3].turn;
                  least = std::min(least, rate);
                  most = std::max(most, rate);
                }
                if (least < -1e-9 && most > 1e-9) {
                  ++out.unfit[Unfit::turns_back];
                  continue;
                }
                const double begin = joint_value(loops, way.positions.front(), out_pivot);
                const double end = joint_value(loops, way.positions.back(), out_pivot);
                if (std::fabs(end - begin) < task.output_swing_rad.least) {
                  ++out.unfit[Unfit::swing_small];
                  continue;
                }
                if (std::fabs(end - begin) > task.output_swing_rad.most) {
                  ++out.unfit[Unfit::swing_large];
                  continue;
                }
                double torque = 0;
                const Sweep coarse = sweep(loops, way.positions.front(), 0, start + task.swing_rad, task.samples);
                for (const Position& q : coarse.positions) {
                  const double share = (joint_value(loops, q, out_pivot) - begin) / (end - begin);
                  const double moment =
                      task.output_moment_nmm[0] + share * (task.output_moment_nmm[1] - task.output_moment_nmm[0]);
                  const std::vector<Load> loads = {{3, {}, {}, moment}};
                  torque = std::max(torque, std::fabs(virtual_work(loops, q, loads)[0]));
                }
                if (torque > task.max_torque_nmm) {
                  ++out.unfit[Unfit::torque];
                  continue;
                }
                ++out.feasible;
                const auto d = rocker_pivot - crank_pivot;
                const std::tuple key{a, b, c, d.x_hp, d.z_hp};
                out.linkages.insert(key);
                auto [at, fresh] = out.transmission.try_emplace(key, worst);
                if (!fresh) at->second = std::max(at->second, worst);
              }
            }
          }
        }
      }
    }
  }
  return out;
}

}  // namespace

TEST(Bars, GreedyChoiceIsExact) {
  EXPECT_EQ(bars_for(small_kit(), std::vector<int>{2, 4, 5}), (std::vector<int>{0, 1, 2}));
  EXPECT_EQ(bars_for(small_kit(), std::vector<int>{1, 1, 1}), (std::vector<int>{0, 0, 1}));
  EXPECT_EQ(bars_for(small_kit(), std::vector<int>{5, 5}), std::nullopt);  // only one bar of 6 holes
  EXPECT_EQ(bars_for(small_kit(), std::vector<int>{6}), std::nullopt);
}

TEST(FourBarSearch, FindsExactlyWhatBruteForceFinds) {
  const FourBarTask task = leaf_task();
  const FourBars found = find_four_bars(task);
  const Brute brute = brute_force(task);
  EXPECT_TRUE(found.complete);
  EXPECT_EQ(found.examined, 4 * 125 * 2 * 6);
  EXPECT_GT(brute.feasible, 20);
  EXPECT_EQ(found.feasible, brute.feasible);
  std::map<Unfit, std::int64_t> unfit;
  std::int64_t sum = found.feasible;
  for (const Misfit& m : found.misfits) {
    unfit[m.reason] = m.count;
    sum += m.count;
  }
  EXPECT_EQ(sum, found.examined);
  // Travels that just touch a dead point (lattice lengths often do) close with a transmission angle of 0; the general
  // engine stops there. They fall either way.
  Brute expected = brute;
  for (auto* counts : {&unfit, &expected.unfit}) {
    (*counts)[Unfit::closes] += (*counts)[Unfit::transmission];
    counts->erase(Unfit::transmission);
  }
  EXPECT_EQ(unfit, expected.unfit);
  std::set<std::tuple<int, int, int, int, int>> linkages;
  for (const FourBarChoice& c : found.best) {
    const auto d = c.rocker_pivot - c.crank_pivot;
    const std::tuple key{c.crank_p, c.coupler_p, c.rocker_p, d.x_hp, d.z_hp};
    EXPECT_TRUE(linkages.insert(key).second);
    EXPECT_NEAR(c.transmission_rad, brute.transmission.at(key), 2e-3);
  }
  EXPECT_EQ(linkages, brute.linkages);
  EXPECT_EQ(found.linkages, static_cast<std::int64_t>(brute.linkages.size()));
  EXPECT_EQ(found.covered, "4 pivot offsets x 5^3 bar lengths x 2 closures x 6 start angles (every 60 deg)");
}

TEST(FourBarSearch, ReportsWhatTheBuiltMechanismDoes) {
  FourBarTask task = leaf_task();
  task.carrier = Carrier::coupler;
  task.points = {{4, 0}, {6, 2}};
  task.point_force = {0.5, -3};
  task.max_torque_nmm = 400;
  const FourBars found = find_four_bars(task);
  ASSERT_GT(found.best.size(), 10U);
  for (const FourBarChoice& c : found.best) {
    const auto [mechanism, start] = build(task, c);
    const Loops loops(mechanism);
    Solver solver(loops);
    Position p = start;
    ASSERT_TRUE(solver.close(p));
    const Sweep way = sweep(loops, p, 0, c.start_rad + task.swing_rad, task.samples);
    ASSERT_TRUE(way.arrives);
    const double begin = joint_value(loops, way.positions.front(), 1),
                 end = joint_value(loops, way.positions.back(), 1);
    EXPECT_NEAR(end - begin, c.output_swing_rad, 1e-9);
    const auto torques = crank_torques_nmm(task, c);
    double peak = 0, tilt = 0, left = 1e9, right = -1e9;
    std::vector<Vec2> places;
    const Vec2 point = at_hole(c.point, task.pitch_mm);
    for (std::size_t k = 0; k < way.positions.size(); ++k) {
      const double share = (joint_value(loops, way.positions[k], 1) - begin) / (end - begin);
      const std::vector<Load> loads = {{3, {}, {}, 200 - 150 * share}, {2, point, {0.5, -3}, 0}};
      const double torque = virtual_work(loops, way.positions[k], loads)[0];
      EXPECT_NEAR(torque, torques[k], 1e-6);
      peak = std::max(peak, std::fabs(torque));
      const auto at = poses(loops, way.positions[k]);
      places.push_back(at[2].world(point));
      tilt = std::max(tilt, std::fabs(at[2].angle_rad - poses(loops, p)[2].angle_rad));
      left = std::min(left, places.back().x_mm);
      right = std::max(right, places.back().x_mm);
    }
    EXPECT_NEAR(peak, c.torque_nmm, 1e-6);
    EXPECT_NEAR(tilt, c.tilt_rad, 1e-9);
    EXPECT_NEAR(places.back().z_mm - places.front().z_mm, c.rise_mm, 1e-9);
    EXPECT_NEAR(right - left, c.drift_mm, 1e-9);
  }
}

TEST(FourBarSearch, ParallelLiftIsAParallelogram) {
  // A platform that must not tilt at all: equal cranks, coupler as long as the ground link.
  FourBarTask task;
  task.pitch_mm = 8;
  task.crank_pivots = {{0, 0}};
  task.rocker_pivots = {{6, 0}, {6, 2}, {8, 0}};
  task.bars = {{4, 2, "bar 4"}, {7, 4, "bar 7"}};
  task.swing_rad = 80 * kDeg;
  task.start_step_rad = 10 * kDeg;
  task.min_transmission_rad = 20 * kDeg;
  task.carrier = Carrier::coupler;
  task.points = {{2, 0}};
  task.rise_mm = {25, 1000};
  task.max_tilt_rad = 1e-6;
  task.point_force = {0, -10};
  task.aim = FourBarTask::Aim::torque;
  const FourBars found = find_four_bars(task);
  ASSERT_FALSE(found.best.empty());
  for (const FourBarChoice& c : found.best) {
    EXPECT_EQ(c.crank_p, c.rocker_p);
    const auto d = c.rocker_pivot - c.crank_pivot;
    EXPECT_EQ(2 * c.coupler_p, d.x_hp);
    EXPECT_EQ(d.z_hp, 0);
    // Platform moves as the crank pin: torque = F x lever, rise = crank (sin end - sin start).
    const double crank = c.crank_p * 8.0;
    EXPECT_NEAR(c.rise_mm, crank * (std::sin(c.start_rad + task.swing_rad) - std::sin(c.start_rad)), 1e-6);
    EXPECT_LE(c.torque_nmm, 10 * crank + 1e-6);
  }
}

TEST(FourBarSearch, PathPassesTheWantedPlaces) {
  // Places taken from one linkage of the search's own kit: it must be found again, with no error.
  FourBarTask task;
  task.pitch_mm = 8;
  task.crank_pivots = {{0, 0}, {1, 0}};
  task.rocker_pivots = {{9, 0}, {10, 2}};
  task.bars = {{3, 1, "bar 3"}, {6, 2, "bar 6"}};
  task.swing_rad = 60 * kDeg;
  task.start_step_rad = 15 * kDeg;
  task.one_way = false;
  task.samples = 48;
  task.carrier = Carrier::coupler;
  task.points = {{6, 4}, {4, 0}, {10, 2}};
  FourBarChoice hidden;
  hidden.crank_pivot = {1, 0};
  hidden.rocker_pivot = {10, 2};
  hidden.crank_p = 2;
  hidden.coupler_p = 5;
  hidden.rocker_p = 4;
  hidden.start_rad = 30 * kDeg;
  const FourBar bar{4 * std::hypot(9, 2), 16, 40, 32};
  const double tilt = std::atan2(2, 9);
  for (const double crank : {30.0, 45.0, 60.0, 75.0, 90.0}) {
    const auto at = closure(bar, crank * kDeg - tilt, Closure::open);
    ASSERT_TRUE(at);
    const double angle = at->coupler_rad + tilt;
    task.path_mm.push_back({4 + 16 * std::cos(crank * kDeg) + 24 * std::cos(angle) - 16 * std::sin(angle),
                            16 * std::sin(crank * kDeg) + 24 * std::sin(angle) + 16 * std::cos(angle)});
  }
  task.path_tolerance_mm = 0.5;
  task.aim = FourBarTask::Aim::path;
  const FourBars found = find_four_bars(task);
  ASSERT_FALSE(found.best.empty());
  const FourBarChoice& c = found.best.front();
  EXPECT_LT(c.path_error_mm, 0.02);
  EXPECT_EQ(c.crank_pivot, hidden.crank_pivot);
  EXPECT_EQ(c.rocker_pivot, hidden.rocker_pivot);
  EXPECT_EQ(std::tuple(c.crank_p, c.coupler_p, c.rocker_p), std::tuple(2, 5, 4));
  EXPECT_EQ(c.point, (lattice::Point2{6, 4}));
  EXPECT_NEAR(c.start_rad, 30 * kDeg, 1e-12);
}

TEST(FourBarSearch, FullTurnsAreTheCrankRockersOfGrashof) {
  FourBarTask task;
  task.pitch_mm = 8;
  task.crank_pivots = {{0, 0}};
  task.rocker_pivots = {{10, 0}, {8, 3}};
  task.bars = {{8, 3, "bar 8"}};
  task.swing_rad = 2 * std::numbers::pi;
  task.one_way = false;
  task.min_transmission_rad = 1 * kDeg;
  task.keep = 10000;
  task.samples = 360;
  const FourBars found = find_four_bars(task);
  std::set<std::tuple<int, int, int, int>> got, expected;
  for (const FourBarChoice& c : found.best) {
    got.insert({c.crank_p, c.coupler_p, c.rocker_p, c.rocker_pivot.z_hp});
    const FourBar bar{4 * std::hypot(c.rocker_pivot.x_hp, c.rocker_pivot.z_hp), c.crank_p * 8.0, c.coupler_p * 8.0,
                      c.rocker_p * 8.0};
    EXPECT_NEAR(*least_transmission_angle_rad(bar), c.transmission_rad, 1e-9);
  }
  for (const auto pivot : task.rocker_pivots) {
    for (int a = 1; a <= 7; ++a) {
      for (int b = 1; b <= 7; ++b) {
        for (int c = 1; c <= 7; ++c) {
          const FourBar bar{4 * std::hypot(pivot.x_hp, pivot.z_hp), a * 8.0, b * 8.0, c * 8.0};
          const auto least = least_transmission_angle_rad(bar);
          if (least && *least >= 1 * kDeg) expected.insert({a, b, c, pivot.z_hp});
        }
      }
    }
  }
  EXPECT_GT(expected.size(), 20U);
  EXPECT_EQ(got, expected);
}

TEST(FourBarSearch, ThreadsAndStopsAreHonest) {
  const FourBarTask task = leaf_task();
  base::RunControl three;
  three.jobs = 3;
  const FourBars one = find_four_bars(task), other = find_four_bars(task, three);
  ASSERT_EQ(one.best.size(), other.best.size());
  for (std::size_t i = 0; i < one.best.size(); ++i) {
    EXPECT_EQ(one.best[i].start_rad, other.best[i].start_rad);
    EXPECT_EQ(one.best[i].crank_pivot, other.best[i].crank_pivot);
    EXPECT_EQ(one.best[i].torque_nmm, other.best[i].torque_nmm);
  }
  for (std::size_t i = 0; i < one.misfits.size(); ++i) EXPECT_EQ(text(one.misfits[i]), text(other.misfits[i]));
  std::atomic<bool> stop{true};
  base::RunControl stopped;
  stopped.stop = &stop;
  const FourBars none = find_four_bars(task, stopped);
  EXPECT_FALSE(none.complete);
  EXPECT_EQ(none.examined, 0);
  EXPECT_NE(none.covered.find("stopped before the end"), std::string::npos);
}

TEST(FourBarSearch, NothingServesIsToldInNumbers) {
  FourBarTask task = leaf_task();
  task.max_torque_nmm = 1;
  const FourBars found = find_four_bars(task);
  EXPECT_TRUE(found.best.empty());
  ASSERT_FALSE(found.misfits.empty());
  EXPECT_EQ(found.misfits.back().reason, Unfit::torque);
  EXPECT_EQ(text(found.misfits.back()).substr(0, 6), "takes ");
  task.bars = {{2, 1, "bar 2"}};
  const FourBars bare = find_four_bars(task);
  ASSERT_EQ(bare.misfits.size(), 1U);
  EXPECT_EQ(text(bare.misfits[0]), "the stock has no bars for links of 1, 1 and 1 pitches (48 of them)");
}

namespace {

/// A stabiliser leg: the rocker carries the foot, the actuator works on the crank's bellcrank.
ActuatedTask leg_task() {
  ActuatedTask task;
  task.linkage = leaf_task();
  task.linkage.max_torque_nmm = std::numeric_limits<double>::infinity();
  task.base_mounts = mounts_in({{-12, -6}, {-4, 2}}, 2);
  task.rod_mounts = mounts_in({{1, -3}, {5, 3}});
  task.actuators = {{"short", 36, 56}, {"long", 48, 80, 40}};
  task.min_lever_mm = 6;
  task.keep = 5;
  return task;
}

}  // namespace

TEST(ActuatedSearch, PruningLosesNothing) {
  ActuatedTask task = leg_task();
  const Actuated found = find_actuated(task);
  EXPECT_TRUE(found.complete);
  ASSERT_EQ(found.best.size(), 5U);
  EXPECT_GT(found.bounded, 0);
  EXPECT_EQ(found.placed + found.bounded, found.travels);
  task.keep = 100000;  // nothing can be bounded away then
  const Actuated all = find_actuated(task);
  EXPECT_EQ(all.bounded, 0);
  EXPECT_EQ(all.placed, all.travels);
  ASSERT_GE(all.best.size(), 5U);
  for (std::size_t i = 0; i < 5; ++i) {
    EXPECT_EQ(found.best[i].placement.peak_force_n, all.best[i].placement.peak_force_n);
    EXPECT_EQ(found.best[i].linkage.crank_p, all.best[i].linkage.crank_p);
  }
}

TEST(ActuatedSearch, ForceIsThatOfTheWholeMechanism) {
  // Second route: crank, coupler, rocker and actuator as one mechanism driven by the actuator's length.
  const ActuatedTask task = leg_task();
  const Actuated found = find_actuated(task);
  ASSERT_FALSE(found.best.empty());
  for (const ActuatedChoice& choice : found.best) {
    auto [m, start] = build(task.linkage, choice.linkage);
    m.inputs.clear();
    const Vec2 base = at_hole(choice.placement.base, 8), rod = at_hole(choice.placement.rod, 8);
    m.add_actuator(0, base, 1, rod);
    const Loops loops(m);
    const FourBarChoice& c = choice.linkage;
    const Vec2 pivot = at_hole(c.crank_pivot, 8);
    const auto mount = [&](double crank) {
      return Vec2{pivot.x_mm + std::cos(crank) * rod.x_mm - std::sin(crank) * rod.z_mm,
                  pivot.z_mm + std::sin(crank) * rod.x_mm + std::cos(crank) * rod.z_mm};
    };
    const auto bar = build(task.linkage, c);
    const Loops four(bar.mechanism);
    const auto drawing_of = [&](const Position& p) {
      auto drawing = poses(four, p);
      const Vec2 at = mount(p.input[0]);
      const double slope = std::atan2(at.z_mm - base.z_mm, at.x_mm - base.x_mm);
      drawing.push_back(drawn(base, slope));
      drawing.push_back(drawn(at, slope));
      return drawing;
    };
    const Sweep way = sweep(four, bar.start, 0, c.start_rad + task.linkage.swing_rad, task.linkage.samples);
    ASSERT_TRUE(way.arrives);
    double peak = 0;
    Statics statics(loops);
    Solver solver(loops);
    const double begin = joint_value(four, way.positions.front(), 1), end = joint_value(four, way.positions.back(), 1);
    for (const Position& q : way.positions) {
      Position p = read(loops, drawing_of(q));
      ASSERT_TRUE(solver.close(p));
      const double share = (joint_value(four, q, 1) - begin) / (end - begin);
      const std::vector<Load> loads = {{3, {}, {}, 200 - 150 * share}};
      peak = std::max(peak, std::fabs(statics.at_rest(p, loads).effort[0]));
    }
    EXPECT_NEAR(peak, choice.placement.peak_force_n, 1e-6 * peak);
  }
}

TEST(Steering, AckermannAngle) {
  // cot(outer) - cot(inner) = w/wheelbase: w = 120, wheelbase 200 mm, inner 30 deg: cot(outer) = 1.7321 + 0.6.
  EXPECT_NEAR(ackermann_outer_rad(30 * kDeg, 120, 200) / kDeg, std::atan(1 / (std::sqrt(3.0) + 0.6)) / kDeg, 1e-12);
  EXPECT_NEAR(ackermann_outer_rad(1e-9, 120, 200), 1e-9, 1e-15);
}

TEST(Steering, TrapezoidIsTheFourBarOfTheGeneralEngine) {
  for (const Trapezoid& t : {Trapezoid{120, 8, 24}, {96, -12, -28}, {120, -8, -24}, {120, 0, 32}}) {
    Mechanism m;
    const int left = m.add_body("left wheel"), right = m.add_body("right wheel"), rod = m.add_body("rod");
    m.drive(m.add_pin(0, {}, left, {}));
    m.add_pin(0, {t.kingpins_mm, 0}, right, {});
    m.add_pin(left, {t.in_mm, -t.back_mm}, rod, {t.in_mm, -t.back_mm});
    m.add_pin(right, {-t.in_mm, -t.back_mm}, rod, {t.kingpins_mm - t.in_mm, -t.back_mm});
    const Loops loops(m);
    const Position straight{{0, 0}, {0.0}};
    const Sweep turn = sweep(loops, straight, 0, 35 * kDeg, 7);
    ASSERT_TRUE(turn.arrives);
    for (std::size_t k = 0; k < turn.value.size(); ++k) {
      const auto outer = outer_angle_rad(t, turn.value[k]);
      ASSERT_TRUE(outer);
      EXPECT_NEAR(*outer, joint_value(loops, turn.positions[k], 1), 1e-9);
      const Position& p = turn.positions[k];
      const double outer_end = linkage::transmission_angle_rad(loops, p, 2, 3, 1);
      const double inner_end = linkage::transmission_angle_rad(loops, p, 3, 2, 0);
      EXPECT_NEAR(*transmission_angle_rad(t, turn.value[k]), std::min(outer_end, inner_end), 1e-9);
    }
  }
}

TEST(Steering, BestArmsAreTheLeastErrorOfAll) {
  SteeringTask task;
  task.pitch_mm = 8;
  task.kingpins_hp = 26;
  task.wheelbase_mm = 160;
  task.inner_rad = 35 * kDeg;
  task.arms = mounts_in({{-4, -8}, {4, 8}});
  task.bars = {{11, 1, "bar 11"}, {13, 1, "bar 13"}, {15, 1, "bar 15"}};
  task.min_transmission_rad = 30 * kDeg;
  task.max_error_rad = 3 * kDeg;
  task.keep = 1000;
  const Steerings found = find_steering(task);
  ASSERT_FALSE(found.best.empty());
  EXPECT_EQ(found.examined, 9 * 17);
  std::int64_t sum = found.feasible;
  for (const auto& m : found.misfits) sum += m.count;
  EXPECT_EQ(sum, found.examined);
  // Brute force over the same arms, no rejection but the error and the branch.
  double least = 1e9;
  for (const auto arm : task.arms) {
    const int rod = task.kingpins_hp - 2 * arm.x_hp;
    if (rod % 2 != 0 || rod / 2 > 14 || arm == lattice::Point2{}) continue;
    const Trapezoid t{104, 4.0 * arm.x_hp, 4.0 * arm.z_hp};
    double worst = 0;
    bool good = true;
    for (int k = 1; k <= 32 && good; ++k) {
      const double inner = task.inner_rad * k / 32;
      const auto outer = outer_angle_rad(t, inner);
      good = outer && *transmission_angle_rad(t, inner) >= 30 * kDeg && std::fabs(*outer) < 90 * kDeg;
      if (good) worst = std::max(worst, std::fabs(*outer - ackermann_outer_rad(inner, 104, 160)));
    }
    if (good) least = std::min(least, worst);
  }
  EXPECT_NEAR(found.best.front().error_rad, least, 1e-12);
  // Common practice, no source: arms behind the axle lean inwards, arms ahead of it outwards.
  for (const SteeringChoice& c : found.best) {
    if (c.error_rad > 1.5 * kDeg) continue;
    EXPECT_GE(c.arm.x_hp * c.arm.z_hp, 0) << c.arm.x_hp << " " << c.arm.z_hp;
  }
}
