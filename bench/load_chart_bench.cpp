// Load charts: wall time and thread CPU time (best of several runs), cells per second, growth with the number of cells,
// and a hash of the answers rounded to 1e-7 N, so that faster-but-different is caught.
//   load_chart_bench [--plot FILE]
#include "balance/load_chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <fstream>
#include <numbers>
#include <string>

#include "balance/sample_loader.h"
#include "bench/growth_plot.h"
#include "bench/measure.h"
#include "report/svg.h"

namespace {

constexpr int kRuns = 7;
constexpr int kSlews = 36;

}  // namespace

int main(int argc, char** argv) {
  const bool plot = argc == 3 && std::string(argv[1]) == "--plot";
  if (argc > 1 && !plot) {
    std::fprintf(stderr, "usage: load_chart_bench [--plot FILE]\n");
    return 2;
  }
  using bench::mix;
  using bench::now_ms;
  const balance::LiftingMachine machine = balance::sample::loader();
  fmt::print("jobs,cells,wall_ms,cpu_ms,cells_per_s,ns_per_cell,hash\n");
  bench::Panel panel{"one machine, 36 slew angles", "cells", {}, {}, {}};
  for (const int jobs : {1, 2}) {
    panel.curves.push_back(
        {jobs == 1 ? "one core" : "two cores", jobs == 1 ? report::ink::kThird : report::ink::kGood, {}});
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
      panel.curves.back().time_ms.push_back(wall_ms);
      if (jobs > 1) continue;
      panel.at.push_back(std::log(count));
      panel.labels.push_back(std::to_string(cells));
    }
  }
  if (!plot) return 0;
  std::ofstream file(argv[2]);
  file << bench::growth_plot("Time of a load chart against its cells", {panel});
  file.close();
  if (!file) {
    std::fprintf(stderr, "cannot write %s\n", argv[2]);
    return 3;
  }
  return 0;
}
