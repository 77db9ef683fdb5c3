#include "functions/steer/rack.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace functions::steer {
namespace {

using linkage::Vec2;

constexpr double kRadPerDeg = std::numbers::pi / 180;

/// One side with its kingpin on the left: where the bar must stand, and how the tie rod turns with it.
struct Half {
  double shift_mm = 0, lever_mm = 0, along = 0, across = 0;
  double turn_per_mm = 0, tie_per_mm = 0;
  double arm_rad = 0;  ///< acute angle of the tie rod with the arm
};
std::optional<Half> half_at(const Rack& r, const Axle& axle, double rad) {
  const double half_mm = axle.pitch_mm / 2, kingpin_mm = axle.kingpins_hp * half_mm / 2;
  const Vec2 arm{-r.arm.z_hp * half_mm, -r.arm.x_hp * half_mm};
  const double c = std::cos(rad), s = std::sin(rad);
  const Vec2 a{c * arm.x_mm - s * arm.z_mm, s * arm.x_mm + c * arm.z_mm};
  const double line = line_mm(r, axle), e = r.half_bar_hp * half_mm, length = tie_mm(r, axle);
  const double dx = a.x_mm - line, under = length * length - dx * dx;
  if (!(under > 0)) return std::nullopt;
  // The branch of straight ahead: the arm's end stands outside of the bar's, or inside.
  const double way = kingpin_mm + arm.z_mm - e >= 0 ? 1 : -1;
  const double dy = way * std::sqrt(under);
  Half h;
  h.shift_mm = kingpin_mm + a.z_mm - e - dy;
  const double tx = dx / length, ty = dy / length;
  // Velocities along the tie rod agree: (quarter turn of a) . t = ds t_y.
  const double on_arm = -a.z_mm * tx + a.x_mm * ty;
  h.lever_mm = std::fabs(on_arm);
  h.along = std::fabs(ty);
  h.across = std::fabs(tx);
  if (h.lever_mm < 1e-9) return std::nullopt;
  h.turn_per_mm = ty / on_arm;
  // Across the tie rod: what its ends move apart, over its length.
  const double vx = -a.z_mm * h.turn_per_mm, vy = a.x_mm * h.turn_per_mm - 1;
  h.tie_per_mm = (tx * vy - ty * vx) / length;
  h.arm_rad = std::asin(std::min(1.0, h.lever_mm / std::hypot(a.x_mm, a.z_mm)));
  return h;
}

/// Angle of the right wheel at a shift: the mirror image's left one at the opposite shift.
std::optional<double> right_at(const Rack& r, const Axle& axle, double shift_mm, double near_rad) {
  // s(d) is monotone between dead points; from near_rad by Newton, halved where it leaves the reach.
  double rad = -near_rad;
  for (int i = 0; i < 60; ++i) {
    const auto h = half_at(r, axle, rad);
    if (!h) return std::nullopt;
    const double off = h->shift_mm + shift_mm;
    const double step = -off * h->turn_per_mm;
    rad += std::clamp(step, -0.2, 0.2);
    if (std::fabs(step) < 1e-14) break;
  }
  const auto h = half_at(r, axle, rad);
  if (!h || std::fabs(h->shift_mm + shift_mm) > 1e-9) return std::nullopt;
  return -rad;
}

}  // namespace

double line_mm(const Rack& r, const Axle& axle) {
  return r.pinion.x_hp * axle.pitch_mm / 2 - r.side * (r.radius_mm + kRackOnBar_p * axle.pitch_mm);
}

double tie_mm(const Rack& r, const Axle& axle) {
  const double half_mm = axle.pitch_mm / 2;
  return std::hypot(-r.arm.z_hp * half_mm - line_mm(r, axle),
                    (axle.kingpins_hp / 2.0 - r.arm.x_hp - r.half_bar_hp) * half_mm);
}

std::optional<RackSpot> rack_spot(const Rack& r, const Axle& axle, double left_rad) {
  const auto left = half_at(r, axle, left_rad);
  if (!left) return std::nullopt;
  const auto right_rad = right_at(r, axle, left->shift_mm, left_rad);
  if (!right_rad) return std::nullopt;
  const auto right = half_at(r, axle, -*right_rad);
  if (!right) return std::nullopt;
  RackSpot s;
  s.left_rad = left_rad;
  s.right_rad = *right_rad;
  s.shift_mm = left->shift_mm;
  s.left_mm = left->lever_mm;
  s.right_mm = right->lever_mm;
  s.left_t = left->along;
  s.right_t = right->along;
  s.left_w = left->turn_per_mm;
  s.right_w = right->turn_per_mm;
  s.left_per_mm = std::fabs(s.left_w);
  s.right_per_mm = std::fabs(s.right_w);
  s.left_tie = left->tie_per_mm;
  s.right_tie = right->tie_per_mm;
  return s;
}

