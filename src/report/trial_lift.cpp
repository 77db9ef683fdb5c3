#include "report/trial_lift.h"

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

std::string verdict(const trial::LiftTrial& lift) {
  const trial::LiftRun& run = lift.run;
  if (!lift.why_not.empty()) return "not tried: " + lift.why_not;
  if (run.tipped) return "it tips";
  if (!run.why_not.empty()) return "not tried to the end: " + run.why_not;
  if (!run.set_down) return "the load was not set down";
  return fmt::format("it stands: {} mm to the tipping line at the worst", plain(run.least_margin_mm, 2));
}

std::string title_of(const trial::LiftTrial& lift) {
  return fmt::format("{} g lifted{} and set down at {} mm", plain(lift.load_g, 4),
                     lift.slews ? fmt::format(", swung by {} deg", plain(lift.slew_rad * kDeg, 3)) : "",
                     plain(lift.edge_radius_mm, 4));
}

Json point(const balance::Vec3& p) {
  return {number(p.x_mm), number(p.y_mm), number(p.z_mm)};
}

}  // namespace

std::string lift_text(const trial::LiftTrial& lift, const TextOptions& options) {
  if (!lift.why_not.empty()) return paragraph("", "No lift: " + lift.why_not + ".", options);
  std::string out = heading(title_of(lift), options);
  out += paragraph("  verdict    ", verdict(lift) + ".", options);
  out += paragraph("  stands     ", fmt::format("{}; {}.", lift.state, lift.posture), options);
  out += paragraph("  the chart  ",
                   fmt::format("carries {} g at its edge, where {}.", plain(lift.rated_g, 4),
                               std::isfinite(lift.tipping_g) ? plain(lift.tipping_g, 4) + " g tip it"
                                                             : std::string("no load tips it")),
                   options);
  if (lift.slews)
    out += paragraph("  slewing    ",
                     fmt::format("at {} % of the input, reached in {} s, on {} mm of rope.", plain(100 * lift.input, 3),
                                 plain(lift.ramp_s, 2), plain(lift.rope_mm, 3)),
                     options);
  if (lift.slews && std::fabs(lift.run.overrun_rad) > 1 / kDeg)
    out += paragraph(
        "             ",
        fmt::format("It turns {} deg too {} and is inched back: the load pulls at the drive.",
                    plain(std::fabs(lift.run.overrun_rad) * kDeg, 2), lift.run.overrun_rad > 0 ? "far" : "little"),
        options);
  if (!lift.run.phases.empty()) {
    Table phases;
    phases.column("movement");
    phases.column("takes", Table::Align::right);
    phases.column("greatest swing", Table::Align::right);
    phases.column("to the tipping line", Table::Align::right);
    phases.column("least foot", Table::Align::right);
    for (const trial::LiftPhase& p : lift.run.phases)
      phases.row({p.name, plain(p.end_s - p.start_s, 3) + " s", plain(p.most_swing_rad * kDeg, 2) + " deg",
                  plain(p.least_margin_mm, 3) + " mm", plain(p.least_foot_n, 2) + " N"},
                 p.arrives ? Tint::none : Tint::warm);
    out += "\n" + phases.str(options);
  }
  if (!lift.figures.empty()) {
    Table table;
    table.column("what", Table::Align::left, true);
    table.column("closed form", Table::Align::right);
    table.column("trial", Table::Align::right);
    table.column("apart", Table::Align::right);
    std::string notes;
    for (const trial::Beside& b : lift.figures) {
      table.row({b.what, fmt::format("{}{} {}", b.bound ? "at most " : "", plain(b.closed, 3), b.unit),
                 fmt::format("{} {}", plain(b.trial, 3), b.unit), fmt::format("{} %", plain(100 * b.gap(), 2))},
                b.told() ? Tint::warm : Tint::none);
      if (b.told()) notes += paragraph("  ", fmt::format("{}: {}.", b.what, b.cause), options);
    }
    out += heading("Beside the closed forms", options) + table.str(options) + notes;
  }
  for (const std::string& doubt : lift.doubts) out += paragraph("  doubt: ", doubt + ".", options);
  for (const std::string& left : lift.left_out) out += paragraph("  left out: ", left + ".", options);
  return out + paragraph("  ", "For models only: never plan the lifting of a real machine with it.", options);
}

