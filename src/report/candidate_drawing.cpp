#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "report/route_svg.h"
#include "report/sheet.h"

namespace report {
namespace {

using Role = candidate::Shape::Role;

constexpr double kTitle = 24;

bool is_circle(Role role) {
  return role == Role::base_mount || role == Role::rod_mount || role == Role::pivot || role == Role::gear ||
         role == Role::load;
}

struct Box {
  double low_x = 1e300, high_x = -1e300, low_z = 1e300, high_z = -1e300;
  void take(double x, double z, double r = 0) {
    low_x = std::min(low_x, x - r);
    high_x = std::max(high_x, x + r);
    low_z = std::min(low_z, z - r);
    high_z = std::max(high_z, z + r);
  }
};

Style style_of(Role role) {
  switch (role) {
    case Role::beam:
      return {ink::kText, 5, "none", "", 1};
    case Role::moving_beam:
      return {ink::kGood, 5, "none", "", 1};
    case Role::actuator:
      return {ink::kBad, 4, "none", "", 1};
    case Role::base_mount:
    case Role::rod_mount:
      return {ink::kBad, 1.5, "#ffffff", "", 1};
    case Role::pivot:
      return {ink::kText, 2, "#ffffff", "", 1};
    case Role::gear:
      return {ink::kThird, 1.5, "none", "3 2", 1};
    case Role::load:
      return {ink::kWarm, 1.5, ink::kWarm, "", 1};
    case Role::ghost:
      return {ink::kFaint, 1.5, "none", "5 3", 1};
  }
  return {};
}

constexpr double kLabelSize = 10;

struct LabelBox {
  Pixel low, high;
};

/// Room for labels among lines and circles.
struct LabelRoom {
  Pixel low, high;
  std::vector<std::pair<Pixel, Pixel>> lines;
  std::vector<std::pair<Pixel, double>> circles;
  std::vector<LabelBox> labels;

  /// The place near `own` that covers least; nearer is better, then rightwards and down.
  LabelBox place(Pixel own, double width) {
    LabelBox best;
    double least = 1e300;
    constexpr int kWays = 16;
    for (const double far : {9.0, 15.0, 23.0, 34.0, 48.0, 66.0, 90.0}) {
      for (int k = 0; k < kWays; ++k) {
        const double a = 2 * std::numbers::pi * (k + 1) / kWays;  // from the right downwards
        // The box touches a circle of that radius with the side that faces it.
        const double x = own.x + far * std::cos(a) + width / 2 * (std::cos(a) - 1);
        const double y = own.y + far * std::sin(a) + kHeight / 2 * (std::sin(a) - 1);
        const LabelBox box{{x, y}, {x + width, y + kHeight}};
        const double cost = 0.05 * far + covered(box);
        if (cost >= least - 1e-9) continue;
        least = cost;
        best = box;
      }
    }
    labels.push_back(best);
    return best;
  }

 private:
  static constexpr double kHeight = kLabelSize + 2;

