// simulate and handset: what the designed machine does when somebody drives it.
#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/commands.h"
#include "cli/designed.h"
#include "document/toml_reader.h"
#include "handset/guide.h"
#include "report/handset_study.h"
#include "report/json.h"
#include "report/simulation.h"
#include "simulation/simulate.h"

namespace cli {
namespace {

simulation::Options with_engine(const ::handset::Plan& plan, ::handset::EngineFollower& follower) {
  simulation::Options out;
  if (plan.has_engine) out.engine = [&follower](double dt_s, double load) { return follower.step(dt_s, load); };
  return out;
}

}  // namespace

int simulate(Session& session, const SimulateArgs& args) {
  constexpr const char* kFormat = "kitwright.simulation";
  document::Diagnostics d;
  const Designed made = designed(session, args.project, args.stock, args.columns, d);
  if (!made.good()) return give_up(session, kFormat, made.exit, d);
  const ::design::Result& r = made.result;
  const std::vector<assessment::Chosen> chosen = ::design::chosen_of(r);
  const simulation::Machine machine =
      simulation::machine_of(*r.brief, chosen, r.assessed->power.ports, args.depth_percent / 100);
  if (machine.drives.empty()) {
    d.error("cli.no_drives", {args.project, 0, 0}, "", "no chosen function has a motor", "add one that has");
    return give_up(session, kFormat, kBadInput, d);
  }
  simulation::Script script;
  if (args.script.empty()) {
    script = simulation::cycle_script(*r.brief, machine, args.time_s);
  } else {
    const auto text = document::read_text_file(args.script, document::kMostTomlBytes, d);
    std::optional<simulation::Script> read;
    if (text)
      read = simulation::parse_script(*text, args.script, simulation::drivable(machine, *r.brief),
                                      simulation::function_ids(*r.brief), d);
    if (!read) return give_up(session, kFormat, kBadInput, d);
    script = std::move(*read);
  }
  const ::handset::Plan plan = ::handset::plan(*r.brief, chosen, *r.assessed);
  ::handset::EngineFollower follower(plan.engine);
  simulation::Options options = with_engine(plan, follower);
  options.step_s = args.step_ms / 1000;
  std::vector<std::string> notes;
  if (args.direct) {
    notes.emplace_back("controls go straight to the motors: no ramps, limits, soft ends or interlocks");
  } else {
    notes = simulation::follow_plan(plan, *r.brief, machine, script, options);
  }
  const simulation::Outcome o = simulation::simulate(*r.brief, chosen, *r.assessed, machine, script, options);
  bool good = true;
  if (!args.csv.empty()) good = session.write_file(args.csv, report::simulation_csv(o), d) && good;
  if (!args.svg.empty())
    good = session.write_file(args.svg, report::simulation_drawing(o, machine, r.brief->name).str(), d) && good;
  session.report(d);
  if (session.common().json) {
    nlohmann::ordered_json j = head(kFormat, good ? "done" : "bad_input", d);
    j["project"] = r.brief->name;
    j["simulation"] = report::simulation_json(o, machine, notes);
    session.print(report::dumped(j));
  } else if (!session.common().quiet) {
    session.print(report::simulation_text(o, machine, notes, session.text_options()));
  }
  return good ? kFeasible : kBadInput;
}

int handset(Session& session, const HandsetArgs& args) {
  constexpr const char* kFormat = "kitwright.handset";
  document::Diagnostics d;
  const Designed made = designed(session, args.project, args.stock, args.columns, d);
  if (!made.good()) return give_up(session, kFormat, made.exit, d);
  const ::design::Result& r = made.result;
  const report::HandsetStudy study = report::handset_study(r);
  const report::HandsetView view = report::view_of(r, study);
  bool good = true;
  if (!args.page.empty()) good = session.write_file(args.page, report::guide_page(view), d);
  session.report(d);
  if (session.common().json) {
    session.print(report::dumped(report::handset_document(r, study, d, good)));
  } else if (!session.common().quiet) {
    session.print(report::handset_text(view, session.text_options()));
  }
  return good ? kFeasible : kBadInput;
}

}  // namespace cli
