// Drawings of a design: margins, mechanisms with their curves, stance, all on one sheet.
// Positions on the paper are worked out here; every engineering number comes from the result.
#pragma once

#include <string>

#include "design/design.h"
#include "report/svg.h"

namespace report {

/// The mechanism and up to two curves of one candidate, side by side.
[[nodiscard]] Svg candidate_drawing(const candidate::Candidate& candidate, std::string_view title, double width);
/// The drawing to build one candidate from: the sheet of its routed train if it has one, otherwise its mechanism.
[[nodiscard]] Svg building_drawing(const candidate::Candidate& candidate, std::string_view title);
/// All margins of the chosen candidates as bars against what was asked.
[[nodiscard]] Svg margins_drawing(const design::Result& result, double width);
/// Support polygon with the centre of gravity, and tipping angle by direction.
[[nodiscard]] Svg stance_drawing(const assessment::Stance& stance, double width);
/// Worst margin over mass of the taken parts.
[[nodiscard]] Svg front_drawing(const design::Result& result, double width);

/// The whole sheet; works for an infeasible result too (it then shows what stands in the way).
[[nodiscard]] Svg sheet(const design::Result& result);

}  // namespace report
