// Bench: whole functions of an example project, one core: trains, linkage or actuator, and layouts in their room.
//   kinds_bench [project folder [function [runs]]]      all functions, least of three runs
// Twice: every candidate, and only those of the best trains of each motor (brief::Function::best_only).
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

/// Everything people see of a proposal, rejections and cells included, so that a change anywhere shows.
std::string whole(const candidate::Proposal& p) {
  std::string out = fmt::format("{} {} {} {}\n", p.examined, p.complete, p.limit_text, p.most_meshes);
  for (const candidate::Candidate& c : p.candidates) {
    out += fmt::format("{}\n{}\n{} {} {} {} {}\n", c.key, c.title, c.demand.ports, c.demand.channels,
                       c.demand.running_current_ma, c.demand.stall_current_ma, c.tare_g);
    for (const candidate::Need& n : c.demand.needs) {
      for (const stock::ClassId id : n.accepts) out += fmt::format("{} ", stock::index(id));
      out += fmt::format("{} {} {}\n", n.count, n.label, n.role);
    }
    for (const candidate::MassItem& m : c.masses) out += fmt::format("{} {}\n", m.body, m.mass_g);
    for (const candidate::Margin& m : c.nominal.margins)
      out += fmt::format("{} {} {} {} {} {}\n", m.name, m.capability, m.requirement, m.unit, m.note, m.ratio);
    for (const candidate::Holding& h : c.holdings)
      out +=
          fmt::format("{} {} {} {} {}\n", h.name, h.body, fmt::join(h.at_rad, " "), fmt::join(h.holds, " "), h.margin);
    for (const candidate::Drive& d : c.drives)
      out += fmt::format("{} {} {} {} {} {}\n", d.moves, d.sense_note, d.sense, fmt::join(d.at, " "),
                         fmt::join(d.per_rad, " "), fmt::join(d.plus_nmm, " "));
    for (const candidate::Figure& f : c.figures) out += fmt::format("{} {} {}\n", f.name, f.value, f.unit);
    for (const candidate::Curve& f : c.curves)
      out += fmt::format("{} {} {}\n", f.name, fmt::join(f.x, " "), fmt::join(f.y, " "));
    for (const candidate::Shape& f : c.shapes)
      out += fmt::format("{} {} {} {} {} {}\n", static_cast<int>(f.role), f.x1_mm, f.z1_mm, f.x2_mm, f.z2_mm, f.label);
    for (const std::string& n : c.notes) out += n + "\n";
    if (c.route != nullptr) out += routing::key_of(*c.route->problem, c.route->layout) + "\n";
    for (const candidate::BodyCells& b : c.cells) {
      out += fmt::format("{}:", b.body);
      for (const lattice::Point3& x : b.cells) out += fmt::format(" {},{},{}", x.x_hp, x.y_hp, x.z_hp);
    }
  }
  for (const candidate::Rejection& r : p.rejections)
    out += fmt::format("{} {} {} {} {}\n", r.code, r.text, r.shortfall, r.unit, r.count);
  return out;
}

/// Trains of each motor.
constexpr int kBestOnly = 10;

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
    for (const int best_only : {0, kBestOnly}) {
      brief::Function asked = f;
      asked.best_only = best_only;
      double least = 1e9;
      std::string keys;
      std::uint64_t all = 0;
      std::size_t count = 0;
      double best = 0;
      for (int run = 0; run < runs; ++run) {
        const double start = cpu_s();
        base::RunControl control;
        control.jobs = 1;
        const candidate::Proposal p = kind->propose(asked, *wants, *brief, control);
        least = std::min(least, cpu_s() - start);
        keys.clear();
        for (const candidate::Candidate& c : p.candidates) keys += c.key + "\n";
        count = p.candidates.size();
        best = p.candidates.empty() ? 0 : p.candidates.front().nominal.worst();
        if (run == 0) all = base::stream_of(whole(p));
      }
      fmt::print("{:<16} {:<11} {} cpu {:9.2f} ms, {:4} candidates, best margin {:.4f}, hash {:016x}, whole {:016x}\n",
                 f.id, f.kind, best_only == 0 ? "all    " : fmt::format("best {:<2}", best_only), 1000 * least, count,
                 best, base::stream_of(keys), all);
    }
  }
  return 0;
}
