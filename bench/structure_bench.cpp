// Booms on the interactive path: one judgement and all remedies, thread CPU time (best of several runs) and a hash of
// the totals rounded to 1e-7, so that faster-but-different is caught. "ladder": a bare frame solve for scale.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "structure/sample_boom.h"

namespace {

using namespace structure;  // NOLINT: a program about one namespace

constexpr int kRuns = 10;
constexpr int kLadderBays = 200;

double cpu_ms() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) * 1e3 + static_cast<double>(t.tv_nsec) * 1e-6;
}

void mix(std::uint64_t& hash, double value) {
  const auto rounded = static_cast<std::uint64_t>(std::llround(value * 1e7));
  for (int i = 0; i < 8; ++i) {
    hash ^= rounded >> (8 * i) & 0xff;
    hash *= 0x100000001b3;
  }
}

void mix(std::uint64_t& hash, const BoomReport& r) {
  for (const Gauge g : {Gauge::sag, Gauge::sway, Gauge::roll}) {
    mix(hash, r.at(g).elastic);
    mix(hash, r.at(g).total);
  }
}

template <class Work>
void time(const char* name, const Work& work) {
  double best_ms = 1e9;
  std::uint64_t hash = 0;
  for (int run = 0; run < kRuns; ++run) {
    hash = 0xcbf29ce484222325;
    const double start_ms = cpu_ms();
    work(hash);
    best_ms = std::min(best_ms, cpu_ms() - start_ms);
  }
  fmt::print("{},{:.3f},{:016x}\n", name, best_ms, hash);
}

Frame ladder() {
  Frame f;
  const BarSection bar{50, 200, 300, 150};
  for (int i = 0; i <= kLadderBays; ++i) {
    for (const double y : {-20.0, 20.0}) f.nodes.push_back({"", {16.0 * i, y, 0}, i == 0 ? kFixed : SixFlags{}});
    if (i == 0) continue;
    f.members.push_back({"rung", 2 * i, 2 * i + 1, bar, {2300, 850}});
    for (int side = 0; side < 2; ++side)
      f.members.push_back({"rail", 2 * i - 2 + side, 2 * i + side, bar, {2300, 850}});
  }
  return f;
}

}  // namespace

int main() {
  fmt::print("scenario,cpu_ms,hash\n");
  const Boom boom = sample::jib();
  const BoomLoad load = sample::jib_load();
  time("judge the jib", [&](std::uint64_t& hash) { mix(hash, judge(boom, load)); });
  time("all remedies of the jib", [&](std::uint64_t& hash) {
    const Remedies all = try_remedies(boom, load);
    for (const Remedy& r : all.remedies) mix(hash, r.after);
  });
  time("buckling of the jib", [&](std::uint64_t& hash) { mix(hash, buckling(boom, load).factor); });
  const Frame frame = ladder();
  time("ladder of 2400 unknowns: build, factor, solve", [&](std::uint64_t& hash) {
    const FrameModel model(frame);
    mix(hash, model.solve_unit(2 * kLadderBays, Freedom::y).displacement.back()[1]);
  });
  return 0;
}
