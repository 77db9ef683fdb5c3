#include <algorithm>
#include <cmath>
#include <limits>

#include "trial/drive.h"

namespace trial {
namespace {

double ground_height_mm(const balance::GroundLine& ground, double x_mm) {
  if (x_mm <= ground.front().x_mm) return ground.front().z_mm;
  double z_mm = ground.back().z_mm;
  for (std::size_t i = 0; i + 1 < ground.size(); ++i) {
    const balance::SidePoint a = ground[i], b = ground[i + 1];
    if (!(a.x_mm < b.x_mm) || x_mm < a.x_mm || x_mm >= b.x_mm) continue;
    z_mm = a.z_mm + (b.z_mm - a.z_mm) * (x_mm - a.x_mm) / (b.x_mm - a.x_mm);
  }
  return z_mm;
}

/// Least height of the underside over the ground, looked at every few millimetres.
double clearance_mm(const balance::SideView& v, const balance::GroundLine& ground, const DriveSample& s) {
  constexpr double kEvery_mm = 2;
  double least_mm = std::numeric_limits<double>::infinity();
  const double c = std::cos(s.pitch_rad), n = std::sin(s.pitch_rad);
  for (std::size_t i = 0; i + 1 < v.underside.size(); ++i) {
    const balance::SidePoint a = v.underside[i], b = v.underside[i + 1];
    const int steps = std::max(1, static_cast<int>(std::hypot(b.x_mm - a.x_mm, b.z_mm - a.z_mm) / kEvery_mm));
    for (int k = 0; k <= steps; ++k) {
      const double t = static_cast<double>(k) / steps;
      const double x_mm = a.x_mm + t * (b.x_mm - a.x_mm), z_mm = a.z_mm + t * (b.z_mm - a.z_mm);
      least_mm =
          std::min(least_mm, s.z_mm + x_mm * n + z_mm * c - ground_height_mm(ground, s.x_mm + x_mm * c - z_mm * n));
    }
  }
  return least_mm;
}

}  // namespace

const char* name_of(End end) {
  switch (end) {
    case End::passed:
      return "passed";
    case End::stuck:
      return "stuck";
    case End::tipped:
      return "tipped over";
    case End::out_of_time:
      return "not over it in the time given";
    case End::unstable:
      break;
  }
  return "not tried to the end";
}

balance::Crossing walk_of(const DriveRig& rig, const balance::GroundLine& ground, const DriveRun& run) {
  balance::Crossing out;
  out.keeps_balance = run.end != End::tipped;
  out.most_pitch_rad = run.most_pitch_rad;
  out.least_pitch_rad = run.least_pitch_rad;
  out.needed_pull_n = run.most_pull_n;
  const balance::SidePoint centre = rig.vehicle.centre;
  for (const DriveSample& s : run.samples) {
    balance::Station station;
    const double c = std::cos(s.pitch_rad), n = std::sin(s.pitch_rad);
    station.centre_x_mm = s.x_mm + centre.x_mm * c - centre.z_mm * n;
    station.centre_z_mm = s.z_mm + centre.x_mm * n + centre.z_mm * c;
    station.pitch_rad = s.pitch_rad;
    for (const double angle : s.rocker_rad) station.rocker_rad.push_back(s.pitch_rad + angle);
    station.rocker_rad.resize(rig.vehicle.rockers.size(), s.pitch_rad);
    station.needed_friction = station.friction_with_pull = s.friction_in_use;
    station.clearance_mm = clearance_mm(rig.vehicle, ground, s);
    if (s.friction_in_use > out.needed_friction) {
      out.needed_friction = s.friction_in_use;
      out.friction_at_mm = station.centre_x_mm;
    }
    out.stations.push_back(std::move(station));
  }
  return out;
}

}  // namespace trial
