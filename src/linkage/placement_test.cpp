// Covers the placement search: against a naive search that sweeps every angle with the triangle itself, its rejections,
// and that threads and the order of work change nothing.
#include "linkage/placement.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <numbers>
#include <set>
#include <tuple>

#include "base/check.h"
#include "base/triple.h"

using lattice::Box2;
using lattice::Point2;
using linkage::Placement;
using linkage::PlacementTask;
using linkage::Reason;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

/// An invented boom: pivot over the base, load moment falling with the cosine, a second case of the other sign.
PlacementTask boom_task() {
  PlacementTask task;
  task.pitch_mm = 8;
  task.pivot_base = {2, 14};
  task.pivot_body = {0, 0};
  task.base_mounts = linkage::mounts_in({{-6, 0}, {16, 10}});
  task.rod_mounts = linkage::mounts_in({{2, -3}, {30, 4}});
  task.actuators = {{"short", 88, 128, 1e9}, {"long", 112, 176, 1e9}};
  task.low_rad = -10 * kDeg;
  task.high_rad = 62 * kDeg;
  task.min_lever_mm = 12;
  linkage::MomentCase loaded{"loaded", {}}, wind{"from behind", {}};
  for (int k = 0; k < 25; ++k) {
    const double angle = task.low_rad + k * (task.high_rad - task.low_rad) / 24;
    loaded.moment_nmm.push_back(3000 * std::cos(angle) + 200);
    wind.moment_nmm.push_back(-900 * std::sin(angle + 0.4) * (k > 18 ? 4 : 1));
  }
  task.cases = {loaded, wind};
  return task;
}

struct Naive {
  std::vector<std::vector<Placement>> fronts;
  std::vector<std::int64_t> feasible;
  std::map<std::pair<Reason, int>, std::int64_t> counts;
  std::map<std::pair<Reason, int>, double> nearest;
  std::int64_t other_side = 0;
};

/// Sweeps `fine` angles of every pair with pose(); shares nothing with the search but the triangle.
Naive naive_search(const PlacementTask& task, int fine) {
  Naive out;
  const auto actuators = task.actuators.size();
  out.feasible.assign(actuators, 0);
  std::vector<std::vector<Placement>> all(actuators);
  const auto miss = [&](Reason reason, int actuator, double shortfall, std::int64_t count) {
    out.counts[{reason, actuator}] += count;
    auto [at, fresh] = out.nearest.try_emplace({reason, actuator}, shortfall);
    if (!fresh) at->second = std::min(at->second, shortfall);
  };
  const int angles = static_cast<int>(task.cases.front().moment_nmm.size());
  for (const Point2 base : task.base_mounts) {
    for (const Point2 rod : task.rod_mounts) {
      const auto triangle = linkage::triangle_of(task, base, rod);
      double least = 1e9, most = 0, lever_least = 1e9, lever_low = 1e9, lever_high = -1e9, previous = 0;
      bool crossed = false;
      for (int i = 0; i <= fine; ++i) {
        const auto at = pose(triangle, task.low_rad + i * (task.high_rad - task.low_rad) / fine);
        least = std::min(least, at.length_mm);
        most = std::max(most, at.length_mm);
        lever_least = std::min(lever_least, std::fabs(at.lever_mm));
        lever_low = std::min(lever_low, at.lever_mm);
        lever_high = std::max(lever_high, at.lever_mm);
        if (i > 0 && (at.lever_mm > 0) != (previous > 0)) crossed = true;
        previous = at.lever_mm;
      }
      const bool dead = crossed || lever_least < 1e-9;
      if (dead) {
        miss(Reason::dead_centre, -1, 0, static_cast<std::int64_t>(actuators));
        continue;
      }
      if (task.side != linkage::Side::either && (lever_low > 0) != (task.side == linkage::Side::below)) {
        out.other_side += static_cast<std::int64_t>(actuators);
        continue;
      }
      if (lever_least < task.min_lever_mm - 1e-6) {
        miss(Reason::lever, -1, task.min_lever_mm - lever_least, static_cast<std::int64_t>(actuators));
        continue;
      }
      double force = 0;
      for (int k = 0; k < angles; ++k) {
        const auto at = pose(triangle, task.low_rad + k * (task.high_rad - task.low_rad) / (angles - 1));
        for (const auto& c : task.cases) {
          force = std::max(force, std::fabs(actuator_force_n(at, c.moment_nmm[static_cast<std::size_t>(k)])));
        }
      }
      for (std::size_t a = 0; a < actuators; ++a) {
        const auto& type = task.actuators[a];
        const bool too_long = least<type.closed_mm - 1e-6, too_short = most> type.open_mm + 1e-6;
        const int index = static_cast<int>(a);
        if (too_long && too_short) {
          miss(Reason::stroke, index, most - least - (type.open_mm - type.closed_mm), 1);
        } else if (too_long) {
          miss(Reason::too_long, index, type.closed_mm - least, 1);
        } else if (too_short) {
          miss(Reason::too_short, index, most - type.open_mm, 1);
        } else if (force > type.max_force_n) {
          miss(Reason::force, index, force - type.max_force_n, 1);
        } else {
          ++out.feasible[a];
          Placement p;
          p.base = base;
          p.rod = rod;
          p.peak_force_n = force;
          p.stroke_mm = most - least;
          p.min_lever_mm = lever_least;
          all[a].push_back(p);
        }
      }
    }
  }
  constexpr double kTie = 1e-7;
  for (const auto& list : all) {
    auto& front = out.fronts.emplace_back();
    for (const Placement& p : list) {
      const bool beaten = std::any_of(list.begin(), list.end(), [&](const Placement& q) {
        return q.peak_force_n <= p.peak_force_n + kTie && q.stroke_mm <= p.stroke_mm + kTie &&
               (q.peak_force_n < p.peak_force_n - kTie || q.stroke_mm < p.stroke_mm - kTie);
      });
      if (!beaten) front.push_back(p);
    }
  }
  return out;
}

