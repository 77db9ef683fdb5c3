// The load chart of a model: drawing, table and rows for a spreadsheet. For models only, never for real lifting.
#pragma once

#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "report/layout.h"
#include "report/svg.h"

namespace report {

/// Rated load over radius and slewing angle in one state, each cell in its best posture, seen from above with the front
/// to the right: the letter names what governs, the fill says whether the wanted load is within the rated one. Without
/// a slewing joint: rated and greatest load over the radius. `lifting` is judged.
[[nodiscard]] Svg load_chart_drawing(const assessment::Lifting& lifting, std::size_t state, double width);

/// All states below one another, with the key of the letters and the caution.
[[nodiscard]] Svg load_chart_sheet(const assessment::Lifting& lifting, const std::string& title);

/// What may hang at one radius, in the best posture at the worst slewing angle.
struct RatedRow {
  double radius_mm = 0, rated_g = 0;
  std::string governs;  ///< empty: nothing
  double slew_deg = 0;  ///< the worst
  double ahead_g = -1;  ///< straight ahead; < 0: not reached there
  double hook_height_mm = 0;
  std::string posture;
};
/// Radii that are reached all round; `lifting` is judged.
[[nodiscard]] std::vector<RatedRow> rated_rows(const assessment::Lifting& lifting, std::size_t state);

/// Rated load by radius, all round and straight ahead, one table per state.
[[nodiscard]] std::string load_chart_text(const assessment::Lifting& lifting, const TextOptions& options);

/// state,posture,slew_deg,radius_mm,hook_height_mm,rated_g,greatest_g,governs,confidence; loads without limit are
/// empty.
[[nodiscard]] std::string load_chart_csv(const assessment::Lifting& lifting);

}  // namespace report
