// The program: parses the command line, runs one command, turns faults of ours into exit code 3.
#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include <algorithm>
#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include "base/check.h"
#include "base/text.h"
#include "cli/commands.h"
#include "cli/manual.h"

namespace {

void add_stock(CLI::App* app, std::string& stock, std::string& columns) {
  app->add_option("--stock", stock, "stock list instead of the project's own");
  app->add_option("--columns", columns, "meaning of its columns: name=2,quantity=Count,colour=4");
}

/// --length 320 and the like for `new`: any dimension of any archetype; which ones fit is checked by the command.
void add_dimensions(CLI::App* app, int argc, char** argv, std::map<std::string, double>& values) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  // Whoever asks for something else does not wait for the archetypes to be read.
  const auto asks_for = [&words](const char* command) {
    return std::find(words.begin(), words.end(), command) != words.end();
  };
  if (!asks_for("new") && !asks_for("manual")) return;
  for (const std::string& name : cli::dimension_names(words)) {
    const std::string option = "--" + name;
    if (app->get_option_no_throw(option) != nullptr || app->get_parent()->get_option_no_throw(option) != nullptr)
      continue;
    app->add_option_function<double>(
        option, [&values, name](const double& value) { values[name] = value; }, "dimension, see new --list");
  }
}

/// For a first word that is no command, which the parser only calls a missing one. True when it has said so.
bool told_unknown_command(const CLI::App& app, int argc, char** argv) {
  if (argc < 2 || argv[1][0] == '-') return false;
  std::vector<std::string> commands;
  for (const CLI::App* command : app.get_subcommands({})) commands.push_back(command->get_name());
  const std::string word = argv[1];
  if (std::find(commands.begin(), commands.end(), word) != commands.end()) return false;
  const auto near = base::nearest_name(word, commands);
  fmt::print(stderr, "there is no command \"{}\"\n  try: {}\n", word,
             near ? *near : "one of " + base::list_text(commands, "or"));
  return true;
}

/// For an option that the command does not have, which the parser lists from behind. True when it has said so.
bool told_unknown_option(const CLI::App& app, int argc, char** argv) {
  if (app.get_subcommands().empty()) return false;
  const CLI::App* command = app.get_subcommands().front();
  std::vector<std::string> options;
  for (const CLI::App* of : {command, &app}) {
    for (const CLI::Option* o : of->get_options()) {
      for (const std::string& name : o->get_lnames()) options.push_back("--" + name);
    }
  }
  for (const std::string& word : std::vector<std::string>(argv + 1, argv + argc)) {
    const std::string option = word.substr(0, word.find('='));
    if (!option.starts_with("--") || option == "--") continue;
    if (std::find(options.begin(), options.end(), option) != options.end()) continue;
    const auto near = base::nearest_name(option, options);
    fmt::print(stderr, "\"{}\" has no option \"{}\"\n  try: {}\n", command->get_name(), option,
               near ? *near : fmt::format("kitwright {} --help", command->get_name()));
    return true;
  }
  return false;
}

