#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "allocation/checker.h"
#include "allocation/solve.h"
#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"
#include "design/design.h"
#include "design/explain.h"
#include "design/problem.h"
#include "design/read.h"
#include "functions/kinds.h"

namespace design {
namespace {

using SharedWants = std::shared_ptr<const candidate::Wants>;

/// Every kind reads its own wants; all problems of all functions in one go.
std::vector<SharedWants> read_wants(const brief::Brief& brief, document::Diagnostics& diagnostics) {
  std::vector<SharedWants> out;
  for (const brief::Function& f : brief.functions) {
    const candidate::Kind* kind = functions::find_kind(f.kind);
    KW_CHECK(kind != nullptr, "the brief only lets known kinds through: " + f.kind);
    out.push_back(kind->read(f, brief, diagnostics));
  }
  return out;
}

/// A part the user insists on or forbids is kept to here whatever the kind does.
void keep_to_named_parts(const brief::Function& f, candidate::Proposal& proposal) {
  if (f.must_use.empty() && f.must_not_use.empty()) return;
  candidate::RejectionLog log;
  std::int64_t forbidden = 0, without = 0;
  const auto has = [](const std::vector<stock::ClassId>& list, stock::ClassId id) {
    return std::find(list.begin(), list.end(), id) != list.end();
  };
  std::vector<candidate::Candidate> kept;
  for (candidate::Candidate& c : proposal.candidates) {
    bool served = true;
    for (candidate::Need& n : c.demand.needs) {
      std::erase_if(n.accepts, [&](stock::ClassId id) { return has(f.must_not_use, id); });
      served = served && !n.accepts.empty();
    }
    if (!served) {
      ++forbidden;
      continue;
    }
    const bool all = std::all_of(f.must_use.begin(), f.must_use.end(), [&](stock::ClassId id) {
      return std::any_of(c.demand.needs.begin(), c.demand.needs.end(),
                         [&](const candidate::Need& n) { return has(n.accepts, id); });
    });
    if (!all) {
      ++without;
      continue;
    }
    // "Must use" is a promise: where the part may serve, only it may.
    for (const stock::ClassId id : f.must_use) {
      const auto need = std::find_if(c.demand.needs.begin(), c.demand.needs.end(),
                                     [&](const candidate::Need& n) { return has(n.accepts, id); });
      need->accepts = {id};
    }
    kept.push_back(std::move(c));
  }
  proposal.candidates = std::move(kept);
  if (forbidden > 0) {
    proposal.rejections.push_back({"design.forbidden_part", "needs a part you excluded", 1, "parts", forbidden});
  }
  if (without > 0) {
    proposal.rejections.push_back({"design.named_part_unused", "does not use a part you named", 1, "parts", without});
  }
}

/// Drives keep out of taken room by themselves; what else a kind puts up (wheels, legs, actuators) is held to it here.
void keep_out_of_taken_room(const std::vector<brief::TakenRoom>& taken, candidate::Proposal& proposal) {
  if (taken.empty()) return;
  std::map<std::string_view, std::pair<std::int64_t, std::int64_t>> fallen;  // by whose room: candidates, fewest cells
  std::erase_if(proposal.candidates, [&](const candidate::Candidate& c) {
    std::string_view whose;
    std::int64_t cells = 0;
    for (const candidate::BodyCells& b : c.cells) {
      for (const lattice::Point3& cell : b.cells) {
        const auto in = std::find_if(taken.begin(), taken.end(), [&](const brief::TakenRoom& t) {
          return t.body == b.body && lattice::holds(t.box, cell);
        });
        if (in == taken.end()) continue;
        if (whose.empty()) whose = in->id;
        ++cells;
      }
    }
    if (whose.empty()) return false;
    auto& [count, fewest] = fallen.try_emplace(whose, 0, cells).first->second;
    ++count;
    fewest = std::min(fewest, cells);
    return true;
  });
  for (const auto& [id, told] : fallen)
    proposal.rejections.push_back({"design.room_taken", fmt::format("stands in the room of \"{}\"", id),
                                   static_cast<double>(told.second), "cells", told.first});
}

std::vector<FunctionResult> propose(const brief::Brief& brief, const std::vector<SharedWants>& wants,
                                    const Options& options, const base::RunControl& control) {
  std::vector<FunctionResult> out(brief.functions.size());
  base::RunControl inner = control;
  const std::vector<brief::TakenRoom> taken = brief.taken_room();
  inner.progress = nullptr;  // it belongs to the calling thread
  // The jobs go on: one function often takes longer than all others together, and then its own pieces share the cores.
  base::parallel_for(out.size(), control.jobs, [&](std::size_t f) {
    const brief::Function& from = brief.functions[f];
    out[f].id = from.id;
    out[f].kind = from.kind;
    out[f].required = from.required;
    if (!options.only_function.empty() && options.only_function != from.id) return;
    out[f].proposal = functions::find_kind(from.kind)->propose(from, *wants[f], brief, inner);
    keep_to_named_parts(from, out[f].proposal);
    keep_out_of_taken_room(taken, out[f].proposal);
  });
  return out;
}

std::string gap_of(const allocation::Solution& s, bool stopped) {
  if (s.status == allocation::Status::optimal || s.status == allocation::Status::infeasible) return "";
  if (s.status == allocation::Status::stopped_without_answer) {
    return "The search was stopped before it knew whether anything fits.";
  }
  std::string gaps;
  for (const allocation::StageReport& r : s.stages) {
    if (r.proven) continue;
    gaps +=
        fmt::format("{}{} is {}, at best {}", gaps.empty() ? "" : "; ", allocation::to_text(r.stage), r.value, r.bound);
  }
  return fmt::format("Not proven best{}: {}.", stopped ? ", the search was stopped" : "",
                     gaps.empty() ? "the search ended early" : gaps);
}

Allocated allocate(const brief::Brief& brief, const std::vector<FunctionResult>& functions, allocation::Problem problem,
                   const Options& options, const base::RunControl& control) {
  Allocated out;
  out.problem = std::move(problem);
  allocation::Options how;
  how.order = options.order;
  how.cancel = control.stop;
  how.jobs = control.jobs;
  out.solution = allocation::solve(out.problem, how);
  const std::vector<std::string> violations = allocation::check_solution(out.problem, out.solution);
  KW_CHECK(violations.empty(), violations.front());
  out.feasible = out.solution.status == allocation::Status::optimal ||
                 out.solution.status == allocation::Status::feasible_with_gap;
  out.gap_text = gap_of(out.solution, control.stopped());
  if (!out.feasible) return out;
  out.choice = out.solution.choice;
  out.taken = taken_of(out.solution);
  out.worst_margin = candidate::kMarginCap;
  for (std::size_t f = 0; f < out.choice.size(); ++f) {
    if (out.choice[f] < 0) continue;
    const candidate::Candidate& c = functions[f].proposal.candidates.at(static_cast<std::size_t>(out.choice[f]));
    out.worst_margin = std::min(out.worst_margin, c.nominal.worst());
    out.parts_mass_g += candidate::parts_mass_g(c.demand, *brief.catalogue);
  }
  return out;
}

std::vector<assessment::Chosen> chosen_of(const Result& r) {
  std::vector<assessment::Chosen> out;
  for (std::size_t f = 0; f < r.functions.size(); ++f) out.push_back({&r.brief->functions[f], r.chosen(f)});
  return out;
}

}  // namespace

std::vector<std::string> Result::incomplete() const {
  std::vector<std::string> out;
  for (const FunctionResult& f : functions) {
    if (!f.proposal.complete) out.push_back(f.id);
  }
  return out;
}

const candidate::Candidate* Result::chosen(std::size_t f) const {
  if (!feasible() || f >= allocated->choice.size() || allocated->choice[f] < 0) return nullptr;
  return &functions[f].proposal.candidates.at(static_cast<std::size_t>(allocated->choice[f]));
}

Result run(const Options& options, const base::RunControl& control) {
  Result r;
  const auto done = [&](Stage stage) {
    r.reached = stage;
    r.stopped = control.stopped();
    r.bad_input = r.diagnostics.has_errors();
    return r.bad_input || options.stop_after == stage;
  };

  control.report("reading", 0.0);
  r.brief = read_brief(options, r.diagnostics);
  std::vector<SharedWants> wants;
  if (r.brief) wants = read_wants(*r.brief, r.diagnostics);
  if (done(Stage::brief)) return r;

  control.report("proposing candidates", 0.1);
  r.functions = propose(*r.brief, wants, options, control);
  if (done(Stage::candidates)) return r;

  control.report("allocating parts", 0.5);
  std::vector<stock::ClassId> part_classes;
  allocation::Problem problem = make_problem(*r.brief, r.functions, part_classes);
  apply_locks(*r.brief, r.functions, problem, r.diagnostics);
  if (r.diagnostics.has_errors()) {
    done(Stage::candidates);
    return r;
  }
  r.allocated = allocate(*r.brief, r.functions, std::move(problem), options, control);
  r.allocated->part_classes = std::move(part_classes);
  if (!r.feasible()) {
    explain_infeasible(r, options, control);
    done(Stage::allocation);
    return r;
  }
  if (options.front) find_front(r, options, control);
  if (done(Stage::allocation)) return r;

  control.report("assessing the whole", 0.8);
  assessment::Options how;
  how.seed = r.brief->seed;
  how.draws = r.brief->draws;
  how.chart_radii = options.chart_radii;
  how.chart_slews = options.chart_slews;
  r.assessed = assessment::assess(*r.brief, chosen_of(r), r.allocated->taken, how, control);
  add_choice_remedies(r, options, control);
  done(Stage::assessment);
  control.report("done", 1.0);
  return r;
}

}  // namespace design
