#include "functions/steer/rods.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace functions::steer {
namespace {

using linkage::Vec2;

constexpr double kRadPerDeg = std::numbers::pi / 180;

Vec2 operator+(Vec2 a, Vec2 b) {
  return {a.x_mm + b.x_mm, a.z_mm + b.z_mm};
}
Vec2 operator-(Vec2 a, Vec2 b) {
  return {a.x_mm - b.x_mm, a.z_mm - b.z_mm};
}
Vec2 operator*(double s, Vec2 a) {
  return {s * a.x_mm, s * a.z_mm};
}
double dot(Vec2 a, Vec2 b) {
  return a.x_mm * b.x_mm + a.z_mm * b.z_mm;
}
double cross(Vec2 a, Vec2 b) {
  return a.x_mm * b.z_mm - a.z_mm * b.x_mm;
}
double length(Vec2 a) {
  return std::hypot(a.x_mm, a.z_mm);
}
Vec2 turned(Vec2 a, double rad) {
  const double c = std::cos(rad), s = std::sin(rad);
  return {c * a.x_mm - s * a.z_mm, s * a.x_mm + c * a.z_mm};
}
/// Velocity of a point at `arm` from its pivot that turns at 1.
Vec2 quarter(Vec2 arm) {
  return {-arm.z_mm, arm.x_mm};
}

Vec2 left_arm(const Rods& r, double half_mm) {
  return {-r.arm.z_hp * half_mm, -r.arm.x_hp * half_mm};
}
Vec2 right_arm(const Rods& r, double half_mm) {
  return {-r.arm.z_hp * half_mm, r.arm.x_hp * half_mm};
}

/// The part of an axle's movement that the crank has no part in.
bool wheels(const Rods& rods, const Axle& axle, Travel& out) {
  const linkage::Trapezoid t = axle.trapezoid(rods);
  const auto outer = linkage::outer_angle_rad(t, axle.inner_rad);
  if (!outer || *outer <= 0 || *outer >= std::numbers::pi / 2) return false;
  out.outer_rad = *outer;
  out.transmission_rad = std::numbers::pi / 2;
  out.spots.resize(kPositions);
  for (int i = 0; i < kPositions; ++i) {
    Spot& s = out.spots[static_cast<std::size_t>(i)];
    s.left_rad = -*outer + (axle.inner_rad + *outer) * i / (kPositions - 1);
    const auto angle = linkage::transmission_angle_rad(t, s.left_rad);
    if (!angle) return false;
    out.transmission_rad = std::min(out.transmission_rad, *angle);
  }
  if (out.transmission_rad < kLeastTransmission_deg * kRadPerDeg) return false;
  for (int k = 1; k < kPositions; ++k) {
    const double inner = axle.inner_rad * k / (kPositions - 1);
    const auto angle = linkage::outer_angle_rad(t, inner);
    if (!angle) return false;
    out.error_rad =
        std::max(out.error_rad, std::fabs(*angle - linkage::ackermann_outer_rad(inner, t.kingpins_mm, axle.base_mm)));
  }
  return true;
}

double point_distance(Vec2 p, Vec2 a, Vec2 b) {
  const Vec2 ab = b - a;
  const double square = dot(ab, ab);
  const double t = square > 0 ? std::clamp(dot(p - a, ab) / square, 0.0, 1.0) : 0;
  return length(p - (a + t * ab));
}

}  // namespace

linkage::Trapezoid Axle::trapezoid(const Rods& rods) const {
  const double half = pitch_mm / 2;
  return {half * kingpins_hp, half * rods.arm.x_hp, half * rods.arm.z_hp};
}

std::optional<Spot> spot_at(const Rods& rods, const Axle& axle, double left_rad) {
  const auto right_rad = linkage::outer_angle_rad(axle.trapezoid(rods), left_rad);
  if (!right_rad) return std::nullopt;
  const double half = axle.pitch_mm / 2;
  const double crank = rods.crank_p * axle.pitch_mm, drag = rods.drag_p * axle.pitch_mm;
  const Vec2 pivot{rods.pivot.x_hp * half, rods.pivot.z_hp * half};
  const Vec2 left_kingpin{0, half * axle.kingpins_hp / 2}, right_kingpin{0, -left_kingpin.z_mm};
  Spot s;
  s.left_rad = left_rad;
  s.right_rad = *right_rad;
  const Vec2 la = turned(left_arm(rods, half), s.left_rad), ra = turned(right_arm(rods, half), s.right_rad);
  const Vec2 end = left_kingpin + la, other = right_kingpin + ra;
  const Vec2 reach = end - pivot;
  const double far = length(reach);
  const double cosine = (crank * crank + far * far - drag * drag) / (2 * crank * far);
  if (!(std::fabs(cosine) < 1)) return std::nullopt;
  const Vec2 arm = turned((crank / far) * reach, rods.side * std::acos(cosine));
  const Vec2 pull = (1 / drag) * (end - (pivot + arm));
  const Vec2 rod = (1 / length(end - other)) * (end - other);
  // Levers: the velocities of both ends along a rod agree.
  const double on_arm = dot(quarter(la), pull), on_crank = dot(quarter(arm), pull);
  const double on_left = dot(quarter(la), rod), on_right = dot(quarter(ra), rod);
  s.arm_mm = std::fabs(on_arm);
  s.crank_mm = std::fabs(on_crank);
  s.left_rod_mm = std::fabs(on_left);
  s.right_rod_mm = std::fabs(on_right);
  s.right_turn = on_left / on_right;
  s.crank_turn = on_arm / on_crank;
  s.arm_rad = std::asin(std::min(1.0, s.arm_mm / length(la)));
  s.crank_end_rad = std::asin(std::min(1.0, s.crank_mm / crank));
  s.drag_turn = cross(pull, quarter(la) - s.crank_turn * quarter(arm)) / drag;
  s.rod_turn = cross(rod, quarter(la) - s.right_turn * quarter(ra)) / length(end - other);
  // On the left arm the drag link drives and the track rod resists.
  s.between = dot((on_arm > 0 ? 1.0 : -1.0) * pull, (on_left > 0 ? -1.0 : 1.0) * rod);
  s.crank_rad = std::atan2(arm.z_mm, arm.x_mm);
  return s;
}

