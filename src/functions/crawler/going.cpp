#include "functions/crawler/going.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"

namespace functions::crawler {
namespace {

constexpr double kPi = std::numbers::pi;

void check_outline(const Outline& o) {
  KW_CHECK(o.contact_length_mm > 0 && o.end_radius_mm > 0 && o.end_reach_mm >= 0, "an outline has positive lengths");
  KW_CHECK(o.end_height_mm >= o.end_radius_mm * (1 - 1e-12), "end wheels stand on the ground or above it");
}

/// Spare lifting moment of a step whose edge the front wheel touches at angle `rise` (0 = level with its centre,
/// pi/2 = under it). Shared by the climb and its limit.
Climb climb_at(const Outline& o, const Centre& centre, const Grip& grip, double rise_rad) {
  const double sine = std::sin(rise_rad), cosine = std::cos(rise_rad);
  const double ax = -cosine + grip.front * sine;  // front contact force per unit of its normal force
  const double az = sine + grip.front * cosine;
  Climb out;
  if (ax >= 0) {  // the front contact alone drags the nose up; the rear follows without pushing
    out.possible = true;
    out.spare = std::numeric_limits<double>::infinity();
    out.traction = grip.front > 0 ? grip.front / std::max(az, 1e-12) : 0;
    return out;
  }
  if (grip.rear <= 0) {
    out.spare = -1;
    return out;
  }
  const double front_normal = 1 / (az - ax / grip.rear);
  const double rear_normal = -ax * front_normal / grip.rear;
  const double rear_x = -o.contact_length_mm / 2;
  const double touch_x = o.contact_length_mm / 2 + o.end_reach_mm + o.end_radius_mm * cosine - rear_x;
  const double touch_z = o.end_height_mm - o.end_radius_mm * sine;
  const double lifting = front_normal * (az * touch_x - ax * touch_z);
  const double weighing = centre.ahead_mm - rear_x;
  out.spare = weighing > 0 ? lifting / weighing - 1 : std::numeric_limits<double>::infinity();
  out.possible = out.spare >= 0;
  out.traction = grip.front * front_normal + grip.rear * rear_normal;
  return out;
}

double rise_of(const Outline& o, double step_mm) {
  const double sine = (o.end_height_mm - step_mm) / o.end_radius_mm;
  return std::asin(std::clamp(sine, 0.0, 1.0));
}

}  // namespace

double belt_length_mm(const Outline& o) {
  check_outline(o);
  const double reach = std::hypot(o.end_reach_mm, o.end_height_mm);
  const double cosine = std::min(1.0, o.end_radius_mm / reach);
  const double free_mm = std::sqrt(std::max(0.0, reach * reach - o.end_radius_mm * o.end_radius_mm));
  const double wrap_rad = 1.5 * kPi - std::atan2(o.end_height_mm, o.end_reach_mm) - std::acos(cosine);
  return 2 * o.contact_length_mm + 2 * o.end_reach_mm + 2 * free_mm + 2 * o.end_radius_mm * wrap_rad;
}

Climb friction_climb(const Outline& o, const Centre& centre, const Grip& grip, double step_mm) {
  check_outline(o);
  return climb_at(o, centre, grip, rise_of(o, step_mm));
}

std::optional<double> friction_step_mm(const Outline& o, const Centre& centre, const Grip& grip) {
  check_outline(o);
  // The limit is the first sign change from the lowest step that touches the end wheel upward; a scan finds its
  // bracket.
  constexpr int kScan = 32;  // the spare moment bends once at most over the quarter circle
  double good_mm = o.end_height_mm - o.end_radius_mm;
  const auto possible = [&](double step) { return climb_at(o, centre, grip, rise_of(o, step)).possible; };
  if (!possible(good_mm)) return good_mm;
  for (int i = 1; i <= kScan; ++i) {
    double bad_mm = o.end_height_mm - o.end_radius_mm + o.end_radius_mm * i / kScan;
    if (possible(bad_mm)) {
      good_mm = bad_mm;
      continue;
    }
    for (int k = 0; k < 60; ++k) {
      const double middle = (good_mm + bad_mm) / 2;
      (possible(middle) ? good_mm : bad_mm) = middle;
    }
    return good_mm;
  }
  return std::nullopt;
}

double balance_step_mm(const Outline& o, const Centre& centre) {
  check_outline(o);
  const double end_x = o.contact_length_mm / 2 + o.end_reach_mm;
  const auto height = [&](double pitch_rad) {
    const double edge = centre.ahead_mm - centre.height_mm * std::tan(pitch_rad);
    if (edge > o.contact_length_mm / 2) return 0.0;
    if (edge < -o.contact_length_mm / 2) return 0.0;  // the centre is behind the last road wheel: it tips over backward
    return (edge + end_x) * std::sin(pitch_rad) - o.end_height_mm * std::cos(pitch_rad) + o.end_radius_mm;
  };
  constexpr int kScan = 90;
  double best_rad = 0, best_mm = 0;
  for (int i = 1; i < kScan; ++i) {
    const double pitch_rad = kPi / 2 * i / kScan;
    const double h = height(pitch_rad);
    if (h > best_mm) {
      best_mm = h;
      best_rad = pitch_rad;
    }
  }
  double low = std::max(0.0, best_rad - kPi / 2 / kScan), high = best_rad + kPi / 2 / kScan;
  for (int k = 0; k < 60; ++k) {  // the maximum lies between the scan's neighbours
    const double a = low + (high - low) / 3, b = high - (high - low) / 3;
    (height(a) < height(b) ? low : high) = height(a) < height(b) ? a : b;
  }
  return std::max(best_mm, height((low + high) / 2));
}

double climbable_step_mm(const Outline& o, const Centre& centre, const Grip& grip) {
  const double balance_mm = balance_step_mm(o, centre);
  const std::optional<double> friction_mm = friction_step_mm(o, centre, grip);
  return friction_mm ? std::min(*friction_mm, balance_mm) : balance_mm;
}

std::optional<double> friction_needed(const Outline& o, const Centre& centre, double step_mm, bool front_driven,
                                      bool rear_driven, double most) {
  check_outline(o);
  const double clearance_mm = o.end_height_mm - o.end_radius_mm;
  // The whole way up to the step must be possible, not only its end; eight points on it are enough for one bend.
  constexpr int kWay = 8;
  const auto enough = [&](double friction) {
    const Grip grip{front_driven ? friction : 0, rear_driven ? friction : 0};
    for (int i = kWay; i >= 1; --i) {
      const double way_mm = clearance_mm + (step_mm - clearance_mm) * i / kWay;
      if (!climb_at(o, centre, grip, rise_of(o, way_mm)).possible) return false;
    }
    return true;
  };
  if (step_mm <= clearance_mm || enough(0)) return 0.0;
  if (!enough(most)) return std::nullopt;
  double low = 0, high = most;
  for (int k = 0; k < 34; ++k) {
    const double middle = (low + high) / 2;
    (enough(middle) ? high : low) = middle;
  }
  return high;
}

}  // namespace functions::crawler
