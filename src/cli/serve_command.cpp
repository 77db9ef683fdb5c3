#include <fmt/format.h>

#include <chrono>
#include <nlohmann/json.hpp>
#include <thread>

#include "cli/commands.h"
#include "report/json.h"
#include "serve/json.h"
#include "serve/server.h"

namespace cli {

int serve(Session& session, const ServeArgs& args) {
  document::Diagnostics d;
  ::serve::Settings settings;
  settings.project = args.project;
  settings.catalogue = session.common().catalogue;
  settings.version = KW_VERSION;
  settings.port = args.port;
  settings.threads = session.common().jobs;
  ::serve::Server server(settings);
  const bool started = server.start(d);
  session.report(d);
  if (!started) {
    if (session.common().json) {
      session.print(report::dumped({{"format", "kitwright.serve"},
                                    {"version", report::kFormatVersion},
                                    {"status", "bad_input"},
                                    {"diagnostics", report::json_of(d)}}));
    }
    return kBadInput;
  }
  if (session.common().json) {
    session.print(::serve::compact({{"format", "kitwright.serve"},
                                    {"version", report::kFormatVersion},
                                    {"status", "serving"},
                                    {"address", server.address()},
                                    {"port", server.port()},
                                    {"token", server.token()}}) +
                  "\n");
  } else {
    session.print(
        fmt::format("The workbench is at {}\nIt answers this machine only. Ctrl-C ends it.\n", server.address()));
  }
  while (!stop_flag().load(std::memory_order_relaxed)) std::this_thread::sleep_for(std::chrono::milliseconds(50));
  server.stop();
  return kFeasible;
}

}  // namespace cli