int run(int argc, char** argv) {
  CLI::App app{"Kitwright: whole motorised working models from the parts of one donor kit."};
  app.name("kitwright");
  app.set_version_flag("--version", std::string("kitwright ") + KW_VERSION);
  app.require_subcommand(1);
  app.fallthrough();

  cli::Common common;
  app.add_flag("--json", common.json, "answer as JSON, see schema/result.schema.json");
  app.add_flag("--quiet", common.quiet, "only errors");
  app.add_option("--jobs", common.jobs, "threads; never changes a result")->check(CLI::Range(0, 256));
  app.add_option("--catalogue", common.catalogue, "folder of the kit systems");

  cli::CheckArgs check;
  CLI::App* check_app = app.add_subcommand("check", "read a project and say everything that is wrong with it");
  check_app->add_option("project", check.project, "project folder or file")->required();
  add_stock(check_app, check.stock, check.columns);

  cli::DesignArgs design;
  CLI::App* design_app = app.add_subcommand("design", "compute a whole design, or why there is none");
  design_app->add_option("project", design.project, "project folder or file")->required();
  design_app->add_option("--stock", design.stock, "stock list; several compare donor kits")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  design_app->add_option("--columns", design.columns, "meaning of its columns: name=2,quantity=Count,colour=4");
  design_app->add_option("--stop-after", design.stop_after, "brief, candidates, allocation or assessment");
  design_app->add_option("--out", design.out, "folder for report.txt, design.json, sheet.svg, results.html");
  design_app->add_option("--order", design.order,
                         "what counts first: wished,margin,mass; also current, sockets, parts");
  design_app->add_flag("--front", design.whole_front, "list the whole trade-off front");
  design_app
      ->add_option("--best", design.best_only,
                   "quicker: of each function only so many trains of each motor, those with the best margins")
      ->check(CLI::Range(1, 1'000'000));

  cli::ExplainArgs explain;
  CLI::App* explain_app = app.add_subcommand("explain", "why this candidate of a function, why not the others");
  explain_app->add_option("project", explain.project, "project folder or file")->required();
  explain_app->add_option("function", explain.function, "id of the function")->required();
  explain_app->add_option("--candidate", explain.candidate, "key of another candidate to show");
  explain_app->add_option("--svg", explain.svg, "write its drawing to this file");
  add_stock(explain_app, explain.stock, explain.columns);

  cli::ChartArgs chart;
  CLI::App* chart_app = app.add_subcommand("chart", "load chart: what it lifts where, and what stops it");
  chart_app->add_option("project", chart.project, "project folder or file")->required();
  chart_app->add_option("--radii", chart.radii, "radii looked at")->check(CLI::Range(2, 400));
  chart_app->add_option("--slews", chart.slews, "slewing angles of a whole turn")->check(CLI::Range(1, 720));
  chart_app->add_option("--svg", chart.svg, "write the drawing to this file");
  chart_app->add_option("--csv", chart.csv, "write every cell to this file");
  add_stock(chart_app, chart.stock, chart.columns);

  cli::ScaleArgs scale;
  CLI::App* scale_app = app.add_subcommand("scale", "which scale suits, and which function fails at which scale");
  scale_app->add_option("project", scale.project, "project folder or file, with [real]")->required();
  scale_app->add_option("--from", scale.from, "smallest scale looked at: 1 to this; 0 = 0.7 of the project's own")
      ->check(CLI::Range(0.0, 1000.0));
  scale_app->add_option("--to", scale.to, "greatest scale looked at; 0 = 1.5 of the project's own")
      ->check(CLI::Range(0.0, 1000.0));
  scale_app->add_option("--steps", scale.steps, "scales between them, besides those of the parts")
      ->check(CLI::Range(1, 60));
  add_stock(scale_app, scale.stock, scale.columns);
  cli::SimulateArgs simulate;
  CLI::App* simulate_app = app.add_subcommand("simulate", "drive the designed machine through a script, step by step");
  simulate_app->add_option("project", simulate.project, "project folder or file")->required();
  simulate_app->add_option("--script", simulate.script, "inputs over time, CSV or TOML; left out = the working cycle");
  simulate_app->add_option("--time", simulate.time_s, "seconds of the working cycle")->check(CLI::Range(1.0, 86400.0));
  simulate_app->add_option("--step", simulate.step_ms, "milliseconds a step")->check(CLI::Range(0.01, 20.0));
  simulate_app->add_option("--used", simulate.depth_percent, "charge used at the start, %")
      ->check(CLI::Range(0.0, 100.0));
  simulate_app->add_flag("--direct", simulate.direct,
                         "controls straight to the motors: no ramps, limits, soft ends, interlocks");
  simulate_app->add_option("--csv", simulate.csv, "write every sample to this file");
  simulate_app->add_option("--svg", simulate.svg, "write the plots to this file");
  add_stock(simulate_app, simulate.stock, simulate.columns);

  cli::TrialArgs trial;
  CLI::App* trial_app =
      app.add_subcommand("trial", "drive and load the design in a physics engine, beside the closed forms");
  trial_app->add_option("project", trial.project, "project folder or file")->required();
  trial_app->add_option(
      "--course", trial.course,
      "flat, slope, side_slope, step, drop, trench or washboard; left out = everything that can be tried");
  trial_app->add_option("--height", trial.height_mm, "of a step, a drop or the waves, mm")
      ->check(CLI::Range(0.0, 1000.0));
  trial_app->add_option("--width", trial.width_mm, "of a trench, mm")->check(CLI::Range(0.0, 5000.0));
  trial_app->add_option("--angle", trial.angle_deg, "of a slope or side_slope, deg")->check(CLI::Range(0.0, 80.0));
  trial_app->add_option("--task", trial.task, "lift: pick up, swing round, set down at the load chart's edge");
  trial_app->add_option("--script", trial.script, "a handset script, CSV or TOML, driven beside its simulation");
  trial_app->add_option("--load", trial.load_g, "of a lift, g; left out = what the design was asked to lift")
      ->check(CLI::Range(1.0, 100000.0));
  trial_app->add_option("--slew", trial.slew_deg, "of a lift, deg; left out = the chart's worst angle")
      ->check(CLI::Range(-360.0, 360.0));
  trial_app->add_option("--input", trial.input, "of the slewing control, share of full")->check(CLI::Range(0.05, 1.0));
  trial_app->add_option("--ramp", trial.ramp_s, "of the slewing control, s; left out = as the handset is set up")
      ->check(CLI::Range(0.0, 30.0));
  trial_app->add_option("--friction", trial.friction, "coefficient; left out = the project's")
      ->check(CLI::Range(0.05, 3.0));
  trial_app->add_option("--step", trial.step_ms, "milliseconds a step of the engine")->check(CLI::Range(0.1, 2.0));
  trial_app->add_option("--csv", trial.csv, "write the trace of one course or task to this file");
  trial_app->add_option("--svg", trial.svg, "write the strip of one course or task to this file");
  add_stock(trial_app, trial.stock, trial.columns);

  cli::HandsetArgs handset;
  CLI::App* handset_app = app.add_subcommand("handset", "which stick moves what, and the set-up guide");
  handset_app->add_option("project", handset.project, "project folder or file")->required();
  handset_app->add_option("--page", handset.page, "write the set-up guide with its figures to this file");
  add_stock(handset_app, handset.stock, handset.columns);

  cli::StockArgs stock;
  cli::DossierArgs dossier;
  CLI::App* dossier_app = app.add_subcommand("dossier", "everything a stranger needs to build it: page, PDF, drawings");
  dossier_app->add_option("project", dossier.project, "project folder or file")->required();
  dossier_app->add_option("--out", dossier.out, "folder for dossier.html, dossier_a4.pdf, parts.json, figures")
      ->required();
  dossier_app->add_option("--language", dossier.language, "en, de, fr, or any file of catalogue/texts");
  dossier_app->add_option("--revision", dossier.revision, "of what you publish, instead of the project's own");
  add_stock(dossier_app, dossier.stock, dossier.columns);

  CLI::App* stock_app = app.add_subcommand("stock", "read a stock list: matched, doubtful and unknown rows");
  stock_app->add_option("file", stock.file, "stock list")->required();
  stock_app->add_option("--columns", stock.columns, "meaning of its columns: name=2,quantity=Count,colour=4");
  stock_app->add_option("--system", stock.system, "kit system; left out = the one that matches most rows");
  stock_app->add_option("--against", stock.against, "a dossier: what this stock lacks to build it");
  stock_app->add_flag("--all", stock.all, "list what counts, too");

  cli::NewArgs made;
  CLI::App* new_app = app.add_subcommand("new", "write a project like an archetype from a few dimensions");
  new_app->add_option("folder", made.folder, "folder to write");
  new_app->add_option("--like", made.like, "archetype");
  new_app->add_flag("--list", made.list, "list archetypes and their dimensions");
  new_app->add_option("--system", made.system, "kit system");
  new_app->add_option("--stock", made.stock, "your stock list; left out = an example kit");
  new_app->add_option("--name", made.name, "what the model is called");
  add_dimensions(new_app, argc, argv, made.dimensions);

  cli::SchemaArgs schema;
  CLI::App* schema_app = app.add_subcommand("schema", "print the JSON schema of project files");
  schema_app->add_option("--out", schema.out, "file to write");
  schema_app->add_flag("--server", schema.server, "of what the workbench's server says, instead of project files");

  cli::ServeArgs serve;
  CLI::App* serve_app = app.add_subcommand("serve", "the workbench: a page in the browser, on this machine only");
  serve_app->add_option("project", serve.project, "project folder or file; left out = the start page");
  serve_app->add_option("--port", serve.port, "port on 127.0.0.1; left out = any free one")
      ->check(CLI::Range(1, 65535));

  bool bash = false, zsh = false;
  CLI::App* manual_app = app.add_subcommand("manual", "print the manual page, or a shell's completions");
  manual_app->add_flag("--bash", bash, "the completions for bash");
  manual_app->add_flag("--zsh", zsh, "the completions for zsh")->excludes("--bash");

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    if (told_unknown_command(app, argc, argv)) return cli::kBadInput;
    if (dynamic_cast<const CLI::ExtrasError*>(&e) != nullptr && told_unknown_option(app, argc, argv))
      return cli::kBadInput;
    // Help and version come this way too, with code 0.
    return app.exit(e) == 0 ? cli::kFeasible : cli::kBadInput;
  }
  cli::catch_interrupt();
  cli::Session session(common);
  if (check_app->parsed()) return cli::check(session, check);
  if (design_app->parsed()) return cli::design(session, design);
  if (explain_app->parsed()) return cli::explain(session, explain);
  if (chart_app->parsed()) return cli::chart(session, chart);
  if (trial_app->parsed()) return cli::trial(session, trial);
  if (scale_app->parsed()) return cli::scale(session, scale);
  if (simulate_app->parsed()) return cli::simulate(session, simulate);
  if (handset_app->parsed()) return cli::handset(session, handset);
  if (dossier_app->parsed()) return cli::dossier(session, dossier);
  if (stock_app->parsed()) return cli::stock(session, stock);
  if (new_app->parsed()) return cli::make_new(session, made);
  if (manual_app->parsed()) {
    session.print(bash  ? cli::bash_completion(app)
                  : zsh ? cli::zsh_completion(app)
                        : cli::manual_page(app, KW_VERSION));
    return cli::kFeasible;
  }
  if (serve_app->parsed()) return cli::serve(session, serve);
  return cli::schema(session, schema);
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& e) {
    fmt::print(
        stderr,
        "kitwright: this is our fault, not yours: {}\nPlease report it with the project and stock files that led "
        "here.\n",
        e.what());
    return cli::kOurFault;
  }
}