void expect_same(const linkage::PlacementResult& found, const Naive& naive) {
  ASSERT_EQ(found.feasible, naive.feasible);
  for (std::size_t a = 0; a < naive.fronts.size(); ++a) {
    // The naive front keeps ties; compare the distinct (force, stroke) values.
    std::set<std::pair<long long, long long>> expected, got;
    const auto key = [](const Placement& p) {
      return std::pair{std::llround(p.peak_force_n * 1e5), std::llround(p.stroke_mm * 1e5)};
    };
    for (const Placement& p : naive.fronts[a]) expected.insert(key(p));
    for (const Placement& p : found.fronts[a]) got.insert(key(p));
    EXPECT_EQ(expected, got) << a;
    for (const Placement& p : found.fronts[a]) {
      const bool there = std::any_of(naive.fronts[a].begin(), naive.fronts[a].end(), [&](const Placement& q) {
        return q.base == p.base && q.rod == p.rod && std::fabs(q.min_lever_mm - p.min_lever_mm) < 1e-9;
      });
      EXPECT_TRUE(there) << p.base.x_hp << "," << p.base.z_hp << " " << p.rod.x_hp << "," << p.rod.z_hp;
    }
  }
  std::map<std::pair<Reason, int>, std::int64_t> counts;
  for (const auto& m : found.misses) {
    counts[{m.reason, m.actuator}] = m.count;
    if (m.reason != Reason::dead_centre) {
      EXPECT_NEAR(m.shortfall, naive.nearest.at({m.reason, m.actuator}), 1e-6) << code_of(m.reason);
    }
  }
  EXPECT_EQ(counts, naive.counts);
  EXPECT_EQ(found.other_side, naive.other_side);
}

}  // namespace

TEST(Placement, FindsExactlyWhatTheNaiveSweepFinds) {
  const PlacementTask task = boom_task();
  const auto found = place_actuators(task);
  EXPECT_GT(found.feasible[0] + found.feasible[1], 100);
  EXPECT_EQ(found.examined, static_cast<std::int64_t>(task.base_mounts.size() * task.rod_mounts.size() * 2));
  expect_same(found, naive_search(task, 100));
}

