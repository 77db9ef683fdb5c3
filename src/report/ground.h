// What the machine stands on and gets over, and the loads it moves: drawings, text and JSON. Every engineering number
// comes from the assessment; here only places on the paper are worked out.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "assessment/assessment.h"
#include "report/layout.h"
#include "report/svg.h"

namespace report {

/// A friction that is needed, for people: 0 where a hundredth says nothing.
[[nodiscard]] std::string friction_text(double needed);

/// Plan of what the machine stands on, with the load on every support, the tipping polygon, the centre of gravity with
/// two standard deviations around it, and where the line of gravity meets a slope.
[[nodiscard]] Svg standing_drawing(const balance::SupportState& state, const balance::Standing& standing,
                                   const balance::MassSpread& mass, const balance::Slope& slope, double width);

/// The vehicle at the places that matter on an obstacle, and over the way: friction needed, with the friction there is.
[[nodiscard]] Svg crossing_drawing(const balance::SideView& vehicle, const balance::GroundLine& ground,
                                   const balance::Crossing& crossing, const base::Triple& friction,
                                   const std::string& title, double width);

/// Steps, trenches and slopes over friction as bars, each with what stops the next. `ground` is judged.
[[nodiscard]] Svg ground_drawing(const assessment::Ground& ground, double width);

/// The site from above: places of work, what they reach, loads from where to where. `assessment.site` is judged.
[[nodiscard]] Svg site_drawing(const brief::Brief& brief, const assessment::Assessment& assessment, double width);

[[nodiscard]] std::string ground_text(const assessment::Ground& ground, const TextOptions& options);
[[nodiscard]] std::string site_text(const assessment::SitePlan& plan, const TextOptions& options);

[[nodiscard]] nlohmann::ordered_json json_of(const assessment::Ground& ground);
[[nodiscard]] nlohmann::ordered_json json_of(const assessment::SitePlan& plan);

}  // namespace report
