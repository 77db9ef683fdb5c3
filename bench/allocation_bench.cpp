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
// The environment's ALLOCATION_BENCH_LIMIT_S ends each of them early; it says so then and has no hash, because what was
// found by then is chance.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <string>
#include <string_view>

#include "allocation/front.h"
#include "allocation/solve.h"
#include "allocation/ways_out.h"
#include "tests/allocation/instance_file.h"

namespace {

constexpr int kRuns = 5;

std::string name_of(const char* file) {
  return std::filesystem::path(file).stem().string();
}

class Hash {
 public:
  void add(std::int64_t v) {
    for (int i = 0; i < 8; ++i) add_byte(static_cast<std::uint64_t>(v >> (8 * i)) & 0xff);
  }
  void add(std::string_view text) {
    for (const char c : text) add_byte(static_cast<unsigned char>(c));
  }
  [[nodiscard]] std::uint64_t value() const { return h_; }

 private:
  void add_byte(std::uint64_t byte) {  // FNV-1a
    h_ ^= byte;
    h_ *= 1099511628211ULL;
  }
  std::uint64_t h_ = 1469598103934665603ULL;
};

std::uint64_t hash_of(const allocation::Solution& s) {
  Hash hash;
  const auto add = [&](std::int64_t v) { hash.add(v); };
  add(static_cast<int>(s.status));
  for (int c : s.choice) add(c);
  for (std::int64_t total : s.budget_totals) add(total);
  for (const allocation::Served& served : s.parts) {
    for (const allocation::Take& take : served.takes) {
      add(take.part);
      add(take.count);
    }
  }
  return hash.value();
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
    const double ms = ms_since(start);
    Hash hash;
    for (const allocation::FrontPoint& p : front.points) {
      for (const std::int64_t v : {static_cast<std::int64_t>(p.worst_margin), p.cost, p.pieces}) hash.add(v);
    }
    fmt::print("{:<10} {:<14} {:>7} {:>10.2f} {:>9} {:>7}  {}\n", name_of(file),
               with_parts ? "and pieces" : "margin, mass", front.points.size(), ms, front.stats.nodes,
               front.stats.probes, front.complete ? fmt::format("{:016x}", hash.value()) : "ended early");
    std::fflush(stdout);
  }
}

void bench_explain(const char* file, const allocation::Problem& problem) {
  const auto start = std::clock();
  const allocation::Conflict conflict = allocation::explain_conflict(problem);
  const double explained = ms_since(start);
  const auto second = std::clock();
  const auto ways = allocation::ways_out(problem, conflict);
  const double found = ms_since(second);
  Hash hash;
  hash.add(conflict.text);
  for (const allocation::WayOut& way : ways) {
    hash.add(way.text);
    hash.add(way.solution.worst_margin);
  }
  fmt::print("{:<10} {:>7} {:>9} {:>12.2f} {:>9} {:>12.2f}  {:016x}\n", name_of(file),
             conflict.functions.size() + conflict.reserves.size(), conflict.proven_smallest ? "yes" : "not known",
             explained, ways.size(), found, hash.value());
  fmt::print("  {}\n", conflict.text);
  for (const allocation::WayOut& way : ways)
    fmt::print("  way out: {}; worst margin then {}{}\n", way.text, way.solution.worst_margin,
               way.proven_least ? "" : "; perhaps less would do");
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const char* limit = std::getenv("ALLOCATION_BENCH_LIMIT_S");
  const std::string_view mode = argc > 1 && argv[1][0] == '-' ? argv[1] : "";
  if (mode == "--front")
    fmt::print("{:<10} {:<14} {:>7} {:>10} {:>9} {:>7}  answer\n", "front", "of", "points", "cpu, ms", "nodes",
               "probes");
  else if (mode == "--explain")
    fmt::print("{:<10} {:>7} {:>9} {:>12} {:>9} {:>12}  answer\n", "conflict", "members", "smallest", "cpu, ms",
               "ways out", "cpu, ms");
  else
    fmt::print("{:<10} {:<11} {:>6} {:>8} {:>10} {:>7} {:>7} {:>8} {:>9}  answer\n", "instance", "status", "margin",
               "0.1 g", "cpu, ms", "nodes", "probes", "prices", "rows");
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
    fmt::print("{:<10} {:<11} {:>6} {:>8} {:>10.2f} {:>7} {:>7} {:>8} {:>9}  {:016x}\n", name_of(argv[i]),
               allocation::to_text(s.status), s.choice.empty() ? 0 : s.worst_margin, mass, ms[ms.size() / 2],
               s.stats.nodes, s.stats.probes, s.stats.price_steps,
               fmt::format("{}+{}", s.stats.hall_rows, s.stats.added_rows), hash_of(s));
    std::fflush(stdout);
  }
}
