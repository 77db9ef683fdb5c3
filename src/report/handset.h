// The handset plan and the set-up guide: text, JSON, and one figure a step.
#pragma once

#include <nlohmann/json.hpp>

#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "handset/guide.h"
#include "report/layout.h"
#include "report/svg.h"
#include "simulation/run.h"

namespace report {

struct HandsetView {
  const brief::Brief& brief;
  const assessment::Assessment& assessed;
  const handset::Plan& plan;
  const std::vector<handset::GuideStep>& steps;
  const std::vector<std::string>& sockets;     ///< handset::socket_names
  const simulation::Outcome* cycle = nullptr;  ///< the engine's rule over the working cycle; may be null
};

[[nodiscard]] std::string handset_text(const HandsetView& view, const TextOptions& options);
[[nodiscard]] nlohmann::ordered_json handset_json(const HandsetView& view);
[[nodiscard]] Svg guide_figure(const HandsetView& view, std::size_t step);
/// A page for strangers: every step with its figure.
[[nodiscard]] std::string guide_page(const HandsetView& view);

}  // namespace report
