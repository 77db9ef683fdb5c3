// Obstacle crossings: one whole walk, and the largest size of a family over three frictions, for a car, a vehicle on
// rocking pairs and two crawlers. Thread CPU time (best of several runs), stations and a hash of the answers.
#include "balance/crossing.h"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "bench/measure.h"

namespace {

constexpr int kRuns = 3;

struct Vehicle {
  std::string name;
  balance::SideView view;
};

balance::SideView row(int wheels, double apart_mm, bool rocking, bool belt) {
  balance::SideView v;
  for (int i = 0; i < wheels; ++i)
    v.wheels.push_back({{apart_mm * (i - 0.5 * (wheels - 1)), 16}, 16, true, rocking ? i / 2 : -1});
  for (int k = 0; rocking && k < wheels / 2; ++k)
    v.rockers.push_back({{apart_mm * (2 * k + 0.5 - 0.5 * (wheels - 1)), 20}, 0.35, false});
  if (belt) {
    const double end_mm = apart_mm * 0.5 * (wheels - 1) + 49;
    v.wheels.push_back({{-end_mm, 32}, 16, true, -1});
    v.wheels.push_back({{end_mm, 32}, 16, true, -1});
  }
  v.belt = belt;
  v.weight_n = 28;
  v.centre = {-4, 50};
  return v;
}

/// Best time of `work`, which returns the hash of its answer.
template <class Work>
void measure(const std::string& name, const Work& work) {
  double cpu_ms = 1e9;
  std::uint64_t hash = 0;
  std::size_t stations = 0;
  for (int run = 0; run < kRuns; ++run) {
    hash = bench::kHashStart;
    const double from = bench::now_ms(CLOCK_THREAD_CPUTIME_ID);
    stations = work(hash);
    cpu_ms = std::min(cpu_ms, bench::now_ms(CLOCK_THREAD_CPUTIME_ID) - from);
  }
  fmt::print("{},{},{:.2f},{:016x}\n", name, stations, cpu_ms, hash);
}

}  // namespace

int main() {
  const std::vector<Vehicle> vehicles{{"car", row(2, 120, false, false)},
                                      {"rocking pairs", row(4, 66, true, false)},
                                      {"crawler", row(8, 40, false, true)},
                                      {"crawler, rocking pairs", row(8, 40, true, true)}};
  const std::vector<double> frictions{0.45, 0.65, 0.85};
  fmt::print("scenario,stations,cpu_ms,hash\n");
  for (const Vehicle& v : vehicles) {
    for (const bool pull : {false, true}) {
      balance::CrossingOptions how;
      if (pull) how.pull_n = 0.5 * v.view.weight_n;
      measure(fmt::format("{}; step 14 mm{}", v.name, pull ? ", pull limited" : ""), [&](std::uint64_t& hash) {
        const balance::Crossing c = cross(v.view, balance::step_up(14), how);
        bench::mix(hash, c.needed_friction);
        bench::mix(hash, c.needed_pull_n);
        bench::mix(hash, c.most_pitch_rad);
        return c.stations.size();
      });
      measure(fmt::format("{}; largest step{}", v.name, pull ? ", pull limited" : ""), [&](std::uint64_t& hash) {
        how.step_mm = 3;
        for (const balance::Largest& l : largest_passed(v.view, {balance::step_up, 60, 20, 5}, frictions, how)) {
          bench::mix(hash, l.size_mm);
          bench::mix(hash, static_cast<double>(l.stop));
        }
        return std::size_t{0};
      });
    }
  }
  return 0;
}
