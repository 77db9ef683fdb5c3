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

namespace {

void add_stock(CLI::App* app, std::string& stock, std::string& columns) {
  app->add_option("--stock", stock, "stock list instead of the project's own");
  app->add_option("--columns", columns, "meaning of its columns: name=2,quantity=Count,colour=4");
}

/// --length 320 and the like for `new`: any dimension of any archetype; which ones fit is checked by the command.
void add_dimensions(CLI::App* app, std::map<std::string, double>& values) {
  for (const char* name : {"length", "width", "height", "boom", "stick", "reach", "mass", "load", "span"}) {
    app->add_option_function<double>(
        std::string("--") + name, [&values, name](const double& value) { values[name] = value; },
        "dimension, see new --list");
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

  cli::StockArgs stock;
  CLI::App* stock_app = app.add_subcommand("stock", "read a stock list: matched, doubtful and unknown rows");
  stock_app->add_option("file", stock.file, "stock list")->required();
  stock_app->add_option("--columns", stock.columns, "meaning of its columns: name=2,quantity=Count,colour=4");
  stock_app->add_option("--system", stock.system, "kit system; left out = the one that matches most rows");
  stock_app->add_flag("--all", stock.all, "list what counts, too");

  cli::NewArgs made;
  CLI::App* new_app = app.add_subcommand("new", "write a project like an archetype from a few dimensions");
  new_app->add_option("folder", made.folder, "folder to write");
  new_app->add_option("--like", made.like, "archetype");
  new_app->add_flag("--list", made.list, "list archetypes and their dimensions");
  new_app->add_option("--system", made.system, "kit system");
  new_app->add_option("--stock", made.stock, "your stock list; left out = an example kit");
  new_app->add_option("--name", made.name, "what the model is called");
  add_dimensions(new_app, made.dimensions);

  cli::SchemaArgs schema;
  CLI::App* schema_app = app.add_subcommand("schema", "print the JSON schema of project files");
  schema_app->add_option("--out", schema.out, "file to write");

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    if (told_unknown_command(app, argc, argv)) return cli::kBadInput;
    // Help and version come this way too, with code 0.
    return app.exit(e) == 0 ? cli::kFeasible : cli::kBadInput;
  }
  cli::catch_interrupt();
  cli::Session session(common);
  if (check_app->parsed()) return cli::check(session, check);
  if (design_app->parsed()) return cli::design(session, design);
  if (explain_app->parsed()) return cli::explain(session, explain);
  if (chart_app->parsed()) return cli::chart(session, chart);
  if (stock_app->parsed()) return cli::stock(session, stock);
  if (new_app->parsed()) return cli::make_new(session, made);
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
