#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "cli/commands.h"
#include "report/json.h"
#include "report/load_chart.h"
#include "report/page.h"
#include "report/scale.h"
#include "report/sheet.h"
#include "report/text.h"

namespace cli {
namespace {

std::optional<::design::Stage> stage_of(const std::string& word, document::Diagnostics& d) {
  const std::vector<std::string> names{"brief", "candidates", "allocation", "assessment"};
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (names[i] == word) return static_cast<::design::Stage>(i);
  }
  const auto near = base::nearest_name(word, names);
  d.error("cli.unknown_stage", {"--stop-after", 0, 0}, "", fmt::format("there is no stage {}.", document::quoted(word)),
          near ? *near : "one of " + base::list_text(names, "or"));
  return std::nullopt;
}

std::vector<allocation::Stage> order_of(const std::string& text, document::Diagnostics& d) {
  using Kind = allocation::StageKind;
  const std::vector<std::pair<std::string, allocation::Stage>> known{
      {"wished", {Kind::least_dropped_weight, ""}}, {"margin", {Kind::best_worst_margin, ""}},
      {"mass", {Kind::least_budget, "mass"}},       {"current", {Kind::least_budget, "current"}},
      {"sockets", {Kind::least_budget, "sockets"}}, {"parts", {Kind::fewest_parts, ""}}};
  std::vector<std::string> names;
  for (const auto& [name, stage] : known) names.push_back(name);
  std::vector<allocation::Stage> out;
  std::size_t at = 0;
  while (!text.empty() && at <= text.size()) {
    const std::size_t end = std::min(text.find(',', at), text.size());
    const std::string word(base::trimmed(std::string_view(text).substr(at, end - at)));
    at = end + 1;
    const auto found = std::find_if(known.begin(), known.end(), [&](const auto& k) { return k.first == word; });
    if (found == known.end()) {
      const auto near = base::nearest_name(word, names);
      d.error("cli.unknown_order", {"--order", 0, 0}, "",
              fmt::format("{} is nothing to order by.", document::quoted(word)),
              near ? *near : "any of " + base::list_text(names) + ", most important first, with commas between");
    } else if (std::find(out.begin(), out.end(), found->second) != out.end()) {
      d.error("cli.order_twice", {"--order", 0, 0}, "", fmt::format("{} stands there twice.", document::quoted(word)),
              "name each once");
    } else {
      out.push_back(found->second);
    }
  }
  return out;
}

int exit_of(const ::design::Result& r) {
  if (r.bad_input) return kBadInput;
  if (!r.allocated) return r.stopped ? kInfeasible : kFeasible;
  return r.feasible() ? kFeasible : kInfeasible;
}

/// The four files of --out; any that cannot be written is reported.
bool write_results(Session& session, const ::design::Result& r, const std::string& folder, document::Diagnostics& d) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) {
    d.error("file.no_folder", {folder, 0, 0}, "", "this folder cannot be made: " + error.message() + ".",
            "name a folder you may write to");
    return false;
  }
  const std::filesystem::path base(folder);
  const report::TextOptions plain;
  bool good = session.write_file((base / "report.txt").string(), report::design_text(r, plain, true), d);
  good = session.write_file((base / "design.json").string(), report::dumped(report::design_json(r)), d) && good;
  good = session.write_file((base / "sheet.svg").string(), report::sheet(r).str(), d) && good;
  good = session.write_file((base / "results.html").string(), report::results_page(r), d) && good;
  return good;
}

/// Messages of the command line itself, in whichever form the caller reads.
int refuse(Session& session, const document::Diagnostics& d, const char* format) {
  session.report(d);
  if (session.common().json) {
    session.print(report::dumped({{"format", format},
                                  {"version", report::kFormatVersion},
                                  {"status", "bad_input"},
                                  {"stopped", false},
                                  {"diagnostics", report::json_of(d)}}));
  }
  return kBadInput;
}

