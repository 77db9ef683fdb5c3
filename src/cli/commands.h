// The commands of the program. Each takes parsed arguments and returns the exit code.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "cli/session.h"

namespace cli {

struct CheckArgs {
  std::string project;
  std::string stock;
  std::string columns;
};
int check(Session& session, const CheckArgs& args);

struct DesignArgs {
  std::string project;
  std::vector<std::string> stock;  ///< none = the project's own; several = a comparison
  std::string columns;
  std::string stop_after = "assessment";
  std::string out;  ///< folder for report.txt, design.json, sheet.svg, results.html
  std::string order;
  bool whole_front = false;
  int best_only = 0;  ///< trains of each motor and function; 0 = every one
};
int design(Session& session, const DesignArgs& args);

struct ExplainArgs {
  std::string project;
  std::string function;
  std::string candidate;
  std::string stock;
  std::string columns;
  std::string svg;
};
int explain(Session& session, const ExplainArgs& args);

struct ChartArgs {
  std::string project;
  std::string stock;
  std::string columns;
  int radii = 16;   ///< 2 to 400
  int slews = 24;   ///< of a whole turn, 1 to 720
  std::string svg;  ///< files to write
  std::string csv;
};
int chart(Session& session, const ChartArgs& args);

struct ScaleArgs {
  std::string project;
  std::string stock;
  std::string columns;
  double from = 0, to = 0;  ///< 0 = around the project's own
  int steps = 7;
};
int scale(Session& session, const ScaleArgs& args);
struct SimulateArgs {
  std::string project;
  std::string script;  ///< CSV or TOML; empty = the working cycle of the project
  std::string stock;
  std::string columns;
  std::string csv;  ///< files to write
  std::string svg;
  double time_s = 600;       ///< of the working cycle, without a script
  double step_ms = 1;        ///< 0.01 to 20
  double depth_percent = 0;  ///< charge used at the start
  bool direct = false;       ///< without the handset's ramps, limits, soft ends and interlocks
};
int simulate(Session& session, const SimulateArgs& args);

struct TrialArgs {
  std::string project;
  std::string course;                                       ///< empty = everything that can be tried
  double height_mm = -1, width_mm = -1, angle_deg = -1;     ///< size of the course; negative = not given
  std::string task;                                         ///< "lift"; empty = none
  std::string script;                                       ///< CSV or TOML, driven in the engine; empty = none
  double load_g = 0, slew_deg = 0, input = 1, ramp_s = -1;  ///< of a lift; see trial::LiftWish
  double friction = 0;                                      ///< 0 = the project's nominal one
  double step_ms = 2;
  std::string stock;
  std::string columns;
  std::string csv;  ///< files to write, of one course or task
  std::string svg;
};
int trial(Session& session, const TrialArgs& args);

struct HandsetArgs {
  std::string project;
  std::string stock;
  std::string columns;
  std::string page;  ///< set-up guide to write
};
int handset(Session& session, const HandsetArgs& args);

struct DossierArgs {
  std::string project;
  std::string out;
  std::string language = "en";
  std::string revision;
  std::string stock;
  std::string columns;
};
int dossier(Session& session, const DossierArgs& args);

struct StockArgs {
  std::string file;
  std::string against;  ///< a dossier, or its list of parts: what the file lacks of it
  std::string columns;
  std::string system;
  bool all = false;
};
int stock(Session& session, const StockArgs& args);

struct NewArgs {
  std::string folder;
  std::string like;
  std::string system;
  std::string stock;
  std::string name;
  bool list = false;
  std::map<std::string, double> dimensions;
};
int make_new(Session& session, const NewArgs& args);
/// Names of all dimensions of all archetypes, ascending, of the catalogue that the command line's words name or else of
/// the usual one; none where there is no such catalogue, which the command itself reports.
[[nodiscard]] std::vector<std::string> dimension_names(const std::vector<std::string>& words);

struct ServeArgs {
  std::string project;  ///< empty = the start page
  int port = 0;         ///< 0 = any free one
};
/// Runs until it is interrupted.
int serve(Session& session, const ServeArgs& args);

struct SchemaArgs {
  std::string out;      ///< file; empty = standard output
  bool server = false;  ///< of what the workbench's server says, instead of project files
};
int schema(Session& session, const SchemaArgs& args);

}  // namespace cli
