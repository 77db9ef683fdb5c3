// Allocation against CBC, side by side in one run: the generated instances with known optima, each solved by solve()
// (processor time, median of five) and by CBC with a search over the margins from the top, its strongest form (one run,
// the same clock). Both from the instance in memory to the proven optimum: worst margin, then mass. The answers must be
// equal.
//
//   build/release/bench/versus_bench FOLDER [SECONDS_FOR_CBC]
//
// FOLDER as tests/allocation/make_goldens.py writes it. Columns: instance, worst margin (thousandths), mass (0.1 g),
// ours, CBC (">" when it ran out of time), its solves, ratio, hash of our choice. Per size: least and geometric mean of
// the ratios beside what they should be; the smallest instances have no goal, their times are too short to tell.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "allocation/solve.h"
#include "bench/measure.h"
#include "tests/allocation/cbc_referee.h"
#include "tests/allocation/instance_file.h"

namespace {

constexpr int kRuns = 5;

/// How many times as fast as the peer every instance of a size should be, and their geometric mean.
struct Goal {
  double least, mean;
};
const std::map<std::string, Goal> kGoals{{"M", {20, 30}}, {"L", {50, 100}}, {"Ls", {50, 100}}, {"XL", {50, 100}}};

double ms_since(std::clock_t start) {
  return 1000.0 * static_cast<double>(std::clock() - start) / static_cast<double>(CLOCKS_PER_SEC);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    fmt::print(stderr, "usage: {} FOLDER [SECONDS_FOR_CBC]\n", argv[0]);
    return 2;
  }
  const double limit_s = argc > 2 ? std::atof(argv[2]) : 60;
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(argv[1])) {
    if (entry.path().extension() == ".json" && entry.path().stem().string().find("small") == std::string::npos)
      files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  std::map<std::string, std::vector<double>> ratios;
  std::map<std::string, bool> cut_short;  ///< the peer was, so that its ratios are only the least they can be
  std::map<std::string, bool> missed;     ///< a whole run of the peer was too fast
  int wrong = 0;
  fmt::print("{:<8} {:>6} {:>7} {:>12} {:>12} {:>7} {:>8}  answer\n", "instance", "margin", "0.1 g", "ours, ms",
             "CBC, ms", "solves", "ratio");
  for (const auto& file : files) {
    const std::string name = file.stem().string();
    const allocation::Problem problem = allocation::test::read_instance(file.string());
    allocation::Options options;
    options.order = {{allocation::StageKind::best_worst_margin, {}}, {allocation::StageKind::least_budget, "mass"}};
    std::vector<double> ms;
    allocation::Solution s;
    for (int run = 0; run < kRuns; ++run) {
      const auto start = std::clock();
      s = allocation::solve(problem, options);
      ms.push_back(ms_since(start));
    }
    std::sort(ms.begin(), ms.end());
    const double ours = ms[kRuns / 2];

    const auto start = std::clock();
    const allocation::test::Referee cbc = allocation::test::ask_cbc(problem, limit_s);
    const double theirs = ms_since(start);
    const bool feasible = s.status == allocation::Status::optimal;
    const std::int64_t mass = feasible ? s.stages[1].value : 0;
    const bool same =
        !cbc.decided || (cbc.feasible == feasible && (!feasible || (cbc.margin == s.worst_margin && cbc.mass == mass)));
    wrong += same ? 0 : 1;
    const std::string of_size = name.substr(0, name.find('-'));
    ratios[of_size].push_back(theirs / ours);
    cut_short[of_size] = cut_short[of_size] || !cbc.decided;
    const auto goal = kGoals.find(of_size);
    missed[of_size] = missed[of_size] || (cbc.decided && goal != kGoals.end() && theirs / ours < goal->second.least);
    std::uint64_t hash = bench::kHashStart;
    bench::mix(hash, static_cast<double>(static_cast<int>(s.status)));
    for (const int c : s.choice) bench::mix(hash, c);
    fmt::print("{:<8} {:>6} {:>7} {:>12.2f} {:>12} {:>7} {:>6.0f} x  {:016x}{}\n", name,
               feasible ? fmt::format("{}", s.worst_margin) : "none", mass, ours,
               fmt::format("{}{:.0f}", cbc.decided ? "" : "> ", theirs), cbc.solves, theirs / ours, hash,
               same ? "" : "  OTHER ANSWER");
    std::fflush(stdout);
  }
  for (const auto& [size, all] : ratios) {
    double logs = 0;
    for (const double r : all) logs += std::log(r);
    const double least = *std::min_element(all.begin(), all.end());
    const double mean = std::exp(logs / static_cast<double>(all.size()));
    const auto goal = kGoals.find(size);
    std::string asked;
    if (goal != kGoals.end()) {
      const bool reached = least >= goal->second.least && mean >= goal->second.mean;
      const bool known = missed[size] || !cut_short[size];
      asked = fmt::format(" (asked: {:.0f} and {:.0f}){}", goal->second.least, goal->second.mean,
                          reached ? ""
                          : known ? "  MISSED"
                                  : "  not known, CBC had too little time");
    }
    fmt::print("{:<3} {:>3} instances: least {:.0f} x, geometric mean {:.0f} x{}{}\n", size, all.size(), least, mean,
               cut_short[size] ? " or more" : "", asked);
  }
  return wrong == 0 ? 0 : 1;
}
