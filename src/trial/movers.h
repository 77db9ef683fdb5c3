// The chosen drives as the engine moves them: motors, train, and a ring, a screw or a drum. Not for other folders.
#pragma once

#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "trial/motion.h"

namespace trial {

/// What moves one joint, or the hook on its rope.
struct Mover {
  enum class Type { ring, screw, rope };
  Type type = Type::ring;
  std::string name;          ///< as scripts and handset call it
  std::size_t function = 0;  ///< index into Brief::functions
  candidate::Drive drive;
  int body = -1;  ///< whose joint it moves; rope: that the hook hangs from
  /// Motors, train and screw; its lumps and ends are unused. Rope: raise and lower are pull at the drum per weight.
  MotionRig how;
  double low = 0, high = 0;  ///< of the joint, rad; rope: of the hook's travel, mm
  double input = 1;          ///< share of the full input that its control gives at its end
  double ramp_s = 0;         ///< from rest to full input
};

/// Fills in motors and train at fresh cells, usual parts.
void add_motors(const brief::Brief& brief, const candidate::Drive& drive, MotionRig& rig);
/// The screw of a luffing candidate from its parts and its drawing; false: they do not tell.
[[nodiscard]] bool add_screw(const brief::Brief& brief, const candidate::Candidate& candidate,
                             const candidate::Drive& drive, MotionRig& rig);

/// Every slewing, luffing and hoisting drive that the engine can move; `left_out` says which it cannot, and why.
[[nodiscard]] std::vector<Mover> movers_of(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                           std::vector<std::string>& left_out);

/// Travel of the driven joint of the engine (m of a rod or rope, rad of a ring) for a radian of the motor, with a hook
/// at `at` mm.
[[nodiscard]] double per_motor_rad(const Mover& mover, double at);
[[nodiscard]] double per_motor_rad(const MotionRig& rig);

/// What a mover's motors do at an input and speed: all together, at their shafts.
struct Push {
  double torque_nmm = 0;  ///< of the windings, friction inside not taken off
  double current_a = 0;   ///< of one motor
};
/// A mean of the chopped voltage feeds the motors; no input shorts them. `speed_rad_s` counts in the sense of plus.
[[nodiscard]] Push push_of(const MotionRig& rig, double input, double speed_rad_s);

}  // namespace trial
