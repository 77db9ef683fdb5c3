// A simulated sequence as CSV, SVG, text and JSON.
#pragma once

#include <nlohmann/json.hpp>

#include <string>
#include <vector>

#include "report/layout.h"
#include "report/svg.h"
#include "simulation/run.h"

namespace report {

[[nodiscard]] std::string simulation_csv(const simulation::Outcome& outcome);
[[nodiscard]] Svg simulation_drawing(const simulation::Outcome& outcome, const simulation::Machine& machine,
                                     std::string_view title);
/// `notes`: how the handset was followed.
[[nodiscard]] std::string simulation_text(const simulation::Outcome& outcome, const simulation::Machine& machine,
                                          const std::vector<std::string>& notes, const TextOptions& options);
[[nodiscard]] nlohmann::ordered_json simulation_json(const simulation::Outcome& outcome,
                                                     const simulation::Machine& machine,
                                                     const std::vector<std::string>& notes);

}  // namespace report
