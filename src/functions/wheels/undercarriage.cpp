#include "functions/wheels/undercarriage.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "base/check.h"

namespace functions::wheels {
namespace {

/// A wheel on the floor, on the step or at its edge.
struct Contact {
  double x = 0, z = 0;    ///< of the contact point
  double nx = 0, nz = 1;  ///< normal, from the ground to the wheel's centre
  double pull = 0;        ///< tangential force / normal force, forward
  bool carries = true;
};

/// Force and moment about the origin of a set of contacts per unit of its own measure.
struct Wrench {
  double fx = 0, fz = 0, m = 0;  ///< m counter-clockwise seen with x to the right: x fz - z fx
};

Wrench of(const Contact& c) {
  const double fx = c.nx + c.pull * c.nz, fz = c.nz - c.pull * c.nx;
  return {fx, fz, c.x * fz - c.z * fx};
}

Wrench sum(const Wrench& a, double ka, const Wrench& b, double kb) {
  return {ka * a.fx + kb * b.fx, ka * a.fz + kb * b.fz, ka * a.m + kb * b.m};
}

/// Groups of axles that share a load by a rule of their own: [first, last].
struct Group {
  std::size_t first = 0, last = 0;
};
std::array<Group, 2> groups_of(const Undercarriage& u) {
  return {{{0, 1}, {2, u.axle_x_mm.size() - 1}}};
}
using Contacts = std::array<Contact, kMostAxles>;
struct Point {
  double x = 0, z = 0;
};

/// Two unknown measures p, q of two wrenches from balance across x and of moments, for a weight of 1 at `centre` pulled
/// down and back by the slope.
struct Measures {
  double p = 0, q = 0, push = 0;
  bool good = false;
};
Measures solve(const Wrench& a, const Wrench& b, double centre_x, double centre_z, double slope_rad) {
  const double wx = -std::sin(slope_rad), wz = -std::cos(slope_rad);
  // What is left over along x is taken as held back at the floor, so that it moves no load:
  //   p fz_a + q fz_b = -wz;   p m_a + q m_b = -(x_c wz - z_c wx)
  const double ma = a.m, mb = b.m, m0 = centre_x * wz - centre_z * wx;
  const double d = a.fz * mb - b.fz * ma;
  if (std::fabs(d) < 1e-12) return {};
  Measures out;
  out.p = (-wz * mb + b.fz * m0) / d;
  out.q = (-a.fz * m0 + wz * ma) / d;
  out.push = out.p * a.fx + out.q * b.fx + wx;
  out.good = true;
  return out;
}

void check(const Undercarriage& u) {
  KW_CHECK(u.axle_x_mm.size() >= 2 && u.axle_x_mm.size() <= kMostAxles, "an undercarriage has 2 .. 6 axles");
  KW_CHECK(u.driven.size() == u.axle_x_mm.size(), "every axle is driven or not");
  KW_CHECK(u.radius_mm > 0 && std::is_sorted(u.axle_x_mm.begin(), u.axle_x_mm.end()), "wheels from rear to front");
  KW_CHECK(u.frame == Frame::fixed || u.axle_x_mm.size() == 3 || u.axle_x_mm.size() == 4,
           "rocking frames carry three or four axles");
}

/// Loads of two groups of rocking frames. Inside a pair the loads stand in the ratio in which their moments about the
/// pivot cancel, so each group is one wrench.
Standing rocking(const Undercarriage& u, const Contacts& at, double centre_x, double centre_z, double slope_rad,
                 const std::array<Point, 2>& pivot) {
  const auto groups = groups_of(u);
  Standing out;
  std::array<Wrench, 2> wrench{};
  std::array<std::array<double, 2>, 2> share{};
  for (std::size_t g = 0; g < groups.size(); ++g) {
    const auto [first, last] = groups[g];
    const Wrench a = of(at[first]);
    if (first == last) {
      wrench[g] = a;
      share[g] = {1, 0};
      continue;
    }
    const Wrench b = of(at[last]);
    const auto [px, pz] = pivot[g];
    const double ma = a.m - (px * a.fz - pz * a.fx), mb = b.m - (px * b.fz - pz * b.fx);
    // share_a ma + share_b mb = 0, shares sum to 1, none negative: the rear wheel's moment is clockwise.
    if (std::fabs(mb - ma) < 1e-12) return out;
    const double sa = mb / (mb - ma);
    if (sa < 0 || sa > 1) return out;  // the pair tips over its own pivot
    share[g] = {sa, 1 - sa};
    wrench[g] = sum(a, sa, b, 1 - sa);
  }
  const Measures m = solve(wrench[0], wrench[1], centre_x, centre_z, slope_rad);
  if (!m.good || m.p < 0 || m.q < 0) return out;
  out.stands = true;
  out.push = m.push;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    const double whole = g == 0 ? m.p : m.q;
    out.load[groups[g].first] = whole * share[g][0];
    if (groups[g].last != groups[g].first) out.load[groups[g].last] = whole * share[g][1];
  }
  return out;
}

/// Loads of a rigid frame on equal springs: N_i = p + q (x_i - x_0); what pulls is lifted, one axle at a time.
Standing fixed(Contacts at, std::size_t n, double centre_x, double centre_z, double slope_rad) {
  Standing out;
  for (std::size_t lifted = 0; lifted + 2 <= n; ++lifted) {
    Wrench one{}, tilt{};
    double low = 0, high = 0;
    int carrying = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const Contact& c = at[i];
      if (!c.carries) continue;
      low = carrying++ == 0 ? c.x : std::min(low, c.x);
      high = std::max(carrying == 1 ? c.x : high, c.x);
    }
    if (carrying < 2) break;
    const double middle = (low + high) / 2, half = (high - low) / 2;
    for (std::size_t i = 0; i < n; ++i) {
      const Contact& c = at[i];
      if (!c.carries) continue;
      one = sum(one, 1, of(c), 1);
      tilt = sum(tilt, 1, of(c), (c.x - middle) / half);
    }
    const Measures m = solve(one, tilt, centre_x, centre_z, slope_rad);
    out.load = {};
    out.push = m.push;
    if (!m.good) break;
    std::size_t worst = n;
    for (std::size_t i = 0; i < n; ++i) {
      if (!at[i].carries) continue;
      out.load[i] = m.p + m.q * (at[i].x - middle) / half;
      if (out.load[i] < 0 && (worst == n || out.load[i] < out.load[worst])) worst = i;
    }
    if (worst == n) {
      out.stands = true;
      return out;
    }
    at[worst].carries = false;
  }
  out.stands = false;
  return out;
}