int compare(Session& session, const DesignArgs& args, ::design::Options options) {
  options.front = false;
  std::vector<::design::Result> results;
  results.reserve(args.stock.size());
  std::vector<report::Compared> kits;
  int exit = kInfeasible;
  for (const std::string& file : args.stock) {
    options.stock = file;
    results.push_back(::design::run(options, session.control()));
    session.report(results.back().diagnostics);
    kits.push_back({file, &results.back()});
    if (results.back().feasible()) exit = kFeasible;
  }
  for (const ::design::Result& r : results) {
    if (r.bad_input) exit = kBadInput;
  }
  session.print(session.common().json ? report::dumped(report::compare_json(kits))
                                      : report::compare_text(kits, session.text_options()));
  return exit;
}

}  // namespace

int check(Session& session, const CheckArgs& args) {
  ::design::Options options;
  options.project = args.project;
  options.catalogue = session.common().catalogue;
  options.stock = args.stock;
  options.columns = args.columns;
  options.stop_after = ::design::Stage::brief;
  const ::design::Result r = ::design::run(options, session.control());
  session.report(r.diagnostics);
  if (session.common().json) {
    session.print(report::dumped(report::check_json(r)));
  } else if (!r.bad_input && !session.common().quiet) {
    session.print(report::check_text(r, session.text_options()) + "\nThe project is sound.\n");
  }
  return r.bad_input ? kBadInput : kFeasible;
}

int design(Session& session, const DesignArgs& args) {
  document::Diagnostics d;
  ::design::Options options;
  options.project = args.project;
  options.catalogue = session.common().catalogue;
  options.columns = args.columns;
  options.order = order_of(args.order, d);
  const auto stage = stage_of(args.stop_after, d);
  if (args.stock.size() > 1 && !args.out.empty()) {
    d.error("cli.out_of_many", {"--out", 0, 0}, "", "a comparison of several kits writes no result files.",
            "name one --stock, or leave --out away");
  }
  if (d.has_errors()) return refuse(session, d, "kitwright.design");
  options.stop_after = *stage;
  // The whole front can hold thousands of points; its best-margin end is what most people look at.
  options.front_points = args.whole_front ? 0 : 24;
  options.best_only = args.best_only;
  if (args.stock.size() > 1) return compare(session, args, std::move(options));
  if (!args.stock.empty()) options.stock = args.stock.front();

  const ::design::Result r = ::design::run(options, session.control());
  session.report(r.diagnostics);
  int exit = exit_of(r);
  if (session.common().json) {
    session.print(report::dumped(report::design_json(r)));
  } else if (!r.bad_input && !session.common().quiet) {
    session.print(report::design_text(r, session.text_options(), args.whole_front));
  }
  if (!args.out.empty() && !r.bad_input && !write_results(session, r, args.out, d)) {
    session.report(d);
    exit = kBadInput;
  }
  return exit;
}

