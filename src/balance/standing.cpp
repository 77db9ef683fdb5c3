#include "balance/standing.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "balance/unilateral.h"
#include "base/check.h"

namespace balance {
namespace {

constexpr double kPi = std::numbers::pi;
// A point this near the polygon's border (mm) counts as on it.
constexpr double kOnEdgeMm = 1e-9;

Point2 between(Point2 a, Point2 b, double share) {
  return {a.x_mm + share * (b.x_mm - a.x_mm), a.y_mm + share * (b.y_mm - a.y_mm)};
}

/// A support or rocker as its carrier feels it: one spring at one point.
struct Felt {
  Point2 at;
  double stiffness_n_per_mm = 0;
  double proud_mm = 0;
  double share_b = 0;     ///< rockers: part of the load on end b; a == b: place along the line
  bool over_beam = true;  ///< rockers: the pin is between the ends
};

struct Tree {
  std::vector<Felt> node;     ///< supports, then rockers
  std::vector<bool> carried;  ///< by a rocker
  bool stable = true;
};

Tree felt(const SupportState& state, const Slope& slope) {
  Tree out;
  for (const Support& s : state.supports) {
    out.node.push_back({between(s.from, s.to, 0.5), s.stiffness_n_per_mm, s.proud_mm, 0, true});
  }
  out.carried.assign(state.supports.size() + state.rockers.size(), false);
  const double t = std::tan(slope.angle_rad);
  const double downhill_x = t * std::cos(slope.downhill_rad), downhill_y = t * std::sin(slope.downhill_rad);
  for (const Rocker& r : state.rockers) {
    const auto a = static_cast<std::size_t>(r.a), b = static_cast<std::size_t>(r.b);
    out.carried[a] = out.carried[b] = true;
    const Point2 from = r.a == r.b ? state.supports[a].from : out.node[a].at;
    const Point2 to = r.a == r.b ? state.supports[a].to : out.node[b].at;
    const double dx = to.x_mm - from.x_mm, dy = to.y_mm - from.y_mm, square = dx * dx + dy * dy;
    const double along = (r.pivot.x_mm - from.x_mm + r.pivot.z_mm * downhill_x) * dx +
                         (r.pivot.y_mm - from.y_mm + r.pivot.z_mm * downhill_y) * dy;
    Felt f;
    f.share_b = along / square;
    f.over_beam = f.share_b >= 0 && f.share_b <= 1;
    out.stable = out.stable && f.over_beam;
    f.at = between(from, to, f.share_b);
    if (r.a == r.b) {
      f.stiffness_n_per_mm = out.node[a].stiffness_n_per_mm;
      f.proud_mm = out.node[a].proud_mm;
    } else {
      // Ends sink by share x load/stiffness each; the pin by their mean, weighted by the shares.
      const double share_a = 1 - f.share_b;
      f.stiffness_n_per_mm = 1 / (share_a * share_a / out.node[a].stiffness_n_per_mm +
                                  f.share_b * f.share_b / out.node[b].stiffness_n_per_mm);
      f.proud_mm = share_a * out.node[a].proud_mm + f.share_b * out.node[b].proud_mm;
    }
    out.node.push_back(f);
  }
  return out;
}

/// Springs the chassis stands on; lines as nodes with half stiffness at both ends, so that their ends are corners.
std::vector<SpringContact> springs(const SupportState& state, const Tree& tree, std::vector<std::size_t>& owner) {
  std::vector<SpringContact> out;
  for (std::size_t i = 0; i < tree.node.size(); ++i) {
    if (tree.carried[i]) continue;
    const Felt& f = tree.node[i];
    if (i >= state.supports.size() || !state.supports[i].is_line()) {
      out.push_back({f.at, f.stiffness_n_per_mm, f.proud_mm});
      owner.push_back(i);
      continue;
    }
    for (int k = 0; k < kLineNodes; ++k) {
      const double part = k == 0 || k == kLineNodes - 1 ? 0.5 : 1;
      out.push_back({between(state.supports[i].from, state.supports[i].to, k / (kLineNodes - 1.0)),
                     f.stiffness_n_per_mm * part / (kLineNodes - 1), f.proud_mm});
      owner.push_back(i);
    }
  }
  return out;
}

std::vector<Point2> polygon_of(const SupportState& state, const Tree& tree) {
  std::vector<Point2> points;
  for (std::size_t i = 0; i < tree.node.size(); ++i) {
    if (tree.carried[i]) continue;
    if (i < state.supports.size() && state.supports[i].is_line()) {
      points.push_back(state.supports[i].from);
      points.push_back(state.supports[i].to);
    } else {
      points.push_back(tree.node[i].at);
    }
  }
  return convex_hull(points);
}

/// Load per mm of a rigid line on an even bed whose resultant stands at `share` of its length: N/l (1 +- 6 e/l) within
/// the middle third, otherwise a triangle over 3 (l/2 - e) (strip footings; any textbook of soil mechanics).
void press_line(SupportLoad& out, double length_mm, double share) {
  const double e = (share - 0.5) * length_mm, mean = out.load_n / length_mm;
  for (int k = 0; k < kLineNodes; ++k) {
    const double x = (k / (kLineNodes - 1.0) - 0.5) * length_mm;  // from the middle
    double here = mean * (1 + 12 * e * x / (length_mm * length_mm));
    if (std::fabs(e) > length_mm / 6) {
      const double pressed = 3 * (length_mm / 2 - std::fabs(e));
      const double from_edge = length_mm / 2 - (e > 0 ? x : -x);
      here = pressed > 0 ? std::max(0.0, 2 * out.load_n / pressed * (1 - from_edge / pressed)) : 0;
    }
    out.along_n_per_mm[static_cast<std::size_t>(k)] = here;
  }
}

double length_of(const Support& s) {
  return s.is_line() ? std::hypot(s.to.x_mm - s.from.x_mm, s.to.y_mm - s.from.y_mm) : s.print_mm;
}

}  // namespace

std::string fault_of(const SupportState& state) {
  const int supports = static_cast<int>(state.supports.size());
  if (supports == 0) return "\"" + state.name + "\" has no supports";
  for (const Support& s : state.supports) {
    if (!(s.stiffness_n_per_mm > 0)) return "support \"" + s.name + "\" needs a stiffness above 0";
    if (s.width_mm < 0 || s.print_mm < 0) return "support \"" + s.name + "\" has a negative width or print";
  }
  std::vector<int> used(state.supports.size() + state.rockers.size(), 0);
  std::vector<Point2> middle;
  for (const Support& s : state.supports) middle.push_back(between(s.from, s.to, 0.5));
  for (std::size_t k = 0; k < state.rockers.size(); ++k) {
    const Rocker& r = state.rockers[k];
    const std::string name = "rocker \"" + r.name + "\"";
    for (const int end : {r.a, r.b}) {
      if (end < 0 || end >= supports + static_cast<int>(k)) return name + " has an end that is not there yet";
    }
    const auto a = static_cast<std::size_t>(r.a), b = static_cast<std::size_t>(r.b);
    if (++used[a] > 1 || (r.a != r.b && ++used[b] > 1)) return name + " shares an end with another rocker";
    const bool own_line = r.a == r.b;
    if (own_line && (r.a >= supports || !state.supports[a].is_line())) {
      return name + " needs two ends, or one line to rock on";
    }
    const Point2 from = own_line ? state.supports[a].from : middle[a], to = own_line ? state.supports[a].to : middle[b];
    const double dx = to.x_mm - from.x_mm, dy = to.y_mm - from.y_mm, square = dx * dx + dy * dy;
    if (square == 0) return name + " has both ends in one place";
    const double share = ((r.pivot.x_mm - from.x_mm) * dx + (r.pivot.y_mm - from.y_mm) * dy) / square;
    if (share < 0 || share > 1) return name + " has its pin beyond its ends";
    middle.push_back(between(from, to, share));
  }
  return "";
}

std::vector<Point2> tipping_polygon(const SupportState& state, const Slope& slope) {
  const Tree tree = felt(state, slope);
  return tree.stable ? polygon_of(state, tree) : std::vector<Point2>{};
}

std::vector<TippingEdge> tipping_edges(const SupportState& state, const Slope& slope) {
  constexpr double kTouches_mm = 1e-6;
  const Tree tree = felt(state, slope);
  std::vector<TippingEdge> out;
  if (!tree.stable) return out;
  const std::vector<Point2> hull = polygon_of(state, tree);
  if (hull.size() < 3) return out;
  for (std::size_t e = 0; e < hull.size(); ++e) {
    TippingEdge edge{hull[e], hull[(e + 1) % hull.size()], 0, 0};
    const double dx = edge.to.x_mm - edge.from.x_mm, dy = edge.to.y_mm - edge.from.y_mm, length = std::hypot(dx, dy);
    const auto inside = [&](Point2 p) {
      return (dx * (p.y_mm - edge.from.y_mm) - dy * (p.x_mm - edge.from.x_mm)) / length;
    };
    double nearest = -1;
    for (std::size_t i = 0; i < tree.node.size(); ++i) {
      if (tree.carried[i]) continue;
      double near = inside(tree.node[i].at), far = near;
      if (i < state.supports.size() && state.supports[i].is_line()) {
        const double a = inside(state.supports[i].from), b = inside(state.supports[i].to);
        near = std::min(a, b);
        far = std::max(a, b);
      }
      if (near <= kTouches_mm) edge.stiffness_n_per_mm += tree.node[i].stiffness_n_per_mm;
      if (far > kTouches_mm && (nearest < 0 || far < nearest)) nearest = far;
    }
    edge.back_mm = nearest;
    out.push_back(edge);
  }
  return out;
}

Standing stand(const SupportState& state, double weight_n, Vec3 centre, const Slope& slope) {
  const std::string fault = fault_of(state);
  KW_CHECK(fault.empty() && weight_n >= 0, fault);
  Standing out;
  out.supports.resize(state.supports.size());
  out.rocker_load_n.assign(state.rockers.size(), 0);
  for (std::size_t i = 0; i < state.supports.size(); ++i) {
    if (state.supports[i].is_line()) out.supports[i].along_n_per_mm.assign(kLineNodes, 0);
  }
  const Tree tree = felt(state, slope);
  const Point2 gravity = gravity_point(centre, slope);
  out.margin_mm = stability_margin_mm(polygon_of(state, tree), gravity);
  if (!tree.stable || out.margin_mm < -kOnEdgeMm) return out;
  out.stands = true;

  std::vector<std::size_t> owner;
  const std::vector<SpringContact> contacts = springs(state, tree, owner);
  const Settled settled = settle(contacts, gravity, weight_n * std::cos(slope.angle_rad));
  out.sink_mm = settled.sink_mm;
  out.pitch_rad = std::atan(settled.slope_x);
  out.roll_rad = std::atan(settled.slope_y);

  std::vector<double> load(tree.node.size(), 0);
  std::vector<std::size_t> node_of_line(tree.node.size(), 0);
  for (std::size_t c = 0; c < contacts.size(); ++c) {
    load[owner[c]] += settled.load_n[c];
    if (owner[c] >= state.supports.size() || !state.supports[owner[c]].is_line()) continue;
    const std::size_t k = node_of_line[owner[c]]++;
    const double part = k == 0 || k == kLineNodes - 1 ? 0.5 : 1;
    out.supports[owner[c]].along_n_per_mm[k] =
        settled.load_n[c] / part * (kLineNodes - 1) / length_of(state.supports[owner[c]]);
  }
  for (std::size_t k = state.rockers.size(); k-- > 0;) {
    const std::size_t node = state.supports.size() + k;
    const Rocker& r = state.rockers[k];
    out.rocker_load_n[k] = load[node];
    if (r.a != r.b) load[static_cast<std::size_t>(r.a)] += load[node] * (1 - tree.node[node].share_b);
    load[static_cast<std::size_t>(r.b)] += load[node] * (r.a == r.b ? 1 : tree.node[node].share_b);
  }
  for (std::size_t i = 0; i < state.supports.size(); ++i) {
    const Support& s = state.supports[i];
    SupportLoad& to = out.supports[i];
    to.load_n = load[i];
    if (tree.carried[i] && s.is_line()) {
      double share = 0.5;
      for (std::size_t k = 0; k < state.rockers.size(); ++k) {
        const Rocker& r = state.rockers[k];
        if (r.a == r.b && static_cast<std::size_t>(r.a) == i) share = tree.node[state.supports.size() + k].share_b;
      }
      press_line(to, length_of(s), share);
    }
    out.touching += to.load_n > 1e-9 * weight_n;
    const double area_mm2 = s.width_mm * length_of(s);
    if (area_mm2 <= 0) continue;
    to.mean_kpa = to.load_n / area_mm2 * 1e3;  // N/mm^2 to kPa
    to.peak_kpa = to.mean_kpa;
    for (const double q : to.along_n_per_mm) to.peak_kpa = std::max(to.peak_kpa, q / s.width_mm * 1e3);
  }
  return out;
}

double tipping_slope_rad(const SupportState& state, Vec3 centre, double downhill_rad) {
  if (state.rockers.empty()) {
    const std::vector<Point2> hull = tipping_polygon(state);
    return hull.size() < 3 ? 0 : tipping_slope_rad(hull, centre, downhill_rad);
  }
  // The polygon itself moves with the slope; march to the first angle that tips, then halve.
  const auto stands = [&](double angle) {
    const Slope slope{angle, downhill_rad};
    const std::vector<Point2> hull = tipping_polygon(state, slope);
    return hull.size() >= 3 && stability_margin_mm(hull, gravity_point(centre, slope)) >= 0;
  };
  if (!stands(0)) return 0;
  constexpr double kMarch_rad = kPi / 360;
  double low = 0, high = kMarch_rad;
  while (high < kPi / 2 && stands(high)) {
    low = high;
    high += kMarch_rad;
  }
  if (high >= kPi / 2) high = kPi / 2;
  for (int i = 0; i < 50; ++i) {
    const double middle = (low + high) / 2;
    (stands(middle) ? low : high) = middle;
  }
  return low;
}

std::vector<double> tipping_slopes_rad(const SupportState& state, Vec3 centre, int directions) {
  KW_CHECK(directions >= 1, "at least one direction");
  std::vector<double> out;
  for (int k = 0; k < directions; ++k) out.push_back(tipping_slope_rad(state, centre, 2 * kPi * k / directions));
  return out;
}

}  // namespace balance
