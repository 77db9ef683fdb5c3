#include "report/handset.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "candidate/running.h"
#include "report/json_values.h"

namespace report {
namespace {

using base::plain;
using handset::Assignment;
using handset::GuideStep;
using Json = nlohmann::ordered_json;
using Type = handset::Control::Type;
using Figure = GuideStep::Figure;

constexpr double kWidth = 640;
constexpr TextStyle kLabel{11, Anchor::start, ink::kText, false};
constexpr TextStyle kMiddle{11, Anchor::middle, ink::kText, false};

void arrow(Svg& svg, Pixel from, Pixel to, std::string_view colour = ink::kText) {
  svg.line(from, to, {colour, 1.6});
  const double dx = to.x - from.x, dy = to.y - from.y, l = std::max(1e-9, std::hypot(dx, dy));
  const double ux = dx / l, uy = dy / l;
  svg.polyline({{to.x - 7 * ux + 4 * uy, to.y - 7 * uy - 4 * ux}, to, {to.x - 7 * ux - 4 * uy, to.y - 7 * uy + 4 * ux}},
               {colour, 1.6});
}

/// A battery box per hub: cells in two rows, their plus ends turned about.
Svg cells_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "cells");
  double y = 8;
  for (std::size_t h = 0; h < v.brief.supply.hubs.size(); ++h) {
    const motor::Cells cells = candidate::cells_of(v.brief, h);
    const int n = cells.in_series, columns = (n + 1) / 2;
    const double pitch = std::min(70.0, (kWidth - 260) / columns), wide = pitch - 12;
    svg.text({0, y + 14}, fmt::format("hub {}", h + 1), {12, Anchor::start, ink::kText, true});
    svg.rect({60, y}, 24 + columns * pitch, 74, {ink::kText, 1.4, ink::kGround, "", 1});
    for (int i = 0; i < n; ++i) {
      const bool plus_right = i % 2 == 0;
      const Pixel at{72 + (i / 2) * pitch, y + 10 + (i % 2) * 30.0};
      svg.rect(at, wide, 22, {ink::kText, 1, "#ffffff", "", 1});
      svg.rect({plus_right ? at.x + wide : at.x - 4, at.y + 6}, 4, 10, {ink::kText, 1, ink::kText, "", 1});
      const double inset = std::min(10.0, wide / 4), left = at.x + inset, right = at.x + wide - inset;
      svg.text({plus_right ? right : left, at.y + 15}, "+", {13, Anchor::middle, ink::kBad, true});
      svg.text({plus_right ? left : right, at.y + 15}, "-", {13, Anchor::middle, ink::kGood, true});
    }
    svg.text({96 + columns * pitch, y + 40}, candidate::text_of(cells), kLabel);
    y += 86;
  }
  svg.text({0, y + 8}, "the marks in your hub count; the picture shows only that they alternate",
           {11, Anchor::start, ink::kFaint});
  svg.set_height(y + 16);
  return svg;
}

Svg sockets_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "sockets");
  double y = 8;
  for (std::size_t h = 0; h < v.brief.supply.hubs.size(); ++h) {
    const int ports = candidate::hub_of(v.brief, h).ports;
    const double height = std::max(1, ports) * 26.0 + 12;
    svg.rect({20, y}, 120, height, {ink::kText, 1.4, ink::kGround, "", 1});
    svg.text({80, y + height / 2 + 4}, fmt::format("hub {}", h + 1), {13, Anchor::middle, ink::kText, true});
    for (int p = 1; p <= ports; ++p) {
      const double at = y + 6 + (p - 1) * 26.0 + 13;
      svg.rect({132, at - 8}, 16, 16, {ink::kText, 1, "#ffffff", "", 1});
      svg.text({126, at + 4}, std::to_string(p), {11, Anchor::end, ink::kText, true});
      const auto use = std::find_if(v.assessed.power.ports.begin(), v.assessed.power.ports.end(),
                                    [&](const assessment::PortUse& u) { return u.hub == h && u.port == p; });
      if (use == v.assessed.power.ports.end()) {
        svg.text({160, at + 4}, "free", {11, Anchor::start, ink::kFaint});
        continue;
      }
      svg.line({148, at}, {230, at}, {ink::kGood, 2});
      svg.circle({246, at}, 10, {ink::kText, 1.2, "#ffffff", "", 1});
      svg.text({246, at + 4}, "M", {10, Anchor::middle, ink::kText, true});
      std::string text = v.sockets.at(static_cast<std::size_t>(use - v.assessed.power.ports.begin()));
      if (stock::index(use->cable) >= 0) text += ", with " + v.brief.catalogue->at(use->cable).name;
      svg.fitted_text({264, at + 4}, text, kWidth - 270, kLabel);
    }
    y += height + 14;
  }
  svg.set_height(y);
  return svg;
}