TEST(Placement, FindsExactlyWhatTheNaiveSweepFindsInManyTasks) {
  for (std::uint64_t k = 0; k < 12; ++k) {
    const auto draw = [&](std::uint64_t stream) { return base::uniform_draw(11, stream, k); };
    PlacementTask task = boom_task();
    task.base_mounts = linkage::mounts_in({{-4, -2}, {10, 8}}, 1 + static_cast<int>(k % 2));
    task.rod_mounts = linkage::mounts_in({{-8, -4}, {18, 3}}, 1 + static_cast<int>(k / 2 % 2));
    task.low_rad = -1.2 + draw(0);
    task.high_rad = task.low_rad + 0.2 + 1.8 * draw(1);
    task.min_lever_mm = 20 * draw(2);
    task.actuators = {{"a", 60 + 30 * draw(3), 100 + 40 * draw(4), 60 + 200 * draw(5)}, {"b", 40, 150, 120}};
    expect_same(place_actuators(task), naive_search(task, 100));
  }
}

TEST(Placement, OneSideOnlyIsTheNaiveSweepOfThatSide) {
  for (const linkage::Side side : {linkage::Side::below, linkage::Side::above}) {
    PlacementTask task = boom_task();
    task.base_mounts = linkage::mounts_in({{-12, 0}, {10, 26}}, 2);
    task.rod_mounts = linkage::mounts_in({{-6, -4}, {20, 6}}, 2);
    task.actuators = {{"a", 88, 128, 300}, {"b", 60, 150, 1e9}};
    task.side = side;
    const auto found = place_actuators(task);
    EXPECT_GT(found.feasible[1], 0);
    EXPECT_GT(found.other_side, 0);
    expect_same(found, naive_search(task, 100));
    for (const Placement& p : found.fronts[1]) {
      // Cross product of the mounts, low angle: which side of the pivot the line passes.
      const auto triangle = triangle_of(task, p.base, p.rod);
      EXPECT_EQ(pose(triangle, task.low_rad).lever_mm > 0, side == linkage::Side::below);
    }
    // Too many actuators for the lanes: the same in double alone.
    PlacementTask all_double = task;
    for (int i = 0; i < 20; ++i) all_double.actuators.push_back({"spare", 500, 600});
    const auto slow = place_actuators(all_double);
    EXPECT_EQ(slow.other_side / 22, found.other_side / 2);
    EXPECT_EQ(slow.feasible[0], found.feasible[0]);
  }
}

TEST(Placement, SinglePrecisionChangesNothing) {
  // Lists longer than the lanes take go through double alone: the same answers, bit for bit, for the actuators they
  // share.
  for (std::uint64_t k = 0; k < 8; ++k) {
    const auto draw = [&](std::uint64_t stream) { return base::uniform_draw(12, stream, k); };
    PlacementTask task = boom_task();
    task.pitch_mm = k % 2 == 0 ? 8 : 7.3 + draw(0);
    task.min_lever_mm = k % 3 == 0 ? 0 : 15 * draw(1);
    task.low_rad = -0.5 + draw(2);
    task.high_rad = task.low_rad + 0.3 + draw(3);
    // Limits that many lattice distances meet exactly.
    task.actuators = {{"a", 80, 120, 300}, {"b", 8 * std::sqrt(37.0), 160, 90 + 200 * draw(4)}};
    PlacementTask all_double = task;
    for (int i = 0; i < 20; ++i) all_double.actuators.push_back({"spare", 500, 600});
    const auto fast = place_actuators(task), slow = place_actuators(all_double);
    for (std::size_t a = 0; a < 2; ++a) {
      EXPECT_EQ(fast.feasible[a], slow.feasible[a]);
      ASSERT_EQ(fast.fronts[a].size(), slow.fronts[a].size());
      for (std::size_t i = 0; i < fast.fronts[a].size(); ++i) {
        const Placement &p = fast.fronts[a][i], &q = slow.fronts[a][i];
        EXPECT_TRUE(p.base == q.base && p.rod == q.rod && p.peak_force_n == q.peak_force_n &&
                    p.peak_angle_rad == q.peak_angle_rad);
      }
    }
    for (const auto& m : fast.misses) {
      const auto same = std::find_if(slow.misses.begin(), slow.misses.end(), [&](const auto& other) {
        return other.reason == m.reason && other.actuator == m.actuator;
      });
      ASSERT_NE(same, slow.misses.end());
      if (m.actuator >= 0) {
        EXPECT_EQ(m.count, same->count) << code_of(m.reason);
      }
      EXPECT_EQ(m.shortfall, same->shortfall) << code_of(m.reason);
      EXPECT_TRUE(m.base == same->base && m.rod == same->rod) << code_of(m.reason);
    }
  }
}