std::optional<Travel> travel_of(const Rods& rods, const Axle& axle) {
  Travel out;
  if (!wheels(rods, axle, out)) return std::nullopt;
  double before = 0;
  for (Spot& s : out.spots) {
    const bool first = &s == out.spots.data();
    const auto at = spot_at(rods, axle, s.left_rad);
    if (!at || !(at->right_turn > 0)) return std::nullopt;
    s = *at;
    if (s.arm_rad < kLeastTransmission_deg * kRadPerDeg || s.crank_end_rad < kLeastCrankAngle_deg * kRadPerDeg)
      return std::nullopt;
    // A crank that turns back on the way would have passed a dead point.
    if (s.crank_turn * out.spots.front().crank_turn <= 0) return std::nullopt;
    out.transmission_rad = std::min(out.transmission_rad, s.arm_rad);
    if (!first) s.crank_rad = before + std::remainder(s.crank_rad - before, 2 * std::numbers::pi);
    before = s.crank_rad;
    out.most_rate = std::max(out.most_rate, std::max(1.0, s.right_turn) / std::fabs(s.crank_turn));
  }
  out.range_rad = std::fabs(out.spots.back().crank_rad - out.spots.front().crank_rad);
  return out;
}

Ends ends_at(const Rods& rods, const Axle& axle, const Spot& spot) {
  const double half = axle.pitch_mm / 2;
  Ends e;
  e.left_kingpin = {0, half * axle.kingpins_hp / 2};
  e.right_kingpin = {0, -e.left_kingpin.z_mm};
  e.left_arm = e.left_kingpin + turned(left_arm(rods, half), spot.left_rad);
  e.right_arm = e.right_kingpin + turned(right_arm(rods, half), spot.right_rad);
  e.pivot = {rods.pivot.x_hp * half, rods.pivot.z_hp * half};
  e.crank = e.pivot + turned({rods.crank_p * axle.pitch_mm, 0}, spot.crank_rad);
  return e;
}

Effort effort_at(const Spot& s, double moment_nmm, const PinFriction& pins) {
  constexpr double kJams = std::numeric_limits<double>::infinity();
  const double loss = pins.friction * pins.radius_mm;
  Effort e;
  // Powers per unit turn of the left wheel. Right arm: its kingpin bears the track rod's force.
  const double right = s.right_rod_mm * s.right_turn - loss * (s.right_turn + std::fabs(s.rod_turn - s.right_turn));
  if (!(right > 0)) return {kJams, kJams, kJams};
  e.track_rod_n = moment_nmm * s.right_turn / right;
  const double asked = moment_nmm + e.track_rod_n * (s.left_rod_mm + loss * std::fabs(s.rod_turn - 1));
  // Left arm: its kingpin bears both rods. The drag link's force enters its own friction, so it is iterated; the
  // mapping shrinks by about loss/arm each time, so a few rounds reach rounding.
  constexpr int kRounds = 12;
  const double arm = s.arm_mm - loss * std::fabs(s.drag_turn - 1);
  if (!(arm > 0)) return {kJams, kJams, kJams};
  e.drag_n = asked / arm;
  for (int i = 0; i < kRounds && loss > 0; ++i) {
    const double bearing = std::sqrt(
        std::max(0.0, e.drag_n * e.drag_n + e.track_rod_n * e.track_rod_n + 2 * e.drag_n * e.track_rod_n * s.between));
    e.drag_n = (asked + loss * bearing) / arm;
  }
  if (!std::isfinite(e.drag_n)) return {kJams, kJams, kJams};
  e.crank_nmm = e.drag_n * (s.arm_mm + loss * std::fabs(s.drag_turn - s.crank_turn)) / std::fabs(s.crank_turn);
  return e;
}

std::vector<double> crank_torques_nmm(const Travel& travel, double moment_nmm, const PinFriction& pins) {
  std::vector<double> out;
  out.reserve(travel.spots.size());
  for (const Spot& s : travel.spots) out.push_back(effort_at(s, moment_nmm, pins).crank_nmm);
  return out;
}

std::vector<double> shares_rad(const Travel& travel) {
  std::vector<double> out(travel.spots.size(), 0);
  for (std::size_t i = 0; i + 1 < travel.spots.size(); ++i) {
    const double step = std::fabs(travel.spots[i + 1].crank_rad - travel.spots[i].crank_rad) / 2;
    out[i] += step;
    out[i + 1] += step;
  }
  return out;
}

double distance_mm(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  const double c1 = cross(b - a, c - a), c2 = cross(b - a, d - a), c3 = cross(d - c, a - c), c4 = cross(d - c, b - c);
  if (c1 * c2 < 0 && c3 * c4 < 0) return 0;
  return std::min({point_distance(a, c, d), point_distance(b, c, d), point_distance(c, a, b), point_distance(d, a, b)});
}

double wheel_play_rad(const Travel& travel, double pin_mm, double kingpin_mm, bool right) {
  double most = 0;
  for (const Spot& s : travel.spots) {
    double play = (pin_mm + kingpin_mm / 2) / s.arm_mm;
    if (right) play = play * s.right_turn + (pin_mm + kingpin_mm) / s.right_rod_mm;
    most = std::max(most, play);
  }
  return most;
}

}  // namespace functions::steer