Json json_of(const trial::LiftTrial& lift) {
  Json out{{"engine", trial::engine_text()}, {"task", "lift"}};
  if (!lift.why_not.empty()) {
    out["why_not"] = lift.why_not;
    return out;
  }
  const trial::LiftRun& run = lift.run;
  out["verdict"] = verdict(lift);
  if (!run.why_not.empty()) out["given_up"] = run.why_not;
  out["tipped"] = run.tipped;
  out["set_down"] = run.set_down;
  out["state"] = lift.state;
  out["posture"] = lift.posture;
  out["load_g"] = number(lift.load_g);
  out["rated_g"] = number(lift.rated_g);
  out["tipping_g"] = number(lift.tipping_g);
  out["start_radius_mm"] = number(lift.start_radius_mm);
  out["edge_radius_mm"] = number(lift.edge_radius_mm);
  out["slew_deg"] = number(lift.slew_rad * kDeg);
  out["rope_mm"] = number(lift.rope_mm);
  out["input"] = number(lift.input);
  out["ramp_s"] = number(lift.ramp_s);
  out["place_mm"] = point(lift.place);
  if (run.set_down) out["put_down_mm"] = point(run.put_down);
  Json polygon = Json::array();
  for (const balance::Point2& p : lift.polygon) polygon.push_back({number(p.x_mm), number(p.y_mm)});
  out["tipping_lines_mm"] = std::move(polygon);
  out["most_swing_deg"] = number(run.most_swing_rad * kDeg);
  out["least_margin_mm"] = number(run.least_margin_mm);
  out["least_foot_n"] = number(run.least_foot_n);
  out["overrun_deg"] = number(run.overrun_rad * kDeg);
  out["most_lean_deg"] = number(run.most_lean_rad * kDeg);
  Json phases = Json::array();
  for (const trial::LiftPhase& p : run.phases)
    phases.push_back({{"movement", p.name},
                      {"start_s", number(p.start_s)},
                      {"end_s", number(p.end_s)},
                      {"most_swing_deg", number(p.most_swing_rad * kDeg)},
                      {"least_margin_mm", number(p.least_margin_mm)},
                      {"least_foot_n", number(p.least_foot_n)},
                      {"arrives", p.arrives}});
  out["phases"] = std::move(phases);
  Json figures = Json::array();
  for (const trial::Beside& b : lift.figures) figures.push_back(json_of(b));
  out["figures"] = std::move(figures);
  out["doubts"] = lift.doubts;
  out["left_out"] = lift.left_out;
  out["time_s"] = number(run.time_s);
  out["steps"] = run.steps;
  Json samples = Json::array();
  for (const trial::LiftSample& s : run.samples)
    samples.push_back({{"time_s", number(s.time_s)},
                       {"hook_mm", point(s.hook)},
                       {"load_mm", point(s.load)},
                       {"slew_deg", number(s.slew_rad * kDeg)},
                       {"luff_deg", number(s.luff_rad * kDeg)},
                       {"rope_mm", number(s.rope_mm)},
                       {"rope_n", number(s.rope_n)},
                       {"swing_deg", number(s.swing_rad * kDeg)},
                       {"margin_mm", number(s.margin_mm)},
                       {"least_foot_n", number(s.least_foot_n)},
                       {"lean_deg", number(s.lean_rad * kDeg)}});
  out["samples"] = std::move(samples);
  return out;
}

std::string lift_csv(const trial::LiftTrial& lift) {
  std::string out =
      "time_s,hook_x_mm,hook_y_mm,hook_z_mm,load_x_mm,load_y_mm,load_z_mm,slew_deg,luff_deg,rope_mm,rope_n,swing_deg,"
      "margin_mm,least_foot_n,lean_deg\n";
  for (const trial::LiftSample& s : lift.run.samples)
    out += fmt::format(
        "{:.4f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.4f},{:.3f},{:.3f},"
        "{:.4f},{:.4f}\n",
        s.time_s, s.hook.x_mm, s.hook.y_mm, s.hook.z_mm, s.load.x_mm, s.load.y_mm, s.load.z_mm, s.slew_rad * kDeg,
        s.luff_rad * kDeg, s.rope_mm, s.rope_n, s.swing_rad * kDeg, s.margin_mm, s.least_foot_n, s.lean_rad * kDeg);
  return out;
}

