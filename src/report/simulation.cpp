#include "report/simulation.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>

#include "base/text.h"
#include "report/json_values.h"

namespace report {
namespace {

using base::plain;
using Json = nlohmann::ordered_json;
using simulation::Outcome;
using simulation::Sample;

constexpr double kRpm = 30 / std::numbers::pi;
constexpr double kDeg = 180 / std::numbers::pi;
constexpr std::array<std::string_view, 8> kInks{ink::kGood, ink::kBad, ink::kThird, ink::kWarm,
                                                "#cc79a7",  "#56b4e9", ink::kText,  ink::kFaint};

/// Position as people read it: degrees or millimetres.
double told_position(const candidate::Drive& d, double position) {
  return d.angle ? position * kDeg : position;
}

struct Trace {
  std::string name;
  std::function<double(const Sample&)> value;
};

/// One plot with its own axis and a legend above it.
Svg plot(const Outcome& o, std::string_view title, const std::vector<Trace>& traces, double width, double height) {
  constexpr double kLeft = 58, kBottom = 18;
  Svg svg(width, 0, title);
  svg.text({0, 13}, title, {12, Anchor::start, ink::kText, true});
  double x = text_width(title, 12, true) + 24, y = 13;
  for (std::size_t i = 0; i < traces.size(); ++i) {
    const double wide = text_width(traces[i].name, 11) + 26;
    if (x + wide > width) {
      x = kLeft;
      y += 16;
    }
    svg.line({x, y - 4}, {x + 14, y - 4}, {kInks[i % kInks.size()], 2});
    svg.text({x + 18, y}, traces[i].name, {11});
    x += wide;
  }
  const double top = y + 12, bottom = top + height;
  double low = 0, high = 0;
  for (const Trace& t : traces) {
    for (const Sample& s : o.samples) {
      const double v = t.value(s);
      if (!std::isfinite(v)) continue;
      low = std::min(low, v);
      high = std::max(high, v);
    }
  }
  if (high - low < 1e-9) high = low + 1;
  const std::vector<double> ticks = round_ticks(low, high, 4);
  const Scale ys{ticks.front(), ticks.back(), bottom, top};
  const double end_s = std::max(o.samples.back().time_s, 1e-9);
  const Scale xs{0, end_s, kLeft, width - 8};
  for (const double t : ticks) {
    svg.line({kLeft, ys(t)}, {width - 8, ys(t)}, {ink::kLine, 0.7});
    svg.text({kLeft - 6, ys(t) + 4}, plain(t, 4), {10, Anchor::end, ink::kFaint});
  }
  for (const double t : round_ticks(0, end_s, 8)) {
    if (t > end_s * 1.0001) continue;
    svg.line({xs(t), bottom}, {xs(t), bottom + 4}, {ink::kFaint, 0.8});
    svg.text({xs(t), bottom + 15}, plain(t, 4), {10, t >= end_s * 0.999 ? Anchor::end : Anchor::middle, ink::kFaint});
  }
  for (std::size_t i = 0; i < traces.size(); ++i) {
    std::vector<Pixel> points;
    const auto flush = [&] {
      if (points.size() > 1) svg.polyline(points, {kInks[i % kInks.size()], 1.4});
      points.clear();
    };
    for (const Sample& s : o.samples) {
      const double v = traces[i].value(s);
      if (std::isfinite(v)) {
        points.push_back({xs(s.time_s), ys(v)});
      } else {
        flush();
      }
    }
    flush();
  }
  svg.set_height(bottom + kBottom);
  return svg;
}

}  // namespace

std::string simulation_csv(const Outcome& o) {
  std::string out = "time_s";
  for (const std::string& d : o.drives)
    out += fmt::format(",{0} input,{0} current_a,{0} speed_rpm,{0} position,{0} winding_k", d);
  for (const std::string& h : o.hubs) out += fmt::format(",{0} voltage_v,{0} current_a,{0} depth", h);
  out += ",tipping_deg\n";
  for (const Sample& s : o.samples) {
    out += fmt::format("{:.6g}", s.time_s);
    for (std::size_t i = 0; i < o.drives.size(); ++i)
      out += fmt::format(",{:.6g},{:.6g},{:.6g},{:.6g},{:.6g}", s.input[i], s.current_a[i], s.speed_rad_s[i] * kRpm,
                         s.position[i], s.winding_k[i]);
    for (std::size_t h = 0; h < o.hubs.size(); ++h)
      out += fmt::format(",{:.6g},{:.6g},{:.6g}", s.voltage_v[h], s.hub_current_a[h], s.depth[h]);
    out += std::isfinite(s.tipping_deg) ? fmt::format(",{:.6g}\n", s.tipping_deg) : ",\n";
  }
  return out;
}

Svg simulation_drawing(const Outcome& o, const simulation::Machine& machine, std::string_view title) {
  constexpr double kWidth = 960, kEdge = 20, kPlot = 110;
  Svg svg(kWidth, 0, title);
  svg.rect({0, 0}, kWidth, 4000, {"none", 0, "#ffffff", "", 1});
  svg.text({kEdge, 30}, title, {17, Anchor::start, ink::kText, true});
  double y = 46;
  const auto add = [&](std::string_view name, const std::vector<Trace>& traces) {
    if (traces.empty()) return;
    const Svg part = plot(o, name, traces, kWidth - 2 * kEdge, kPlot);
    svg.place({kEdge, y}, part);
    y += part.height() + 16;
  };
  const auto each_drive = [&](const std::function<bool(const candidate::Drive&)>& wanted, auto value) {
    std::vector<Trace> out;
    for (std::size_t i = 0; i < o.drives.size(); ++i) {
      if (wanted(machine.drives[i].drive))
        out.push_back({o.drives[i], [i, value](const Sample& s) { return value(s, i); }});
    }
    return out;
  };
  const auto all = [](const candidate::Drive&) { return true; };
  add("input", each_drive(all, [](const Sample& s, std::size_t i) { return s.input[i]; }));
  add("motor current, A", each_drive(all, [](const Sample& s, std::size_t i) { return s.current_a[i]; }));
  add("motor speed, rpm", each_drive(all, [](const Sample& s, std::size_t i) { return s.speed_rad_s[i] * kRpm; }));
  add("joint angle, deg", each_drive([](const candidate::Drive& d) { return d.angle && (d.body >= 0 || !d.endless); },
                                     [](const Sample& s, std::size_t i) { return s.position[i] * kDeg; }));
  add("travel, mm", each_drive([](const candidate::Drive& d) { return !d.angle; },
                               [](const Sample& s, std::size_t i) { return s.position[i]; }));
  std::vector<Trace> volts, used;
  for (std::size_t h = 0; h < o.hubs.size(); ++h) {
    volts.push_back({o.hubs[h], [h](const Sample& s) { return s.voltage_v[h]; }});
    used.push_back({o.hubs[h], [h](const Sample& s) { return 100 * s.depth[h]; }});
  }
  add("supply voltage, V", volts);
  add("charge used, %", used);
  add("winding over air, K", each_drive(all, [](const Sample& s, std::size_t i) { return s.winding_k[i]; }));
  if (std::isfinite(o.samples.front().tipping_deg))
    add("least tipping angle with the loads as told, deg",
        {{"machine", [](const Sample& s) { return s.tipping_deg; }}});
  svg.text({kWidth - kEdge, y}, "time in seconds", {11, Anchor::end, ink::kFaint});
  svg.set_height(y + 14);
  return svg;
}

std::string simulation_text(const Outcome& o, const simulation::Machine& machine, const std::vector<std::string>& notes,
                            const TextOptions& options) {
  std::string out = heading("Simulation", options);
  Table t;
  t.column("drive");
  t.column("most A", Table::Align::right);
  t.column("most rpm", Table::Align::right);
  t.column("ends at", Table::Align::right);
  t.column("winding K", Table::Align::right);
  for (std::size_t i = 0; i < o.drives.size(); ++i) {
    double warm = 0;  // follows in tens of seconds, so the rows show it
    for (const Sample& s : o.samples) warm = std::max(warm, s.winding_k[i]);
    const candidate::Drive& d = machine.drives[i].drive;
    const double at = o.samples.back().position[i];
    // What turns for ever is told in turns, but for joints, whose angle counts.
    const std::string ends_at = d.endless && d.angle && d.body < 0
                                    ? plain(at / (2 * std::numbers::pi), 3) + " turns"
                                    : plain(told_position(d, at), 4) + (d.angle ? " deg" : " mm");
    t.row(
        {o.drives[i], plain(o.most_current_a[i], 3), plain(o.most_speed_rad_s[i] * kRpm, 3), ends_at, plain(warm, 3)});
  }
  out += t.str(options);
  for (std::size_t h = 0; h < o.hubs.size(); ++h) {
    out +=
        fmt::format("  {}: least {} V, most {} A, {} % of the charge used\n", o.hubs[h], plain(o.least_voltage_v[h], 3),
                    plain(o.most_hub_current_a[h], 3), plain(100 * o.samples.back().depth[h], 3));
  }
  double tipping = 1e9;
  for (const Sample& s : o.samples) tipping = std::min(tipping, std::isfinite(s.tipping_deg) ? s.tipping_deg : 1e9);
  if (tipping < 1e8) out += fmt::format("  least tipping angle in the rows told: {} deg\n", plain(tipping, 3));
  const simulation::Energy& e = o.energy;
  out +=
      paragraph("  energy: ",
                fmt::format("{} J from the cells = supply {} + copper {} + motor friction {} + trains {} + loads {} + "
                            "ends {} + still moving {}; balance open by {} %",
                            plain(e.source, 4), plain(e.supply, 3), plain(e.copper, 3), plain(e.motor_friction, 3),
                            plain(e.train, 3), plain(e.load, 3), plain(e.stops, 3), plain(e.kinetic, 3),
                            plain(100 * e.error(), 2)),
                options);
  if (o.unsettled > 0)
    out += fmt::format(
        "  in {} of {} steps the motors did not settle who draws and who brakes: currents are rough there\n",
        o.unsettled, o.steps);
  for (const std::string& note : notes) out += paragraph("  ", note, options);
  // A cycle brings the same events again and again: the first of each in its turn, with how often it came.
  std::vector<std::string> told;
  for (const simulation::Event& event : o.events) {
    if (std::find(told.begin(), told.end(), event.text) != told.end()) continue;
    told.push_back(event.text);
    std::size_t times = 0;
    double last_s = 0;
    for (const simulation::Event& again : o.events) {
      if (again.text != event.text) continue;
      ++times;
      last_s = again.time_s;
    }
    const std::string more = times > 1 ? fmt::format(" ({} times, the last at {} s)", times, plain(last_s, 4)) : "";
    out += fmt::format("  {:>8} s  {}{}\n", plain(event.time_s, 4), event.text, more);
  }
  return out;
}

Json simulation_json(const Outcome& o, const simulation::Machine& machine, const std::vector<std::string>& notes) {
  Json drives = Json::array();
  for (std::size_t i = 0; i < o.drives.size(); ++i)
    drives.push_back({{"name", o.drives[i]},
                      {"hub", machine.drives[i].hub + 1},
                      {"plus", machine.drives[i].drive.plus},
                      {"minus", machine.drives[i].drive.minus},
                      {"position_unit", machine.drives[i].drive.angle ? "rad" : "mm"}});
  Json samples = Json::array();
  for (const Sample& s : o.samples)
    samples.push_back({{"time_s", number(s.time_s)},
                       {"input", numbers(s.input)},
                       {"current_a", numbers(s.current_a)},
                       {"speed_rad_s", numbers(s.speed_rad_s)},
                       {"position", numbers(s.position)},
                       {"winding_k", numbers(s.winding_k)},
                       {"voltage_v", numbers(s.voltage_v)},
                       {"hub_current_a", numbers(s.hub_current_a)},
                       {"depth", numbers(s.depth)},
                       {"tipping_deg", number(s.tipping_deg)}});
  Json events = Json::array();
  for (const simulation::Event& e : o.events) events.push_back({{"time_s", number(e.time_s)}, {"text", e.text}});
  const simulation::Energy& e = o.energy;
  return {{"drives", std::move(drives)},
          {"hubs", o.hubs},
          {"steps", o.steps},
          {"unsettled_steps", o.unsettled},
          {"notes", notes},
          {"energy",
           {{"source_j", number(e.source)},
            {"supply_j", number(e.supply)},
            {"copper_j", number(e.copper)},
            {"motor_friction_j", number(e.motor_friction)},
            {"train_j", number(e.train)},
            {"load_j", number(e.load)},
            {"stops_j", number(e.stops)},
            {"kinetic_j", number(e.kinetic)},
            {"error_share", number(e.error())}}},
          {"events", std::move(events)},
          {"samples", std::move(samples)}};
}

}  // namespace report