TEST(Placement, ThreadsDoNotChangeTheAnswer) {
  base::RunControl two;
  two.jobs = 3;
  const auto one = place_actuators(boom_task()), other = place_actuators(boom_task(), two);
  ASSERT_EQ(one.fronts.size(), other.fronts.size());
  for (std::size_t a = 0; a < one.fronts.size(); ++a) {
    ASSERT_EQ(one.fronts[a].size(), other.fronts[a].size());
    for (std::size_t i = 0; i < one.fronts[a].size(); ++i) {
      EXPECT_EQ(one.fronts[a][i].base, other.fronts[a][i].base);
      EXPECT_EQ(one.fronts[a][i].rod, other.fronts[a][i].rod);
      EXPECT_EQ(one.fronts[a][i].peak_force_n, other.fronts[a][i].peak_force_n);
    }
  }
  ASSERT_EQ(one.misses.size(), other.misses.size());
  for (std::size_t i = 0; i < one.misses.size(); ++i) {
    EXPECT_EQ(one.misses[i].count, other.misses[i].count);
    EXPECT_EQ(text(boom_task(), one.misses[i]), text(boom_task(), other.misses[i]));
  }
}

TEST(Placement, OfMirrorImagesTheFirstStaysWhicheverThreadFoundIt) {
  // Everything is its own mirror image, so every placement and every miss comes twice, far apart in the list.
  PlacementTask task;
  task.pitch_mm = 8;
  task.pivot_base = {0, 0};
  task.base_mounts = linkage::mounts_in({{-20, -20}, {20, -2}});
  task.rod_mounts = linkage::mounts_in({{-20, -12}, {20, 4}});
  task.actuators = {{"short", 72, 104, 150}, {"long", 104, 160, 150}};
  task.low_rad = -25 * kDeg;
  task.high_rad = 25 * kDeg;
  task.min_lever_mm = 12;
  linkage::MomentCase load{"load", {}};
  for (int k = 0; k <= 16; ++k) load.moment_nmm.push_back(2000 + 20 * (k - 8) * (k - 8));
  task.cases = {load};
  const auto one = place_actuators(task);
  ASSERT_GT(one.fronts[0].size(), 3U);
  for (const auto& front : one.fronts) {
    for (const Placement& p : front) EXPECT_LT(p.base.x_hp, 0) << "its image comes later";
  }
  for (int run = 0; run < 8; ++run) {
    base::RunControl control;
    control.jobs = 2 + run % 3;
    const auto other = place_actuators(task, control);
    EXPECT_EQ(one.feasible, other.feasible);
    for (std::size_t a = 0; a < one.fronts.size(); ++a) {
      ASSERT_EQ(one.fronts[a].size(), other.fronts[a].size());
      for (std::size_t i = 0; i < one.fronts[a].size(); ++i) {
        EXPECT_EQ(one.fronts[a][i].base, other.fronts[a][i].base);
        EXPECT_EQ(one.fronts[a][i].rod, other.fronts[a][i].rod);
      }
    }
    ASSERT_EQ(one.misses.size(), other.misses.size());
    for (std::size_t i = 0; i < one.misses.size(); ++i) {
      EXPECT_EQ(one.misses[i].count, other.misses[i].count);
      EXPECT_TRUE(one.misses[i].base == other.misses[i].base && one.misses[i].rod == other.misses[i].rod)
          << linkage::code_of(one.misses[i].reason);
    }
  }
}

