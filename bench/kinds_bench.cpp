// Bench: whole functions of an example project, one core: trains, linkage or actuator, and layouts in their room.
//   kinds_bench [project folder [function [runs]]]      all functions, least of three runs
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <string>

#include "base/triple.h"
#include "design/design.h"
#include "design/read.h"
#include "functions/kinds.h"

namespace {

double cpu_s() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) * 1e-9;
}

}  // namespace

int main(int argc, char** argv) {
  design::Options options;
  options.project = argc > 1 ? argv[1] : std::string(KW_SOURCE_DIR) + "/examples/quay_rig";
  options.catalogue = std::string(KW_SOURCE_DIR) + "/catalogue";
  document::Diagnostics diagnostics;
  const auto brief = design::read_brief(options, diagnostics);
  if (!brief) {
    for (const document::Diagnostic& d : diagnostics.sorted()) fmt::print(stderr, "{}\n", document::text_of(d));
    return 2;
  }
  const int runs = argc > 3 ? std::max(1, std::atoi(argv[3])) : 3;
  for (const brief::Function& f : brief->functions) {
    if (argc > 2 && f.id != argv[2]) continue;
    const candidate::Kind* kind = functions::find_kind(f.kind);
    document::Diagnostics own;
    const auto wants = kind->read(f, *brief, own);
    if (!wants) continue;
    double least = 1e9;
    std::string keys;
    std::size_t count = 0;
    for (int run = 0; run < runs; ++run) {
      const double start = cpu_s();
      base::RunControl control;
      control.jobs = 1;
      const candidate::Proposal p = kind->propose(f, *wants, *brief, control);
      least = std::min(least, cpu_s() - start);
      keys.clear();
      for (const candidate::Candidate& c : p.candidates) keys += c.key + "\n";
      count = p.candidates.size();
    }
    fmt::print("{:<16} {:<11} cpu {:9.2f} ms, {:4} candidates, hash {:016x}\n", f.id, f.kind, 1000 * least, count,
               base::stream_of(keys));
  }
  return 0;
}
