// Load charts: wall time and thread CPU time (best of several runs), cells per second, growth with the number of cells,
// and a hash of the answers rounded to 1e-7 N, so that faster-but-different is caught.
#include "balance/load_chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <numbers>

#include "balance/sample_loader.h"
#include "bench/measure.h"

namespace {

constexpr int kRuns = 7;
constexpr int kSlews = 36;

}  // namespace

int main() {
  using bench::mix;
  using bench::now_ms;
  const balance::LiftingMachine machine = balance::sample::loader();
  fmt::print("jobs,cells,wall_ms,cpu_ms,cells_per_s,ns_per_cell,hash\n");
  for (const int jobs : {1, 2}) {
    for (const int radii : {24, 48, 96, 192}) {
      const auto axes = balance::even_axes(machine, radii, kSlews, 0, 2 * std::numbers::pi);
      double wall_ms = 1e9, cpu_ms = 1e9;
      std::uint64_t hash = 0;
      std::size_t cells = 0;
      for (int run = 0; run < kRuns; ++run) {
        const double wall = now_ms(CLOCK_MONOTONIC), cpu = now_ms(CLOCK_PROCESS_CPUTIME_ID);
        const auto chart = balance::load_chart(machine, axes, {}, jobs);
        cpu_ms = std::min(cpu_ms, now_ms(CLOCK_PROCESS_CPUTIME_ID) - cpu);
        wall_ms = std::min(wall_ms, now_ms(CLOCK_MONOTONIC) - wall);
        cells = chart.cells.size();
        hash = bench::kHashStart;
        for (const auto& c : chart.cells) {
          mix(hash, c.greatest_n);
          mix(hash, c.rated_n);
          mix(hash, static_cast<double>(c.governs));
        }
      }
      const double count = static_cast<double>(cells);
      fmt::print("{},{},{:.2f},{:.2f},{:.0f},{:.0f},{:016x}\n", jobs, cells, wall_ms, cpu_ms, count / wall_ms * 1e3,
                 cpu_ms / count * 1e6, hash);
    }
  }
  return 0;
}
