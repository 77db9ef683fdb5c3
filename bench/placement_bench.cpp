// Screw-actuator placement: 1,600 base mounts x 480 rod mounts x 3 actuators over 64 angles (an invented boom). Prints
// the best time of several runs, the work done and a hash of the answer, so that faster but different is caught.
//   placement_bench [jobs]
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <ctime>
#include <numbers>

#include "linkage/placement.h"

namespace {

constexpr int kRuns = 7;
constexpr int kAngles = 64;
constexpr double kDeg = std::numbers::pi / 180;

linkage::PlacementTask boom() {
  linkage::PlacementTask task;
  task.pitch_mm = 8;
  task.pivot_base = {20, 40};
  task.base_mounts = linkage::mounts_in({{0, 0}, {39, 39}});
  task.rod_mounts = linkage::mounts_in({{1, -6}, {40, 5}});
  task.actuators = {{"short", 72, 104}, {"middle", 104, 160}, {"long", 136, 216}};
  task.low_rad = -8 * kDeg;
  task.high_rad = 62 * kDeg;
  task.min_lever_mm = 12;
  linkage::MomentCase load{"load", {}};
  for (int k = 0; k < kAngles; ++k) {
    load.moment_nmm.push_back(2000 * std::cos(task.low_rad + k * (task.high_rad - task.low_rad) / (kAngles - 1)));
  }
  task.cases = {load};
  return task;
}

/// FNV-1a over the answer, lengths and forces in whole micrometres and millinewtons.
std::uint64_t hash_of(const linkage::PlacementResult& result) {
  std::uint64_t hash = 14695981039346656037ULL;
  const auto add = [&hash](std::int64_t value) {
    for (int byte = 0; byte < 8; ++byte) {
      hash = (hash ^ (static_cast<std::uint64_t>(value) >> (8 * byte) & 255U)) * 1099511628211ULL;
    }
  };
  for (const auto& front : result.fronts) {
    for (const linkage::Placement& p : front) {
      add(p.base.x_hp);
      add(p.base.z_hp);
      add(p.rod.x_hp);
      add(p.rod.z_hp);
      add(std::llround(p.peak_force_n * 1e3));
      add(std::llround(p.stroke_mm * 1e3));
    }
  }
  for (const std::int64_t count : result.feasible) add(count);
  for (const linkage::Miss& m : result.misses) {
    add(static_cast<int>(m.reason));
    add(m.actuator);
    add(m.count);
    add(std::llround(m.shortfall * 1e3));
  }
  return hash;
}

double cpu_ms() {
  timespec now{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) * 1e3 + static_cast<double>(now.tv_nsec) * 1e-6;
}

}  // namespace

int main(int argc, char** argv) {
  base::RunControl control;
  control.jobs = argc > 1 ? std::max(1, std::atoi(argv[1])) : 1;
  const linkage::PlacementTask task = boom();
  double best_wall_ms = 1e9, best_cpu_ms = 1e9;
  linkage::PlacementResult result;
  for (int run = 0; run < kRuns; ++run) {
    const auto start = std::chrono::steady_clock::now();
    const double cpu_start_ms = cpu_ms();
    result = linkage::place_actuators(task, control);
    best_cpu_ms = std::min(best_cpu_ms, cpu_ms() - cpu_start_ms);
    const std::chrono::duration<double, std::milli> wall = std::chrono::steady_clock::now() - start;
    best_wall_ms = std::min(best_wall_ms, wall.count());
  }
  std::int64_t feasible = 0;
  std::size_t kept = 0;
  for (const std::int64_t count : result.feasible) feasible += count;
  for (const auto& front : result.fronts) kept += front.size();
  fmt::print("placement: {} placements x {} angles, jobs {}: wall {:.2f} ms, cpu {:.2f} ms, {:.0f} M placements/s\n",
             result.examined, kAngles, control.jobs, best_wall_ms, best_cpu_ms,
             static_cast<double>(result.examined) / best_wall_ms / 1e3);
  fmt::print("feasible {}, kept {}, hash {:016x}\n", feasible, kept, hash_of(result));
  for (const linkage::Miss& m : result.misses) fmt::print("  {:>8}  {}\n", m.count, linkage::text(task, m));
  return 0;
}
