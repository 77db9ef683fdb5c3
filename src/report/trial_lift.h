// A lift on the trial ground: text, JSON, CSV and its strip. Numbers come from trial/.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "report/layout.h"
#include "report/svg.h"
#include "trial/lift.h"

namespace report {

[[nodiscard]] std::string lift_text(const trial::LiftTrial& lift, const TextOptions& options);
[[nodiscard]] nlohmann::ordered_json json_of(const trial::LiftTrial& lift);
/// Time, hook, load, joints, rope, swing, margin; one line a sample, units in the heads.
[[nodiscard]] std::string lift_csv(const trial::LiftTrial& lift);
/// From above: tipping lines, way of hook and load, the place; over the time: swing and margin.
[[nodiscard]] Svg lift_drawing(const trial::LiftTrial& lift, double width);

}  // namespace report
