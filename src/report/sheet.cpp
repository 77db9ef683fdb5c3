#include "report/sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "base/text.h"
#include "report/bench.h"
#include "report/duty.h"
#include "report/ground.h"
#include "report/json.h"
#include "report/load_chart.h"

namespace report {
namespace {

using base::plain;

constexpr TextStyle kHeading{14, Anchor::start, ink::kText, true};
constexpr TextStyle kSmall{10, Anchor::start, ink::kFaint, false};
constexpr double kSheetWidth = 1120;
constexpr double kEdge = 28;

void draw_plan(Svg& svg, const assessment::Stance& s, Pixel corner, double size) {
  double low_x = 1e300, high_x = -1e300, low_y = 1e300, high_y = -1e300;
  const auto take = [&](const brief::Vec3& p) {
    low_x = std::min(low_x, p.x_mm);
    high_x = std::max(high_x, p.x_mm);
    low_y = std::min(low_y, p.y_mm);
    high_y = std::max(high_y, p.y_mm);
  };
  for (const auto& p : s.support_mm) take(p);
  for (const auto& p : s.centres_mm) take(p);
  const double scale = (size - 60) / std::max({high_x - low_x, high_y - low_y, 1.0});
  const double mid_x = (low_x + high_x) / 2, mid_y = (low_y + high_y) / 2;
  const auto at = [&](const brief::Vec3& p) {
    return Pixel{corner.x + size / 2 + (p.x_mm - mid_x) * scale, corner.y + size / 2 - (p.y_mm - mid_y) * scale};
  };
  svg.rect(corner, size, size, {ink::kLine, 1, "none", "", 1});
  std::vector<Pixel> outline;
  for (const auto& p : s.support_mm) outline.push_back(at(p));
  svg.polyline(outline, {ink::kText, 1.5, ink::kGround, "", 1}, true);
  std::set<std::pair<int, int>> seen;  // one dot per two pixels is enough for the eye
  for (const auto& p : s.centres_mm) {
    const Pixel q = at(p);
    if (seen.insert({static_cast<int>(std::floor(q.x / 2)), static_cast<int>(std::floor(q.y / 2))}).second) {
      svg.circle(q, 1.3, {"none", 0, ink::kGood, "", 1});
    }
  }
  const Pixel c = at(s.centre_mm);
  svg.circle(c, 5, {ink::kBad, 2, "#ffffff", "", 1});
  const double a = s.least_direction_deg * std::numbers::pi / 180;
  svg.line({c.x + 5 * std::cos(a), c.y - 5 * std::sin(a)}, {c.x + 26 * std::cos(a), c.y - 26 * std::sin(a)},
           {ink::kBad, 2, "none", "", 1});
  svg.text({corner.x + size - 8, corner.y + size - 8}, "forward \xE2\x86\x92", {10, Anchor::end, ink::kFaint, false});
  svg.text({corner.x + 8, corner.y + 15}, "from above: support, centres of gravity", kSmall);
}

void draw_polar(Svg& svg, const assessment::Stance& s, Pixel corner, double size) {
  svg.rect(corner, size, size, {ink::kLine, 1, "none", "", 1});
  const double most = *std::max_element(s.tipping_deg.begin(), s.tipping_deg.end());
  std::vector<double> ticks = round_ticks(0, std::max(most, 1.0), 3);
  if (ticks.back() > 90) ticks.back() = 90;
  const Pixel middle{corner.x + size / 2, corner.y + size / 2 + 6};
  const Scale radius{0, ticks.back(), 0, size / 2 - 26};
  for (const double t : ticks) {
    if (t <= 0) continue;
    svg.circle(middle, radius(t), {ink::kLine, 1, "none", "", 1});
  }
  svg.line({middle.x - radius.to, middle.y}, {middle.x + radius.to, middle.y}, {ink::kLine, 1, "none", "", 1});
  svg.line({middle.x, middle.y - radius.to}, {middle.x, middle.y + radius.to}, {ink::kLine, 1, "none", "", 1});
  std::vector<Pixel> shape;
  for (std::size_t d = 0; d < s.direction_deg.size(); ++d) {
    const double a = s.direction_deg[d] * std::numbers::pi / 180, r = radius(std::max(s.tipping_deg[d], 0.0));
    shape.push_back({middle.x + r * std::cos(a), middle.y - r * std::sin(a)});
  }
  svg.polyline(shape, {ink::kGood, 2, "none", "", 1}, true);
  for (const double t : ticks) {
    if (t <= 0) continue;
    svg.text({middle.x + 3, middle.y - radius(t) + 11}, plain(t) + "\xC2\xB0",
             {10, Anchor::start, ink::kFaint, false, true});
  }
  svg.text({corner.x + 8, corner.y + 15}, "tipping angle by direction, worst posture", kSmall);
}

struct Column {
  Svg& svg;
  double x, width, y;
  void add(const Svg& part, double gap = 22) {
    svg.place({x, y}, part);
    y += part.height() + gap;
  }
};

Svg paragraph_block(std::string_view heading, const std::vector<std::pair<std::string, std::string_view>>& lines,
                    double width) {
  Svg svg(width, 0, heading);
  svg.text({0, 14}, heading, kHeading);
  double y = 32;
  for (const auto& [text, colour] : lines) {
    for (const std::string& line : wrapped(text, width - 12, 11)) {
      svg.text({12, y}, line, {11, Anchor::start, colour, false});
      y += 15;
    }
    y += 3;
  }
  svg.set_height(y);
  return svg;
}

Svg findings_block(const assessment::Assessment& a, double width) {
  std::vector<std::pair<std::string, std::string_view>> lines;
  for (const assessment::Finding& f : a.findings) {
    lines.emplace_back(fmt::format("{}: {}", assessment::name_of(f.severity), f.text),
                       f.severity == assessment::Finding::Severity::problem ? ink::kBad
                       : f.severity == assessment::Finding::Severity::note  ? ink::kFaint
                                                                            : ink::kText);
    for (const assessment::Remedy& m : f.remedies) {
      lines.emplace_back(fmt::format("   tried: {}: {} {} {}{}", m.text, m.what, plain(m.after, 3), m.unit,
                                     m.enough ? ", enough" : ", not enough"),
                         ink::kFaint);
    }
  }
  return paragraph_block("Findings", lines, width);
}

Svg power_block(const assessment::Power& p, double width) {
  Svg svg(width, 0, "Power");
  svg.text({0, 14}, "Power", kHeading);
  double y = 36;
  double most = 1;
  for (const assessment::PortUse& u : p.ports) most = std::max({most, u.running_ma, u.limit_ma});
  const double name = 150;
  const Scale x{0, most, name, width - 90};
  for (const assessment::PortUse& u : p.ports) {
    svg.text({0, y + 4}, fitted(fmt::format("{}.{} {}", u.hub + 1, u.port, u.function), name - 8, 11),
             {11, Anchor::start, ink::kText, false});
    svg.rect({x.from, y - 5}, x(u.running_ma) - x.from, 10,
             {"none", 0, u.running_ma > u.limit_ma ? ink::kBad : ink::kGood, "", 1});
    svg.line({x(u.limit_ma), y - 8}, {x(u.limit_ma), y + 8}, {ink::kText, 1.5, "none", "", 1});
    svg.text({width, y + 4}, plain(u.running_ma, 3) + " mA", {11, Anchor::end, ink::kText, false});
    y += 19;
  }
  svg.text({0, y + 6}, "bar: running at the wanted load; stroke: what the socket gives", kSmall);
  y += 22;
  svg.text({0, y},
           p.duty.run_time_open ? fmt::format("run time more than {} min", plain(p.run_time_min.nominal, 4))
                                : fmt::format("run time {} min ({} to {})", plain(p.run_time_min.nominal, 3),
                                              plain(p.run_time_min.low, 3), plain(p.run_time_min.high, 3)),
           {11, Anchor::start, ink::kText, false});
  svg.set_height(y + 8);
  return svg;
}

}  // namespace

Svg margins_drawing(const design::Result& r, double width) {
  Svg svg(width, 0, "Margins");
  svg.text({0, 14}, "Margins: reached against asked", kHeading);
  // Beyond three times what was asked nobody compares any more; the bar ends there in a point and the figure says the
  // rest.
  constexpr double kMost = 3;
  const double name = 190, value = 52;
  const Scale x{0, kMost, name, width - value};
  double y = 42;
  const double first = y - 12;
  struct Mark {
    double y;
    const candidate::Margin* margin;
    const base::Triple* interval;
  };
  std::vector<Mark> marks;
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    const candidate::Candidate* c = r.chosen(f);
    svg.text({0, y + 4}, fitted(r.functions[f].id, name - 10, 11, true), {11, Anchor::start, ink::kText, true});
    if (c == nullptr) {
      svg.text({x.from, y + 4}, "left out", {11, Anchor::start, ink::kFaint, false});
      y += 24;
      continue;
    }
    y += 17;
    for (std::size_t m = 0; m < c->nominal.margins.size(); ++m) {
      const bool drawn = r.assessed && m < r.assessed->certainty.functions[f].ratio.size();
      marks.push_back({y, &c->nominal.margins[m], drawn ? &r.assessed->certainty.functions[f].ratio[m] : nullptr});
      y += 16;
    }
    y += 6;
  }
  svg.line({x(0), first}, {x(0), y}, {ink::kLine, 1, "none", "", 1});
  for (const double t : {2.0, 3.0}) svg.line({x(t), first}, {x(t), y}, {ink::kLine, 1, "none", "", 1});
  for (const Mark& k : marks) {
    const bool short_of = k.margin->ratio < 1;
    svg.text({14, k.y + 4}, fitted(k.margin->name, name - 22, 11), {11, Anchor::start, ink::kFaint, false});
    const bool beyond = k.margin->ratio > kMost;
    svg.rect({x.from, k.y - 5}, x(std::min(k.margin->ratio, kMost)) - x.from, 10,
             {"none", 0, short_of ? ink::kBad : ink::kGood, "", 1});
    if (beyond) svg.polyline({{x.to, k.y - 5}, {x.to + 8, k.y}, {x.to, k.y + 5}}, {"none", 0, ink::kGood, "", 1}, true);
    if (k.interval != nullptr && k.interval->low < kMost) {
      const double a = x(k.interval->low), b = x(std::min(k.interval->high, kMost));
      svg.line({a, k.y}, {b, k.y}, {ink::kWarm, 2, "none", "", 1});
      svg.line({a, k.y - 4}, {a, k.y + 4}, {ink::kWarm, 2, "none", "", 1});
      // No end where the interval goes on beyond the paper.
      if (k.interval->high < kMost) svg.line({b, k.y - 4}, {b, k.y + 4}, {ink::kWarm, 2, "none", "", 1});
    }
    svg.text({width, k.y + 4}, k.margin->ratio >= candidate::kMarginCap ? "ample" : plain(k.margin->ratio, 3),
             {11, Anchor::end, ink::kText, false});
  }
  svg.line({x(1), first}, {x(1), y}, {ink::kText, 1.5, "none", "", 1});
  for (const auto& [t, label] : {std::pair{0.0, "0"}, {1.0, "asked"}, {2.0, "2\xC3\x97"}, {3.0, "3\xC3\x97"}}) {
    svg.text({x(t), y + 13}, label, {10, Anchor::middle, ink::kFaint, false});
  }
  svg.text({0, y + 30}, "bar: nominal, pointed where it goes on beyond 3\xC3\x97; orange: 5 to 95 % of the draws",
           kSmall);
  svg.set_height(y + 36);
  return svg;
}