Svg lift_drawing(const trial::LiftTrial& lift, double width) {
  constexpr double kEdge = 16, kTop = 76, kHeight = 368;
  const std::string title = fmt::format("Trial: {}: {}", title_of(lift), verdict(lift));
  Svg svg(width, kTop + kHeight + kEdge, title);
  svg.rect({0, 0}, width, kTop + kHeight + kEdge, {"none", 0, "#ffffff", "", 1});
  svg.fitted_text({kEdge, 24}, title_of(lift), width - 2 * kEdge, {13, Anchor::start, ink::kText, true});
  svg.fitted_text({kEdge, 42}, verdict(lift), width - 2 * kEdge, {12, Anchor::start, ink::kText, false});
  const trial::LiftRun& run = lift.run;
  if (run.samples.empty()) return svg;

  // From above, forward to the right.
  double low_x = lift.place.x_mm, high_x = low_x, low_y = lift.place.y_mm, high_y = low_y;
  const auto take = [&](double x, double y) {
    low_x = std::min(low_x, x), high_x = std::max(high_x, x);
    low_y = std::min(low_y, y), high_y = std::max(high_y, y);
  };
  for (const balance::Point2& p : lift.polygon) take(p.x_mm, p.y_mm);
  for (const trial::LiftSample& s : run.samples) {
    take(s.hook.x_mm, s.hook.y_mm);
    take(s.load.x_mm, s.load.y_mm);
  }
  const double side = std::min(kHeight - 34, width * 0.45);
  const double scale = side / std::max({high_x - low_x, high_y - low_y, 1.0});
  const Pixel middle{kEdge + side / 2 + 8, kTop + 14 + side / 2};
  const auto at = [&](double x, double y) -> Pixel {
    return {middle.x + (x - (low_x + high_x) / 2) * scale, middle.y - (y - (low_y + high_y) / 2) * scale};
  };
  svg.text({kEdge, kTop - 8}, "from above, forward to the right", {11, Anchor::start, ink::kFaint});
  std::vector<Pixel> lines, hook, load;
  for (const balance::Point2& p : lift.polygon) lines.push_back(at(p.x_mm, p.y_mm));
  svg.polyline(lines, {ink::kText, 1.4, ink::kGround}, true);
  for (const trial::LiftSample& s : run.samples) {
    hook.push_back(at(s.hook.x_mm, s.hook.y_mm));
    load.push_back(at(s.load.x_mm, s.load.y_mm));
  }
  svg.polyline(hook, {ink::kGood, 1.6});
  svg.polyline(load, {ink::kBad, 1.1});
  svg.circle(at(lift.place.x_mm, lift.place.y_mm), 7, {ink::kText, 1.2, "none", "3 2"});
  svg.circle(load.back(), 3, {ink::kBad, 1, ink::kBad});
  const double under = kTop + kHeight;
  const auto legend = [&](double x, std::string_view colour, std::string_view words) {
    svg.line({x, under - 4}, {x + 16, under - 4}, {colour, 2});
    svg.text({x + 20, under}, words, {11});
  };
  legend(kEdge, ink::kText, "tipping lines");
  legend(kEdge + 112, ink::kGood, "hook point");
  legend(kEdge + 206, ink::kBad, "load");
  svg.circle({kEdge + 268, under - 4}, 5, {ink::kText, 1.2, "none", "3 2"});
  svg.text({kEdge + 278, under}, "its place", {11});

  // Over the time.
  const double left = kEdge + side + 76, right = width - kEdge, end_s = run.samples.back().time_s;
  const double panel = (kHeight - 70) / 2;
  const auto plot = [&](double top, std::string_view name, std::string_view colour, auto value, double closed,
                        std::string_view closed_name) {
    double low = 0, high = closed;
    for (const trial::LiftSample& s : run.samples) low = std::min(low, value(s)), high = std::max(high, value(s));
    if (high - low < 1e-9) high = low + 1;
    const std::vector<double> ticks = round_ticks(low, high, 4);
    const Scale ys{ticks.front(), ticks.back(), top + panel, top};
    const Scale xs{0, end_s, left, right};
    for (std::size_t i = 0; i < run.phases.size(); ++i) {
      const trial::LiftPhase& p = run.phases[i];
      svg.rect({xs(p.start_s), top}, std::max(0.5, xs(p.end_s) - xs(p.start_s)), panel,
               {"none", 0, ink::kGround, "", 1});
    }
    for (const double t : ticks) {
      svg.line({left, ys(t)}, {right, ys(t)}, {ink::kLine, 0.7});
      svg.text({left - 6, ys(t) + 4}, plain(t, 4), {10, Anchor::end, ink::kFaint});
    }
    for (const double t : round_ticks(0, end_s, 6))
      if (t <= end_s) svg.text({xs(t), top + panel + 14}, plain(t, 4), {10, Anchor::middle, ink::kFaint});
    std::vector<Pixel> line;
    for (const trial::LiftSample& s : run.samples) line.push_back({xs(s.time_s), ys(value(s))});
    svg.polyline(line, {colour, 1.3});
    if (closed > 0) {
      svg.line({left, ys(closed)}, {right, ys(closed)}, {ink::kText, 1, "none", "5 3"});
      svg.text({right, ys(closed) - 3}, closed_name, {10, Anchor::end, ink::kText, false, true});
    }
    svg.text({left, top - 6}, name, {11, Anchor::start, ink::kText, true});
  };
  double closed_deg = 0;
  for (const trial::Beside& b : lift.figures)
    if (b.id == "swing") closed_deg = b.closed;
  plot(
      kTop + 6, "swing of the load, deg", ink::kBad, [](const trial::LiftSample& s) { return s.swing_rad * kDeg; },
      closed_deg, "closed form, at most");
  plot(
      kTop + panel + 50, "weight to the tipping line, mm", ink::kGood,
      [](const trial::LiftSample& s) { return s.margin_mm; }, 0, "");
  svg.text({right, kTop + kHeight + 8}, "time in s; grey: a movement", {10, Anchor::end, ink::kFaint});
  return svg;
}

}  // namespace report