int explain(Session& session, const ExplainArgs& args) {
  ::design::Options options;
  options.project = args.project;
  options.catalogue = session.common().catalogue;
  options.stock = args.stock;
  options.columns = args.columns;
  options.front = false;
  options.ways_out = false;
  ::design::Result r = ::design::run(options, session.control());
  std::size_t at = 0;
  if (!r.bad_input) {
    std::vector<std::string> ids;
    for (const ::design::FunctionResult& f : r.functions) ids.push_back(f.id);
    at = static_cast<std::size_t>(std::find(ids.begin(), ids.end(), args.function) - ids.begin());
    if (at == ids.size()) {
      const auto near = base::nearest_name(args.function, ids);
      r.diagnostics.error(
          "cli.unknown_function", {args.project, 0, 0}, "",
          fmt::format("there is no function {} in this project.", document::quoted(args.function)),
          near ? *near : (ids.empty() ? "the project has none" : "one of " + base::list_text(ids, "or")));
    } else if (!args.candidate.empty()) {
      std::vector<std::string> keys;
      for (const auto& c : r.functions[at].proposal.candidates) keys.push_back(c.key);
      if (std::find(keys.begin(), keys.end(), args.candidate) == keys.end()) {
        const auto near = base::nearest_name(args.candidate, keys);
        r.diagnostics.error("cli.unknown_candidate", {"--candidate", 0, 0}, "",
                            fmt::format("\"{}\" has no candidate {}.", args.function, document::quoted(args.candidate)),
                            near ? *near : "\"explain\" with --json lists all keys");
      }
    }
    r.bad_input = r.diagnostics.has_errors();
  }
  session.report(r.diagnostics);
  if (r.bad_input) {
    if (session.common().json) session.print(report::dumped(report::explain_json(r, r.functions.size(), "")));
    return kBadInput;
  }
  session.print(session.common().json ? report::dumped(report::explain_json(r, at, args.candidate))
                                      : report::explain_text(r, at, args.candidate, session.text_options()));
  if (!args.svg.empty()) {
    const candidate::Candidate* shown = r.chosen(at);
    const auto& candidates = r.functions[at].proposal.candidates;
    for (const auto& c : candidates) {
      if (!args.candidate.empty() && c.key == args.candidate) shown = &c;
    }
    if (shown == nullptr && !candidates.empty()) shown = &candidates.front();
    document::Diagnostics d;
    if (shown == nullptr) {
      d.error("cli.nothing_to_draw", {"--svg", 0, 0}, "", "this function has no candidate to draw.", "");
    } else {
      session.write_file(args.svg, report::building_drawing(*shown, r.functions[at].id).str(), d);
    }
    session.report(d);
    if (d.has_errors()) return kBadInput;
  }
  return exit_of(r);
}

int chart(Session& session, const ChartArgs& args) {
  ::design::Options options;
  options.project = args.project;
  options.catalogue = session.common().catalogue;
  options.stock = args.stock;
  options.columns = args.columns;
  options.front = false;
  options.chart_radii = args.radii;
  options.chart_slews = args.slews;
  const ::design::Result r = ::design::run(options, session.control());
  session.report(r.diagnostics);
  if (session.common().json) {
    session.print(report::dumped(report::chart_json(r)));
  } else if (r.assessed) {
    session.print(report::load_chart_text(r.assessed->lifting, session.text_options()));
  } else if (!r.bad_input) {
    session.print(report::design_text(r, session.text_options(), false));
  }
  document::Diagnostics d;
  const bool drawn = r.assessed && r.assessed->lifting.judged;
  if (!drawn && !r.bad_input && !(args.svg.empty() && args.csv.empty())) {
    d.error("cli.no_chart", {args.svg.empty() ? "--csv" : "--svg", 0, 0}, "", "there is no load chart to write.",
            r.assessed ? r.assessed->lifting.why_not : "\"design\" says why there is no design");
  }
  if (drawn && !args.svg.empty())
    session.write_file(args.svg, report::load_chart_sheet(r.assessed->lifting, r.brief->name).str(), d);
  if (drawn && !args.csv.empty()) session.write_file(args.csv, report::load_chart_csv(r.assessed->lifting), d);
  session.report(d);
  return d.has_errors() ? kBadInput : exit_of(r);
}

int scale(Session& session, const ScaleArgs& args) {
  ::design::ScaleOptions options;
  options.design.project = args.project;
  options.design.catalogue = session.common().catalogue;
  options.design.stock = args.stock;
  options.design.columns = args.columns;
  options.from = args.from;
  options.to = args.to;
  options.steps = args.steps;
  if (args.from > 0 && args.to > 0 && args.to < args.from) {
    document::Diagnostics d;
    d.error("cli.scale_range", {"--to", 0, 0}, "", "--to is below --from", "the smaller number first");
    session.report(d);
    return kBadInput;
  }
  const ::design::ScaleStudy study = ::design::study_scale(options, session.control());
  session.report(study.diagnostics);
  if (session.common().json) {
    session.print(report::dumped(report::scale_json(study)));
  } else if (!study.bad_input) {
    session.print(report::scale_text(study, session.text_options()));
  }
  if (study.bad_input) return kBadInput;
  return study.best >= 0 ? kFeasible : kInfeasible;
}

}  // namespace cli
