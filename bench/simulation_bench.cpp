// Time simulation: ten minutes of a machine with seven drives on two hubs at 1 ms, thread CPU time (best of several
// runs), error of the energy balance, and a hash of the samples rounded to 1e-7.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "simulation/fixture.h"

namespace {

constexpr int kRuns = 5;
constexpr double kEnd_s = 600;

double cpu_ms() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) * 1e3 + static_cast<double>(t.tv_nsec) * 1e-6;
}

void mix(std::uint64_t& hash, double value) {
  const auto rounded = std::isfinite(value) ? static_cast<std::uint64_t>(std::llround(value * 1e7)) : ~std::uint64_t{0};
  for (int i = 0; i < 8; ++i) {
    hash ^= rounded >> (8 * i) & 0xff;
    hash *= 0x100000001b3;
  }
}

}  // namespace

int main() {
  using namespace simulation;
  Machine machine;
  machine.hubs = {fixture::hub(9, 0.9, 1.3), fixture::hub(8.1, 0.3, 0.72)};
  Script script;
  for (int i = 0; i < 7; ++i) {
    script.inputs.push_back(fmt::format("drive {}", i));
    DriveModel d = fixture::drive(script.inputs.back().c_str(), 15 + 5 * i, i % 2 == 0 ? 10 : -15);
    d.hub = i < 4 ? 0 : 1;
    d.port_limit_a = 1.3;
    if (i % 3 == 0) {
      d.drive.endless = false;
      d.drive.at = {0, 0.2, 0.5, 0.9, 1.3};
      d.drive.per_rad = {2e-3, 2.5e-3, 3e-3, 2.5e-3, 2e-3};
      d.drive.plus_nmm = {20, 30, 40, 30, 20};
      d.drive.minus_nmm = {5, 8, 10, 8, 5};
      d.drive.plus_free_nmm = d.drive.minus_free_nmm = {5, 5, 5, 5, 5};
    }
    machine.drives.push_back(std::move(d));
  }
  for (int k = 0; k <= 120; ++k) {
    Step step{k * kEnd_s / 120, {}, {}};
    for (int i = 0; i < 7; ++i) step.input.push_back(((k + i) % 4) - 1.5 > 0 ? 1 : (k + 2 * i) % 5 == 0 ? -1 : 0);
    script.steps.push_back(std::move(step));
  }
  double best_ms = 1e9;
  std::uint64_t hash = 0;
  Outcome out;
  for (int r = 0; r < kRuns; ++r) {
    const double before = cpu_ms();
    out = run(machine, script, {});
    best_ms = std::min(best_ms, cpu_ms() - before);
  }
  hash = 0xcbf29ce484222325;
  for (const Sample& s : out.samples) {
    for (const double v : s.speed_rad_s) mix(hash, v);
    for (const double v : s.voltage_v) mix(hash, v);
  }
  fmt::print("steps,drives,cpu_ms,ns_per_step_and_drive,balance_error,hash\n{},{},{:.1f},{:.1f},{:.2e},{:016x}\n",
             out.steps, machine.drives.size(), best_ms,
             best_ms * 1e6 / static_cast<double>(out.steps) / static_cast<double>(machine.drives.size()),
             out.energy.error(), hash);
}
