#include "cli/designed.h"

#include <nlohmann/json.hpp>

#include "report/json.h"

namespace cli {

Designed designed(Session& session, const std::string& project, const std::string& stock, const std::string& columns,
                  document::Diagnostics& d) {
  ::design::Options options;
  options.project = project;
  options.catalogue = session.common().catalogue;
  options.stock = stock;
  options.columns = columns;
  options.front = false;
  Designed out{::design::run(options, session.control()), kFeasible};
  d.add_all(out.result.diagnostics);
  if (out.result.bad_input) {
    out.exit = kBadInput;
  } else if (!out.result.assessed) {
    out.exit = kInfeasible;
    d.warning("cli.nothing_to_run", {project, 0, 0}, "", "there is no design to run; \"design\" says why");
  }
  return out;
}

nlohmann::ordered_json head(const char* format, const char* status, const document::Diagnostics& d) {
  return {{"format", format},
          {"version", report::kFormatVersion},
          {"status", status},
          {"stopped", false},
          {"diagnostics", report::json_of(d)}};
}

int give_up(Session& session, const char* format, int exit, const document::Diagnostics& d) {
  session.report(d);
  if (session.common().json)
    session.print(report::dumped(head(format, exit == kBadInput ? "bad_input" : "infeasible", d)));
  return exit;
}

}  // namespace cli
