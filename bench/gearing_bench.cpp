// Train search: every unordered train of a stock within 3 % of a target. Prints trains, sets compared, thread CPU time
// (best of several runs) and a hash of the answer, so that faster-but-different is caught.
// "free": every pair of wheels counts as meshing; "lattice": only pairs that stand on 8 mm pitch within 0.2 mm.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cstdint>

#include "bench/twelve_wheels.h"
#include "gearing/train_search.h"

namespace {

using base::Rational;

using bench::kCounts;
using bench::kTeeth;
constexpr int kRuns = 20;

double cpu_ms() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) * 1e3 + static_cast<double>(t.tv_nsec) * 1e-6;
}

void mix(std::uint64_t& hash, std::uint64_t value) {
  for (int i = 0; i < 8; ++i) {
    hash ^= value >> (8 * i) & 0xff;
    hash *= 0x100000001b3;
  }
}

std::uint64_t hash_of(const gearing::TrainSearchResult& r) {
  std::uint64_t hash = 0xcbf29ce484222325;
  for (const gearing::FoundTrain& f : r.trains) {
    mix(hash, static_cast<std::uint64_t>(f.stages));
    for (const std::int32_t m : f.mesh) mix(hash, static_cast<std::uint64_t>(m + 1));
  }
  return hash;
}

}  // namespace

int main() {
  fmt::print("scenario,target,stages,meshes,trains,examined,cpu_ms,hash\n");
  std::vector<gearing::GearStock> gears;
  for (int i = 0; i < static_cast<int>(std::size(kTeeth)); ++i) {
    gears.push_back({stock::ClassId{i}, kCounts[static_cast<std::size_t>(i)]});
  }
  for (const bool free : {false, true}) {
    const stock::Catalogue c = bench::twelve_wheels(free ? 3.0 : 0.2);
    gearing::MeshOptions options;
    if (free) options.min_contact_ratio = 0;
    const gearing::MeshTable table = gearing::find_meshes(c, options);
    for (const Rational target : {Rational(6), Rational(75, 2), Rational(120)}) {
      for (const int stages : {3, 4}) {
        gearing::TrainQuery query;
        query.low = (target * Rational(103, 100)).inverse();
        query.high = (target * Rational(97, 100)).inverse();
        query.min_stages = query.max_stages = stages;
        double best_ms = 1e9;
        gearing::TrainSearchResult result;
        for (int run = 0; run < kRuns; ++run) {
          const double start_ms = cpu_ms();
          result = gearing::search_trains(table, gears, query);
          best_ms = std::min(best_ms, cpu_ms() - start_ms);
        }
        fmt::print("{},{},{},{},{},{},{:.3f},{:016x}\n", free ? "free" : "lattice", target.text(), stages,
                   table.meshes.size(), result.trains.size(), result.examined, best_ms, hash_of(result));
      }
    }
  }
  return 0;
}
