// Allocation on generated instances: time of solve() from the instance in memory to the proven optimum (worst margin,
// then mass), processor time, median of five, with the work done and a hash of the answer, so that faster-but-different
// is seen.
//
//   for s in 101 102 103; do
//     python3 tests/allocation/generate_instances.py --size L --seed $s -o L-$s.json
//   done
//   build/release/bench/allocation_bench L-*.json
//
// With --front first: points and time of the trade-off front (margin, mass), and with the pieces as a third axis.
// With --explain first: time of the conflict and of its ways out.
//
// Columns: file, status, worst margin (thousandths), mass (0.1 g, penalties included), ms, nodes, probes, price steps,
// rows, hash.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <string_view>

#include "allocation/front.h"
#include "allocation/solve.h"
#include "allocation/ways_out.h"
#include "tests/allocation/instance_file.h"

namespace {

constexpr int kRuns = 5;

std::uint64_t hash_of(const allocation::Solution& s) {
  std::uint64_t h = 1469598103934665603ULL;  // FNV-1a, 64 bit
  auto add = [&](std::int64_t v) {
    for (int i = 0; i < 8; ++i) {
      h ^= static_cast<std::uint64_t>(v >> (8 * i)) & 0xff;
      h *= 1099511628211ULL;
    }
  };
  add(static_cast<int>(s.status));
  for (int c : s.choice) add(c);
  for (std::int64_t total : s.budget_totals) add(total);
  for (const allocation::Served& served : s.parts) {
    for (const allocation::Take& take : served.takes) {
      add(take.part);
      add(take.count);
    }
  }
  return h;
}

double ms_since(std::clock_t start) {
  return 1000.0 * static_cast<double>(std::clock() - start) / static_cast<double>(CLOCKS_PER_SEC);
}

void bench_front(const char* file, const allocation::Problem& problem, double limit_s) {
  for (bool with_parts : {false, true}) {
    allocation::FrontOptions options;
    options.with_parts = with_parts;
    options.search.time_limit_s = limit_s;
    const auto start = std::clock();
    const allocation::Front front = allocation::trade_off_front(problem, options);
    fmt::print("{:<24} {} axes {:>4} points{} {:>9.2f} ms {:>8} nodes {:>5} probes\n", file, with_parts ? 3 : 2,
               front.points.size(), front.complete ? "" : " (incomplete)", ms_since(start), front.stats.nodes,
               front.stats.probes);
    std::fflush(stdout);
  }
}

void bench_explain(const char* file, const allocation::Problem& problem) {
  const auto start = std::clock();
  const allocation::Conflict conflict = allocation::explain_conflict(problem);
  const double explained = ms_since(start);
  const auto second = std::clock();
  const auto ways = allocation::ways_out(problem, conflict);
  fmt::print("{:<24} conflict of {} (smallest: {}) over {} in {:.2f} ms, {} ways out in {:.2f} ms\n  {}\n", file,
             conflict.functions.size() + conflict.reserves.size(), conflict.proven_smallest, conflict.resources.size(),
             explained, ways.size(), ms_since(second), conflict.text);
  for (const allocation::WayOut& way : ways) {
    fmt::print("  {} (least: {}, worst margin then {})\n", way.text, way.proven_least, way.solution.worst_margin);
  }
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const char* limit = std::getenv("ALLOCATION_BENCH_LIMIT_S");
  const std::string_view mode = argc > 1 && argv[1][0] == '-' ? argv[1] : "";
  for (int i = mode.empty() ? 1 : 2; i < argc; ++i) {
    const allocation::Problem problem = allocation::test::read_instance(argv[i]);
    if (mode == "--front") {
      bench_front(argv[i], problem, limit != nullptr ? std::atof(limit) : 0);
      continue;
    }
    if (mode == "--explain") {
      bench_explain(argv[i], problem);
      continue;
    }
    allocation::Options options;
    options.order = {{allocation::StageKind::best_worst_margin, {}}, {allocation::StageKind::least_budget, "mass"}};
    if (limit != nullptr) options.time_limit_s = std::atof(limit);
    std::vector<double> ms;
    allocation::Solution s;
    for (int run = 0; run < kRuns && (run == 0 || ms[0] < 3000); ++run) {
      const auto start = std::clock();
      s = allocation::solve(problem, options);
      ms.push_back(ms_since(start));
    }
    std::sort(ms.begin(), ms.end());
    const std::int64_t mass = s.choice.empty() ? 0 : s.budget_totals[1] + s.penalty;
    fmt::print("{:<24} {:<11} {:>5} {:>6} {:>9.2f} ms {:>7} {:>3} {:>8} {:>5}+{:<3} {:016x}\n",
               std::filesystem::path(argv[i]).stem().string(), allocation::to_text(s.status),
               s.choice.empty() ? 0 : s.worst_margin, mass, ms[ms.size() / 2], s.stats.nodes, s.stats.probes,
               s.stats.price_steps, s.stats.hall_rows, s.stats.added_rows, hash_of(s));
    std::fflush(stdout);
  }
}
