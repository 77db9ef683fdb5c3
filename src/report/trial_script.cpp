#include "report/trial_script.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "report/json_values.h"
#include "report/trial.h"

namespace report {
namespace {

using base::plain;
using Json = nlohmann::ordered_json;

constexpr double kDeg = 180 / std::numbers::pi;

}  // namespace

std::string script_text(const trial::ScriptTrial& t, const TextOptions& options) {
  if (t.moves.empty() && !t.why_not.empty()) return paragraph("", "No script driven: " + t.why_not + ".", options);
  std::string out = heading("The script in the engine, beside the simulation", options);
  if (t.tipped) out += paragraph("  ", fmt::format("It tips over after {} s.", plain(t.time_s, 3)), options);
  if (!t.why_not.empty()) out += paragraph("  ", "Not driven to the end: " + t.why_not + ".", options);
  Table table;
  table.column("drive");
  table.column("step", Table::Align::right);
  table.column("input", Table::Align::right);
  table.column("way, simulation", Table::Align::right);
  table.column("way, trial", Table::Align::right);
  table.column("time, simulation", Table::Align::right);
  table.column("time, trial", Table::Align::right);
  table.column("apart", Table::Align::right);
  std::string notes;
  for (const trial::ScriptMove& m : t.moves) {
    table.row({t.drives[m.drive], fmt::format("{} to {} s", plain(m.start_s, 3), plain(m.end_s, 3)), plain(m.input, 2),
               fmt::format("{} {}", plain(m.closed_way, 3), m.unit),
               fmt::format("{} {}", plain(m.trial_way, 3), m.unit), plain(m.time.closed, 3) + " s",
               fmt::format("{}{} s", m.time.trial_open ? "more than " : "", plain(m.time.trial, 3)),
               fmt::format("{} %", plain(100 * m.time.gap(), 2))},
              m.time.told() ? Tint::warm : Tint::none);
    if (m.time.told()) notes += paragraph("  ", fmt::format("{}: {}.", m.time.what, m.time.cause), options);
  }
  out += table.str(options);
  out += paragraph("  ",
                   fmt::format("Times are those for 95 % of the way that the simulation makes in a step; a tenth of a "
                               "second is the same. Greatest swing of the load {} deg, greatest lean {} deg.",
                               plain(t.most_swing_rad * kDeg, 2), plain(t.most_roll_rad * kDeg, 2)),
                   options);
  if (!notes.empty()) out += heading("Where they differ", options) + notes;
  for (const std::string& doubt : t.doubts) out += paragraph("  doubt: ", doubt + ".", options);
  for (const std::string& left : t.left_out) out += paragraph("  left out: ", left + ".", options);
  return out +
         paragraph("  ", "For models only: never plan the driving or lifting of a real machine with it.", options);
}

Json json_of(const trial::ScriptTrial& t) {
  Json out{{"engine", trial::engine_text()}, {"task", "script"}};
  if (!t.why_not.empty()) out["why_not"] = t.why_not;
  out["tipped"] = t.tipped;
  out["time_s"] = number(t.time_s);
  out["most_swing_deg"] = number(t.most_swing_rad * kDeg);
  out["most_roll_deg"] = number(t.most_roll_rad * kDeg);
  Json moves = Json::array();
  for (const trial::ScriptMove& m : t.moves)
    moves.push_back({{"drive", t.drives[m.drive]},
                     {"start_s", number(m.start_s)},
                     {"end_s", number(m.end_s)},
                     {"input", number(m.input)},
                     {"unit", m.unit},
                     {"closed_way", number(m.closed_way)},
                     {"trial_way", number(m.trial_way)},
                     {"time", json_of(m.time)}});
  out["moves"] = std::move(moves);
  out["doubts"] = t.doubts;
  out["left_out"] = t.left_out;
  out["drives"] = t.drives;
  out["units"] = t.units;
  Json samples = Json::array();
  for (const trial::ScriptSample& s : t.samples) {
    Json closed = Json::array(), driven = Json::array();
    for (const double v : s.closed) closed.push_back(number(v));
    for (const double v : s.trial) driven.push_back(number(v));
    samples.push_back({{"time_s", number(s.time_s)},
                       {"closed", std::move(closed)},
                       {"trial", std::move(driven)},
                       {"x_mm", number(s.x_mm)},
                       {"y_mm", number(s.y_mm)},
                       {"yaw_deg", number(s.yaw_rad * kDeg)},
                       {"roll_deg", number(s.roll_rad * kDeg)},
                       {"swing_deg", number(s.swing_rad * kDeg)}});
  }
  out["samples"] = std::move(samples);
  return out;
}

std::string script_csv(const trial::ScriptTrial& t) {
  std::string out = "time_s";
  for (std::size_t i = 0; i < t.drives.size(); ++i)
    out += fmt::format(",{0} simulation_{1},{0} trial_{1}", t.drives[i], t.units[i]);
  out += ",x_mm,y_mm,yaw_deg,roll_deg,swing_deg\n";
  for (const trial::ScriptSample& s : t.samples) {
    out += fmt::format("{:.3f}", s.time_s);
    for (std::size_t i = 0; i < t.drives.size(); ++i) out += fmt::format(",{:.3f},{:.3f}", s.closed[i], s.trial[i]);
    out += fmt::format(",{:.2f},{:.2f},{:.3f},{:.3f},{:.3f}\n", s.x_mm, s.y_mm, s.yaw_rad * kDeg, s.roll_rad * kDeg,
                       s.swing_rad * kDeg);
  }
  return out;
}

Svg script_drawing(const trial::ScriptTrial& t, double width) {
  constexpr double kEdge = 16, kPlot = 90, kLeft = 70;
  Svg svg(width, 0, "Trial: a script in the engine, beside the simulation");
  svg.rect({0, 0}, width, 4000, {"none", 0, "#ffffff", "", 1});
  svg.text({kEdge, 24}, svg.title(), {13, Anchor::start, ink::kText, true});
  svg.line({width - 210, 20}, {width - 190, 20}, {ink::kText, 1.2, "none", "5 3"});
  svg.text({width - 186, 24}, "simulation", {11});
  svg.line({width - 110, 20}, {width - 90, 20}, {ink::kBad, 1.6});
  svg.text({width - 86, 24}, "trial", {11});
  double y = 44;
  if (!t.samples.empty()) {
    const double end_s = std::max(t.samples.back().time_s, 1e-9);
    const Scale xs{0, end_s, kLeft, width - kEdge};
    for (std::size_t i = 0; i < t.drives.size(); ++i) {
      double low = t.samples.front().closed[i], high = low;
      for (const trial::ScriptSample& s : t.samples) {
        low = std::min({low, s.closed[i], s.trial[i]});
        high = std::max({high, s.closed[i], s.trial[i]});
      }
      if (high - low < 1e-9) high = low + 1;
      const std::vector<double> ticks = round_ticks(low, high, 4);
      const Scale ys{ticks.front(), ticks.back(), y + 16 + kPlot, y + 16};
      svg.text({kEdge, y + 8}, fmt::format("{}, {}", t.drives[i], t.units[i]), {11, Anchor::start, ink::kText, true});
      for (const double tick : ticks) {
        svg.line({kLeft, ys(tick)}, {width - kEdge, ys(tick)}, {ink::kLine, 0.7});
        svg.text({kLeft - 6, ys(tick) + 4}, plain(tick, 4), {10, Anchor::end, ink::kFaint});
      }
      std::vector<Pixel> closed, driven;
      for (const trial::ScriptSample& s : t.samples) {
        closed.push_back({xs(s.time_s), ys(s.closed[i])});
        driven.push_back({xs(s.time_s), ys(s.trial[i])});
      }
      svg.polyline(driven, {ink::kBad, 1.6});
      svg.polyline(closed, {ink::kText, 1.1, "none", "5 3"});
      y += kPlot + 32;
    }
    for (const double tick : round_ticks(0, end_s, 8))
      if (tick <= end_s * 1.0001)
        svg.text({xs(tick), y}, plain(tick, 4) + " s",
                 {10, tick >= end_s * 0.98 ? Anchor::end : Anchor::middle, ink::kFaint});
  }
  svg.set_height(y + kEdge);
  return svg;
}

}  // namespace report
