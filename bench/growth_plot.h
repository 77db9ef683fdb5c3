// Cost that grows with the size of a problem, as an SVG: panels side by side, times on one logarithmic scale.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace bench {

struct Curve {
  std::string name;
  std::string_view colour;      ///< see report::ink
  std::vector<double> time_ms;  ///< > 0, one for each of Panel::at
};

struct Panel {
  std::string title, across;        ///< heading; what the axis says
  std::vector<double> at;           ///< ascending places along the axis
  std::vector<std::string> labels;  ///< of those places
  std::vector<Curve> curves;
};

/// Panels share the scale of times, so that their slopes compare.
[[nodiscard]] std::string growth_plot(std::string_view title, const std::vector<Panel>& panels);

}  // namespace bench
