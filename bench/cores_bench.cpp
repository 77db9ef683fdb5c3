// What a second core is worth: the searches and charts of one machine on one and on two threads, wall time (best of
// several runs) until the answer is there (giving it back comes after), their ratio, and a hash of the answer, which
// must be the same on both. Beside each ratio what the
// machine could give at most: the same work twice at once in two processes that share nothing, against one alone. Two
// cores share caches, memory and heat, and neighbours take their part, so that this is less than 2.
//   cores_bench [project folder]
// Ends with 1 when an answer differs. On a machine with one core, or a busy one, the ratios say nothing.
#include <fmt/format.h>

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <functional>
#include <memory>
#include <numbers>
#include <string>
#include <thread>

#include "balance/load_chart.h"
#include "balance/sample_loader.h"
#include "base/triple.h"
#include "bench/measure.h"
#include "design/design.h"
#include "linkage/placement.h"

namespace {

int differing = 0;

struct Answer {
  std::uint64_t hash = 0;
  std::shared_ptr<const void> whole = nullptr;  ///< given back when the clock has stopped
};
using Work = std::function<Answer(int)>;

/// Wall time until `copies` processes of their own have each done the work once on one thread.
double apart_ms(int copies, const Work& work) {
  const double start = bench::now_ms(CLOCK_MONOTONIC);
  for (int c = 0; c < copies; ++c) {
    const pid_t child = fork();
    if (child < 0) {
      fmt::print("no second process can be started\n");
      std::exit(1);
    }
    if (child == 0) {
      const Answer answer = work(1);
      _exit(0);
    }
  }
  for (int c = 0; c < copies; ++c) wait(nullptr);
  return bench::now_ms(CLOCK_MONOTONIC) - start;
}

/// `work` takes the number of threads.
void both(const std::string& what, int runs, const Work& work) {
  double wall_ms[2] = {1e300, 1e300}, apart[2] = {1e300, 1e300};
  std::uint64_t hash[2] = {0, 0};
  // Turn about, so that a neighbour's load falls on both.
  for (int run = 0; run < runs; ++run) {
    for (const int jobs : {1, 2}) {
      const double start = bench::now_ms(CLOCK_MONOTONIC);
      const Answer answer = work(jobs);
      hash[jobs - 1] = answer.hash;
      wall_ms[jobs - 1] = std::min(wall_ms[jobs - 1], bench::now_ms(CLOCK_MONOTONIC) - start);
      apart[jobs - 1] = std::min(apart[jobs - 1], apart_ms(jobs, work));
    }
  }
  differing += hash[0] == hash[1] ? 0 : 1;
  fmt::print("{:<34} {:>10.2f} {:>10.2f} {:>7.2f} x {:>7.2f} x  {:016x}{}\n", what, wall_ms[0], wall_ms[1],
             wall_ms[0] / wall_ms[1], 2 * apart[0] / apart[1], hash[0], hash[0] == hash[1] ? "" : "  DIFFERENT");
}

linkage::PlacementTask boom() {
  constexpr double kDeg = std::numbers::pi / 180;
  linkage::PlacementTask t;
  t.pitch_mm = 8;
  t.pivot_base = {20, 40};
  t.base_mounts = linkage::mounts_in({{0, 0}, {59, 59}});
  t.rod_mounts = linkage::mounts_in({{1, -6}, {60, 15}});
  t.actuators = {{"short", 72, 104}, {"middle", 104, 160}, {"long", 136, 216}};
  t.low_rad = -8 * kDeg;
  t.high_rad = 62 * kDeg;
  t.min_lever_mm = 12;
  linkage::MomentCase load{"load", {}};
  for (int k = 0; k < 64; ++k)
    load.moment_nmm.push_back(2000 * std::cos(t.low_rad + k * (t.high_rad - t.low_rad) / 63));
  t.cases = {load};
  return t;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string project = argc > 1 ? argv[1] : std::string(KW_SOURCE_DIR) + "/examples/quay_rig";
  fmt::print("{} cores here\n{:<34} {:>10} {:>10} {:>9} {:>9}  answer\n", std::thread::hardware_concurrency(),
             "threads:", "1, ms", "2, ms", "ratio", "at most");
  for (const bool whole : {false, true}) {
    both(whole ? "the whole design" : "every candidate of every function", 3, [&](int jobs) {
      design::Options options;
      options.project = project;
      options.catalogue = std::string(KW_SOURCE_DIR) + "/catalogue";
      if (!whole) options.stop_after = design::Stage::candidates;
      base::RunControl control;
      control.jobs = jobs;
      const auto whole_result = std::make_shared<const design::Result>(design::run(options, control));
      const design::Result& r = *whole_result;
      std::string keys;
      for (const auto& f : r.functions) {
        for (const candidate::Candidate& c : f.proposal.candidates) keys += c.key + "\n";
      }
      if (whole && r.allocated) keys += fmt::format("{}", r.allocated->worst_margin);
      return Answer{base::stream_of(keys), whole_result};
    });
  }
  const linkage::PlacementTask task = boom();
  both("placements of an actuator", 15, [&](int jobs) {
    base::RunControl control;
    control.jobs = jobs;
    const linkage::PlacementResult r = linkage::place_actuators(task, control);
    std::uint64_t hash = bench::kHashStart;
    for (const auto& front : r.fronts) {
      for (const linkage::Placement& p : front) bench::mix(hash, p.peak_force_n);
    }
    for (const std::int64_t n : r.feasible) bench::mix(hash, static_cast<double>(n));
    return Answer{hash};
  });
  const balance::LiftingMachine machine = balance::sample::loader();
  both("load chart", 5, [&](int jobs) {
    const auto chart =
        balance::load_chart(machine, balance::even_axes(machine, 96, 36, 0, 2 * std::numbers::pi), {}, jobs);
    std::uint64_t hash = bench::kHashStart;
    for (const auto& c : chart.cells) bench::mix(hash, c.greatest_n);
    return Answer{hash};
  });
  if (differing > 0) fmt::print("{} answers differ\n", differing);
  return differing > 0 ? 1 : 0;
}
