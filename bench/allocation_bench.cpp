// Allocation on generated instances: time of solve() from the instance in memory to the proven optimum (worst margin,
// then mass), median of five, with the work done and a hash of the answer, so that faster-but-different is seen.
//
//   for s in 101 102 103; do
//     python3 tests/allocation/generate_instances.py --size L --seed $s -o L-$s.json
//   done
//   build/release/bench/allocation_bench L-*.json
//   bench/allocation_bench.sh build/release    # all families of the reference, medians and worst cases
//
// Columns: file, status, worst margin (thousandths), mass (0.1 g, penalties included), ms, nodes, probes, price steps,
// rows, hash.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>

#include "allocation/solve.h"
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

}  // namespace

int main(int argc, char** argv) {
  const char* limit = std::getenv("ALLOCATION_BENCH_LIMIT_S");
  for (int i = 1; i < argc; ++i) {
    const allocation::Problem problem = allocation::test::read_instance(argv[i]);
    allocation::Options options;
    options.order = {{allocation::StageKind::best_worst_margin, {}}, {allocation::StageKind::least_budget, "mass"}};
    if (limit != nullptr) options.time_limit_s = std::atof(limit);
    std::vector<double> ms;
    allocation::Solution s;
    for (int run = 0; run < kRuns && (run == 0 || ms[0] < 3000); ++run) {
      const auto start = std::chrono::steady_clock::now();
      s = allocation::solve(problem, options);
      ms.push_back(std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count());
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
