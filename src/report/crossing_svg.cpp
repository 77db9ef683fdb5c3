#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "report/ground.h"

namespace report {
namespace {

using balance::SidePoint;
using balance::Station;
using balance::Stop;

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kTitle_px = 30, kCaption_px = 36, kCurve_px = 130;
constexpr int kPlaces = 4;

SidePoint turned(SidePoint p, double angle) {
  const double c = std::cos(angle), s = std::sin(angle);
  return {p.x_mm * c - p.z_mm * s, p.x_mm * s + p.z_mm * c};
}

/// Place of a point of the chassis.
SidePoint placed(const balance::SideView& v, const Station& s, SidePoint p) {
  const SidePoint r = turned({p.x_mm - v.centre.x_mm, p.z_mm - v.centre.z_mm}, s.pitch_rad);
  return {s.centre_x_mm + r.x_mm, s.centre_z_mm + r.z_mm};
}
SidePoint axle_of(const balance::SideView& v, const Station& s, const balance::SideWheel& w) {
  if (w.rocker < 0) return placed(v, s, w.axle);
  const auto k = static_cast<std::size_t>(w.rocker);
  const SidePoint pivot = v.rockers[k].pivot, pin = placed(v, s, pivot);
  const SidePoint arm = turned({w.axle.x_mm - pivot.x_mm, w.axle.z_mm - pivot.z_mm}, s.rocker_rad[k]);
  return {pin.x_mm + arm.x_mm, pin.z_mm + arm.z_mm};
}

/// Stations worth a picture, in the order of the way: the most friction, the steepest pitch either way, the least room,
/// or the last one where the balance is lost.
std::vector<std::size_t> places_of(const balance::Crossing& c) {
  std::vector<std::size_t> out;
  const auto best = [&](const auto& value) {
    std::size_t at = 0;
    for (std::size_t i = 1; i < c.stations.size(); ++i) {
      if (value(c.stations[i]) > value(c.stations[at])) at = i;
    }
    return at;
  };
  out.push_back(best([](const Station& s) { return s.friction_with_pull; }));
  out.push_back(best([](const Station& s) { return s.pitch_rad; }));
  out.push_back(best([](const Station& s) { return -s.pitch_rad; }));
  out.push_back(c.keeps_balance ? best([](const Station& s) { return -s.clearance_mm; }) : c.stations.size() - 1);
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  // Those that look alike (less than a wheel apart) are one place.
  for (std::size_t i = 0; i < c.stations.size() && out.size() < kPlaces;
       i += std::max<std::size_t>(1, c.stations.size() / 7)) {
    const bool near = std::any_of(out.begin(), out.end(), [&](std::size_t k) {
      return std::fabs(c.stations[k].centre_x_mm - c.stations[i].centre_x_mm) < 30;
    });
    if (!near) out.push_back(i);
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace

Svg crossing_drawing(const balance::SideView& vehicle, const balance::GroundLine& ground,
                     const balance::Crossing& crossing, const base::Triple& friction, const std::string& title,
                     double width) {
  double front = -1e300, rear = 1e300, top = vehicle.centre.z_mm;
  for (const balance::SideWheel& w : vehicle.wheels) {
    front = std::max(front, w.axle.x_mm + w.radius_mm);
    rear = std::min(rear, w.axle.x_mm - w.radius_mm);
    top = std::max(top, w.axle.z_mm + w.radius_mm);
  }
  for (const SidePoint& p : vehicle.underside) {
    front = std::max(front, p.x_mm);
    rear = std::min(rear, p.x_mm);
  }
  const std::vector<std::size_t> places = crossing.stations.empty() ? std::vector<std::size_t>{} : places_of(crossing);
  // Cells are centred on the centre of gravity.
  const double half_mm = std::max(front - vehicle.centre.x_mm, vehicle.centre.x_mm - rear);
  const double cell_px = width / kPlaces, length_mm = 2.2 * half_mm, per_mm = cell_px / length_mm;
  double low_z = 0, high_z = top;
  for (const SidePoint& p : ground) {
    low_z = std::min(low_z, std::max(p.z_mm, -0.5 * (front - rear)));
    high_z = std::max(high_z, p.z_mm + top);
  }
  for (const std::size_t i : places) {
    const Station& s = crossing.stations[i];
    for (const balance::SideWheel& w : vehicle.wheels) {
      high_z = std::max(high_z, axle_of(vehicle, s, w).z_mm + w.radius_mm);
    }
    high_z = std::max(high_z, s.centre_z_mm);
  }
  const double view_px = per_mm * (high_z - low_z) + 24;
  const double height = kTitle_px + view_px + kCaption_px + kCurve_px + 40;
  Svg svg(width, height, title);
  svg.fitted_text({0, 16}, title, width, {14, Anchor::start, ink::kText, true});

  for (std::size_t n = 0; n < places.size(); ++n) {
    const Station& s = crossing.stations[places[n]];
    const double left = static_cast<double>(n) * cell_px, left_mm = s.centre_x_mm - length_mm / 2;
    const auto at = [&](SidePoint p) {
      return Pixel{left + per_mm * (p.x_mm - left_mm), kTitle_px + 12 + per_mm * (high_z - p.z_mm)};
    };
    // Ground within the cell, closed below.
    const double floor_y = kTitle_px + view_px;
    const auto ground_z = [&](double x, bool from_right) {
      double z = ground.front().z_mm;
      for (std::size_t i = 0; i < ground.size(); ++i) {
        if (from_right ? ground[i].x_mm <= x : ground[i].x_mm < x) z = ground[i].z_mm;
        if (i + 1 < ground.size() && ground[i].x_mm < x && x < ground[i + 1].x_mm) {
          const double t = (x - ground[i].x_mm) / (ground[i + 1].x_mm - ground[i].x_mm);
          z = ground[i].z_mm + t * (ground[i + 1].z_mm - ground[i].z_mm);
        }
      }
      return z;
    };
    const double gap_mm = 3 / per_mm, from = left_mm + gap_mm, to = left_mm + length_mm - gap_mm;
    std::vector<Pixel> earth{at({from, ground_z(from, true)})};
    for (const SidePoint& p : ground) {
      if (p.x_mm > from && p.x_mm < to) earth.push_back(at(p));
    }
    earth.push_back(at({to, ground_z(to, false)}));
    for (Pixel& p : earth) p.y = std::min(p.y, floor_y);
    earth.push_back({earth.back().x, floor_y});
    earth.push_back({earth.front().x, floor_y});
    svg.polyline(earth, {ink::kFaint, 1, ink::kGround, "", 1}, true);

    std::vector<Pixel> under;
    for (const SidePoint& p : vehicle.underside) under.push_back(at(placed(vehicle, s, p)));
    if (under.size() > 1) svg.polyline(under, {ink::kText, 1.6, "none", "", 1});
    for (std::size_t k = 0; k < vehicle.rockers.size(); ++k) {
      const Pixel pin = at(placed(vehicle, s, vehicle.rockers[k].pivot));
      for (const balance::SideWheel& w : vehicle.wheels) {
        if (w.rocker == static_cast<int>(k)) svg.line(pin, at(axle_of(vehicle, s, w)), {ink::kThird, 2, "none", "", 1});
      }
      svg.circle(pin, 2, {ink::kText, 1, "#ffffff", "", 1});
    }
    for (const balance::SideWheel& w : vehicle.wheels) {
      const bool driven = w.driven || vehicle.belt;
      svg.circle(at(axle_of(vehicle, s, w)), per_mm * w.radius_mm, {ink::kText, 1, "none", driven ? "" : "3 2", 1});
    }
    for (const balance::Contact& c : s.contacts) {
      const Pixel p = at(c.at);
      svg.circle(p, 2.5, {ink::kBad, 1, ink::kBad, "", 1});
      svg.line(p, {p.x + 20 * c.normal_x, p.y - 20 * c.normal_z}, {ink::kBad, 1.6, "none", "", 1});
    }
    const Pixel g = at({s.centre_x_mm, s.centre_z_mm});
    svg.line(g, {g.x, floor_y}, {ink::kGood, 1, "none", "3 3", 1});
    svg.circle(g, 4, {ink::kGood, 1.6, "#ffffff", "", 1});
    const double caption_y = kTitle_px + view_px + 14, middle = left + cell_px / 2;
    const std::string needs = std::isfinite(s.needed_friction) ? "friction " + friction_text(s.needed_friction)
                                                               : std::string("no friction holds");
    const bool stuck = s.friction_with_pull > friction.nominal, weak = stuck && s.needed_friction <= friction.nominal;
    svg.text({middle, caption_y}, fmt::format("{}: {}", n + 1, weak ? "too little pull" : needs),
             {11, Anchor::middle, stuck ? ink::kBad : ink::kText, true});
    std::string more = "pitch " + base::plain(std::round(s.pitch_rad / kDeg * 100) / 100 + 0.0, 2) + " deg";
    if (std::isfinite(s.clearance_mm)) more += ", room " + base::plain(s.clearance_mm, 2) + " mm";
    svg.fitted_text({middle, caption_y + 14}, more, cell_px - 6, {10, Anchor::middle, ink::kFaint, false});
  }

  // Needed friction over the way, with the friction there is.
  const double curve_top = kTitle_px + view_px + kCaption_px + 14, curve_bottom = curve_top + kCurve_px - 36;
  if (crossing.stations.size() > 1) {
    double most = friction.high;
    for (const Station& s : crossing.stations) {
      if (std::isfinite(s.needed_friction)) most = std::max(most, s.needed_friction);
      if (std::isfinite(s.friction_with_pull)) most = std::max(most, s.friction_with_pull);
    }
    const std::vector<double> ticks = round_ticks(0, most, 3);
    const Scale x{crossing.stations.front().centre_x_mm, crossing.stations.back().centre_x_mm, 40, width - 8};
    const Scale y{0, ticks.back(), curve_bottom, curve_top};
    for (const double t : ticks) {
      svg.line({x.from, y(t)}, {x.to, y(t)}, {ink::kLine, 1, "none", "", 1});
      svg.text({x.from - 5, y(t) + 4}, base::plain(t, 2), {10, Anchor::end, ink::kFaint, false});
    }
    std::vector<Pixel> line;
    for (const Station& s : crossing.stations) {
      line.push_back({x(s.centre_x_mm), y(std::min(s.needed_friction, ticks.back()))});
    }
    svg.polyline(line, {ink::kGood, 1.8, "none", "", 1});
    // Where the motors' pull is short the curve of what it takes with that pull leaves the other; up to the edge means
    // that no friction makes up for it.
    const bool weak = std::any_of(crossing.stations.begin(), crossing.stations.end(),
                                  [](const Station& s) { return s.friction_with_pull > s.needed_friction + 1e-6; });
    if (weak) {
      std::vector<Pixel> pulled;
      for (const Station& s : crossing.stations)
        pulled.push_back({x(s.centre_x_mm), y(std::min(s.friction_with_pull, ticks.back()))});
      svg.polyline(pulled, {ink::kText, 1.2, "none", "1 3", 1});
    }
    svg.line({x.from, y(friction.nominal)}, {x.to, y(friction.nominal)}, {ink::kBad, 1.4, "none", "6 3", 1});
    if (friction.high > friction.low) {
      for (const double f : {friction.low, friction.high})
        svg.line({x.from, y(f)}, {x.to, y(f)}, {ink::kBad, 1, "none", "2 3", 1});
    }
    for (std::size_t n = 0; n < places.size(); ++n) {
      const Station& s = crossing.stations[places[n]];
      svg.circle({x(s.centre_x_mm), y(std::min(s.needed_friction, ticks.back()))}, 3,
                 {ink::kText, 1.2, "#ffffff", "", 1});
    }
    for (const double t : round_ticks(x.low, x.high, 6)) {
      if (t >= x.low && t <= x.high)
        svg.text({x(t), curve_bottom + 14}, base::plain(t, 3), {10, Anchor::middle, ink::kFaint, false});
    }
    svg.text({x.from, curve_bottom + 30}, "centre's place, mm", {10, Anchor::start, ink::kFaint, false});
    svg.text({x.to, curve_bottom + 30},
             fmt::format("solid: friction needed; {}dashed: friction there is; dotted: its low and high",
                         weak ? "dots: with the motors' pull only; " : ""),
             {10, Anchor::end, ink::kFaint, false});
  }
  // From the low friction to the high one; neighbours with one verdict are told as one.
  struct Verdict {
    double from = 0, to = 0;
    std::string text;
  };
  std::vector<Verdict> verdicts;
  std::vector<double> frictions{friction.nominal};
  if (friction.high > friction.low) frictions = {friction.low, friction.nominal, friction.high};
  for (const double f : frictions) {
    const Stop stop = crossing.stopped_by(f);
    const std::string text = stop == Stop::nothing ? std::string("passed")
                                                   : fmt::format("stopped by {} at {} mm", name_of(stop),
                                                                 base::plain(crossing.stopped_at_mm(f), 3));
    if (verdicts.empty() || verdicts.back().text != text) verdicts.push_back({f, f, text});
    verdicts.back().to = f;
  }
  std::string verdict;
  for (const Verdict& v : verdicts) {
    verdict += fmt::format("{}friction {}{}: {}", verdict.empty() ? "" : "; ", base::plain(v.from, 2),
                           v.to > v.from ? " to " + base::plain(v.to, 2) : "", v.text);
  }
  const bool passed = crossing.stopped_by(friction.nominal) == Stop::nothing;
  svg.fitted_text({0, height - 6}, verdict, width, {12, Anchor::start, passed ? ink::kText : ink::kBad, true});
  return svg;
}

}  // namespace report
