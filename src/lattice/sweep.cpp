#include "lattice/sweep.h"

#include <cmath>
#include <numbers>

#include "base/check.h"

namespace lattice {
namespace {

constexpr double kHair = 1e-9;

struct Vec {
  double u = 0, v = 0;
};

Vec turned(Vec p, double angle_rad) {
  const double c = std::cos(angle_rad), s = std::sin(angle_rad);
  return {p.u * c - p.v * s, p.u * s + p.v * c};
}

struct Rect {
  double u0 = 0, v0 = 0, u1 = 0, v1 = 0;
  [[nodiscard]] std::array<Vec, 4> corners() const { return {{{u0, v0}, {u1, v0}, {u1, v1}, {u0, v1}}}; }
};

/// Whether the turned corners stay clear of a rectangle along the rectangle's own axes.
bool apart(const std::array<Vec, 4>& corners, const Rect& rect) {
  double low_u = corners[0].u, high_u = low_u, low_v = corners[0].v, high_v = low_v;
  for (const Vec& c : corners) {
    low_u = std::min(low_u, c.u);
    high_u = std::max(high_u, c.u);
    low_v = std::min(low_v, c.v);
    high_v = std::max(high_v, c.v);
  }
  return high_u <= rect.u0 + kHair || low_u >= rect.u1 - kHair || high_v <= rect.v0 + kHair || low_v >= rect.v1 - kHair;
}

/// Separating axes (two rectangles: the directions of their edges suffice).
bool meets(const Rect& moving, double angle_rad, const Rect& cell) {
  std::array<Vec, 4> there = moving.corners(), back = cell.corners();
  for (Vec& c : there) c = turned(c, angle_rad);
  for (Vec& c : back) c = turned(c, -angle_rad);
  return !apart(there, cell) && !apart(back, moving);
}

/// Angles in (from, to) at which `corner`, turning, lies on a line of `rect`; with `sign` -1 the rectangle turns.
void add_events(Vec corner, const Rect& rect, int sign, double from_rad, double to_rad, std::vector<double>& out) {
  const double radius = std::hypot(corner.u, corner.v);
  if (radius < kHair) return;
  const double start_rad = std::atan2(corner.v, corner.u);
  const auto add = [&](double angle_rad) {
    double at = sign * (angle_rad - start_rad);
    at -= 2 * std::numbers::pi * std::floor((at - from_rad) / (2 * std::numbers::pi));  // first one from `from` on
    if (at < to_rad) out.push_back(at);
  };
  for (const double line : {rect.u0, rect.u1}) {
    if (std::fabs(line) > radius) continue;
    const double a = std::acos(line / radius);
    add(a);
    add(-a);
  }
  for (const double line : {rect.v0, rect.v1}) {
    if (std::fabs(line) > radius) continue;
    const double a = std::asin(line / radius);
    add(a);
    add(std::numbers::pi - a);
  }
}

bool passes(const Rect& moving, double from_rad, double to_rad, const Rect& cell, std::vector<double>& events) {
  if (meets(moving, from_rad, cell) || meets(moving, to_rad, cell)) return true;
  events.assign({from_rad, to_rad});
  for (const Vec& c : moving.corners()) add_events(c, cell, 1, from_rad, to_rad, events);
  for (const Vec& c : cell.corners()) add_events(c, moving, -1, from_rad, to_rad, events);
  std::sort(events.begin(), events.end());
  for (std::size_t i = 1; i < events.size(); ++i) {
    if (events[i] - events[i - 1] > kHair && meets(moving, (events[i] + events[i - 1]) / 2, cell)) return true;
  }
  return false;
}

}  // namespace

std::string_view name_of(Way way) {
  constexpr std::array<std::string_view, 6> kNames{"forward", "back", "left", "right", "up", "down"};
  return kNames[static_cast<std::size_t>(2 * index(way.axis) + (way.sign > 0 ? 0 : 1))];
}

std::optional<Way> way_of(std::string_view name) {
  for (const Way way : kWays)
    if (name_of(way) == name) return way;
  return std::nullopt;
}

Box3 passage(const Box3& box, Way way, const Box3& hull) {
  Box3 out = box;
  const int length_hp = box.high.at(way.axis) - box.low.at(way.axis);
  if (way.sign > 0) {
    out.low.set(way.axis, box.high.at(way.axis));
    out.high.set(way.axis, std::max(box.high.at(way.axis), hull.high.at(way.axis)) + length_hp);
  } else {
    out.high.set(way.axis, box.low.at(way.axis));
    out.low.set(way.axis, std::min(box.low.at(way.axis), hull.low.at(way.axis)) - length_hp);
  }
  return out;
}

Box3 hull_of(Box3 a, const Box3& b) {
  for (const Axis axis : kAxes) {
    a.low.set(axis, std::min(a.low.at(axis), b.low.at(axis)));
    a.high.set(axis, std::max(a.high.at(axis), b.high.at(axis)));
  }
  return a;
}

std::vector<Box3> swept_boxes(const Box3& box, Axis axis, const Point3& hinge, double from_rad, double to_rad) {
  KW_CHECK(std::fabs(to_rad - from_rad) <= 2 * std::numbers::pi + kHair, "at most one turn");
  // Across y the pair (x, z) is left-handed: turning from z to x there is turning clockwise.
  const int hand = axis == Axis::y ? -1 : 1;
  const double low_rad = std::min(hand * from_rad, hand * to_rad), high_rad = std::max(hand * from_rad, hand * to_rad);
  const Cross origin = across(axis, hinge), low = across(axis, box.low), high = across(axis, box.high);
  const Rect moving{static_cast<double>(low.u_hp - origin.u_hp), static_cast<double>(low.v_hp - origin.v_hp),
                    static_cast<double>(high.u_hp - origin.u_hp), static_cast<double>(high.v_hp - origin.v_hp)};
  double reach = 0;
  for (const Vec& c : moving.corners()) reach = std::max(reach, std::hypot(c.u, c.v));
  const int span = static_cast<int>(std::ceil(reach));
  std::vector<Box3> out;
  std::vector<double> events;
  for (int v = -span; v < span; ++v) {
    int begin = span;  // of the run of cells that are met; span = none
    for (int u = -span; u <= span; ++u) {
      const Rect cell{static_cast<double>(u), static_cast<double>(v), static_cast<double>(u + 1),
                      static_cast<double>(v + 1)};
      const double near_u = std::max({cell.u0, -cell.u1, 0.0}), near_v = std::max({cell.v0, -cell.v1, 0.0});
      const bool met =
          u < span && std::hypot(near_u, near_v) < reach && passes(moving, low_rad, high_rad, cell, events);
      if (met) {
        begin = std::min(begin, u);
      } else if (begin < span) {
        out.push_back({point(axis, {origin.u_hp + begin, origin.v_hp + v}, box.low.at(axis)),
                       point(axis, {origin.u_hp + u, origin.v_hp + v + 1}, box.high.at(axis))});
        begin = span;
      }
    }
  }
  return out;
}

}  // namespace lattice
