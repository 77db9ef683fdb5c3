#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <mutex>

#include "allocation/checker.h"
#include "allocation/solve.h"
#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"
#include "design/design.h"
#include "design/explain.h"
#include "design/looks.h"
#include "design/problem.h"
#include "design/proposal_cache.h"
#include "design/read.h"
#include "document/toml_reader.h"
#include "functions/kinds.h"

namespace design {
namespace {

constexpr const char* kBenchTests = "bench_tests.csv";
/// How many times as many trains are looked for when none of the best on paper can be laid out.
constexpr int kMoreIfNone = 4;

using SharedWants = std::shared_ptr<const candidate::Wants>;

/// The brief as the kinds may know it. What only later stages look at, and what functions want, is not there, so that
/// no proposal can depend on it: proposal_keys() relies on that.
brief::Brief seen_by_kinds(const brief::Brief& brief) {
  brief::Brief out = brief;
  out.name.clear();
  out.description.clear();
  out.limits = {};
  out.reserves.clear();
  for (brief::Function& f : out.functions) {
    f.required = true;
    f.weight = 1;
    f.duty = 1;
    f.lock.clear();
    f.wants = {};
  }
  return out;
}

/// Every kind reads its own wants; all problems of all functions in one go. What other functions of the same kind want
/// may be looked at (the stages of a boom), what other kinds want may not.
std::vector<SharedWants> read_wants(const brief::Brief& brief, document::Diagnostics& diagnostics) {
  std::vector<SharedWants> out;
  const brief::Brief seen = seen_by_kinds(brief);
  for (const brief::Function& f : brief.functions) {
    const candidate::Kind* kind = functions::find_kind(f.kind);
    KW_CHECK(kind != nullptr, "the brief only lets known kinds through: " + f.kind);
    brief::Brief told = seen;
    for (std::size_t i = 0; i < brief.functions.size(); ++i) {
      if (brief.functions[i].kind == f.kind) told.functions[i].wants = brief.functions[i].wants;
    }
    out.push_back(kind->read(f, told, diagnostics));
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

/// The candidates of one function, and whether more might be found than its `best_only`.
candidate::Proposal propose_one(const brief::Function& function, const candidate::Wants& wants,
                                const brief::Brief& seen, const base::RunControl& control) {
  brief::Function asked = function;
  while (true) {
    candidate::Proposal p = functions::find_kind(function.kind)->propose(asked, wants, seen, control);
    const auto more = std::find_if(p.rejections.begin(), p.rejections.end(),
                                   [](const candidate::Rejection& r) { return r.code == candidate::kOnlyTheBest; });
    if (more == p.rejections.end()) return p;
    // The best on paper may all fail when they are laid out.
    if (p.candidates.empty() && !control.stopped()) {
      asked.best_only *= kMoreIfNone;
      continue;
    }
    if (p.complete) {
      p.complete = false;
      p.limit_text = more->text;
    }
    return p;
  }
}

std::vector<FunctionResult> propose(const brief::Brief& brief, const std::vector<SharedWants>& wants,
                                    const Options& options, int best_only, const base::RunControl& control) {
  std::vector<FunctionResult> out(brief.functions.size());
  const std::vector<std::string> keys = best_only > 0 ? std::vector<std::string>{} : proposal_keys(options, brief);
  if (!keys.empty()) options.cache->make_room(keys.size());
  base::RunControl inner = control;
  const std::vector<brief::TakenRoom> taken = brief.taken_room();
  brief::Brief seen = seen_by_kinds(brief);
  for (std::size_t f = 0; f < out.size(); ++f)
    seen.functions[f].best_only = brief.functions[f].lock.empty() ? best_only : 0;  // the locked one need not be good
  inner.progress = nullptr;                                                         // it belongs to the calling thread
  std::mutex telling;
  std::vector<std::size_t> searched;
  std::vector<std::shared_ptr<const candidate::Proposal>> known(out.size());
  for (std::size_t f = 0; f < out.size(); ++f) {
    const brief::Function& from = brief.functions[f];
    out[f].id = from.id;
    out[f].kind = from.kind;
    out[f].required = from.required;
    if (!options.only_function.empty() && options.only_function != from.id) continue;
    if (!keys.empty()) known[f] = options.cache->find(keys[f]);
    if (!known[f]) searched.push_back(f);
  }
  // The jobs go on: one function often takes longer than all others together, and then its own pieces share the cores.
  // What cannot be divided starts first.
  std::stable_partition(searched.begin(), searched.end(),
                        [&](std::size_t f) { return !functions::find_kind(brief.functions[f].kind)->divides; });
  base::parallel_for(searched.size(), control.jobs, [&](std::size_t i) {
    const std::size_t f = searched[i];
    const brief::Function& from = brief.functions[f];
    out[f].proposal = propose_one(seen.functions[f], *wants[f], seen, inner);
    keep_to_named_parts(from, out[f].proposal);
    keep_out_of_taken_room(taken, out[f].proposal);
    if (control.stopped()) return;  // the list may be cut short
    if (options.tell_proposed) {
      const std::lock_guard lock(telling);
      options.tell_proposed(out[f]);
    }
    if (!keys.empty()) options.cache->keep(keys[f], out[f].proposal);
  });
  // Thousands of candidates are copied: after the search, for which somebody waits.
  base::parallel_for(out.size(), control.jobs, [&](std::size_t f) {
    if (known[f]) out[f].proposal = *known[f];
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

/// The bench tests beside a project; empty when there are none.
std::vector<calibration::Row> bench_rows(const brief::Brief& brief, document::Diagnostics& diagnostics) {
  const std::string file = (std::filesystem::path(brief.folder) / kBenchTests).lexically_normal().string();
  std::error_code ignored;
  if (!std::filesystem::exists(file, ignored)) return {};
  const auto text = document::read_text_file(file, document::kMostTomlBytes, diagnostics);
  return text ? calibration::parse_rows(*text, file, diagnostics) : std::vector<calibration::Row>{};
}

/// Candidates that readings are held against: the chosen ones, else the best of each list.
std::vector<assessment::Chosen> built_of(const Result& r) {
  std::vector<assessment::Chosen> out = chosen_of(r);
  for (std::size_t f = 0; f < out.size(); ++f) {
    if (out[f].candidate == nullptr && !r.functions[f].proposal.candidates.empty())
      out[f].candidate = &r.functions[f].proposal.candidates.front();
  }
  return out;
}

}  // namespace

std::vector<assessment::Chosen> chosen_of(const Result& r) {
  std::vector<assessment::Chosen> out;
  for (std::size_t f = 0; f < r.functions.size(); ++f) out.push_back({&r.brief->functions[f], r.chosen(f)});
  return out;
}

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

namespace {

/// The stages in order, from what was read: brief, what stands beside it and what was told about both.
Result run_stages(const Options& options, Result r, const base::RunControl& control) {
  const auto done = [&](Stage stage) {
    r.reached = stage;
    r.stopped = control.stopped();
    r.bad_input = r.diagnostics.has_errors();
    return r.bad_input || options.stop_after == stage || control.given_up();
  };

  std::vector<SharedWants> wants;
  if (r.brief) wants = read_wants(*r.brief, r.diagnostics);
  if (done(Stage::brief)) return r;

  for (int best_only = options.best_only; !r.feasible(); best_only = 0) {
    control.report("proposing candidates", 0.1);
    r.functions = propose(*r.brief, wants, options, best_only, control);
    if (done(Stage::candidates)) return r;

    control.report("allocating parts", 0.5);
    std::vector<stock::ClassId> part_classes;
    allocation::Problem problem;
    try {
      problem = make_problem(*r.brief, r.functions, part_classes, control);
    } catch (const base::GivenUp&) {
      done(Stage::candidates);
      return r;
    }
    apply_locks(*r.brief, r.functions, problem, r.diagnostics);
    if (r.diagnostics.has_errors()) {
      done(Stage::candidates);
      return r;
    }
    r.allocated = allocate(*r.brief, r.functions, std::move(problem), options, control);
    r.allocated->part_classes = std::move(part_classes);
    // Of a few candidates it cannot be said that nothing fits: every one is looked at.
    if (best_only == 0 || r.incomplete().empty() || control.stopped()) break;
  }
  if (!r.feasible()) {
    explain_infeasible(r, options, control);
    done(Stage::allocation);
    return r;
  }
  if (options.tell_chosen && !control.given_up()) options.tell_chosen(r);
  const bool assesses = options.stop_after != Stage::allocation;
  control.report(assesses ? "assessing the whole" : "computing trade-offs", 0.6);
  base::RunControl inner = control;
  inner.progress = nullptr;  // it belongs to the calling thread
  std::vector<std::string> left_out;
  const auto judge = [&] {
    assessment::Options how;
    how.seed = r.brief->seed;
    how.draws = r.brief->draws;
    how.chart_radii = options.chart_radii;
    how.chart_slews = options.chart_slews;
    r.assessed = assessment::assess(*r.brief, chosen_of(r), r.allocated->taken, how, inner);
  };
  try {
    // None asks for another one. The longest first.
    base::parallel_for(3, control.jobs, [&](std::size_t task) {
      if (task == 0 && assesses) judge();
      if (task == 1 && options.front) find_front(r, options, inner);
      if (task == 2 && assesses) left_out = why_left_out(r, options, inner);
    });
    control.check();
    if (done(Stage::allocation)) return r;
    add_choice_remedies(r, left_out, options, inner);
    control.check();
  } catch (const base::GivenUp&) {
    r.assessed.reset();
    done(Stage::allocation);
    return r;
  }
  plan_looks(r);
  done(Stage::assessment);
  control.report("done", 1.0);
  return r;
}

}  // namespace

Result run(const Options& options, const base::RunControl& control) {
  control.report("reading", 0.0);
  Result read;
  read.brief = read_brief(options, read.diagnostics, &read);
  document::Diagnostics bench;
  const std::vector<calibration::Row> rows =
      read.brief ? bench_rows(*read.brief, bench) : std::vector<calibration::Row>{};
  if (bench.has_errors() || rows.empty() || options.stop_after == Stage::brief) {
    Result r = run_stages(options, std::move(read), control);
    r.diagnostics.add_all(bench);
    r.bad_input = r.diagnostics.has_errors();
    return r;
  }
  Options first = options;
  first.front = first.ways_out = false;
  first.only_function.clear();
  first.stop_after = Stage::allocation;
  first.tell_proposed = nullptr;
  first.tell_chosen = nullptr;
  Result learning;
  learning.zones = read.zones;
  learning.publication = read.publication;
  const Result prior = run_stages(first, std::move(read), control);
  if (prior.bad_input || prior.stopped) return prior;
  auto learnt = std::make_shared<brief::Brief>(*prior.brief);
  auto outcome = calibration::calibrate(*learnt, built_of(prior), rows, bench);
  if (!outcome) {
    Result r = prior;
    r.diagnostics.add_all(bench);
    r.bad_input = true;
    return r;
  }
  learning.brief = std::move(learnt);
  Result r = run_stages(options, std::move(learning), control);
  // What only the reading of the files told; the stages told the rest again.
  const std::vector<document::Diagnostic> again = r.diagnostics.sorted();
  for (const document::Diagnostic& d : prior.diagnostics.sorted()) {
    const bool told = std::any_of(again.begin(), again.end(), [&](const document::Diagnostic& o) {
      return o.code == d.code && o.where.line == d.where.line && o.where.column == d.where.column &&
             o.message == d.message;
    });
    if (!told) r.diagnostics.add(d);
  }
  r.bench = std::move(outcome);
  return r;
}

}  // namespace design
