#include "report/load_chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "base/text.h"

namespace report {
namespace {

using assessment::LiftCell;
using assessment::Lifting;
using Align = Table::Align;
using base::plain;

constexpr TextStyle kHeading{14, Anchor::start, ink::kText, true};
constexpr TextStyle kSmall{10, Anchor::start, ink::kFaint, false};
constexpr double kDeg = std::numbers::pi / 180;
constexpr std::string_view kCaution =
    "Strength counts for beams only, where a function tells them; pins are not counted. For this model only, never for "
    "real lifting.";

/// Letter of a limit in the drawing: its first letter, where that is taken the next free one.
std::vector<std::string> letters_of(const Lifting& l) {
  std::vector<std::string> out;
  for (const std::string& name : l.limits) {
    std::string letter;
    for (const char c : name) {
      letter = std::string(1, static_cast<char>(c - ('a' <= c && c <= 'z' ? 'a' - 'A' : 0)));
      if (std::find(out.begin(), out.end(), letter) == out.end()) break;
    }
    out.push_back(letter);
  }
  return out;
}

/// The posture with the greatest rated load in a cell; null where no posture reaches it.
const LiftCell* best_cell(const Lifting& l, std::size_t state, std::size_t slew, std::size_t radius) {
  const LiftCell* best = nullptr;
  for (std::size_t p = 0; p < l.postures.size(); ++p) {
    const LiftCell& c = l.at(state, p, slew, radius);
    if (c.reached && (best == nullptr || c.rated_g > best->rated_g)) best = &c;
  }
  return best;
}

/// The best posture for a load that may be slewed anywhere: least rated load of the round.
struct AllRound {
  double rated_g = 0;
  const LiftCell* worst = nullptr;
  std::size_t slew = 0, posture = 0;
};
AllRound all_round(const Lifting& l, std::size_t state, std::size_t radius) {
  AllRound best;
  for (std::size_t p = 0; p < l.postures.size(); ++p) {
    AllRound round{std::numeric_limits<double>::infinity(), nullptr, 0, p};
    for (std::size_t s = 0; s < l.slew_deg.size(); ++s) {
      const LiftCell& c = l.at(state, p, s, radius);
      if (!c.reached) continue;
      if (round.worst == nullptr || c.rated_g < round.rated_g) round = {c.rated_g, &c, s, p};
    }
    if (round.worst != nullptr && (best.worst == nullptr || round.rated_g > best.rated_g)) best = round;
  }
  return best;
}

/// Least rated load of the round at a radius, of the two looked-at radii around it; nothing where one is out of reach.
std::optional<double> least_around_g(const Lifting& l, std::size_t state, double radius_mm) {
  const auto above = std::lower_bound(l.radius_mm.begin(), l.radius_mm.end(), radius_mm - 1e-9);
  if (above == l.radius_mm.end()) return std::nullopt;
  const auto high = static_cast<std::size_t>(above - l.radius_mm.begin());
  if (high == 0 && *above > radius_mm + 1e-9) return std::nullopt;
  std::optional<double> least;
  for (const std::size_t r : {high > 0 ? high - 1 : high, high}) {
    const AllRound round = all_round(l, state, r);
    if (round.worst == nullptr) return std::nullopt;
    least = std::min(least.value_or(round.rated_g), round.rated_g);
  }
  return least;
}

std::size_t ahead_of(const Lifting& l) {
  std::size_t best = 0;
  for (std::size_t s = 1; s < l.slew_deg.size(); ++s)
    if (std::fabs(l.slew_deg[s]) < std::fabs(l.slew_deg[best])) best = s;
  return best;
}

std::string ground_of(const Lifting& l) {
  if (!(l.slope_deg > 0)) return "level ground";
  if (l.downhill_deg.size() != 1)
    return fmt::format("on a slope of {} deg that falls the worst way", plain(l.slope_deg, 3));
  return fmt::format("on a slope of {} deg that falls towards {} deg from the front", plain(l.slope_deg, 3),
                     plain(l.downhill_deg.front(), 3));
}

std::string load_text(double g) {
  return std::isfinite(g) ? plain(g, 3) : "no limit";
}

void draw_polar(Svg& svg, const Lifting& l, std::size_t state, Pixel middle, double radius_px) {
  const std::size_t slews = l.slew_deg.size(), radii = l.radius_mm.size();
  const double outer_mm = l.radius_mm.back() + (l.radius_mm.back() - l.radius_mm.front()) / (2.0 * (radii - 1));
  const auto edge_mm = [&](std::size_t r) {  // between the radii r - 1 and r
    const double step = (l.radius_mm.back() - l.radius_mm.front()) / static_cast<double>(radii - 1);
    return std::max(0.0, l.radius_mm.front() + step * (static_cast<double>(r) - 0.5));
  };
  const double step_deg = slews > 1 ? l.slew_deg[1] - l.slew_deg[0] : 360;
  const auto at = [&](double mm, double deg) {
    const double px = radius_px * mm / outer_mm;
    return Pixel{middle.x + px * std::cos(deg * kDeg), middle.y - px * std::sin(deg * kDeg)};
  };
  const std::vector<std::string> letters = letters_of(l);
  for (std::size_t s = 0; s < slews; ++s) {
    for (std::size_t r = 0; r < radii; ++r) {
      const LiftCell* c = best_cell(l, state, s, r);
      if (c == nullptr) continue;
      const bool within = c->rated_g >= l.wanted_g;
      std::vector<Pixel> sector;
      constexpr int kArc = 4;
      for (int i = 0; i <= kArc; ++i)
        sector.push_back(at(edge_mm(r), l.slew_deg[s] + step_deg * (1.0 * i / kArc - 0.5)));
      for (int i = kArc; i >= 0; --i)
        sector.push_back(at(edge_mm(r + 1), l.slew_deg[s] + step_deg * (1.0 * i / kArc - 0.5)));
      svg.polyline(sector, {ink::kLine, 0.5, within ? ink::kGood : ink::kWarm, "", within ? 0.22 : 0.3}, true);
    }
  }
  // The border of what is within the rated load, so that the fills are not told apart by colour alone.
  for (std::size_t s = 0; s < slews; ++s) {
    for (std::size_t r = 0; r < radii; ++r) {
      const LiftCell* c = best_cell(l, state, s, r);
      const auto within = [&](const LiftCell* x) { return x != nullptr && x->rated_g >= l.wanted_g; };
      if (!within(c)) continue;
      const double a = l.slew_deg[s] - step_deg / 2, b = l.slew_deg[s] + step_deg / 2;
      const Style bold{ink::kText, 1.6, "none", "", 1};
      if (r + 1 == radii || !within(best_cell(l, state, s, r + 1))) {
        std::vector<Pixel> arc;
        for (int i = 0; i <= 4; ++i) arc.push_back(at(edge_mm(r + 1), a + (b - a) * i / 4));
        svg.polyline(arc, bold);
      }
      if (r > 0 && !within(best_cell(l, state, s, r - 1))) {
        std::vector<Pixel> arc;
        for (int i = 0; i <= 4; ++i) arc.push_back(at(edge_mm(r), a + (b - a) * i / 4));
        svg.polyline(arc, bold);
      }
      const bool closed = std::fabs(step_deg * static_cast<double>(slews) - 360) < 1e-6;
      if ((closed || s + 1 < slews) && !within(best_cell(l, state, (s + 1) % slews, r)))
        svg.line(at(edge_mm(r), b), at(edge_mm(r + 1), b), bold);
      if ((closed || s > 0) && !within(best_cell(l, state, (s + slews - 1) % slews, r)))
        svg.line(at(edge_mm(r), a), at(edge_mm(r + 1), a), bold);
    }
  }
  // Rings at round radii, told by the radius and by what is rated all round there.
  struct Named {
    Pixel at;
    std::string text;
  };
  constexpr double kName = 9;
  std::vector<Named> names;
  for (const double t : round_ticks(0, l.radius_mm.back(), 7)) {
    if (t <= 0 || t > outer_mm) continue;
    svg.circle(middle, radius_px * t / outer_mm, {ink::kFaint, 0.6, "none", "3 3", 1});
    const std::optional<double> rated_g = least_around_g(l, state, t);
    const std::string text = rated_g ? fmt::format("{} mm: {} g", plain(t), load_text(*rated_g)) : plain(t) + " mm";
    names.push_back({{middle.x - text_width(text, kName) / 2, middle.y + radius_px * t / outer_mm + 3}, text});
  }
  const auto on_name = [&](Pixel p) {
    return std::any_of(names.begin(), names.end(), [&](const Named& n) {
      return p.x > n.at.x - 8 && p.x < n.at.x + text_width(n.text, kName) + 8 && std::fabs(p.y + 3 - n.at.y) < 11;
    });
  };
  // Letters where they have room: the cell's own place, thinned towards the middle.
  const double cell_px = radius_px * (edge_mm(2) - edge_mm(1)) / outer_mm;
  const std::size_t every_r = static_cast<std::size_t>(std::max(1.0, std::ceil(11 / std::max(cell_px, 1.0))));
  for (std::size_t r = 0; r < radii; r += every_r) {
    const double arc_px = radius_px * l.radius_mm[r] / outer_mm * step_deg * kDeg;
    const std::size_t every_s = static_cast<std::size_t>(std::max(1.0, std::ceil(13 / std::max(arc_px, 0.5))));
    for (std::size_t s = 0; s < slews; s += every_s) {
      const LiftCell* c = best_cell(l, state, s, r);
      if (c == nullptr || c->governs < 0) continue;
      const Pixel p = at(l.radius_mm[r], l.slew_deg[s]);
      if (on_name(p)) continue;
      svg.text({p.x, p.y + 3}, letters[static_cast<std::size_t>(c->governs)],
               {8, Anchor::middle, ink::kText, false, true});
    }
  }
  for (const Named& n : names) svg.text(n.at, n.text, {kName, Anchor::start, ink::kText, false, true});
  svg.text({middle.x + radius_px, middle.y + radius_px + 4}, "front \xE2\x86\x92",
           {10, Anchor::end, ink::kFaint, false});
}

void draw_straight(Svg& svg, const Lifting& l, std::size_t state, Pixel corner, double width, double height) {
  double most_g = l.wanted_g;
  std::vector<Pixel> rated, greatest;
  for (std::size_t r = 0; r < l.radius_mm.size(); ++r) {
    const LiftCell* c = best_cell(l, state, 0, r);
    if (c != nullptr && std::isfinite(c->greatest_g)) most_g = std::max(most_g, c->greatest_g);
  }
  const std::vector<double> y_ticks = round_ticks(0, std::max(1.1 * most_g, 1.0), 4);  // with room for the letters
  const std::vector<double> x_ticks = round_ticks(l.radius_mm.front(), l.radius_mm.back(), 5);
  const Scale x{x_ticks.front(), x_ticks.back(), corner.x + 52, corner.x + width - 16};
  const Scale y{0, y_ticks.back(), corner.y + height - 34, corner.y + 10};
  for (const double t : y_ticks) {
    svg.line({x.from, y(t)}, {x.to, y(t)}, {ink::kLine, 1, "none", "", 1});
    svg.text({x.from - 6, y(t) + 4}, plain(t, 3), {10, Anchor::end, ink::kFaint, false});
  }
  for (const double t : x_ticks) svg.text({x(t), y.from + 15}, plain(t), {10, Anchor::middle, ink::kFaint, false});
  svg.text({(x.from + x.to) / 2, y.from + 30}, "radius from the " + l.radius_from + ", mm",
           {10, Anchor::middle, ink::kFaint, false});
  const std::vector<std::string> letters = letters_of(l);
  for (std::size_t r = 0; r < l.radius_mm.size(); ++r) {
    const LiftCell* c = best_cell(l, state, 0, r);
    if (c == nullptr) continue;
    rated.push_back({x(l.radius_mm[r]), y(std::min(c->rated_g, y.high))});
    greatest.push_back({x(l.radius_mm[r]), y(std::min(c->greatest_g, y.high))});
    if (c->governs >= 0)
      svg.text({greatest.back().x, greatest.back().y - 4}, letters[static_cast<std::size_t>(c->governs)],
               {9, Anchor::middle, ink::kText, false, true});
  }
  svg.polyline(greatest, {ink::kFaint, 1.5, "none", "5 3", 1});
  svg.polyline(rated, {ink::kGood, 2, "none", "", 1});
  svg.line({x.from, y(l.wanted_g)}, {x.to, y(l.wanted_g)}, {ink::kBad, 1, "none", "2 3", 1});
  svg.text({x.to, y(l.wanted_g) - 4}, "wanted " + plain(l.wanted_g, 3) + " g",
           {10, Anchor::end, ink::kBad, false, true});
  svg.text({x.from, corner.y + 6}, "full line: rated load, g; dashed: greatest", kSmall);
}

}  // namespace

Svg load_chart_drawing(const Lifting& l, std::size_t state, double width) {
  const bool turns = l.slew_deg.size() > 1;
  const double size = turns ? width : 240;
  Svg svg(width, 0, "Load chart, " + l.states[state]);
  svg.fitted_text({0, 14}, "Load chart, " + l.states[state], width, kHeading);
  if (turns) {
    draw_polar(svg, l, state, {width / 2, 30 + size / 2}, size / 2 - 8);
  } else {
    draw_straight(svg, l, state, {0, 24}, width, size);
  }
  double y = 30 + size + 12;
  std::string key = "governed by";
  const std::vector<std::string> letters = letters_of(l);
  std::vector<bool> seen(l.limits.size(), false);
  for (std::size_t s = 0; s < l.slew_deg.size(); ++s) {
    for (std::size_t r = 0; r < l.radius_mm.size(); ++r) {
      const LiftCell* c = best_cell(l, state, s, r);
      if (c != nullptr && c->governs >= 0) seen[static_cast<std::size_t>(c->governs)] = true;
    }
  }
  for (std::size_t i = 0; i < seen.size(); ++i)
    if (seen[i]) key += fmt::format(" {} = {},", letters[i], l.limits[i]);
  key.back() = '.';
  if (turns)
    key = fmt::format(
        "On the rings: the radius and what is rated there all round. Inside the bold border (blue) the wanted "
        "{} g are within the rated load, outside (orange) not; {}",
        plain(l.wanted_g, 3), key);
  if (l.slope_deg > 0) key += " It stands " + ground_of(l) + ".";
  y += 13 * static_cast<double>(svg.paragraph({0, y}, fmt::format("{} {}", key, kCaution), width, 13, kSmall));
  svg.set_height(y);
  return svg;
}

Svg load_chart_sheet(const Lifting& l, const std::string& title) {
  constexpr double kWidth = 640, kEdge = 24;
  Svg svg(kWidth, 0, title);
  svg.fitted_text({kEdge, 36}, title, kWidth - 2 * kEdge, {18, Anchor::start, ink::kText, true});
  double y = 56;
  for (std::size_t s = 0; s < l.states.size(); ++s) {
    const Svg chart = load_chart_drawing(l, s, kWidth - 2 * kEdge);
    svg.place({kEdge, y}, chart);
    y += chart.height() + 24;
  }
  svg.set_height(y);
  return svg;
}

std::vector<RatedRow> rated_rows(const Lifting& l, std::size_t state) {
  std::vector<RatedRow> out;
  const std::size_t ahead = ahead_of(l);
  for (std::size_t r = 0; r < l.radius_mm.size(); ++r) {
    const AllRound round = all_round(l, state, r);
    if (round.worst == nullptr) continue;
    const LiftCell* straight = best_cell(l, state, ahead, r);
    out.push_back({l.radius_mm[r], round.rated_g,
                   round.worst->governs < 0 ? "" : l.limits[static_cast<std::size_t>(round.worst->governs)],
                   l.slew_deg[round.slew], straight == nullptr ? -1 : straight->rated_g, round.worst->hook_height_mm,
                   l.postures[round.posture]});
  }
  return out;
}

std::string load_chart_text(const Lifting& l, const TextOptions& o) {
  std::string out = heading("Load chart", o);
  if (!l.judged) return out + paragraph("  ", "none: " + l.why_not, o);
  const bool turns = l.slew_deg.size() > 1;
  for (std::size_t state = 0; state < l.states.size(); ++state) {
    Table t;
    t.column("radius mm", Align::right);
    t.column(turns ? "rated all round g" : "rated g", Align::right);
    t.column("governed by");
    if (turns) {
      t.column("worst at deg", Align::right);
      t.column("rated ahead g", Align::right);
    } else {
      t.column("hook height mm", Align::right);
    }
    t.column("posture", Align::left, true);
    for (const RatedRow& r : rated_rows(l, state)) {
      std::vector<std::string> cells{plain(r.radius_mm, 3), load_text(r.rated_g), r.governs};
      if (turns) {
        cells.push_back(plain(r.slew_deg, 3));
        cells.push_back(r.ahead_g < 0 ? "" : load_text(r.ahead_g));
      } else {
        cells.push_back(plain(r.hook_height_mm, 3));
      }
      cells.push_back(r.posture);
      t.row(std::move(cells), r.rated_g < l.wanted_g ? Tint::warm : Tint::none);
    }
    out += fmt::format("  {}\n{}", l.states[state], t.str(o));
    const Lifting::AtWanted& w = l.at_wanted[state];
    out += paragraph("  ",
                     fmt::format("{} g wanted {} mm from the {}: rated {} g{}{}; a machine that gives nowhere would "
                                 "seem to have {} g",
                                 plain(l.wanted_g, 3), plain(l.wanted_radius_mm, 3), l.radius_from,
                                 load_text(w.rated_g), turns ? " all round" : "",
                                 w.governs > 0 ? ", governed by " + l.limits[static_cast<std::size_t>(w.governs)] : "",
                                 load_text(w.rigid_g)),
                     o);
  }
  if (!l.note.empty()) out += paragraph("  ", "not in the chart: " + l.note, o);
  return out + paragraph("  ",
                         fmt::format(
                             "rated: 75 % of what tips it (85 % with feet down), 87 % of what the drives hold, {}. {}",
                             ground_of(l), kCaution),
                         o);
}

std::string load_chart_csv(const Lifting& l) {
  std::string out = "state,posture,slew_deg,radius_mm,hook_height_mm,rated_g,greatest_g,governs,confidence\n";
  const auto load = [](double g) { return std::isfinite(g) ? fmt::format("{:.2f}", g) : std::string(); };
  const auto quoted = [](const std::string& text) {
    std::string q = "\"";
    for (const char c : text) q += c == '"' ? std::string("\"\"") : std::string(1, c);
    return q + "\"";
  };
  for (std::size_t s = 0; s < l.states.size(); ++s) {
    for (std::size_t p = 0; p < l.postures.size(); ++p) {
      for (std::size_t k = 0; k < l.slew_deg.size(); ++k) {
        for (std::size_t r = 0; r < l.radius_mm.size(); ++r) {
          const LiftCell& c = l.at(s, p, k, r);
          if (!c.reached) continue;
          out += fmt::format("{},{},{:.3f},{:.2f},{:.2f},{},{},{},{:.4f}\n", quoted(l.states[s]), quoted(l.postures[p]),
                             l.slew_deg[k], l.radius_mm[r], c.hook_height_mm, load(c.rated_g), load(c.greatest_g),
                             c.governs < 0 ? "" : l.limits[static_cast<std::size_t>(c.governs)], c.confidence);
        }
      }
    }
  }
  return out;
}

}  // namespace report
