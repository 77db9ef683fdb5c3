// Covers the fast sweep: every position and effort against the general engine, on textbook and random mechanisms, past
// bends, and where it stops.
#include "linkage/sweep_kernel.h"

#include <gtest/gtest.h>

#include <cmath>

#include "linkage/fixture.h"

using namespace linkage;
using fixture::kDeg;

namespace {

/// Sweeps with both engines and compares all they give; returns the kernel's evaluations per position.
double expect_same(const Loops& loops, const Position& start, double to, int steps, std::span<const Load> loads) {
  const std::size_t n = static_cast<std::size_t>(loops.unknowns());
  std::vector<double> effort(static_cast<std::size_t>(steps) + 1), free(effort.size() * n);
  SweepKernel kernel(loops, 0, loads);
  const auto fast = kernel.run(start, to, steps, effort, free);
  const Sweep slow = sweep(loops, start, 0, to, steps);
  EXPECT_EQ(fast.arrives, slow.arrives);
  EXPECT_EQ(static_cast<std::size_t>(fast.closed), slow.positions.size());
  if (!slow.arrives) {
    EXPECT_NEAR(fast.stop_value, slow.stop_value, 1e-8);
  }
  for (std::size_t k = 0; k < slow.positions.size() && k < static_cast<std::size_t>(fast.closed); ++k) {
    const double exact = virtual_work(loops, slow.positions[k], loads)[0];
    // Near the dead point at the end of a sweep the effort grows without bound, and the error with it.
    EXPECT_NEAR(effort[k], exact, 1e-7 * (1 + std::fabs(exact)) * (1 + 1e-4 * std::fabs(exact))) << k;
    for (std::size_t i = 0; i < n; ++i) {
      EXPECT_NEAR(std::remainder(free[k * n + i] - slow.positions[k].free[i],
                                 loops.is_travel(static_cast<int>(i)) ? 1e300 : 2 * std::numbers::pi),
                  0, 1e-9 * loops.size_mm())
          << k;
    }
  }
  return static_cast<double>(fast.evaluations) / fast.closed;
}

}  // namespace

TEST(SweepKernel, SixBarOfOneGroupIsThatOfTheGeneralEngine) {
  const Loops loops(fixture::stephenson());
  const auto loads = fixture::stephenson_loads();
  const double effort = expect_same(loops, {{0, 0, 0, 0}, {0.0}}, 17 * kDeg, 64, loads);
  EXPECT_LT(effort, 1.5);
  expect_same(loops, {{0, 0, 0, 0}, {0.0}}, -17 * kDeg, 7, loads);
  expect_same(loops, {{0, 0, 0, 0}, {0.0}}, 90 * kDeg, 200, loads);
  expect_same(loops, {{0, 0, 0, 0}, {0.0}}, -90 * kDeg, 10, loads);
}

TEST(SweepKernel, FourBarAllRound) {
  const Loops loops(fixture::four_bar());
  const double input[] = {0.5};
  const std::vector<Load> loads = {{3, {80, 5}, {2, -7}, 20}, {2, {50, 30}, {0, -3}, 0}};
  for (const Position& p : all_branches(loops, input).positions) {
    expect_same(loops, p, 0.5 + 2 * std::numbers::pi, 100, loads);
    expect_same(loops, p, 0.5 + 2 * std::numbers::pi, 9, loads);
  }
}

TEST(SweepKernel, StopsAtTheDeadPoint) {
  const Loops loops(fixture::four_bar(100, 50, 60, 70));
  const double input[] = {1.0};
  const std::vector<Load> loads = {{3, {70, 0}, {0, -5}, 0}};
  for (const Position& p : all_branches(loops, input).positions) expect_same(loops, p, 3, 50, loads);
}

TEST(SweepKernel, RandomMechanismsWithSlidersScrewsAndGears) {
  int done = 0;
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    const auto sample = fixture::random_mechanism(seed);
    const Loops loops(sample.mechanism);
    if (!SweepKernel::serves(loops)) continue;
    Position p = read(loops, sample.drawing);
    Solver solver(loops);
    ASSERT_TRUE(solver.close(p));
    if (solver.orientation(p) == 0) continue;
    ++done;
    expect_same(loops, p, p.input[0] + 0.05, 10, sample.loads);
  }
  EXPECT_GT(done, 150);
}