/// Which drive a stick's axis, a slider or a button moves; empty when none does.
const Assignment* on(const handset::Plan& plan, Type type, int number) {
  for (const Assignment& a : plan.assignments) {
    if (a.control.type == type && a.control.number == number) return &a;
  }
  return nullptr;
}

/// Label of a stick's end: the function, and what it does there.
std::string stick_text(const HandsetView& v, Type type, int number, bool plus) {
  const Assignment* a = on(v.plan, type, number);
  if (a == nullptr) {
    // Turning by tracks: the across axis of a mixed stick.
    const Assignment* along = on(v.plan, Type::stick_along, number);
    if (type == Type::stick_across && along != nullptr && !along->mixing.empty())
      return plus ? "turn left" : "turn right";
    return "";
  }
  return v.brief.functions[a->function].id + " " + (plus ? a->plus : a->minus);
}

Svg controls_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "controls");
  const brief::Handset& h = v.brief.handset;
  const int sticks = h.sticks;
  const double body_top = 30;
  double y = body_top;
  for (int s = 1; s <= sticks; ++s) {
    const double x = kWidth * (2 * ((s - 1) % 2) + 1) / 4, at = y + 70 + 150.0 * ((s - 1) / 2);
    svg.circle({x, at}, 34, {ink::kText, 1.4, ink::kGround, "", 1});
    svg.circle({x, at}, 14, {ink::kText, 1.2, "#ffffff", "", 1});
    svg.text({x, at + 4}, std::to_string(s), {11, Anchor::middle, ink::kText, true});
    const std::string up = stick_text(v, Type::stick_along, s, true), down = stick_text(v, Type::stick_along, s, false);
    const std::string left = stick_text(v, Type::stick_across, s, true),
                      right = stick_text(v, Type::stick_across, s, false);
    if (!up.empty()) {
      arrow(svg, {x, at - 36}, {x, at - 52});
      arrow(svg, {x, at + 36}, {x, at + 52});
      svg.fitted_text({x, at - 57}, up, 300, kMiddle);
      svg.fitted_text({x, at + 66}, down, 300, kMiddle);
    }
    if (!left.empty()) {
      arrow(svg, {x - 36, at}, {x - 52, at});
      arrow(svg, {x + 36, at}, {x + 52, at});
      svg.fitted_text({x - 56, at + 4}, left, 100, {11, Anchor::end, ink::kText, false});
      svg.fitted_text({x + 56, at + 4}, right, 100, kLabel);
    }
  }
  y += sticks > 0 ? 150.0 * ((sticks + 1) / 2) : 0;
  for (int s = 1; s <= h.sliders; ++s) {
    const Assignment* a = on(v.plan, Type::slider, s);
    svg.line({150, y + 6}, {300, y + 6}, {ink::kText, 3});
    svg.rect({217, y - 2}, 16, 16, {ink::kText, 1.2, "#ffffff", "", 1});
    svg.text({140, y + 10}, fmt::format("slider {}", s), {11, Anchor::end, ink::kText, false});
    svg.text({312, y + 10}, a == nullptr ? "free" : fitted(a->name + ": " + a->ways, kWidth - 316, 11),
             {11, Anchor::start, a == nullptr ? ink::kFaint : ink::kText, false});
    y += 26;
  }
  for (int b = 1; b + 1 <= h.buttons; b += 2) {
    const Assignment* a = on(v.plan, Type::buttons, b);
    for (int k = 0; k < 2; ++k) {
      svg.circle({240 + 30.0 * k, y + 8}, 10, {ink::kText, 1.2, "#ffffff", "", 1});
      svg.text({240 + 30.0 * k, y + 12}, std::to_string(b + k), {10, Anchor::middle, ink::kText, true});
    }
    svg.text({140, y + 12}, fmt::format("buttons {}, {}", b, b + 1), {11, Anchor::end, ink::kText, false});
    svg.text({312, y + 12}, a == nullptr ? "free" : fitted(a->name + ": " + a->ways, kWidth - 316, 11),
             {11, Anchor::start, a == nullptr ? ink::kFaint : ink::kText, false});
    y += 28;
  }
  svg.rect({4, 4}, kWidth - 8, y + 4, {ink::kFaint, 1, "none", "6 4", 1});
  svg.set_height(y + 16);
  return svg;
}

