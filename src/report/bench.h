// What bench tests taught: text, JSON and the residual plot.
#pragma once

#include <nlohmann/json.hpp>

#include <string>

#include "calibration/bench.h"
#include "report/layout.h"
#include "report/svg.h"

namespace report {

[[nodiscard]] std::string bench_text(const calibration::Outcome& outcome, const TextOptions& options);
[[nodiscard]] nlohmann::ordered_json bench_json(const calibration::Outcome& outcome);
/// Residuals in standard deviations, before and after.
[[nodiscard]] Svg residual_drawing(const calibration::Outcome& outcome, double width);

}  // namespace report