TEST(Placement, MirroringTheMechanismMirrorsTheAnswer) {
  PlacementTask task = boom_task();
  PlacementTask mirror = task;
  for (Point2& p : mirror.base_mounts) p.x_hp = -p.x_hp;
  for (Point2& p : mirror.rod_mounts) p.x_hp = -p.x_hp;
  mirror.pivot_base.x_hp = -task.pivot_base.x_hp;
  mirror.low_rad = -task.high_rad;
  mirror.high_rad = -task.low_rad;
  for (auto& c : mirror.cases) {
    std::reverse(c.moment_nmm.begin(), c.moment_nmm.end());
    for (double& m : c.moment_nmm) m = -m;
  }
  const auto here = place_actuators(task), there = place_actuators(mirror);
  EXPECT_EQ(here.feasible, there.feasible);
  for (std::size_t a = 0; a < here.fronts.size(); ++a) {
    ASSERT_EQ(here.fronts[a].size(), there.fronts[a].size());
    for (std::size_t i = 0; i < here.fronts[a].size(); ++i) {
      EXPECT_NEAR(here.fronts[a][i].peak_force_n, there.fronts[a][i].peak_force_n, 1e-6);
      EXPECT_NEAR(here.fronts[a][i].peak_angle_rad, -there.fronts[a][i].peak_angle_rad, 1e-9);
      EXPECT_EQ(here.fronts[a][i].peak_pushes, there.fronts[a][i].peak_pushes);
    }
  }
}

TEST(Placement, ReportsWhatItsTriangleShows) {
  const PlacementTask task = boom_task();
  const auto result = place_actuators(task);
  for (const auto& front : result.fronts) {
    for (std::size_t i = 0; i < front.size(); ++i) {
      const Placement& p = front[i];
      if (i > 0) {
        EXPECT_GT(p.peak_force_n, front[i - 1].peak_force_n);
        EXPECT_LT(p.stroke_mm, front[i - 1].stroke_mm);
      }
      const auto triangle = linkage::triangle_of(task, p.base, p.rod);
      EXPECT_DOUBLE_EQ(p.length_low_mm, pose(triangle, task.low_rad).length_mm);
      EXPECT_DOUBLE_EQ(p.length_high_mm, pose(triangle, task.high_rad).length_mm);
      const auto k = std::lround((p.peak_angle_rad - task.low_rad) / (task.high_rad - task.low_rad) * 24);
      const double moment =
          task.cases[static_cast<std::size_t>(p.peak_case)].moment_nmm.at(static_cast<std::size_t>(k));
      const double force = actuator_force_n(pose(triangle, p.peak_angle_rad), moment);
      EXPECT_NEAR(std::fabs(force), p.peak_force_n, 1e-9);
      EXPECT_EQ(force > 0, p.peak_pushes);
    }
  }
}

TEST(Placement, AnExactFitCountsAsFitting) {
  // 3-4-5 triangle in pitches: exactly 40 mm at angle 0.
  PlacementTask task;
  task.pitch_mm = 8;
  task.pivot_base = task.pivot_body = {0, 0};
  task.base_mounts = {{0, -6}};
  task.rod_mounts = {{8, 0}};
  task.low_rad = 0;
  task.high_rad = 0.3;
  const double longest = pose(linkage::triangle_of(task, {0, -6}, {8, 0}), 0.3).length_mm;
  task.actuators = {{"exact", 40, longest}};
  task.cases = {{"load", {10, 10}}};
  EXPECT_EQ(place_actuators(task).feasible[0], 1);
  task.actuators = {{"thousandth", 40.001, longest}};
  const auto result = place_actuators(task);
  EXPECT_EQ(result.feasible[0], 0);
  ASSERT_EQ(result.misses.size(), 1U);
  EXPECT_NEAR(result.misses[0].shortfall, 0.001, 1e-9);
}

