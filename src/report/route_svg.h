// The sheet of a routed train: three views on their lattice, shaft and mesh tables, legend, scale bar.
//
// A4 landscape. The views stand in third-angle projection (ISO 128-3, ISO 5456-2):
// main view from the right, above it the view from above, to its right the view from the front; the symbol says so.
#pragma once

#include <string>

#include "report/svg.h"
#include "routing/layout.h"
#include "routing/problem.h"

namespace report {

struct RouteCaption {
  std::string title;     ///< name of the function
  std::string subtitle;  ///< title of the candidate
};

inline constexpr double kRouteSheetWidth = 1408, kRouteSheetHeight = 996;  ///< 297 : 210

/// The sheet grows downwards when the tables need it; its width never changes.
[[nodiscard]] Svg route_sheet(const routing::Problem& problem, const routing::Layout& layout,
                              const RouteCaption& caption);

/// The three views alone, as large as a paper of this size lets them be, for documents that set the tables themselves.
/// Larger than the paper where the labels need it: to be shrunk as a whole.
[[nodiscard]] Svg route_views(const routing::Problem& problem, const routing::Layout& layout, double width,
                              double height);

}  // namespace report
