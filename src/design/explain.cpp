#include "design/explain.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "allocation/checker.h"
#include "allocation/conflict.h"
#include "allocation/conflict_text.h"
#include "allocation/front.h"
#include "allocation/solve.h"
#include "allocation/ways_out.h"
#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"
#include "design/problem.h"

namespace design {
namespace {

allocation::Options options_of(const Options& options, const base::RunControl& control) {
  allocation::Options out;
  out.order = options.order;
  out.cancel = control.stop;
  out.jobs = control.jobs;
  return out;
}

std::string part_list(const allocation::Problem& problem, const std::vector<int>& parts) {
  std::vector<std::string> names;
  for (const int p : parts) names.push_back(problem.parts.at(static_cast<std::size_t>(p)).name);
  return base::list_text(names, "or");
}

std::string what_of(const allocation::Problem& problem, const allocation::Resource& r) {
  switch (r.kind) {
    case allocation::ResourceKind::parts:
      return part_list(problem, r.parts);
    case allocation::ResourceKind::budget:
      return problem.budgets.at(static_cast<std::size_t>(r.budget)).name;
    case allocation::ResourceKind::place:
      return "the room at " + allocation::place_name(problem, r.cell);
  }
  return "";
}

Conflict conflict_of(const allocation::Problem& problem, const allocation::Conflict& from) {
  Conflict out;
  out.text = from.text;
  out.smallest = from.proven_smallest;
  out.minimal = from.irreducible;
  const auto reserve_name = [&](int r) { return problem.reserves.at(static_cast<std::size_t>(r)).reason; };
  for (const int f : from.functions) out.members.push_back(problem.functions.at(static_cast<std::size_t>(f)).name);
  for (const int r : from.reserves) out.members.push_back(reserve_name(r));
  for (const allocation::Resource& r : from.resources) {
    const auto* budget =
        r.kind == allocation::ResourceKind::budget ? &problem.budgets.at(static_cast<std::size_t>(r.budget)) : nullptr;
    const double per_unit = budget != nullptr ? budget->per_unit : 1;
    Conflict::Resource resource{what_of(problem, r),
                                static_cast<double>(r.needed) / per_unit,
                                static_cast<double>(r.have) / per_unit,
                                budget != nullptr ? budget->unit : "",
                                {}};
    for (const allocation::Share& s : r.shares) {
      const bool reserve = s.function < 0;
      resource.demands.push_back(
          {reserve ? reserve_name(s.reserve) : problem.functions.at(static_cast<std::size_t>(s.function)).name, reserve,
           static_cast<double>(s.least) / per_unit});
    }
    out.resources.push_back(std::move(resource));
  }
  return out;
}

using assessment::Amendment;

/// The number of the wants that a margin was judged by: its value and its unit are those of the requirement. A figure
/// that the kind worked out from several wants has none.
const document::Entry* want_of(const document::Node& wants, const candidate::Margin& m) {
  std::string suffix = m.unit;
  std::replace_if(
      suffix.begin(), suffix.end(), [](char c) { return c == '/' || c == ' '; }, '_');
  const document::Entry* found = nullptr;
  for (const document::Entry& e : wants.entries) {
    if (!e.value.is_number() || std::fabs(e.value.number() - m.requirement) > 1e-6 * std::fabs(m.requirement)) continue;
    if (e.key != suffix && !(e.key.size() > suffix.size() && e.key.ends_with("_" + suffix))) continue;
    if (found != nullptr) return nullptr;
    found = &e;
  }
  return found;
}

/// The wants of a function brought down to what its candidate reaches; empty when one of them has no number.
std::vector<Amendment> loosened(const brief::Function& function, const candidate::Candidate& c) {
  std::vector<Amendment> out;
  for (const candidate::Margin& m : c.nominal.margins) {
    if (m.ratio >= 1) continue;
    const document::Entry* want = want_of(function.wants, m);
    if (want == nullptr || !(m.capability > 0)) return {};
    // Three digits, rounded to the side that is easier to reach.
    const double step = std::pow(10, std::floor(std::log10(m.capability)) - 2);
    const double steps = m.capability / step;
    const double value = step * (m.capability < m.requirement ? std::floor(steps) : std::ceil(steps));
    out.push_back({"functions", function.id, "wants/" + want->key, assessment::number_value(value)});
  }
  return out;
}

bool raises_mass(const Result& r, const allocation::WayOut& way) {
  return way.kind == allocation::WayOutKind::raise_budget &&
         r.allocated->problem.budgets.at(static_cast<std::size_t>(way.budget)).name == kAddedMass;
}

/// The project's limit under which as much may be added as the way out needs. Not the present one and the difference:
/// where the bodies alone are too heavy, the budget is 0 and not what is lacking.
double raised_mass_g(const Result& r, const allocation::WayOut& way) {
  return std::ceil(base_mass_g(*r.brief) + static_cast<double>(way.after) / 10);
}

std::vector<Amendment> amendments_of(const Result& r, const allocation::WayOut& way) {
  using Kind = allocation::WayOutKind;
  const brief::Brief& brief = *r.brief;
  std::vector<Amendment> out;
  switch (way.kind) {
    case Kind::loosen_target: {
      const auto f = static_cast<std::size_t>(way.functions.front());
      const int choice = way.solution.choice.at(f);
      if (choice < 0) return {};
      return loosened(brief.functions.at(f),
                      r.functions.at(f).proposal.candidates.at(static_cast<std::size_t>(choice)));
    }
    case Kind::unlock:
      for (const int f : way.functions)
        out.push_back(
            {"functions", brief.functions.at(static_cast<std::size_t>(f)).id, "lock", assessment::text_value("")});
      return out;
    case Kind::drop_functions:
      for (const int f : way.functions)
        out.push_back({"functions", brief.functions.at(static_cast<std::size_t>(f)).id, "priority",
                       assessment::text_value("wished")});
      return out;
    case Kind::release_reserve: {
      // The supply's own hubs stand before the reserves of the project.
      const std::string& reason = r.allocated->problem.reserves.at(static_cast<std::size_t>(way.reserve)).reason;
      const auto named = std::count_if(brief.reserves.begin(), brief.reserves.end(),
                                       [&](const brief::Reserve& x) { return x.reason == reason; });
      if (named == 1) out.push_back({"reserves", reason, "", {}, Amendment::Op::remove});
      return out;
    }
    case Kind::raise_budget:
      if (raises_mass(r, way)) out.push_back({"limits", "", "mass_g", assessment::number_value(raised_mass_g(r, way))});
      return out;
    case Kind::more_parts:
      return {};  // the list of the stock says that, not the project
  }
  return out;
}

WayOut way_of(const Result& result, const allocation::WayOut& from) {
  const Allocated& a = *result.allocated;
  const brief::Brief& brief = *result.brief;
  WayOut out;
  out.type = static_cast<WayOut::Type>(from.kind);
  out.text = from.text;
  out.before = static_cast<double>(from.before);
  out.after = static_cast<double>(from.after);
  if (from.kind == allocation::WayOutKind::loosen_target) {
    out.before /= 1000;
    out.after /= 1000;
  }
  if (raises_mass(result, from)) {
    // In the project's words, not in those of what the limit leaves beside the bodies.
    out.before = *brief.limits.mass_g;
    out.after = raised_mass_g(result, from);
    out.text = fmt::format("mass limit raised from {} to {} g", base::plain(out.before, 6), base::plain(out.after, 6));
  }
  out.worst_margin = std::min(from.solution.worst_margin / 1000.0, candidate::kMarginCap);
  for (const int f : from.functions) out.functions.push_back(a.problem.functions.at(static_cast<std::size_t>(f)).name);
  for (const allocation::Take& t : from.extra) {
    out.pieces.emplace_back(brief.catalogue->at(a.part_classes.at(static_cast<std::size_t>(t.part))).id, t.count);
  }
  return out;
}

}  // namespace

const char* name_of(WayOut::Type type) {
  switch (type) {
    case WayOut::Type::more_parts:
      return "more_parts";
    case WayOut::Type::loosen_target:
      return "loosen_target";
    case WayOut::Type::unlock:
      return "unlock";
    case WayOut::Type::drop_function:
      return "drop_function";
    case WayOut::Type::release_reserve:
      return "release_reserve";
    case WayOut::Type::raise_budget:
      return "raise_budget";
  }
  return "";
}

void explain_infeasible(Result& result, const Options& options, const base::RunControl& control) {
  using Kind = allocation::WayOutKind;
  static_assert(static_cast<int>(Kind::more_parts) == static_cast<int>(WayOut::Type::more_parts) &&
                static_cast<int>(Kind::raise_budget) == static_cast<int>(WayOut::Type::raise_budget));
  Allocated& a = *result.allocated;
  if (a.solution.status != allocation::Status::infeasible) return;
  control.report("looking for what stands in the way", 0.6);
  const allocation::Options how = options_of(options, control);
  const allocation::Conflict conflict = allocation::explain_conflict(a.problem, how);
  if (!conflict.found) return;
  a.conflicts.push_back(conflict_of(a.problem, conflict));
  if (!options.ways_out) return;
  control.report("trying ways out", 0.8);
  const std::vector<allocation::WayOut> singles = allocation::ways_out(a.problem, conflict, how);
  for (const allocation::WayOut& way : singles) {
    const auto violations = allocation::check_solution(allocation::apply(a.problem, way), way.solution);
    KW_CHECK(violations.empty(), "a way out does not hold: " + violations.front());
    a.ways_out.push_back(way_of(result, way));
    a.ways_out.back().amendments = amendments_of(result, way);
  }
  control.report("trying pairs of changes", 0.9);
  const allocation::PairsOut pairs = allocation::pairs_out(a.problem, conflict, singles, how);
  a.pairs_out.looked_for = pairs.looked_for;
  a.pairs_out.complete = pairs.complete;
  a.pairs_out.note = pairs.text;
  for (const allocation::PairOut& pair : pairs.pairs) {
    const auto violations = allocation::check_solution(
        allocation::apply(allocation::apply(a.problem, pair.first), pair.second), pair.first.solution);
    KW_CHECK(violations.empty(), "a pair of changes does not hold: " + violations.front());
    PairOut out{way_of(result, pair.first), way_of(result, pair.second), 0};
    out.worst_margin = out.first.worst_margin;
    out.first.amendments = amendments_of(result, pair.first);
    out.second.amendments = amendments_of(result, pair.second);
    a.pairs_out.pairs.push_back(std::move(out));
  }
}

void find_front(Result& result, const Options& options, const base::RunControl& control) {
  const Allocated& a = *result.allocated;
  allocation::FrontOptions how;
  how.search = options_of(options, control);
  how.search.order.clear();
  how.budget = kMass;
  how.max_points = options.front_points;
  const allocation::Front front = allocation::trade_off_front(a.problem, how);
  int kept_back = 0;
  for (const allocation::Reserve& r : a.problem.reserves) kept_back += r.count;
  const auto mass_of = [&](const std::vector<int>& choice) {
    double sum_g = 0;
    for (std::size_t f = 0; f < choice.size(); ++f) {
      if (choice[f] < 0) continue;
      const auto& c = result.functions[f].proposal.candidates.at(static_cast<std::size_t>(choice[f]));
      sum_g += candidate::parts_mass_g(c.demand, *result.brief->catalogue);
    }
    return sum_g;
  };
  for (const allocation::FrontPoint& p : front.points) {
    FrontPoint point;
    point.choice = p.solution.choice;
    point.worst_margin = std::min(p.worst_margin / 1000.0, candidate::kMarginCap);
    point.parts_mass_g = mass_of(point.choice);
    point.parts_left = result.brief->stock->pieces() - kept_back - static_cast<int>(p.pieces);
    point.chosen = point.choice == a.choice;
    result.front.push_back(std::move(point));
  }
  if (!front.complete) {
    result.front_note = fmt::format("The front is not complete: {}.",
                                    options.front_points > 0 && !control.stopped()
                                        ? fmt::format("it was ended at {} points", options.front_points)
                                        : "the search was stopped");
  }
}

namespace {

/// The whole with function f at its best other candidate, solved again: a choice that makes f surer where one exists.
struct Tried {
  int candidate = -1;
  double margin = 0;
  double worst_margin = 0;
};

std::optional<Tried> try_better(const Result& r, std::size_t f, double margin_now, const allocation::Options& how,
                                const base::RunControl& control) {
  const Allocated& a = *r.allocated;
  const auto& candidates = r.functions[f].proposal.candidates;
  // Best first: the first that can be had together with everything else is the best one that can be had. The number of
  // tries is bounded so that a report does not take longer than the design.
  constexpr int kMostTries = 20;
  int tries = 0;
  for (std::size_t c = 0; c < candidates.size() && tries < kMostTries; ++c) {
    const double margin = candidates[c].nominal.worst();
    if (margin <= margin_now * 1.005 || control.stopped()) break;
    ++tries;
    allocation::Problem problem = a.problem;
    problem.functions[f].locked = static_cast<int>(c);
    problem.functions[f].skip.reset();
    const allocation::Solution solution = allocation::solve(problem, how);
    if (solution.status != allocation::Status::optimal && solution.status != allocation::Status::feasible_with_gap) {
      continue;
    }
    const auto violations = allocation::check_solution(problem, solution);
    KW_CHECK(violations.empty(), violations.front());
    return Tried{static_cast<int>(c), margin, std::min(solution.worst_margin / 1000.0, candidate::kMarginCap)};
  }
  return std::nullopt;
}

}  // namespace

std::vector<std::string> why_left_out(const Result& result, const Options& options, const base::RunControl& control) {
  const std::vector<int>& choice = result.allocated->choice;
  const allocation::Options how = options_of(options, control);
  std::vector<std::string> out(choice.size());
  base::parallel_for(choice.size(), control.jobs, [&](std::size_t wished) {
    if (choice[wished] >= 0 || control.stopped()) return;
    allocation::Problem problem = result.allocated->problem;
    for (std::size_t f = 0; f < choice.size(); ++f) {
      if (f == wished || choice[f] >= 0) problem.functions[f].skip.reset();
    }
    const allocation::Conflict conflict = allocation::explain_conflict(problem, how);
    if (conflict.found) out[wished] = conflict.text;
  });
  return out;
}

void add_choice_remedies(Result& result, const std::vector<std::string>& why_left_out, const Options& options,
                         const base::RunControl& control) {
  const allocation::Options how = options_of(options, control);
  std::vector<assessment::Finding>& findings = result.assessed->findings;
  const bool all_known = result.incomplete().empty();
  base::parallel_for(findings.size(), control.jobs, [&](std::size_t i) {
    assessment::Finding& finding = findings[i];
    if (control.stopped() || (finding.code != "function.left_out" && finding.code != "function.unsure")) return;
    const auto at = std::find_if(result.functions.begin(), result.functions.end(),
                                 [&](const FunctionResult& f) { return f.id == finding.function; });
    const std::size_t f = static_cast<std::size_t>(at - result.functions.begin());
    if (finding.code == "function.left_out") {
      if (!why_left_out[f].empty())
        finding.text += (all_known ? " " : " Among the candidates that were looked at: ") + why_left_out[f];
      return;
    }
    const candidate::Candidate* now = result.chosen(f);
    if (now == nullptr || !result.brief->functions[f].lock.empty()) return;
    const auto better = try_better(result, f, now->nominal.worst(), how, control);
    if (!better) return;
    const candidate::Candidate& c = at->proposal.candidates.at(static_cast<std::size_t>(better->candidate));
    assessment::Remedy remedy;
    remedy.text = fmt::format("build \"{}\" the other way, {} (worst margin of the whole then {})", finding.function,
                              c.title, base::plain(better->worst_margin, 3));
    remedy.amendments = {{"functions", finding.function, "lock", assessment::text_value(c.key)}};
    remedy.what = "margin of " + finding.function;
    remedy.before = now->nominal.worst();
    remedy.after = better->margin;
    // Judged by the same draws as the finding itself.
    int holds = 0;
    const int draws = result.assessed->certainty.draws;
    for (int k = 0; k < draws && c.evaluate; ++k) {
      const brief::Sample sample = result.brief->parameters.draw(result.brief->seed, static_cast<std::uint64_t>(k));
      holds += c.evaluate(sample).worst() >= 1 ? 1 : 0;
    }
    remedy.enough = draws > 0 && holds >= 0.8 * draws;
    finding.remedies.push_back(std::move(remedy));
  });
}

}  // namespace design