  [[nodiscard]] double covered(const LabelBox& b) const {
    double cost = 0;
    if (b.low.x < low.x || b.low.y < low.y || b.high.x > high.x || b.high.y > high.y) cost += 1000;
    for (const LabelBox& o : labels) {
      if (b.low.x < o.high.x + 3 && o.low.x < b.high.x + 3 && b.low.y < o.high.y && o.low.y < b.high.y) cost += 100;
    }
    for (const auto& [p, r] : circles) {
      const double dx = p.x - std::clamp(p.x, b.low.x, b.high.x), dy = p.y - std::clamp(p.y, b.low.y, b.high.y);
      if (std::hypot(dx, dy) < r + 1) cost += 8;
    }
    for (const auto& [p, q] : lines) {
      constexpr int kParts = 60;
      for (int i = 0; i <= kParts; ++i) {
        const double x = p.x + (q.x - p.x) * i / kParts, y = p.y + (q.y - p.y) * i / kParts;
        if (x < b.low.x - 2 || x > b.high.x + 2 || y < b.low.y - 1 || y > b.high.y + 1) continue;
        cost += 4;
        break;
      }
    }
    return cost;
  }
};

void draw_mechanism(Svg& svg, const std::vector<candidate::Shape>& shapes, Pixel corner, double width, double height) {
  Box box;
  for (const candidate::Shape& s : shapes) {
    box.take(s.x1_mm, s.z1_mm, is_circle(s.role) ? s.x2_mm : 0);
    if (!is_circle(s.role)) box.take(s.x2_mm, s.z2_mm);
  }
  const double span_x = std::max(box.high_x - box.low_x, 1.0), span_z = std::max(box.high_z - box.low_z, 1.0);
  constexpr double kMargin = 18;
  const double foot = 22;
  const double scale = std::min((width - 2 * kMargin) / span_x, (height - 2 * kMargin - foot) / span_z);
  const double x0 = corner.x + (width - span_x * scale) / 2, y0 = corner.y + (height - foot + span_z * scale) / 2;
  const auto at = [&](double x, double z) { return Pixel{x0 + (x - box.low_x) * scale, y0 - (z - box.low_z) * scale}; };

  svg.rect(corner, width, height, {ink::kLine, 1, "none", "", 1});
  // Ghosts first, then lines, then joints, so that nothing important is covered.
  for (const int pass : {0, 1, 2}) {
    for (const candidate::Shape& s : shapes) {
      const int own = s.role == Role::ghost ? 0 : is_circle(s.role) ? 2 : 1;
      if (own != pass) continue;
      if (is_circle(s.role)) {
        const double least = s.role == Role::gear ? 1 : 3;
        svg.circle(at(s.x1_mm, s.z1_mm), std::max(s.x2_mm * scale, least), style_of(s.role));
      } else {
        svg.line(at(s.x1_mm, s.z1_mm), at(s.x2_mm, s.z2_mm), style_of(s.role));
      }
    }
  }
  // Labels, one per distinct text, each where it covers least; what went far from its place is led back to it.
  LabelRoom room{{corner.x + 4, corner.y + 4}, {corner.x + width - 4, corner.y + height - foot + 4}, {}, {}, {}};
  for (const candidate::Shape& s : shapes) {
    if (is_circle(s.role)) {
      const double r = s.role == Role::gear ? 2 : std::max(s.x2_mm * scale, 3.0);
      room.circles.push_back({at(s.x1_mm, s.z1_mm), r + 1});
    } else {
      room.lines.emplace_back(at(s.x1_mm, s.z1_mm), at(s.x2_mm, s.z2_mm));
    }
  }
  std::vector<std::string> told;
  for (const candidate::Shape& s : shapes) {
    if (s.label.empty() || std::find(told.begin(), told.end(), s.label) != told.end()) continue;
    told.push_back(s.label);
    // A ghost is named at its far end, where the postures lie apart; other lines in their middle.
    const double along = is_circle(s.role) ? 0 : s.role == Role::ghost ? 0.9 : 0.5;
    const Pixel own = is_circle(s.role)
                          ? at(s.x1_mm, s.z1_mm)
                          : at(s.x1_mm + along * (s.x2_mm - s.x1_mm), s.z1_mm + along * (s.z2_mm - s.z1_mm));
    const LabelBox label = room.place(own, text_width(s.label, kLabelSize));
    const Pixel edge{std::clamp(own.x, label.low.x, label.high.x), std::clamp(own.y, label.low.y, label.high.y)};
    if (std::hypot(edge.x - own.x, edge.y - own.y) > 16) svg.line(own, edge, {ink::kFaint, 0.7, "none", "", 1});
    svg.text({label.low.x, label.high.y - 2}, s.label, {kLabelSize, Anchor::start, ink::kText, false, true});
  }
  // A scale bar of a round length.
  const std::vector<double> ticks = round_ticks(0, span_x / 3, 1);
  const double bar_mm = ticks.size() > 1 ? ticks[1] : span_x / 3;
  const Pixel bar{corner.x + 10, corner.y + height - 9};
  svg.line(bar, {bar.x + bar_mm * scale, bar.y}, {ink::kText, 2, "none", "", 1});
  svg.text({bar.x + bar_mm * scale + 6, bar.y + 4}, base::plain(bar_mm) + " mm",
           {10, Anchor::start, ink::kFaint, false});
}

void draw_curve(Svg& svg, const candidate::Curve& c, Pixel corner, double width, double height) {
  svg.rect(corner, width, height, {ink::kLine, 1, "none", "", 1});
  const auto [low, high] = std::minmax_element(c.y.begin(), c.y.end());
  // From zero, so that a curve that hardly changes looks like one.
  const std::vector<double> ticks = round_ticks(std::min(0.0, *low), std::max(*high, 0.0), 4);
  const double left = 52, right = 14, top = 30, bottom = 38;
  const Scale x{c.x.front(), c.x.back(), corner.x + left, corner.x + width - right};
  const Scale y{ticks.front(), ticks.back(), corner.y + height - bottom, corner.y + top};
  for (const double t : ticks) {
    svg.line({x.from, y(t)}, {x.to, y(t)}, {t == 0 ? ink::kText : ink::kLine, 1, "none", "", 1});
    svg.text({x.from - 6, y(t) + 4}, base::plain(t), {10, Anchor::end, ink::kFaint, false});
  }
  for (const double t : round_ticks(c.x.front(), c.x.back(), 4)) {
    if (t < c.x.front() - 1e-9 || t > c.x.back() + 1e-9) continue;
    svg.line({x(t), y.from}, {x(t), y.from + 4}, {ink::kFaint, 1, "none", "", 1});
    svg.text({x(t), y.from + 15}, base::plain(t), {10, Anchor::middle, ink::kFaint, false});
  }
  const auto unit = [](const std::string& name, const std::string& u) { return u.empty() ? name : name + ", " + u; };
  const std::string heading =
      c.name == c.y_name || c.name.empty() ? unit(c.y_name, c.y_unit) : c.name + ": " + unit(c.y_name, c.y_unit);
  svg.fitted_text({corner.x + 8, corner.y + 16}, heading, width - 16, {11, Anchor::start, ink::kText, false});
  svg.fitted_text({(x.from + x.to) / 2, corner.y + height - 7}, unit(c.x_name, c.x_unit), width - 16,
                  {10, Anchor::middle, ink::kFaint, false});
  std::vector<Pixel> line;
  for (std::size_t i = 0; i < c.x.size(); ++i) line.push_back({x(c.x[i]), y(c.y[i])});
  svg.polyline(line, {ink::kGood, 2, "none", "", 1});
}

bool drawable(const candidate::Curve& c) {
  return c.x.size() >= 2 && c.x.size() == c.y.size() && c.x.back() > c.x.front() &&
         std::all_of(c.y.begin(), c.y.end(), [](double v) { return std::isfinite(v); });
}

}  // namespace

Svg candidate_drawing(const candidate::Candidate& c, std::string_view title, double width) {
  std::vector<const candidate::Curve*> curves;
  for (const candidate::Curve& k : c.curves) {
    if (drawable(k) && curves.size() < 2) curves.push_back(&k);
  }
  const std::size_t panels = curves.size() + (c.shapes.empty() ? 0 : 1);
  const double height = panels > 0 ? 240 : 0;
  const std::vector<std::string> lines = wrapped(c.title, width, 11);
  const double head = kTitle + 14 * static_cast<double>(lines.size());
  Svg svg(width, head + height, title);
  svg.fitted_text({0, 14}, title, width, {13, Anchor::start, ink::kText, true});
  for (std::size_t i = 0; i < lines.size(); ++i) {
    svg.text({0, 30 + 14 * static_cast<double>(i)}, lines[i], {11, Anchor::start, ink::kFaint, false});
  }
  if (panels == 0) return svg;
  constexpr double kGap = 10;
  // A mechanism gets the room of two curves when it stands with one.
  double at = 0;
  if (!c.shapes.empty()) {
    const double share = curves.empty() ? width : (width - kGap * static_cast<double>(curves.size())) * 0.44;
    draw_mechanism(svg, c.shapes, {0, head}, share, height);
    at = share + kGap;
  }
  const double each = curves.empty() ? 0
                                     : (width - at - kGap * static_cast<double>(curves.size() - 1)) /
                                           static_cast<double>(curves.size());
  for (const candidate::Curve* k : curves) {
    draw_curve(svg, *k, {at, head}, each, height);
    at += each + kGap;
  }
  return svg;
}

Svg building_drawing(const candidate::Candidate& c, std::string_view title) {
  // As wide as the page of results without its margins.
  constexpr double kMechanismWidth = 1064;
  if (c.route == nullptr) return candidate_drawing(c, title, kMechanismWidth);
  return route_sheet(*c.route->problem, c.route->layout, {std::string(title), c.title});
}

}  // namespace report
