#include "routing/visibility.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace routing {
namespace {

// A point on an edge of another solid is not behind it: faces that touch share their edges.
constexpr double kInside_mm = 0.02;
constexpr double kNearer_mm = 1e-6;
// Pieces of outline that are tested as one: short against the smallest tooth, so a cut is placed to within a hair.
constexpr double kStep_mm = 0.5;

double value(const Millimetres& p, Axis a) {
  return p[static_cast<std::size_t>(index(a))];
}

}  // namespace

Spot Scene::project(const Millimetres& p) const {
  return {value(p, sight_.right), value(p, sight_.up)};
}

double Scene::near_face_mm(const PlacedSolid& s) const {
  const Axis d = sight_.depth();
  return sight_.eye > 0 ? value(s.high_mm, d) : -value(s.low_mm, d);
}

bool Scene::surface(const PlacedSolid& s, Spot at, double& nearness_mm) const {
  const Spot low = project(s.low_mm), high = project(s.high_mm);
  if (at.right_mm < low.right_mm + kInside_mm || at.right_mm > high.right_mm - kInside_mm ||
      at.up_mm < low.up_mm + kInside_mm || at.up_mm > high.up_mm - kInside_mm) {
    return false;
  }
  nearness_mm = near_face_mm(s);
  if (!s.round) return true;
  const Spot middle = project(s.middle_mm());
  if (end_on(s)) {
    const double r = std::hypot(at.right_mm - middle.right_mm, at.up_mm - middle.up_mm);
    return r < s.radius_mm - kInside_mm && (s.open_radius_mm <= 0 || r > s.open_radius_mm + kInside_mm);
  }
  const double off = s.axis == sight_.right ? at.up_mm - middle.up_mm : at.right_mm - middle.right_mm;
  nearness_mm += std::sqrt(std::max(0.0, s.radius_mm * s.radius_mm - off * off)) - s.radius_mm;
  return true;
}

bool Scene::on_top(std::size_t i, Spot at) const {
  double own_mm = 0, other_mm = 0;
  if (!surface(solids_[i], at, own_mm)) return false;
  for (std::size_t k = 0; k < solids_.size(); ++k) {
    // Of wheels in mesh both teeth are drawn in one plane: neither is on top there.
    if (k != i && surface(solids_[k], at, other_mm) && other_mm >= own_mm - kNearer_mm) return false;
  }
  return true;
}

Run::State Scene::state(std::size_t i, const Point& p) const {
  const PlacedSolid& own = solids_[i];
  const bool inner = own.role == PlacedSolid::Role::axle;
  Run::State found = Run::State::seen;
  for (std::size_t k = 0; k < solids_.size(); ++k) {
    const PlacedSolid& other = solids_[k];
    double nearness_mm = 0;
    if (k == i || !surface(other, p.at, nearness_mm) || nearness_mm <= p.nearness_mm + kNearer_mm) continue;
    if (inner && own.shaft == other.shaft) {
      // An axle is shown end on through what sits on it; from the side it disappears inside.
      if (end_on(own) && other.role != PlacedSolid::Role::terminal) continue;
      return Run::State::buried;
    }
    found = Run::State::hidden;
  }
  return found;
}

std::vector<Run> Scene::cut(std::size_t i, const std::vector<Point>& points) const {
  std::vector<Run> runs;
  for (std::size_t k = 0; k + 1 < points.size(); ++k) {
    const Point &a = points[k], &b = points[k + 1];
    const Point middle{{(a.at.right_mm + b.at.right_mm) / 2, (a.at.up_mm + b.at.up_mm) / 2},
                       (a.nearness_mm + b.nearness_mm) / 2};
    const Run::State s = state(i, middle);
    if (runs.empty() || runs.back().state != s) runs.push_back({s, {a.at}});
    runs.back().points.push_back(b.at);
  }
  // A closed outline that starts in the middle of a run: join its two ends.
  if (runs.size() > 1 && runs.front().state == runs.back().state) {
    runs.back().points.insert(runs.back().points.end(), runs.front().points.begin() + 1, runs.front().points.end());
    runs.erase(runs.begin());
  }
  // Straight stretches need no points between.
  for (Run& run : runs) {
    std::vector<Spot> kept;
    for (const Spot& p : run.points) {
      while (kept.size() >= 2) {
        const Spot &a = kept[kept.size() - 2], &b = kept.back();
        const double turn =
            (b.right_mm - a.right_mm) * (p.up_mm - b.up_mm) - (b.up_mm - a.up_mm) * (p.right_mm - b.right_mm);
        if (std::fabs(turn) > 1e-9) break;
        kept.pop_back();
      }
      kept.push_back(p);
    }
    run.points = std::move(kept);
  }
  return runs;
}

std::vector<Run> Scene::circle(std::size_t i, double radius_mm) const {
  const PlacedSolid& s = solids_[i];
  const Spot middle = project(s.middle_mm());
  const double near_mm = near_face_mm(s);
  // At least an angle of 5 degrees a piece, so that the polygon stays within 0.1 % of the radius.
  const int pieces = std::max(72, static_cast<int>(std::ceil(2 * std::numbers::pi * radius_mm / kStep_mm)));
  std::vector<Point> points;
  for (int k = 0; k <= pieces; ++k) {
    const double t = 2 * std::numbers::pi * k / pieces;
    points.push_back({{middle.right_mm + radius_mm * std::cos(t), middle.up_mm + radius_mm * std::sin(t)}, near_mm});
  }
  points.back() = points.front();
  return cut(i, points);
}

std::vector<Run> Scene::outline(std::size_t i, bool open) const {
  const PlacedSolid& s = solids_[i];
  if (end_on(s)) return circle(i, open ? s.open_radius_mm : s.radius_mm);
  const Spot low = project(s.low_mm), high = project(s.high_mm), middle = project(s.middle_mm());
  const double near_mm = near_face_mm(s);
  const auto nearness = [&](Spot p) {
    if (!s.round) return near_mm;
    const double off = s.axis == sight_.right ? p.up_mm - middle.up_mm : p.right_mm - middle.right_mm;
    return near_mm + std::sqrt(std::max(0.0, s.radius_mm * s.radius_mm - off * off)) - s.radius_mm;
  };
  const std::array<Spot, 5> corners{Spot{low.right_mm, low.up_mm}, Spot{high.right_mm, low.up_mm},
                                    Spot{high.right_mm, high.up_mm}, Spot{low.right_mm, high.up_mm},
                                    Spot{low.right_mm, low.up_mm}};
  std::vector<Point> points;
  for (std::size_t c = 0; c + 1 < corners.size(); ++c) {
    const Spot a = corners[c], b = corners[c + 1];
    const double length = std::hypot(b.right_mm - a.right_mm, b.up_mm - a.up_mm);
    const int pieces = std::max(1, static_cast<int>(std::ceil(length / kStep_mm)));
    for (int k = 0; k < pieces; ++k) {
      const double t = static_cast<double>(k) / pieces;
      const Spot p{a.right_mm + t * (b.right_mm - a.right_mm), a.up_mm + t * (b.up_mm - a.up_mm)};
      points.push_back({p, nearness(p)});
    }
  }
  points.push_back(points.front());
  return cut(i, points);
}

}  // namespace routing
