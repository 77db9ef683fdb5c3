#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "report/ground.h"

namespace report {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kMargin_px = 46, kTitle_px = 30, kNotes_px = 54;
constexpr double kTallest = 0.4;  ///< of the width

}  // namespace

Svg standing_drawing(const balance::SupportState& state, const balance::Standing& standing,
                     const balance::MassSpread& mass, const balance::Slope& slope, double width) {
  using balance::Point2;
  const Point2 gravity = gravity_point(mass.total.at, slope);
  double low_x = gravity.x_mm, high_x = low_x, low_y = gravity.y_mm, high_y = low_y;
  const auto cover = [&](Point2 p) {
    low_x = std::min(low_x, p.x_mm);
    high_x = std::max(high_x, p.x_mm);
    low_y = std::min(low_y, p.y_mm);
    high_y = std::max(high_y, p.y_mm);
  };
  for (const balance::Support& s : state.supports) {
    cover(s.from);
    cover(s.to);
  }
  cover({mass.total.at.x_mm, mass.total.at.y_mm});
  const double per_mm = std::min((width - 2 * kMargin_px) / std::max(high_x - low_x, 1.0),
                                 kTallest * width / std::max(high_y - low_y, 1.0));
  const double height = kTitle_px + 2 * kMargin_px + per_mm * (high_y - low_y) + kNotes_px;
  Svg svg(width, height, "Standing " + state.name);
  // x forward to the right, y left upwards.
  const auto at = [&](Point2 p) {
    return Pixel{width / 2 + per_mm * (p.x_mm - (low_x + high_x) / 2),
                 kTitle_px + kMargin_px + per_mm * (high_y - p.y_mm)};
  };
  svg.fitted_text({0, 16}, "Standing: " + state.name, width - 90, {14, Anchor::start, ink::kText, true});
  svg.text({width, 16}, "front \xE2\x86\x92", {11, Anchor::end, ink::kFaint, false});

  std::vector<Pixel> corners;
  for (const Point2 p : tipping_polygon(state, slope)) corners.push_back(at(p));
  if (corners.size() >= 3) svg.polyline(corners, {ink::kGood, 2, ink::kGround, "6 3", 1}, true);

  const auto middle = [](const balance::Support& s) {
    return Point2{(s.from.x_mm + s.to.x_mm) / 2, (s.from.y_mm + s.to.y_mm) / 2};
  };
  std::vector<Point2> node;
  for (const balance::Support& s : state.supports) node.push_back(middle(s));
  for (const balance::Rocker& r : state.rockers) {
    svg.line(at(node[static_cast<std::size_t>(r.a)]), at(node[static_cast<std::size_t>(r.b)]),
             {ink::kFaint, 2, "none", "", 1});
    svg.circle(at({r.pivot.x_mm, r.pivot.y_mm}), 3, {ink::kText, 1.2, "#ffffff", "", 1});
    node.push_back({r.pivot.x_mm, r.pivot.y_mm});
  }
  double heaviest = 0;
  for (const balance::SupportLoad& s : standing.supports) heaviest = std::max(heaviest, s.load_n);
  for (std::size_t i = 0; i < state.supports.size(); ++i) {
    const balance::Support& s = state.supports[i];
    const balance::SupportLoad& on = standing.supports[i];
    const bool carries = on.load_n > 1e-9;
    // Area by load: a support with four times the load has twice the width.
    const double size = carries && heaviest > 0 ? 4 + 9 * std::sqrt(on.load_n / heaviest) : 4;
    const Style style{carries ? ink::kText : ink::kFaint, 1.4, carries ? ink::kWarm : "#ffffff", carries ? "" : "2 2",
                      1};
    const Pixel p = at(middle(s));
    if (s.is_line()) {
      const Pixel a = at(s.from), b = at(s.to);
      const double half = std::max(4.0, per_mm * s.width_mm / 2);
      svg.rect({std::min(a.x, b.x), p.y - half}, std::fabs(b.x - a.x), 2 * half,
               {style.stroke, 1.4, ink::kWarm, "", 0.45});
      // Load per length as a profile beside the track.
      std::vector<Pixel> profile;
      double most = 0;
      for (const double q : on.along_n_per_mm) most = std::max(most, q);
      for (std::size_t k = 0; k < on.along_n_per_mm.size() && most > 0; ++k) {
        const double t = static_cast<double>(k) / static_cast<double>(on.along_n_per_mm.size() - 1);
        profile.push_back({a.x + t * (b.x - a.x), p.y + half - 2 * half * on.along_n_per_mm[k] / most});
      }
      if (profile.size() > 1) svg.polyline(profile, {ink::kText, 1.4, "none", "", 1});
    } else {
      svg.circle(p, size, style);
    }
    const bool above = p.y < kTitle_px + kMargin_px + per_mm * (high_y - low_y) / 2;
    const double away = s.is_line() ? std::max(4.0, per_mm * s.width_mm / 2) : size;
    svg.text({p.x, above ? p.y - away - 5 : p.y + away + 13}, carries ? base::plain(on.load_n, 3) + " N" : "lifted",
             {11, Anchor::middle, carries ? ink::kText : ink::kFaint, false, true});
  }

  // Two standard deviations: the ellipse of the covariance in the ground plane.
  const Point2 c{mass.total.at.x_mm, mass.total.at.y_mm};
  std::vector<Pixel> ring;
  for (int k = 0; k < 48; ++k) {
    const double a = 2 * std::numbers::pi * k / 48, d = mass.along_mm(a);
    // Support function of the ellipse, as its outline: p = cov u/|.|.
    const double* v = mass.centre_covariance;
    const double ux = std::cos(a), uy = std::sin(a);
    if (d <= 0) break;
    ring.push_back(at({c.x_mm + 2 * (v[0] * ux + v[1] * uy) / d, c.y_mm + 2 * (v[3] * ux + v[4] * uy) / d}));
  }
  if (ring.size() > 2) svg.polyline(ring, {ink::kBad, 1.2, "none", "3 2", 1}, true);
  const Pixel g = at(c);
  svg.circle(g, 5, {ink::kBad, 1.6, "#ffffff", "", 1});
  svg.line({g.x - 8, g.y}, {g.x + 8, g.y}, {ink::kBad, 1.4, "none", "", 1});
  svg.line({g.x, g.y - 8}, {g.x, g.y + 8}, {ink::kBad, 1.4, "none", "", 1});
  if (slope.angle_rad > 0) {
    const Pixel q = at(gravity);
    svg.line(g, q, {ink::kBad, 1.2, "none", "4 3", 1});
    svg.rect({q.x - 4, q.y - 4}, 8, 8, {ink::kBad, 1.6, ink::kBad, "", 1});
  }
  const double y = height - kNotes_px + 16;
  const std::vector<std::string> notes = {
      fmt::format("{} g \xC2\xB1 {}, centre {} mm high; dashed ring: two deviations", base::plain(mass.total.mass_g, 4),
                  base::plain(mass.mass_sd_g, 2), base::plain(mass.total.at.z_mm, 3)),
      standing.stands ? fmt::format("margin {} mm to the dashed tipping line, {} of {} supports carry",
                                    base::plain(standing.margin_mm, 3), standing.touching, state.supports.size())
                      : fmt::format("tips: {} mm outside the tipping line", base::plain(-standing.margin_mm, 3)),
      slope.angle_rad > 0 ? fmt::format("slope {} deg; square: where the line of gravity meets the ground",
                                        base::plain(slope.angle_rad / kDeg, 3))
                          : std::string("on the level")};
  for (std::size_t i = 0; i < notes.size(); ++i) {
    svg.fitted_text({0, y + 15 * static_cast<double>(i)}, notes[i], width,
                    {11, Anchor::start, standing.stands ? ink::kText : ink::kBad, false});
  }
  return svg;
}

}  // namespace report
