// One vehicle in the engine with its drive: stepped by drive() to the end of a course, by LiveDrive as time goes by.
// Not for other folders.
#pragma once

#include <vector>

#include "trial/drive.h"
#include "trial/engine.h"

namespace trial {

inline constexpr double kSettle_s = 0.4;                              ///< before the drive is switched on
inline constexpr double kTippedOver_rad = 60 * 0.017453292519943295;  ///< of pitch

class Driven {
 public:
  enum class Role { ground, belt, tyre, underside };
  /// What one instant's contacts say.
  struct Touch {
    int contacts = 0;
    bool underside = false;
    double belt_pull_n = 0;
    double friction_in_use = 0;
  };

  Driven(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options);

  /// Empty, or why it cannot be run; looks at contacts that start too deep.
  [[nodiscard]] std::string fault_at_start();
  [[nodiscard]] const std::string& fault() const { return engine_.fault(); }
  /// One step of the engine with the drive at this share of its voltage, -1 to 1; false: see fault().
  bool step(double throttle);
  [[nodiscard]] const Touch& touch() const { return touch_; }
  [[nodiscard]] DriveSample sample() const;
  [[nodiscard]] double time_s() const { return engine_.data().time; }
  [[nodiscard]] double start_mm() const { return start_mm_; }
  [[nodiscard]] double x_mm() const;
  [[nodiscard]] double pitch_rad() const { return engine_.data().qpos[pitch_]; }
  [[nodiscard]] double speed_mm_s() const { return speed_m_s_ * 1e3; }
  [[nodiscard]] double pull_n() const { return pull_n_; }
  [[nodiscard]] const Engine& engine() const { return engine_; }

 private:
  [[nodiscard]] int address(const std::string& joint) const;
  /// Moves the belt's surface in the friction rows, which hold  aref = -b (speed of slip) - ...: the slip counts from
  /// the moving surface. Between begin_step and end_step.
  void move_belt();
  [[nodiscard]] Touch touched() const;
  /// Pull and speed of the drive for the step to come.
  void drive_on(double throttle);

  DriveRig rig_;
  double start_mm_ = 0;
  double dt_s_ = 0;
  Engine engine_;
  std::vector<Role> role_;
  std::vector<int> pin_;
  DriveShaft shaft_;
  int motor_ = -1, shaft_dof_ = -1;
  int along_ = 0, up_ = 0, pitch_ = 0;
  double speed_m_s_ = 0, pull_n_ = 0;  ///< of the drive at the ground
  Touch touch_;                        ///< of the step before
};

}  // namespace trial
