// A script on the trial ground: text, JSON, CSV and its plots. Numbers come from trial/.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "report/layout.h"
#include "report/svg.h"
#include "trial/script_drive.h"

namespace report {

[[nodiscard]] std::string script_text(const trial::ScriptTrial& script, const TextOptions& options);
[[nodiscard]] nlohmann::ordered_json json_of(const trial::ScriptTrial& script);
/// Time, every drive's place in simulation and trial, the machine's; one line a sample, units in the heads.
[[nodiscard]] std::string script_csv(const trial::ScriptTrial& script);
/// Every drive's place over the time, simulation and trial.
[[nodiscard]] Svg script_drawing(const trial::ScriptTrial& script, double width);

}  // namespace report