Svg stance_drawing(const assessment::Stance& s, double width) {
  const double size = (width - 12) / 2;
  Svg svg(width, 26, "Stance");
  svg.text({0, 14}, "Stance", kHeading);
  if (!s.judged) {
    const std::vector<std::string> lines = wrapped("not judged: " + s.why_not, width, 11);
    double y = 32;
    for (const std::string& line : lines) {
      svg.text({0, y}, line, {11, Anchor::start, ink::kFaint, false});
      y += 15;
    }
    svg.set_height(y);
    return svg;
  }
  draw_plan(svg, s, {0, 26}, size);
  draw_polar(svg, s, {size + 12, 26}, size);
  double y = 26 + size + 16;
  const std::string least =
      fmt::format("least {} deg ({} to {}): {}", plain(s.least_deg, 3), plain(s.least_interval_deg.low, 3),
                  plain(s.least_interval_deg.high, 3), s.worst_text);
  y += 15 * static_cast<double>(svg.paragraph({0, y}, least, width, 15, {11, Anchor::start, ink::kText, false}));
  svg.set_height(y);
  return svg;
}

Svg front_drawing(const design::Result& r, double width) {
  const double height = 250;
  Svg svg(width, height, "Trade-offs");
  svg.text({0, 14}, "Trade-offs", kHeading);
  double low_m = 1e300, high_m = -1e300, low_g = 1e300, high_g = -1e300;
  for (const design::FrontPoint& p : r.front) {
    low_m = std::min(low_m, p.worst_margin);
    high_m = std::max(high_m, p.worst_margin);
    low_g = std::min(low_g, p.parts_mass_g);
    high_g = std::max(high_g, p.parts_mass_g);
  }
  if (r.front.empty()) return svg;
  const std::vector<double> x_ticks = round_ticks(low_g, std::max(high_g, low_g + 1), 4);
  const std::vector<double> y_ticks = round_ticks(low_m, std::max(high_m, low_m + 0.01), 4);
  const Scale x{x_ticks.front(), x_ticks.back(), 52, width - 16};
  const Scale y{y_ticks.front(), y_ticks.back(), height - 40, 34};
  for (const double t : y_ticks) {
    svg.line({x.from, y(t)}, {x.to, y(t)}, {ink::kLine, 1, "none", "", 1});
    svg.text({x.from - 6, y(t) + 4}, plain(t, 4), {10, Anchor::end, ink::kFaint, false});
  }
  for (const double t : x_ticks) {
    svg.text({x(t), y.from + 16}, plain(t), {10, Anchor::middle, ink::kFaint, false});
  }
  svg.text({(x.from + x.to) / 2, height - 6}, "mass of the taken parts, g", {10, Anchor::middle, ink::kFaint, false});
  svg.text({width, 14}, "up: worst margin", {10, Anchor::end, ink::kFaint, false});
  for (const design::FrontPoint& p : r.front) {
    if (!p.chosen) svg.circle({x(p.parts_mass_g), y(p.worst_margin)}, 3.5, {ink::kGood, 1.5, "#ffffff", "", 1});
  }
  for (const design::FrontPoint& p : r.front) {
    if (p.chosen) svg.circle({x(p.parts_mass_g), y(p.worst_margin)}, 5.5, {ink::kBad, 2, ink::kBad, "", 1});
  }
  return svg;
}

