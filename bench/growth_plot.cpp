#include "bench/growth_plot.h"

#include <algorithm>
#include <cmath>

#include "report/svg.h"

#include <fmt/format.h>

namespace bench {
namespace {

constexpr double kPanelWidth = 420, kPanelHeight = 330;
constexpr double kLeft = 60, kRight = 20, kTop = 50, kBottom = 84;

std::string time_text(double ms) {
  return ms >= 1000 ? fmt::format("{:g} s", ms / 1000)
         : ms >= 1  ? fmt::format("{:g} ms", ms)
                    : fmt::format("{:g} µs", ms * 1000);
}

/// Whole powers of ten round all times, as exponents.
report::Scale times_of(const std::vector<Panel>& panels) {
  double low = 1e9, high = 1e-9;
  for (const Panel& panel : panels) {
    for (const Curve& curve : panel.curves) {
      for (const double ms : curve.time_ms) {
        low = std::min(low, ms);
        high = std::max(high, ms);
      }
    }
  }
  return {std::floor(std::log10(low)), std::ceil(std::log10(high)), kPanelHeight - kBottom, kTop};
}

report::Svg panel_of(const Panel& panel, const report::Scale& times) {
  using namespace report;
  Svg out(kPanelWidth, kPanelHeight, panel.title);
  const Scale across{panel.at.front(), panel.at.back(), kLeft + 24, kPanelWidth - kRight - 24};
  out.text({kLeft, kTop - 14}, panel.title, {.size = 13, .bold = true});
  for (double power = times.low; power <= times.high; ++power) {
    out.line({kLeft, times(power)}, {kPanelWidth - kRight, times(power)}, {.stroke = ink::kLine});
    out.text({kLeft - 6, times(power) + 4}, time_text(std::pow(10, power)),
             {.size = 11, .anchor = Anchor::end, .colour = ink::kFaint});
  }
  for (std::size_t i = 0; i < panel.at.size(); ++i) {
    const double x = across(panel.at[i]);
    out.line({x, times.from}, {x, times.from + 4}, {.stroke = ink::kFaint});
    out.text({x, times.from + 18}, panel.labels[i], {.size = 11, .anchor = Anchor::middle, .colour = ink::kFaint});
  }
  out.text({(kLeft + kPanelWidth - kRight) / 2, times.from + 38}, panel.across, {.size = 12, .anchor = Anchor::middle});
  double legend = kLeft;
  for (const Curve& curve : panel.curves) {
    std::vector<Pixel> points;
    for (std::size_t i = 0; i < panel.at.size(); ++i)
      points.push_back({across(panel.at[i]), times(std::log10(curve.time_ms[i]))});
    out.polyline(points, {.stroke = curve.colour, .width = 2});
    for (const Pixel& p : points) out.circle(p, 3, {.stroke = curve.colour, .fill = curve.colour});
    const double y = times.from + 62;
    out.line({legend, y - 4}, {legend + 18, y - 4}, {.stroke = curve.colour, .width = 2});
    out.text({legend + 24, y}, curve.name, {.size = 11});
    legend += 24 + text_width(curve.name, 11) + 16;
  }
  return out;
}

}  // namespace

std::string growth_plot(std::string_view title, const std::vector<Panel>& panels) {
  using namespace report;
  constexpr double kHeading = 34;
  Svg sheet(kPanelWidth * static_cast<double>(panels.size()), kPanelHeight + kHeading, title);
  sheet.text({16, 26}, title, {.size = 15, .bold = true});
  const Scale times = times_of(panels);
  double x = 0;
  for (const Panel& panel : panels) {
    sheet.place({x, kHeading}, panel_of(panel, times));
    x += kPanelWidth;
  }
  return sheet.str();
}

}  // namespace bench
