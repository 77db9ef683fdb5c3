// How soon a design stops when it is told to: the whole run of an example project is stopped at many instants, spread
// evenly over its length; the processor time it still takes from then on is what a newer edit waits for.
//   stop_bench [project folder] [instants]
// Prints, per stage in which the stop fell: instants, median and worst wait. Times the machine's two threads as a
// program does that serves a page. No hash: a stopped run has no answer, and says so (checked here).
#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdlib>
#include <map>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "base/run_control.h"
#include "bench/measure.h"
#include "design/design.h"
#include "design/read.h"

namespace {

using Clock = std::chrono::steady_clock;

double ms_between(Clock::time_point from, Clock::time_point to) {
  return std::chrono::duration<double, std::milli>(to - from).count();
}

/// Stops runs with these options at evenly spread instants; prints the waits per stage.
int stop_often(const design::Options& options, const std::string& name, int instants) {
  const auto begin = Clock::now();
  (void)design::run(options, {});
  const double whole_ms = ms_between(begin, Clock::now());
  fmt::print("{}: {:.0f} ms on one thread\n", name, whole_ms);
  std::map<std::string, std::vector<double>> waits;
  int unsaid = 0;
  for (int i = 0; i < instants; ++i) {
    std::atomic<bool> stop = false;
    std::mutex mutex;
    std::string stage = "before anything";
    base::RunControl control;
    control.stop = &stop;
    control.jobs = 1;
    control.give_up = true;
    control.progress = [&](std::string_view what, double) {
      const std::lock_guard lock(mutex);
      stage = what;
    };
    double cpu_at_stop = 0;
    std::atomic<bool> ended = false;
    bool stopped_in_time = false;
    std::string stopped_in;
    std::thread stopper([&] {
      std::this_thread::sleep_for(std::chrono::duration<double, std::milli>(whole_ms * (i + 0.5) / instants));
      {
        const std::lock_guard lock(mutex);
        stopped_in = stage;
      }
      cpu_at_stop = bench::now_ms(CLOCK_PROCESS_CPUTIME_ID);
      stop = true;
      stopped_in_time = !ended;
    });
    const design::Result r = design::run(options, control);
    ended = true;
    const double end_ms = bench::now_ms(CLOCK_PROCESS_CPUTIME_ID);
    stopper.join();
    if (!stopped_in_time) continue;
    waits[stopped_in].push_back(std::max(0.0, end_ms - cpu_at_stop));
    // One that had looked for the last time may end by itself with its answer, not later than its last stage.
    unsaid += r.stopped || end_ms - cpu_at_stop < 1 ? 0 : 1;
  }
  for (auto& [stage, all] : waits) {
    std::sort(all.begin(), all.end());
    fmt::print("  {:<28} {:>3} stops  median {:>8.2f} ms  worst {:>8.2f} ms\n", stage, all.size(), all[all.size() / 2],
               all.back());
  }
  return unsaid;
}

}  // namespace

int main(int argc, char** argv) {
  design::Options options;
  options.project = argc > 1 ? argv[1] : std::string(KW_SOURCE_DIR) + "/examples/quay_rig";
  options.catalogue = std::string(KW_SOURCE_DIR) + "/catalogue";
  const int instants = argc > 2 ? std::atoi(argv[2]) : 60;
  int unsaid = stop_often(options, "whole run", instants);
  // Which function's search answers late.
  document::Diagnostics diagnostics;
  const auto brief = design::read_brief(options, diagnostics);
  if (!brief) return 2;
  options.stop_after = design::Stage::candidates;
  for (const brief::Function& f : brief->functions) {
    options.only_function = f.id;
    unsaid += stop_often(options, fmt::format("{} ({})", f.id, f.kind), std::max(4, instants / 3));
  }
  fmt::print("{} stopped runs that did not say so\n", unsaid);
  return 0;
}