TEST(Placement, TellsTheNearestMissInNumbers) {
  PlacementTask task;
  task.pitch_mm = 8;
  task.pivot_base = task.pivot_body = {0, 0};
  task.base_mounts = {{0, -6}};
  task.rod_mounts = {{8, 0}};
  task.low_rad = 0;
  task.high_rad = 30 * kDeg;
  task.cases = {{"load", {10, 10}}};
  task.actuators = {{"small", 20, 30}, {"large", 60, 80}};
  auto result = place_actuators(task);
  ASSERT_EQ(result.misses.size(), 2U);
  // At 30 deg the lever is 24 32 sin 120/48.66 = 13.67 mm and the mounts stand sqrt(24^2 + 32^2 - 2 24 32 cos 120)
  // = 48.66 mm apart.
  EXPECT_EQ(text(task, result.misses[0]), "small is 18.7 mm too short at 30 deg");
  EXPECT_EQ(text(task, result.misses[1]), "large is 20 mm too long at 0 deg");

  task.actuators = {{"", 10, 80, 0.3}};
  result = place_actuators(task);
  ASSERT_EQ(result.misses.size(), 1U);
  EXPECT_EQ(result.misses[0].reason, Reason::force);
  EXPECT_EQ(text(task, result.misses[0]), "force reaches 0.732 N at 30 deg, 0.432 N more than actuator 1 stands");

  task.min_lever_mm = 18;
  result = place_actuators(task);
  EXPECT_EQ(text(task, result.misses[0]), "lever arm falls to 13.7 mm at 30 deg, 4.33 mm too little");

  task.high_rad = 100 * kDeg;
  result = place_actuators(task);
  EXPECT_EQ(text(task, result.misses[0]), "passes its dead centre at 90 deg, 10 deg inside the travel");
  task.high_rad = 200 * kDeg;
  EXPECT_EQ(text(task, place_actuators(task).misses[0]), "a travel of half a turn or more always passes a dead centre");
}

TEST(Placement, MountsOnThePivotAreNoTriangle) {
  PlacementTask task = boom_task();
  task.base_mounts = {task.pivot_base};
  const auto result = place_actuators(task);
  EXPECT_EQ(result.feasible, (std::vector<std::int64_t>{0, 0}));
  ASSERT_EQ(result.misses.size(), 1U);
  EXPECT_EQ(result.misses[0].reason, Reason::dead_centre);
}

TEST(Placement, NoMountsIsAnEmptyAnswer) {
  PlacementTask task = boom_task();
  task.rod_mounts.clear();
  const auto result = place_actuators(task);
  EXPECT_TRUE(result.complete);
  EXPECT_EQ(result.examined, 0);
  EXPECT_TRUE(result.misses.empty());
}

TEST(Placement, StopIsSaid) {
  std::atomic<bool> stop{true};
  base::RunControl control;
  control.stop = &stop;
  const auto result = place_actuators(boom_task(), control);
  EXPECT_FALSE(result.complete);
  EXPECT_EQ(result.base_mounts_done, 0);
}

TEST(Placement, KeepOutsAndStepsThinTheMounts) {
  EXPECT_EQ(linkage::mounts_in({{0, 0}, {4, 2}}).size(), 15U);
  EXPECT_EQ(linkage::mounts_in({{0, 0}, {4, 2}}, 2).size(), 6U);
  const std::vector<Box2> keep_out = {{{1, 0}, {2, 1}}};
  EXPECT_EQ(linkage::mounts_in({{0, 0}, {4, 2}}, 1, keep_out).size(), 11U);
  EXPECT_TRUE(linkage::mounts_in({{3, 0}, {2, 5}}).empty());
}

TEST(Placement, UnequalTablesAreOurFault) {
  PlacementTask task = boom_task();
  task.cases[1].moment_nmm.pop_back();
  EXPECT_THROW((void)place_actuators(task), base::InternalFault);
}