std::optional<RackTravel> rack_travel(const Rack& r, const Axle& axle) {
  const auto lock = rack_spot(r, axle, axle.inner_rad);
  if (!lock || !(lock->right_rad > 0) || lock->right_rad >= std::numbers::pi / 2) return std::nullopt;
  RackTravel out;
  out.outer_rad = lock->right_rad;
  out.transmission_rad = std::numbers::pi / 2;
  double before = 0;
  for (int i = 0; i < kPositions; ++i) {
    const double left = -out.outer_rad + (axle.inner_rad + out.outer_rad) * i / (kPositions - 1);
    const auto s = rack_spot(r, axle, left);
    if (!s) return std::nullopt;
    const auto l = half_at(r, axle, s->left_rad), rr = half_at(r, axle, -s->right_rad);
    out.transmission_rad = std::min({out.transmission_rad, l->arm_rad, rr->arm_rad});
    // A tie rod that stands across the bar hands nothing on.
    if (std::min(s->left_t, s->right_t) < std::sin(kLeastTransmission_deg * kRadPerDeg)) return std::nullopt;
    if (i > 0 && (s->shift_mm - before) * s->left_w <= 0) return std::nullopt;
    before = s->shift_mm;
    out.most_per_mm = std::max({out.most_per_mm, s->left_per_mm, s->right_per_mm});
    out.spots.push_back(*s);
  }
  if (out.transmission_rad < kLeastTransmission_deg * kRadPerDeg) return std::nullopt;
  for (int k = 1; k < kPositions; ++k) {
    const double inner = axle.inner_rad * k / (kPositions - 1);
    const auto s = rack_spot(r, axle, inner);
    if (!s) return std::nullopt;
    const double kingpins_mm = axle.kingpins_hp * axle.pitch_mm / 2;
    out.error_rad = std::max(out.error_rad,
                             std::fabs(s->right_rad - linkage::ackermann_outer_rad(inner, kingpins_mm, axle.base_mm)));
  }
  out.travel_mm = std::fabs(out.spots.back().shift_mm - out.spots.front().shift_mm);
  return out;
}

Travel seen_by_pinion(const Rack& r, const RackTravel& t) {
  Travel out;
  for (const RackSpot& s : t.spots) {
    Spot at;
    at.left_rad = s.left_rad;
    at.right_rad = s.right_rad;
    // Counter-clockwise the pinion's teeth go right where they face back, left where they face ahead.
    at.crank_rad = -r.side * s.shift_mm / r.radius_mm;
    at.crank_turn = -r.side / (s.left_w * r.radius_mm);
    at.right_turn = s.right_w / s.left_w;
    out.spots.push_back(at);
  }
  out.range_rad = t.travel_mm / r.radius_mm;
  out.error_rad = t.error_rad;
  out.outer_rad = t.outer_rad;
  out.transmission_rad = t.transmission_rad;
  out.most_rate = t.most_per_mm * r.radius_mm;
  return out;
}

RackEffort rack_effort(const Rack& r, const RackSpot& s, double moment_nmm, const PinFriction& pins) {
  constexpr double kJams = std::numeric_limits<double>::infinity();
  const double loss = pins.friction * pins.radius_mm;
  const auto tie_n = [&](double lever, double w, double tie) {
    const double turn = std::fabs(w);
    const double gives = lever * turn - loss * (std::fabs(tie - w) + turn);
    return gives > 0 ? moment_nmm * turn / gives : kJams;
  };
  RackEffort e;
  e.left_n = tie_n(s.left_mm, s.left_w, s.left_tie);
  e.right_n = tie_n(s.right_mm, s.right_w, s.right_tie);
  const auto across = [](double along) { return std::sqrt(std::max(0.0, 1 - along * along)); };
  const double pulls = e.left_n * (s.left_t + loss * std::fabs(s.left_tie) + pins.friction * across(s.left_t)) +
                       e.right_n * (s.right_t + loss * std::fabs(s.right_tie) + pins.friction * across(s.right_t));
  const double keeps = 1 - pins.friction * std::tan(pins.pressure_rad);
  if (!std::isfinite(pulls) || !(keeps > 0)) return {kJams, kJams, kJams, kJams};
  e.rack_n = pulls / keeps;
  e.pinion_nmm = e.rack_n * r.radius_mm / pins.mesh_efficiency;
  return e;
}

}  // namespace functions::steer
