// A design for the commands that need one: simulate, handset, dossier.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "cli/commands.h"
#include "design/design.h"

namespace cli {

/// The design, assessed; otherwise why not was reported and the exit code says it.
struct Designed {
  ::design::Result result;
  int exit = kFeasible;
  [[nodiscard]] bool good() const { return exit == kFeasible; }
};

[[nodiscard]] Designed designed(Session& session, const std::string& project, const std::string& stock,
                                const std::string& columns, document::Diagnostics& diagnostics);

/// First keys of every answer in JSON.
[[nodiscard]] nlohmann::ordered_json head(const char* format, const char* status,
                                          const document::Diagnostics& diagnostics);

/// Reports, answers without a result, returns `exit`.
int give_up(Session& session, const char* format, int exit, const document::Diagnostics& diagnostics);

}  // namespace cli
