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

struct StockArgs {
  std::string file;
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

struct SchemaArgs {
  std::string out;  ///< file; empty = standard output
};
int schema(Session& session, const SchemaArgs& args);

}  // namespace cli
