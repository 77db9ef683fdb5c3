// trial: the design driven and loaded in the physics engine.
#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <numbers>

#include "cli/commands.h"
#include "cli/designed.h"
#include "document/toml_reader.h"
#include "handset/guide.h"
#include "report/json.h"
#include "report/trial.h"
#include "report/trial_lift.h"
#include "report/trial_script.h"
#include "trial/trial.h"

namespace cli {
namespace {

/// The course that the options describe; the name of the option that is missing or of no use otherwise.
std::optional<::trial::Course> course_of(const TrialArgs& args, document::Diagnostics& d) {
  using ::trial::CourseType;
  const auto wrong = [&](const std::string& text, const std::string& hint) -> std::optional<::trial::Course> {
    d.error("cli.course", {"--course", 0, 0}, "", text, hint);
    return std::nullopt;
  };
  const auto type = ::trial::course_type(args.course);
  if (!type)
    return wrong(fmt::format("there is no course \"{}\"", args.course),
                 "take flat, slope, side_slope, step, drop, trench or washboard");
  ::trial::Course out{*type, 0};
  const bool high = args.height_mm > 0, wide = args.width_mm > 0, steep = args.angle_deg > 0;
  switch (*type) {
    case CourseType::flat:
      return out;
    case CourseType::slope:
    case CourseType::side_slope:
      if (!steep) return wrong("a slope needs its angle", "add --angle DEGREES");
      out.size = args.angle_deg * std::numbers::pi / 180;
      return out;
    case CourseType::trench:
      if (!wide) return wrong("a trench needs its width", "add --width MILLIMETRES");
      out.size = args.width_mm;
      return out;
    case CourseType::step:
    case CourseType::drop:
    case CourseType::washboard:
      break;
  }
  if (!high) return wrong(fmt::format("a {} needs its height", args.course), "add --height MILLIMETRES");
  out.size = args.height_mm;
  return out;
}

/// The script in the engine; empty: it cannot be read, which was reported.
std::optional<::trial::ScriptTrial> driven_script(Session& session, const TrialArgs& args, const design::Result& r,
                                                  document::Diagnostics& d) {
  const std::vector<assessment::Chosen> chosen = design::chosen_of(r);
  const simulation::Machine machine = simulation::machine_of(*r.brief, chosen, r.assessed->power.ports);
  const auto text = document::read_text_file(args.script, document::kMostTomlBytes, d);
  if (!text) return std::nullopt;
  const auto script = simulation::parse_script(*text, args.script, simulation::drivable(machine, *r.brief),
                                               simulation::function_ids(*r.brief), d);
  if (!script) return std::nullopt;
  const ::handset::Plan plan = ::handset::plan(*r.brief, chosen, *r.assessed);
  simulation::Options options;
  const std::vector<std::string> notes = simulation::follow_plan(plan, *r.brief, machine, *script, options);
  ::trial::ScriptTrial out = ::trial::try_script(*r.brief, chosen, *r.assessed, machine, *script, options,
                                                 std::min(args.step_ms, 1.0), true, session.control());
  out.left_out.insert(out.left_out.end(), notes.begin(), notes.end());
  return out;
}

}  // namespace

int trial(Session& session, const TrialArgs& args) {
  constexpr const char* kFormat = "kitwright.trial";
  document::Diagnostics d;
  std::optional<::trial::Course> course;
  if (!args.course.empty()) {
    course = course_of(args, d);
    if (!course) return give_up(session, kFormat, kBadInput, d);
  }
  if (!args.script.empty() && (course || !args.task.empty())) {
    d.error("cli.task", {"--script", 0, 0}, "", "a script is a trial of its own", "ask for one after the other");
    return give_up(session, kFormat, kBadInput, d);
  }
  if (!args.task.empty() && (args.task != "lift" || course)) {
    d.error("cli.task", {"--task", 0, 0}, "",
            course ? "a course and a task are two trials" : fmt::format("there is no task \"{}\"", args.task),
            course ? "ask for one after the other" : "take lift");
    return give_up(session, kFormat, kBadInput, d);
  }
  if (!course && args.task.empty() && args.script.empty() && (!args.csv.empty() || !args.svg.empty())) {
    d.error("cli.course", {"--csv, --svg", 0, 0}, "", "a trace and a strip are of one trial",
            "name it with --course, --task or --script");
    return give_up(session, kFormat, kBadInput, d);
  }
  const Designed made = designed(session, args.project, args.stock, args.columns, d);
  if (!made.good()) return give_up(session, kFormat, made.exit, d);
  const assessment::Assessment& assessed = *made.result.assessed;
  bool good = true;
  nlohmann::ordered_json j;
  std::string text;
  if (course) {
    if (!assessed.ground.judged) {
      d.error("cli.drives_nowhere", {args.project, 0, 0}, "", "there is nothing to drive: " + assessed.ground.why_not,
              "add a function that drives the machine along");
      return give_up(session, kFormat, kBadInput, d);
    }
    ::trial::DriveOptions how;
    how.step_ms = args.step_ms;
    const ::trial::CourseTrial c = ::trial::try_course(
        assessed.ground, *course, args.friction > 0 ? args.friction : assessed.ground.friction.nominal, how,
        ::trial::own_speed_mm_s(*made.result.brief, design::chosen_of(made.result)));
    if (!args.csv.empty()) good = session.write_file(args.csv, report::trial_csv(c), d) && good;
    if (!args.svg.empty()) good = session.write_file(args.svg, report::trial_drawing(c, 900).str(), d) && good;
    j = report::json_of(c);
    text = report::trial_text(c, session.text_options());
  } else if (!args.script.empty()) {
    const std::optional<::trial::ScriptTrial> driven = driven_script(session, args, made.result, d);
    if (!driven) return give_up(session, kFormat, kBadInput, d);
    if (!args.csv.empty()) good = session.write_file(args.csv, report::script_csv(*driven), d) && good;
    if (!args.svg.empty()) good = session.write_file(args.svg, report::script_drawing(*driven, 900).str(), d) && good;
    j = report::json_of(*driven);
    text = report::script_text(*driven, session.text_options());
  } else if (args.task == "lift") {
    ::trial::LiftWish wish;
    wish.load_g = args.load_g;
    wish.slew_deg = args.slew_deg;
    wish.input = args.input;
    wish.ramp_s = args.ramp_s;
    wish.step_ms = std::min(args.step_ms, 1.0);
    const ::trial::LiftTrial lift =
        ::trial::try_lift(*made.result.brief, design::chosen_of(made.result), assessed, wish, session.control());
    if (!args.csv.empty()) good = session.write_file(args.csv, report::lift_csv(lift), d) && good;
    if (!args.svg.empty()) good = session.write_file(args.svg, report::lift_drawing(lift, 900).str(), d) && good;
    j = report::json_of(lift);
    text = report::lift_text(lift, session.text_options());
  } else {
    ::trial::Options how;
    how.step_ms = args.step_ms;
    const ::trial::Report r =
        ::trial::try_design(*made.result.brief, design::chosen_of(made.result), assessed, how, session.control());
    session.clear_progress();
    j = report::json_of(r);
    text = report::trial_text(r, session.text_options());
  }
  session.report(d);
  if (session.common().json) {
    nlohmann::ordered_json out = head(kFormat, good ? "done" : "bad_input", d);
    out["project"] = made.result.brief->name;
    out["trial"] = std::move(j);
    session.print(report::dumped(out));
  } else if (!session.common().quiet) {
    session.print(text);
  }
  return good ? kFeasible : kBadInput;
}

}  // namespace cli
