#include "linkage/actuator.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"

namespace linkage {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kInfinity = std::numeric_limits<double>::infinity();

struct Arms {
  Vec2 base, rod;  // from the pivot
};

Arms arms_at(const ActuatorTriangle& t, double angle_rad) {
  const double c = std::cos(angle_rad), s = std::sin(angle_rad);
  const double rx = t.rod_mount.x_mm - t.pivot.x_mm, rz = t.rod_mount.z_mm - t.pivot.z_mm;
  return {{t.base_mount.x_mm - t.pivot.x_mm, t.base_mount.z_mm - t.pivot.z_mm}, {c * rx - s * rz, s * rx + c * rz}};
}

double cross(Vec2 a, Vec2 b) {
  return a.x_mm * b.z_mm - a.z_mm * b.x_mm;
}

double size(Vec2 a) {
  return std::hypot(a.x_mm, a.z_mm);
}

/// Angle from the base arm to the rod arm at body angle 0, in (-pi, pi].
double angle_between(const Arms& arms) {
  return std::atan2(cross(arms.base, arms.rod), arms.base.x_mm * arms.rod.x_mm + arms.base.z_mm * arms.rod.z_mm);
}

}  // namespace

TrianglePose pose(const ActuatorTriangle& triangle, double angle_rad) {
  const Arms arms = arms_at(triangle, angle_rad);
  const double length = std::hypot(arms.rod.x_mm - arms.base.x_mm, arms.rod.z_mm - arms.base.z_mm);
  return {length, length > 0 ? cross(arms.base, arms.rod) / length : 0};
}

double actuator_force_n(const TrianglePose& pose, double moment_nmm) {
  if (moment_nmm == 0) return 0;
  if (pose.lever_mm == 0) return std::copysign(kInfinity, moment_nmm);
  return moment_nmm / pose.lever_mm;
}

double angular_speed_rad_s(const TrianglePose& pose, double extension_mm_s) {
  if (pose.lever_mm == 0) return std::copysign(kInfinity, extension_mm_s);
  return extension_mm_s / pose.lever_mm;
}

double dead_centre_distance_rad(const ActuatorTriangle& triangle, double angle_rad) {
  return std::fabs(std::remainder(angle_between(arms_at(triangle, 0)) + angle_rad, kPi));
}

double greatest_lever_mm(const ActuatorTriangle& triangle) {
  const Arms arms = arms_at(triangle, 0);
  return std::min(size(arms.base), size(arms.rod));
}

double angle_at_length(const ActuatorTriangle& triangle, double length_mm, double near_rad) {
  const Arms arms = arms_at(triangle, 0);
  const double a = size(arms.base), b = size(arms.rod);
  const double cosine = (a * a + b * b - length_mm * length_mm) / (2 * a * b);
  constexpr double kRounding = 1e-12;  // lengths that close the triangle exactly stretched or folded
  if (!(std::fabs(cosine) <= 1 + kRounding)) return std::numeric_limits<double>::quiet_NaN();
  const double between = std::acos(std::clamp(cosine, -1.0, 1.0));
  const double now = std::remainder(angle_between(arms) + near_rad, 2 * kPi);
  const double wanted = now < 0 ? -between : between;
  return near_rad + (wanted - now);
}

Travel travel(const ActuatorTriangle& triangle, double from_rad, double to_rad, int samples,
              const std::function<double(double)>& moment_nmm, const std::function<double(double)>& speed_mm_s) {
  KW_CHECK(samples >= 1, "a travel needs at least one step");
  const double sense = to_rad >= from_rad ? 1 : -1;
  const auto at = [&](double angle_rad) {
    TravelStep step;
    const TrianglePose here = pose(triangle, angle_rad);
    step.angle_rad = angle_rad;
    step.length_mm = here.length_mm;
    step.lever_mm = here.lever_mm;
    step.moment_nmm = moment_nmm(angle_rad);
    step.force_n = actuator_force_n(here, step.moment_nmm);
    // Against the rod's motion: the rod lengthens when lever and sense agree.
    step.resisting_n =
        here.lever_mm == 0 ? std::fabs(step.force_n) : step.force_n * std::copysign(sense, sense * here.lever_mm);
    step.speed_mm_s = std::max(0.0, speed_mm_s(step.resisting_n));
    return step;
  };
  const auto slowness = [](const TravelStep& step) {
    return step.speed_mm_s > 0 ? std::fabs(step.lever_mm) / step.speed_mm_s : kInfinity;
  };

  Travel out;
  out.arrives = true;
  const double step_rad = (to_rad - from_rad) / samples;
  out.steps.push_back(at(from_rad));
  double time_s = 0;
  const auto note_stall = [&](const TravelStep& step) {
    if (out.arrives && !(step.speed_mm_s > 0)) {
      out.arrives = false;
      out.stall_angle_rad = step.angle_rad;
      time_s = kInfinity;
    }
  };
  note_stall(out.steps.front());
  out.steps.front().time_s = out.arrives ? 0 : kInfinity;
  for (int i = 1; i <= samples; ++i) {
    const TravelStep middle = at(from_rad + (i - 0.5) * step_rad);
    TravelStep end = at(i == samples ? to_rad : from_rad + i * step_rad);
    note_stall(middle);
    note_stall(end);
    if (out.arrives) {
      time_s += std::fabs(step_rad) / 6 * (slowness(out.steps.back()) + 4 * slowness(middle) + slowness(end));
    }
    end.time_s = time_s;
    out.steps.push_back(end);
  }
  out.time_s = time_s;
  return out;
}

}  // namespace linkage