Svg senses_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "senses");
  double y = 18;
  svg.text({0, y}, "motor seen on its shaft, control at its first way", {11, Anchor::start, ink::kFaint});
  y += 12;
  for (const Assignment& a : v.plan.assignments) {
    if (a.control.type == Type::none) continue;
    const Pixel c{34, y + 20};
    svg.circle(c, 16, {ink::kText, 1.2, ink::kGround, "", 1});
    const bool ccw = a.invert != handset::Invert::yes;
    // Three quarters of a turn with an arrow head at its end.
    std::vector<Pixel> arc;
    for (int i = 0; i <= 18; ++i) {
      const double t = (ccw ? -1 : 1) * (i * 15.0 - 45) * std::numbers::pi / 180;
      arc.push_back({c.x + 10 * std::cos(t), c.y + 10 * std::sin(t)});
    }
    if (a.invert == handset::Invert::find_out) {
      svg.text({c.x, c.y + 5}, "?", {14, Anchor::middle, ink::kBad, true});
    } else {
      svg.polyline(arc, {ccw ? ink::kGood : ink::kBad, 1.8});
      arrow(svg, arc[arc.size() - 2], arc.back(), ccw ? ink::kGood : ink::kBad);
    }
    svg.rect({70, y + 12}, 16, 16, {ink::kText, 1.2, "#ffffff", "", 1});
    if (a.invert == handset::Invert::yes) svg.polyline({{73, y + 20}, {77, y + 25}, {84, y + 14}}, {ink::kBad, 2.2});
    svg.text({94, y + 24}, fmt::format("invert: {}", handset::name_of(a.invert)),
             {11, Anchor::start, ink::kText, true});
    svg.fitted_text({200, y + 24}, a.name + ": " + a.ways, kWidth - 204, kLabel);
    y += 42;
  }
  svg.set_height(y + 6);
  return svg;
}

/// Input over time after the control is thrown: the ramp, up to the limit.
Svg limits_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "limits");
  double y = 10;
  double longest = 1;
  for (const Assignment& a : v.plan.assignments) longest = std::max(longest, a.ramp_s + 0.4);
  for (const Assignment& a : v.plan.assignments) {
    if (a.control.type == Type::none || a.control.type == Type::rule) continue;
    const Scale x{0, longest, 190, 420}, level{0, 1, y + 34, y + 6};
    svg.fitted_text({182, y + 24}, a.name, 176, {11, Anchor::end, ink::kText, false});
    svg.line({190, y + 34}, {420, y + 34}, {ink::kLine, 1});
    svg.line({190, level(1)}, {420, level(1)}, {ink::kLine, 1, "none", "3 3"});
    svg.polyline({{190, y + 34}, {x(a.ramp_s * a.speed_limit), level(a.speed_limit)}, {420, level(a.speed_limit)}},
                 {ink::kGood, 2});
    svg.text({430, y + 24}, fmt::format("{} s, {} %", plain(a.ramp_s), plain(100 * a.speed_limit)), kLabel);
    y += 44;
  }
  svg.text({190, y + 12}, "input after the control is thrown to its end; dashed: full",
           {11, Anchor::start, ink::kFaint});
  svg.set_height(y + 20);
  return svg;
}

Svg ends_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "ends");
  double y = 24;
  for (const Assignment& a : v.plan.assignments) {
    if (!a.has_ends || !std::isfinite(a.plus_s.nominal) || !std::isfinite(a.minus_s.nominal)) continue;
    const double share = a.soft_end_share;
    const double from = 190, to = 420;
    svg.fitted_text({182, y + 4}, a.name, 176, {11, Anchor::end, ink::kText, false});
    svg.rect({from, y - 6}, to - from, 12, {ink::kText, 1, "#ffffff", "", 1});
    svg.rect({from, y - 6}, (to - from) * share, 12, {"none", 0, ink::kWarm, "", 0.8});
    svg.rect({to - (to - from) * share, y - 6}, (to - from) * share, 12, {"none", 0, ink::kWarm, "", 0.8});
    svg.text({430, y + 4},
             fmt::format("{} {} s, {} {} s", a.plus, plain(a.plus_s.nominal, 2), a.minus, plain(a.minus_s.nominal, 2)),
             kLabel);
    y += 28;
  }
  svg.text({190, y + 6}, "shaded: where it slows down; right: times from end to end", {11, Anchor::start, ink::kFaint});
  svg.set_height(y + 14);
  return svg;
}

