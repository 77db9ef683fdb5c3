// Everything the handset views look at, made of an assessed design. Command and workbench show the same.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "design/design.h"
#include "handset/guide.h"
#include "report/handset.h"
#include "simulation/run.h"

namespace report {

struct HandsetStudy {
  handset::Plan plan;
  std::vector<handset::GuideStep> steps;
  std::vector<std::string> sockets;
  std::optional<simulation::Outcome> cycle;  ///< the working cycle run twice; only where there is an engine to show
};
/// `result` is assessed.
[[nodiscard]] HandsetStudy handset_study(const design::Result& result);
/// Refers to both, which have to outlive it.
[[nodiscard]] HandsetView view_of(const design::Result& result, const HandsetStudy& study);
/// What "handset --json" prints.
[[nodiscard]] nlohmann::ordered_json handset_document(const design::Result& result, const HandsetStudy& study,
                                                      const document::Diagnostics& diagnostics, bool good);

}  // namespace report
