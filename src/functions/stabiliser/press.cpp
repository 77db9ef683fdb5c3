#include "functions/stabiliser/press.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace functions::stabiliser {
namespace {

/// The iteration contracts by a factor of a tenth and less; a lever near the friction circle needs more rounds.
constexpr int kMostRounds = 200;
constexpr double kStill = 1e-14;

/// Sum of rod, foot force and weight on the leg: what the hip takes.
double hip_reaction_n(const Leg& leg, const LegPose& pose, double rod_pushes_n, double foot_n, double foot_friction,
                      Motion motion) {
  const double slide_n = (motion == Motion::deploying ? 1 : -1) * foot_friction * foot_n;
  return std::hypot(rod_pushes_n * pose.rod_way.x_mm + slide_n,
                    rod_pushes_n * pose.rod_way.z_mm + foot_n - leg.weight_n);
}

}  // namespace

LegPose leg_pose(const linkage::ActuatorTriangle& t, double angle_rad) {
  LegPose p;
  p.angle_rad = angle_rad;
  const linkage::TrianglePose pose = linkage::pose(t, angle_rad);
  p.lever_mm = pose.lever_mm;
  const double c = std::cos(angle_rad), s = std::sin(angle_rad);
  const double bx = t.rod_mount.x_mm - t.pivot.x_mm, bz = t.rod_mount.z_mm - t.pivot.z_mm;
  const double rx = bx * c - bz * s, rz = bx * s + bz * c;
  const double dx = rx - (t.base_mount.x_mm - t.pivot.x_mm), dz = rz - (t.base_mount.z_mm - t.pivot.z_mm);
  p.rod_way = {dx / pose.length_mm, dz / pose.length_mm};
  const double turning = (dx * rx + dz * rz) / (pose.length_mm * pose.length_mm);
  p.eyes = std::fabs(turning) + std::fabs(1 - turning);
  return p;
}

double moment_nmm(const Leg& leg, double angle_rad, double foot_n, double foot_friction, Motion motion) {
  const double slide = motion == Motion::deploying ? foot_friction : -foot_friction;
  return foot_n * (leg.length_mm * std::cos(angle_rad) + slide * leg.hip_above_foot_mm(angle_rad)) -
         leg.weight_n * leg.centre_mm * std::cos(angle_rad);
}

RodForce rod_force(const Leg& leg, const LegPose& pose, double foot_n, const Contact& c, Motion motion) {
  const double moment = moment_nmm(leg, pose.angle_rad, foot_n, c.foot_friction, motion);
  const double against = motion == Motion::deploying ? moment : -moment;
  const double circle_mm = c.pin_friction * c.pin_radius_mm;
  const double lever = std::fabs(pose.lever_mm);
  const auto reaction = [&](double rod_pushes_n) {
    return hip_reaction_n(leg, pose, rod_pushes_n, foot_n, c.foot_friction, motion);
  };
  RodForce out;
  // Deploying lowers the angle: a rod that works in that sense pushes where lengthening lowers the foot.
  const bool works_by_pushing = (motion == Motion::deploying) == (pose.lever_mm < 0);
  out.resists = against + circle_mm * reaction(0) >= 0;
  out.pushes = works_by_pushing == out.resists;
  const double sign = out.pushes ? 1 : -1;
  if (out.resists && lever <= circle_mm * (pose.eyes + 1)) {
    out.force_n = against + circle_mm * reaction(0) > 0 ? std::numeric_limits<double>::infinity() : 0;
    return out;
  }
  for (int i = 0; i < kMostRounds; ++i) {
    const double pins = circle_mm * reaction(sign * out.force_n);
    const double next = out.resists ? (against + pins) / (lever - circle_mm * pose.eyes)
                                    : std::max(0.0, (-against - pins) / (lever + circle_mm * pose.eyes));
    const bool still = std::fabs(next - out.force_n) <= kStill * next;
    out.force_n = next;
    if (still) break;
  }
  return out;
}

double foot_force_n(const Leg& leg, const LegPose& pose, double rod_n, const Contact& c) {
  const double circle_mm = c.pin_friction * c.pin_radius_mm;
  const double cosine = std::cos(pose.angle_rad);
  const double arm = leg.length_mm * cosine + c.foot_friction * leg.hip_above_foot_mm(pose.angle_rad);
  const double given =
      rod_n * (std::fabs(pose.lever_mm) - circle_mm * pose.eyes) + leg.weight_n * leg.centre_mm * cosine;
  const double rod_pushes_n = pose.lever_mm < 0 ? rod_n : -rod_n;
  double foot_n = 0;
  for (int i = 0; i < kMostRounds; ++i) {
    const double pins = circle_mm * hip_reaction_n(leg, pose, rod_pushes_n, foot_n, c.foot_friction, Motion::deploying);
    const double next = std::max(0.0, (given - pins) / arm);
    const bool still = std::fabs(next - foot_n) <= kStill * next;
    foot_n = next;
    if (still) break;
  }
  return foot_n;
}

double holding_rod_n(const Leg& leg, const LegPose& pose, double foot_n) {
  return std::fabs(moment_nmm(leg, pose.angle_rad, foot_n, 0, Motion::deploying) / pose.lever_mm);
}

double held_foot_n(const Leg& leg, const LegPose& pose, double rod_n) {
  const double cosine = std::cos(pose.angle_rad);
  return (rod_n * std::fabs(pose.lever_mm) + leg.weight_n * leg.centre_mm * cosine) / (leg.length_mm * cosine);
}

}  // namespace functions::stabiliser