Svg interlocks_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "interlocks");
  double y = 22;
  for (const handset::Interlock& i : v.plan.interlocks) {
    svg.circle({14, y - 4}, 8, {ink::kBad, 2});
    svg.line({8.5, y - 9.5}, {19.5, y + 1.5}, {ink::kBad, 2});
    svg.fitted_text({32, y}, i.text, kWidth - 36, {12});
    y += 24;
  }
  svg.set_height(y);
  return svg;
}

/// The rule over the working cycle: load of the others, and the engine's input.
Svg engine_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "engine");
  const Scale x{0, 1, 50, kWidth - 20}, y{0, 1, 150, 20};
  for (const double t : {0.0, 0.25, 0.5, 0.75, 1.0}) {
    svg.line({50, y(t)}, {kWidth - 20, y(t)}, {ink::kLine, 0.7});
    svg.text({44, y(t) + 4}, plain(100 * t), {10, Anchor::end, ink::kFaint});
  }
  if (v.cycle == nullptr || v.cycle->samples.size() < 2) {
    const handset::Engine& e = v.plan.engine;
    svg.polyline({{x(0), y(e.idle)}, {x(std::min(1.0, e.full_load)), y(1)}, {x(1), y(1)}}, {ink::kGood, 2});
    svg.text({x(0.5), 172}, "load of the other motors, % of their stall currents", {11, Anchor::middle, ink::kFaint});
    svg.set_height(182);
    return svg;
  }
  const simulation::Outcome& o = *v.cycle;
  std::size_t engine = o.drives.size();
  for (std::size_t i = 0; i < o.drives.size(); ++i) {
    for (const Assignment& a : v.plan.assignments) {
      if (a.control.type == Type::rule && a.name == o.drives[i]) engine = i;
    }
  }
  const double end_s = o.samples.back().time_s;
  std::vector<Pixel> load, input;
  for (const simulation::Sample& s : o.samples) {
    load.push_back({x(s.time_s / end_s), y(std::min(1.0, s.others_share / v.plan.engine.full_load))});
    if (engine < o.drives.size()) input.push_back({x(s.time_s / end_s), y(s.input[engine])});
  }
  svg.polyline(load, {ink::kWarm, 1.2});
  if (!input.empty()) svg.polyline(input, {ink::kGood, 2});
  svg.text({50, 172}, "0 s", {10, Anchor::start, ink::kFaint});
  svg.text({kWidth - 20, 172}, plain(end_s, 4) + " s", {10, Anchor::end, ink::kFaint});
  svg.line({150, 168}, {166, 168}, {ink::kGood, 2});
  svg.text({172, 172}, "engine's input, %", {11});
  svg.line({300, 168}, {316, 168}, {ink::kWarm, 2});
  svg.text(
      {322, 172},
      fmt::format("load of the others, 100 = {} % of their stall currents", plain(100 * v.plan.engine.full_load, 3)),
      {11});
  svg.set_height(182);
  return svg;
}

Svg checks_figure(const HandsetView& v) {
  Svg svg(kWidth, 0, "checks");
  double y = 22;
  for (const handset::Check& c : v.plan.checks) {
    svg.rect({4, y - 12}, 15, 15, {ink::kText, 1.3, "#ffffff", "", 1});
    for (const std::string& line : wrapped(c.text, kWidth - 34, 12)) {
      svg.text({30, y}, line, {12});
      y += 16;
    }
    y += 8;
  }
  svg.set_height(y);
  return svg;
}

}  // namespace

Svg guide_figure(const HandsetView& v, std::size_t step) {
  switch (v.steps.at(step).figure) {
    case Figure::cells:
      return cells_figure(v);
    case Figure::sockets:
      return sockets_figure(v);
    case Figure::controls:
      return controls_figure(v);
    case Figure::senses:
      return senses_figure(v);
    case Figure::limits:
      return limits_figure(v);
    case Figure::ends:
      return ends_figure(v);
    case Figure::interlocks:
      return interlocks_figure(v);
    case Figure::engine:
      return engine_figure(v);
    case Figure::checks:
      return checks_figure(v);
  }
  return checks_figure(v);
}

std::string handset_text(const HandsetView& v, const TextOptions& o) {
  std::string out = heading("Handset", o);
  Table t;
  t.column("control");
  t.column("drive");
  t.column("ways", Table::Align::left, true);
  t.column("invert");
  t.column("ramp s", Table::Align::right);
  t.column("most", Table::Align::right);
  for (const Assignment& a : v.plan.assignments)
    t.row({handset::text_of(a.control), a.name, a.mixing.empty() ? a.ways : a.mixing, handset::name_of(a.invert),
           plain(a.ramp_s), plain(100 * a.speed_limit) + " %"},
          a.control.type == Type::none ? Tint::bad : Tint::none);
  out += t.str(o);
  out += "\n" + heading("Set-up guide", o);
  for (std::size_t i = 0; i < v.steps.size(); ++i) {
    out += fmt::format("{}. {}\n", i + 1, v.steps[i].title);
    for (const std::string& line : v.steps[i].lines) {
      // Lines of a program keep their indent.
      const std::size_t blanks = line.find_first_not_of(' ');
      out += paragraph(std::string(3, ' ') + "- " + std::string(blanks == std::string::npos ? 0 : blanks, ' '),
                       line.substr(blanks == std::string::npos ? 0 : blanks), o);
    }
  }
  return out;
}