double pull_of(const Undercarriage& u, std::size_t axle, double grip, double rolling) {
  return u.driven[axle] ? grip : -rolling;
}

/// Least and bisected value at which `good` turns true; good(high) holds.
template <class Good>
double first_good(double low, double high, int halvings, const Good& good) {
  for (int k = 0; k < halvings; ++k) {
    const double middle = (low + high) / 2;
    (good(middle) ? high : low) = middle;
  }
  return high;
}

}  // namespace

Standing on_slope(const Undercarriage& u, const Centre& centre, double slope_rad, double grip, double rolling) {
  check(u);
  const std::size_t n = u.axle_x_mm.size();
  Contacts at;
  for (std::size_t i = 0; i < n; ++i) at[i] = {u.axle_x_mm[i], 0, 0, 1, pull_of(u, i, grip, rolling), true};
  if (u.frame == Frame::fixed) return fixed(at, n, centre.ahead_mm, centre.height_mm, slope_rad);
  std::array<Point, 2> pivot;
  for (std::size_t g = 0; g < 2; ++g) {
    const auto [first, last] = groups_of(u)[g];
    pivot[g] = {(u.axle_x_mm[first] + u.axle_x_mm[last]) / 2, u.radius_mm};
  }
  return rocking(u, at, centre.ahead_mm, centre.height_mm, slope_rad, pivot);
}

double adhesion_slope_rad(const Undercarriage& u, const Centre& centre, double friction, double rolling) {
  const auto fails = [&](double slope) {
    const Standing s = on_slope(u, centre, slope, friction, rolling);
    return !s.stands || s.push < 0;
  };
  if (fails(0)) return 0;
  return first_good(0, std::numbers::pi / 2, 44, fails);
}

