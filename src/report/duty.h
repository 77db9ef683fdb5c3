// The working cycle in text, JSON and a drawing.
#pragma once

#include <nlohmann/json.hpp>

#include <string>

#include "assessment/assessment.h"
#include "report/layout.h"
#include "report/svg.h"

namespace report {

[[nodiscard]] std::string duty_text(const assessment::DutyPower& duty, const TextOptions& options);
[[nodiscard]] nlohmann::ordered_json duty_json(const assessment::DutyPower& duty);
/// Currents of every phase, function by function.
[[nodiscard]] Svg duty_drawing(const assessment::DutyPower& duty, double width);

}  // namespace report