Json handset_json(const HandsetView& v) {
  Json assignments = Json::array();
  for (const Assignment& a : v.plan.assignments)
    assignments.push_back({{"drive", a.name},
                           {"function", v.brief.functions[a.function].id},
                           {"control", handset::text_of(a.control)},
                           {"ways", a.ways},
                           {"mixing", a.mixing},
                           {"invert", handset::name_of(a.invert)},
                           {"invert_note", a.invert_note},
                           {"ramp_s", number(a.ramp_s)},
                           {"speed_limit", number(a.speed_limit)},
                           {"limit_note", a.limit_note},
                           {"has_ends", a.has_ends},
                           {"plus_s", triple(a.plus_s)},
                           {"minus_s", triple(a.minus_s)},
                           {"soft_end_s", number(a.soft_end_s)},
                           {"soft_end_note", a.soft_end_note}});
  Json interlocks = Json::array();
  for (const handset::Interlock& i : v.plan.interlocks)
    interlocks.push_back({{"text", i.text}, {"why", i.why}, {"code", i.code}});
  Json steps = Json::array();
  for (std::size_t i = 0; i < v.steps.size(); ++i)
    steps.push_back({{"number", i + 1},
                     {"title", v.steps[i].title},
                     {"lines", v.steps[i].lines},
                     {"figure_svg", guide_figure(v, i).str()}});
  Json engine = nullptr;
  if (v.plan.has_engine)
    engine = {{"idle", number(v.plan.engine.idle)},     {"full_load", number(v.plan.engine.full_load)},
              {"rise_s", number(v.plan.engine.rise_s)}, {"fall_s", number(v.plan.engine.fall_s)},
              {"program", v.plan.engine_program},       {"simple", v.plan.engine_simple}};
  return {{"assumed_handset", v.plan.assumed_handset},
          {"left_handed", v.plan.left_handed},
          {"assignments", std::move(assignments)},
          {"left_over", v.plan.left_over},
          {"shortage", v.plan.shortage},
          {"interlocks", std::move(interlocks)},
          {"engine", std::move(engine)},
          {"steps", std::move(steps)}};
}

std::string guide_page(const HandsetView& v) {
  std::string out = fmt::format(R"(<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{0}: set-up guide</title>
<style>
  body {{ margin: 0 auto; max-width: 760px; padding: 1rem; background: #fff; color: {1};
         font: 16px/1.5 "DejaVu Sans", Verdana, Helvetica, sans-serif; }}
  section {{ break-inside: avoid; border-top: 1px solid {2}; padding: .6rem 0 1rem; }}
  pre {{ font: 13px/1.45 "DejaVu Sans Mono", Menlo, Consolas, monospace; background: {3}; padding: .7rem;
        overflow-x: auto; }}
  svg {{ max-width: 100%; height: auto; }}
</style>
</head>
<body>
<h1>{0}: set-up guide</h1>
<p>Do one step after the other. You need nothing but the model, its handset and ten minutes.</p>
)",
                                escaped(v.brief.name), ink::kText, ink::kLine, ink::kGround);
  for (std::size_t i = 0; i < v.steps.size(); ++i) {
    const GuideStep& s = v.steps[i];
    out += fmt::format("<section><h2>{}. {}</h2>\n{}\n", i + 1, escaped(s.title), guide_figure(v, i).str());
    std::string list, program;
    for (const std::string& line : s.lines) {
      const bool code = s.figure == Figure::engine && &line != &s.lines.back();
      (code ? program : list) += code ? escaped(line) + "\n" : "<li>" + escaped(line) + "</li>\n";
    }
    if (!program.empty()) out += "<pre>" + program + "</pre>\n";
    out += "<ul>\n" + list + "</ul></section>\n";
  }
  out +=
      "<p>Keep fingers, hair and string away from moving gears; do not hold a stalled motor on; do not short or mix "
      "cells. All figures are for a model, never for real lifting.</p>\n</body>\n</html>\n";
  return out;
}

}  // namespace report
