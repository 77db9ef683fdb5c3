// One joint moved by its motors from end to end in the physics engine: a boom on its screw, an upper structure on its
// ring. The rest of the machine stands still.
//
// The screw is built as it is: a barrel on its base mount, a rod that slides in it, a pin through the moved body; the
// lever comes from there. Motors push along their line at the feed; friction of thread, pins and ring is Coulomb's and
// follows the force that the engine finds. What moves is rigid and may hold several bodies and a load.
#pragma once

#include <atomic>
#include <cstdint>
#include <string>
#include <vector>

#include "balance/mass.h"
#include "motor/motor.h"

namespace trial {

struct Lump {
  double mass_g = 0;
  balance::Vec3 at;    ///< from the pivot, the joint at 0
  balance::Vec3 size;  ///< of the box it fills, mm
};

struct MotionRig {
  std::vector<Lump> lumps;
  bool turns = false;            ///< about z, a ring; else about y, positive raises the front
  double carrier_pitch_rad = 0;  ///< of what carries the joint, nose up
  double from_rad = 0, to_rad = 0;

  /// Of a screw: mounts from the pivot (x forward, z up), the rod's with the joint at 0. lead 0 = a ring.
  double base_x_mm = 0, base_z_mm = 0, rod_x_mm = 0, rod_z_mm = 0;
  double lead_mm = 0;
  double raise_nmm_per_n = 0, lower_nmm_per_n = 0;  ///< input torque per force against and with the motion
  double pin_friction = 0, pin_radius_mm = 0;

  /// Of a ring: turn per turn of the output shaft, and friction at the output shaft.
  double per_rad = 1, friction_nmm = 0;

  motor::Constants motor;
  motor::Feed feed;
  int motors = 1;
  double ratio = 1, efficiency = 1;  ///< output shaft over motor; motor to output
  double rotor_nmm_s2 = 0;           ///< inertia at each motor's shaft
};

struct MotionOptions {
  double step_ms = 1;
  double most_time_s = 120;
  const std::atomic<bool>* stop = nullptr;
};

struct MotionRun {
  std::string why_not;  ///< not run, or not to the end
  bool arrives = false;
  double time_s = 0;        ///< when it came there, or when it was given up
  double most_force_n = 0;  ///< in the rod
  std::uint64_t steps = 0, state_hash = 0;
};

/// From rest at one end, at full input, until the joint stands at the other.
[[nodiscard]] MotionRun move_joint(const MotionRig& rig, const MotionOptions& options);

}  // namespace trial
