// A vehicle driven over a course in the physics engine, seen from the side: no turning, no lateral tilt, rigid parts.
//
// Wheels are round contacts on axles, the driven ones in step with one shaft; a belt is the outline under
// neighbouring wheels whose surface moves with the drive (the speed is added to the friction rows of its contacts; the
// belt has no mass and does not sag). The drive gives a pull that falls in a straight line from stall to its speed
// without load. Rocking pairs under a belt have no model here that can be trusted: `drive` says so.
#pragma once

#include <atomic>
#include <cstdint>
#include <string>
#include <vector>

#include "balance/crossing.h"
#include "trial/course.h"

namespace trial {

struct DriveRig {
  balance::SideView vehicle;  ///< with weight and centre
  double gauge_mm = 0;        ///< only for the record
  double centre_left_mm = 0;  ///< of the weight, from the middle; counts in space only
  double pull_n = 0;          ///< at the ground with all motors stalled; 0 = it keeps its speed whatever it takes
  double speed_mm_s = 100;    ///< without load, > 0
};

struct DriveOptions {
  double friction = 0.6;                    ///< of every contact
  double step_ms = 2;                       ///< of the engine, 0.1 to 5
  double sample_ms = 20;                    ///< between samples; 0 = none kept
  double slope_rad = 0;                     ///< the whole ground rises that steeply ahead
  double beyond_mm = 0;                     ///< level ground at both ends; 0 = two lengths of the vehicle and 200 mm
  const std::atomic<bool>* stop = nullptr;  ///< set: the run is given up
  double most_time_s = 0;  ///< 0 = four times what the way takes at full speed, fifteen for a drive that slows, and 5 s
};

enum class End { passed, stuck, tipped, out_of_time, unstable };
[[nodiscard]] const char* name_of(End end);

struct DriveSample {
  double time_s = 0;
  double x_mm = 0, z_mm = 0;  ///< of the vehicle's frame; the ground's first point is at x = 0 or as it says
  double pitch_rad = 0;       ///< nose up
  double y_mm = 0, yaw_rad = 0, roll_rad = 0;  ///< in space only: to the left, turned left, left side up
  std::vector<double> rocker_rad;
  double speed_mm_s = 0;  ///< of the drive, at the ground
  double pull_n = 0;      ///< that the drive gives there
  int contacts = 0;
  bool underside = false;      ///< touches the ground
  double friction_in_use = 0;  ///< largest ratio of sideways to normal force of any contact
};

struct DriveRun {
  std::string why_not;  ///< not run, or not to the end: what is wrong; empty = run
  End end = End::unstable;
  balance::Stop stop = balance::Stop::nothing;  ///< what ended it, as far as the trace tells
  bool underside = false;                       ///< the underside touched somewhere, passed or not
  double stopped_at_mm = 0;                     ///< place of the vehicle's centre
  double most_pitch_rad = 0, least_pitch_rad = 0;
  double most_pull_n = 0;
  double most_roll_rad = 0, drift_mm = 0;  ///< in space only: most lean to a side, way to the left
  std::vector<DriveSample> samples;
  double time_s = 0;  ///< simulated
  std::uint64_t steps = 0, state_hash = 0;
  /// Clean over it: what the closed form calls passed.
  [[nodiscard]] bool passed() const { return why_not.empty() && end == End::passed && !underside; }
};

/// Empty, or why this vehicle is not tried: a fault of the vehicle, or a model that cannot be trusted.
[[nodiscard]] std::string not_tried_because(const DriveRig& rig);
/// From a stand before the ground's first point until the vehicle is behind its last.
[[nodiscard]] DriveRun drive(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options);

/// The trace as the closed form tells a walk, for drawings; `needed_friction` is what its contacts use.
[[nodiscard]] balance::Crossing walk_of(const DriveRig& rig, const balance::GroundLine& ground, const DriveRun& run);

/// One shaft that turns all driven wheels in step by their surface speeds: torque falls in a straight line to `free`.
struct DriveShaft {
  double radius_m = 0;  ///< of the largest driven wheel
  double torque_nm = 0, free_rad_s = 0, damping_nms = 0, inertia_kgm2 = 0;
};
[[nodiscard]] DriveShaft shaft_of(const DriveRig& rig, const DriveOptions& options);

/// The engine's description (MJCF) of the vehicle before the ground; `start_mm` is where the vehicle's frame starts.
[[nodiscard]] std::string description_of(const DriveRig& rig, const balance::GroundLine& ground,
                                         const DriveOptions& options, double& start_mm);

}  // namespace trial