Standing at_step(const Undercarriage& u, const Centre& centre, int axle, double step_mm, double grip, double rolling) {
  check(u);
  const double r = u.radius_mm;
  const std::size_t n = u.axle_x_mm.size(), k = static_cast<std::size_t>(axle);
  const double sine = std::clamp((r - step_mm) / r, 0.0, 1.0), cosine = std::sqrt(1 - sine * sine);
  const auto contact = [&](std::size_t i, double x, double z) {  // from the wheel's centre
    Contact c;
    if (i == k) {
      c.nx = -cosine;
      c.nz = sine;
    }
    c.x = x - r * c.nx;
    c.z = z - r * c.nz;
    c.pull = pull_of(u, i, grip, rolling);
    return c;
  };
  const auto centre_z = [&](std::size_t i) { return i > k ? r + step_mm : r; };
  // The body turns about its rear support; x is measured from there.
  const auto turned = [&](double rear_x, double rear_z, double front_x, double front_z, double& cx, double& cz) {
    const double span = front_x - rear_x, rise = front_z - rear_z;
    const double s = std::clamp(rise / span, -1.0, 1.0), c = std::sqrt(1 - s * s);
    const double dx = centre.ahead_mm - rear_x, dz = centre.height_mm - r;
    cx = dx * c - dz * s;
    cz = rear_z + dx * s + dz * c;
    return span * c;  // the front support's x
  };
  // Too high to reach from axle to axle.
  const double reach = u.frame == Frame::fixed
                           ? u.axle_x_mm.back() - u.axle_x_mm.front()
                           : std::min(u.axle_x_mm[1] - u.axle_x_mm[0], u.axle_x_mm[2] - u.axle_x_mm[1]);
  if (step_mm >= reach) return {-1, {}, false};
  double cx = 0, cz = 0;
  if (u.frame == Frame::fixed) {
    const std::size_t other = k == 0 ? n - 1 : 0;
    const std::size_t rear = std::min(k, other), front = std::max(k, other);
    const double front_x = turned(u.axle_x_mm[rear], centre_z(rear), u.axle_x_mm[front], centre_z(front), cx, cz);
    Contacts at;
    at[0] = contact(rear, 0, centre_z(rear));
    at[1] = contact(front, front_x, centre_z(front));
    const Standing two = fixed(at, 2, cx, cz, 0);
    Standing out{two.push, {}, two.stands};
    out.load[rear] = two.load[0];
    out.load[front] = two.load[1];
    return out;
  }
  const auto groups = groups_of(u);
  const auto pivot_x = [&](std::size_t g) { return (u.axle_x_mm[groups[g].first] + u.axle_x_mm[groups[g].last]) / 2; };
  const auto pivot_z = [&](std::size_t g) { return (centre_z(groups[g].first) + centre_z(groups[g].last)) / 2; };
  const double front_x = turned(pivot_x(0), pivot_z(0), pivot_x(1), pivot_z(1), cx, cz);
  Contacts at;
  const std::array<Point, 2> pivot{{{0, pivot_z(0)}, {front_x, pivot_z(1)}}};
  for (std::size_t g = 0; g < 2; ++g) {
    const auto [first, last] = groups[g];
    const double apart = u.axle_x_mm[last] - u.axle_x_mm[first], rise = centre_z(last) - centre_z(first);
    const double half = std::sqrt(std::max(0.0, apart * apart - rise * rise)) / 2;
    at[first] = contact(first, pivot[g].x - half, centre_z(first));
    if (last != first) at[last] = contact(last, pivot[g].x + half, centre_z(last));
  }
  return rocking(u, at, cx, cz, 0, pivot);
}

std::optional<double> grip_for_step(const Undercarriage& u, const Centre& centre, int axle, double step_mm,
                                    double rolling, double most) {
  const auto moves = [&](double grip) { return at_step(u, centre, axle, step_mm, grip, rolling).push >= 0; };
  if (moves(0)) return 0.0;
  if (!moves(most)) return std::nullopt;
  const double grip = first_good(0, most, 34, moves);
  if (!at_step(u, centre, axle, step_mm, grip, rolling).stands) return std::nullopt;
  return grip;
}

StepLimit climbable_step(const Undercarriage& u, const Centre& centre, double friction, double rolling,
                         double most_mm) {
  StepLimit out{most_mm, -1};
  for (int axle = static_cast<int>(u.axle_x_mm.size()) - 1; axle >= 0; --axle) {
    const auto fails = [&](double step) {
      const Standing s = at_step(u, centre, axle, step, friction, rolling);
      if (s.push < 0 || s.stands) return s.push < 0;
      return !grip_for_step(u, centre, axle, step, rolling, friction);  // less grip may keep the others down
    };
    if (!fails(out.step_mm)) continue;
    // What takes a step takes lower ones: the edge's normal turns upward as the step falls.
    const double limit = first_good(0, out.step_mm, 30, fails);
    out = {limit, axle};
  }
  return out;
}

double curve_force(const Undercarriage& u, const Centre& centre, double radius_mm, double track_mm, bool solid_axle,
                   double friction) {
  const Standing s = on_slope(u, centre, 0, 0, 0);
  const std::size_t unsteered = u.axle_x_mm.size() - 1;
  double middle = 0, force = 0;
  for (std::size_t i = 0; i < unsteered; ++i) middle += u.axle_x_mm[i] / static_cast<double>(unsteered);
  for (std::size_t i = 0; i < unsteered; ++i) {
    const double across = solid_axle && u.driven[i] ? track_mm / 2 : 0;
    force += s.load[i] * std::hypot(u.axle_x_mm[i] - middle, across);
  }
  // The steered axle's wheels, too, sit on one shaft when that is a solid driven one.
  if (solid_axle && u.driven[unsteered]) force += s.load[unsteered] * track_mm / 2;
  return friction * force / radius_mm;
}

}  // namespace functions::wheels
