// Planar mechanisms: an invented six-bar of Stephenson's third kind swept over 17 deg in 64 steps, (a) with the effort
// by virtual work in the sweep kernel, (b) with every joint reaction in the general engine; and every branch of it.
// Prints thread CPU time, the work done and a hash of the answer, so that faster but different is caught.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <ctime>

#include "linkage/fixture.h"
#include "linkage/sweep_kernel.h"
#include "linkage/synthesis.h"

namespace {

constexpr int kRuns = 7;
constexpr int kSteps = 64;
constexpr int kSweeps = 2000;
constexpr double kRange_rad = 17 * linkage::fixture::kDeg;

double cpu_s() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

/// FNV-1a over values in millionths.
struct Hash {
  std::uint64_t value = 14695981039346656037ULL;
  void add(double number) {
    const auto whole = static_cast<std::uint64_t>(std::llround(number * 1e6));
    for (int byte = 0; byte < 8; ++byte) value = (value ^ (whole >> (8 * byte) & 255U)) * 1099511628211ULL;
  }
};

template <class Work>
void scenario(const char* name, double positions, const Work& work) {
  double best_s = 1e9;
  std::uint64_t hash = 0;
  for (int run = 0; run < kRuns; ++run) {
    const double start_s = cpu_s();
    const Hash answer = work();
    best_s = std::min(best_s, cpu_s() - start_s);
    hash = answer.value;
  }
  fmt::print("{}: {:.0f} positions, cpu {:.2f} ms, {:.0f} positions/s, hash {:016x}\n", name, positions, best_s * 1e3,
             positions / best_s, hash);
}

}  // namespace

int main() {
  const linkage::Loops loops(linkage::fixture::stephenson());
  const auto loads = linkage::fixture::stephenson_loads();
  const linkage::Position start{{0, 0, 0, 0}, {0.0}};

  linkage::SweepKernel kernel(loops, 0, loads);
  std::int64_t evaluations = 0;
  scenario("six-bar, virtual work", kSweeps * (kSteps + 1.0), [&] {
    Hash hash;
    std::vector<double> effort(kSteps + 1);
    evaluations = 0;
    for (int s = 0; s < kSweeps; ++s) {
      const auto result = kernel.run(start, kRange_rad, kSteps, effort, {});
      evaluations += result.evaluations;
      if (s == 0) {
        for (const double e : effort) hash.add(e);
      }
    }
    return hash;
  });
  fmt::print("  {:.2f} evaluations per position\n", static_cast<double>(evaluations) / (kSweeps * (kSteps + 1.0)));

  linkage::Solver solver(loops);
  linkage::Statics statics(loops);
  constexpr int kGeneralSweeps = 400;
  int before = 0;
  scenario("six-bar, every joint reaction", kGeneralSweeps * (kSteps + 1.0), [&] {
    Hash hash;
    before = solver.evaluations();
    for (int s = 0; s < kGeneralSweeps; ++s) {
      linkage::Position p = start;
      std::array<double, 4> last = {}, before_last = {};
      for (int k = 0; k <= kSteps; ++k) {
        p.input[0] = k * kRange_rad / kSteps;
        if (!solver.close(p)) break;
        // Next guess: the parabola through the last three positions.
        for (std::size_t i = 0; i < 4; ++i) {
          const double here = p.free[i];
          p.free[i] = k == 0 ? here : k == 1 ? 2 * here - last[i] : 3 * (here - last[i]) + before_last[i];
          before_last[i] = last[i];
          last[i] = here;
        }
        const auto& balance = statics.at_rest(solver.closed_at(), loads);
        if (s > 0) continue;
        hash.add(balance.effort[0]);
        for (const auto& r : balance.joints) {
          hash.add(r.force.x_n);
          hash.add(r.force.z_n);
        }
      }
    }
    return hash;
  });
  fmt::print("  {:.2f} evaluations per position\n",
             static_cast<double>(solver.evaluations() - before) / (kGeneralSweeps * (kSteps + 1.0)));

  std::int64_t boxes = 0;
  scenario("six-bar, all branches", 20, [&] {
    Hash hash;
    boxes = 0;
    for (int k = 0; k < 20; ++k) {
      const double input[] = {-1 + 0.1 * k};
      const auto all = linkage::all_branches(loops, input);
      boxes += all.boxes;
      hash.add(static_cast<double>(all.positions.size()) + (all.complete ? 0.5 : 0));
      for (const auto& p : all.positions) {
        for (const double v : p.free) hash.add(v);
      }
    }
    return hash;
  });
  fmt::print("  {} boxes per input value\n", boxes / 20);

  // Every four-bar of an invented kit for a leaf that opens by 75 to 85 deg under its own weight.
  linkage::FourBarTask task;
  task.pitch_mm = 8;
  task.crank_pivots = {{0, 0}};
  for (int x = 4; x <= 16; x += 2) {
    for (int z = -4; z <= 4; z += 2) task.rocker_pivots.push_back({x, z});
  }
  task.bars = {{3, 2, ""}, {5, 4, ""}, {7, 4, ""}, {9, 2, ""}};
  task.swing_rad = 60 * linkage::fixture::kDeg;
  task.start_step_rad = 10 * linkage::fixture::kDeg;
  task.output_swing_rad = {75 * linkage::fixture::kDeg, 85 * linkage::fixture::kDeg};
  task.min_transmission_rad = 35 * linkage::fixture::kDeg;
  task.output_moment_nmm = {-400, -300, -70};
  task.max_torque_nmm = 700;
  task.aim = linkage::FourBarTask::Aim::torque;
  linkage::FourBars found;
  scenario("four-bars from stock", 35.0 * 512 * 2 * 36, [&] {
    found = linkage::find_four_bars(task);
    Hash hash;
    hash.add(static_cast<double>(found.feasible));
    for (const auto& m : found.misfits) {
      hash.add(static_cast<double>(m.count));
      hash.add(m.shortfall);
    }
    for (const auto& one : found.best) {
      hash.add(one.torque_nmm);
      hash.add(one.crank_p + 100 * one.coupler_p + 10000 * one.rocker_p);
    }
    return hash;
  });
  fmt::print("  {}\n  {} travels serve, {} linkages\n", found.covered, found.feasible, found.linkages);
  for (const auto& m : found.misfits) fmt::print("  {}\n", linkage::text(m));
  return 0;
}