Svg sheet(const design::Result& r) {
  const double inner = kSheetWidth - 2 * kEdge;
  const std::string name = r.brief ? r.brief->name : "design";
  Svg svg(kSheetWidth, 0, name);
  svg.text({kEdge, 42}, fitted(name, inner, 22, true), {22, Anchor::start, ink::kText, true});
  std::string line;
  if (r.feasible()) {
    line = "worst margin " + plain(r.allocated->worst_margin, 3);
    if (r.assessed) {
      line +=
          fmt::format(" \xC2\xB7 confidence {} % \xC2\xB7 mass {}{} g \xC2\xB7 {} parts left",
                      plain(100 * r.assessed->certainty.confidence, 3), r.assessed->mass_is_estimate ? "about " : "",
                      plain(r.assessed->mass_g, 3), r.assessed->parts_left);
    }
    if (!r.proven_best()) line += " \xC2\xB7 not proven best";
  } else {
    line = !r.allocated ? "not allocated" : status_of(r) == "undecided" ? "Undecided" : "Infeasible with this stock";
  }
  svg.text({kEdge, 66}, fitted(line, inner, 13), {13, Anchor::start, r.feasible() ? ink::kText : ink::kBad, false});
  svg.line({kEdge, 78}, {kSheetWidth - kEdge, 78}, {ink::kText, 1, "none", "", 1});
  double y = 98;
  if (!r.feasible()) {
    std::vector<std::pair<std::string, std::string_view>> way, out;
    if (r.allocated) {
      for (const design::Conflict& c : r.allocated->conflicts) {
        way.emplace_back(c.text, ink::kText);
        for (const auto& x : c.resources) {
          for (const auto& d : x.demands) {
            way.emplace_back(fmt::format("- {}: at least {} of {}", d.who,
                                         base::plain(d.least, 9) + (x.unit.empty() ? "" : " " + x.unit), x.what),
                             ink::kFaint);
          }
        }
      }
      for (const design::WayOut& w : r.allocated->ways_out) out.emplace_back(w.text, ink::kText);
      for (const design::PairOut& p : r.allocated->pairs_out.pairs)
        out.emplace_back(fmt::format("{}, and {}", p.first.text, p.second.text), ink::kText);
    }
    Column column{svg, kEdge, inner, y};
    column.add(paragraph_block("What stands in the way", way, inner));
    column.add(paragraph_block("Ways out, each solved again", out, inner));
    svg.set_height(column.y + kEdge);
    return svg;
  }
  const double half = (inner - 32) / 2;
  Column left{svg, kEdge, half, y}, right{svg, kEdge + half + 32, half, y};
  left.add(margins_drawing(r, half));
  if (r.assessed) {
    right.add(stance_drawing(r.assessed->stance, half));
    const assessment::Lifting& lifting = r.assessed->lifting;
    for (std::size_t s = 0; lifting.judged && s < lifting.states.size(); ++s)
      right.add(load_chart_drawing(lifting, s, half));
    if (!r.assessed->power.ports.empty()) right.add(power_block(r.assessed->power, half));
    const assessment::Ground& ground = r.assessed->ground;
    if (ground.judged) {
      left.add(standing_drawing(ground.state, ground.standing, ground.mass, {}, half));
      (left.y < right.y ? left : right).add(ground_drawing(ground, half));
    }
    if (r.assessed->site.judged) (left.y < right.y ? left : right).add(site_drawing(*r.brief, *r.assessed, half));
    if (r.assessed->power.duty.judged) right.add(duty_drawing(r.assessed->power.duty, half));
  }
  if (r.bench) (left.y < right.y ? left : right).add(residual_drawing(*r.bench, half));
  if (r.front.size() > 1) (left.y < right.y ? left : right).add(front_drawing(r, half));
  if (r.assessed && !r.assessed->findings.empty())
    (left.y < right.y ? left : right).add(findings_block(*r.assessed, half));
  Column wide{svg, kEdge, inner, std::max(left.y, right.y)};
  if (r.assessed) {
    for (const assessment::ObstacleWay& way : r.assessed->ground.obstacles) {
      if (!way.slope)
        wide.add(crossing_drawing(r.assessed->ground.vehicle, way.line, way.walk, way.friction,
                                  fmt::format("Obstacle: {} \"{}\"", way.type, way.id), inner));
    }
  }
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    if (const candidate::Candidate* c = r.chosen(f)) wide.add(candidate_drawing(*c, r.functions[f].id, inner));
  }
  svg.set_height(wide.y + kEdge - 10);
  return svg;
}

}  // namespace report
