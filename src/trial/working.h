// A whole machine in space in the engine: what it stands on, its joints under their motors, a load on a rope, step by
// step. Not for other folders.
//
// A driven joint turns a frame without mass, in which the body hangs on a spring of its give; a screw is built as it is
// (motion.h) and pushes the frame. The rope is a line that only pulls: from a drum (a slider without mass on the hook's
// body) over the hook point to the load, which has three ways to go and touches the ground. Motors as movers.h has
// them; what they drive through takes its share as Coulomb friction, and all of the load where it locks.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "balance/lifting_machine.h"
#include "trial/drive.h"
#include "trial/engine.h"
#include "trial/movers.h"

namespace trial {

/// What it drives on: both sides of a side view, each turned by itself.
struct Gear {
  DriveRig rig;
  std::vector<double> steered_x_mm;  ///< axles whose wheels turn about kingpins; empty = it turns by skidding
  double turn_about_x_mm = 0;        ///< the axle, or the middle of those, that the steered wheels roll about
  balance::GroundLine ground;        ///< what it drives over, even across; empty = level everywhere
  double beyond_mm = 2000;           ///< level ground at both ends
  double start_mm = 0;               ///< of its frame
};

struct WorkRig {
  balance::LiftingMachine machine;
  int state = 0;  ///< of the machine: what it stands on without a gear
  std::optional<Gear> gear;
  double gyration_mm = 30;    ///< of every body about its centre
  std::vector<double> joint;  ///< of every body, where it starts
  std::vector<Mover> movers;
  // A load on a rope; 0 = none.
  double load_g = 0;         ///< hook and slings with it
  double rope_mm = 0;        ///< from the hook point to the load's middle, at the start
  bool load_floats = false;  ///< it meets no ground
  double load_r_mm = 10;     ///< of the ball that stands for it
  // Rod mounts and joints as in `machine`; a body without a mover stays where it starts, but for its give.
};

struct WorkOptions {
  double step_ms = 1;
  double friction = 1;  ///< of feet and load on the ground
};

class Working {
 public:
  Working(const WorkRig& rig, const WorkOptions& options);

  /// Empty, or why it cannot be run.
  [[nodiscard]] std::string fault_at_start();
  [[nodiscard]] const std::string& fault() const { return engine_.fault(); }
  /// One step with every mover at a share of its voltage, -1 to 1; false: see fault().
  bool step(std::span<const double> input);
  /// A hand on the load, that takes its swing away.
  void steady(bool on) { steady_ = on; }
  void set_load_g(double load_g);
  /// Of the gear, for the steps to come: share of the drive's voltage of either side, -1 to 1, and the angle of the
  /// inner steered wheel, left positive.
  void drive(double left, double right, double steer_rad);
  struct Place {
    double x_mm = 0, y_mm = 0, z_mm = 0, yaw_rad = 0, pitch_rad = 0, roll_rad = 0;  ///< nose up, left side up
  };
  [[nodiscard]] Place place() const;
  /// Of a side at the ground, mm/s; mean of its driven wheels, or of its belt.
  [[nodiscard]] double side_mm_s(bool left) const;
  [[nodiscard]] double pull_n() const { return pull_n_; }
  [[nodiscard]] double steer_rad() const { return steer_rad_; }
  [[nodiscard]] std::vector<double> rocker_rad() const;  ///< of the left side, nose up

  [[nodiscard]] double time_s() const { return engine_.data().time; }
  [[nodiscard]] double position(std::size_t mover) const;  ///< joint, rad; rope: hook from the start, mm, up positive
  [[nodiscard]] double speed(std::size_t mover) const;     ///< rad/s of the joint, or mm/s of the rope
  [[nodiscard]] double current_a(std::size_t mover) const { return driven_[mover].current_a; }
  [[nodiscard]] balance::Vec3 hook() const;
  [[nodiscard]] balance::Vec3 load() const;
  [[nodiscard]] balance::Vec3 base() const;
  [[nodiscard]] double rope_mm() const;
  [[nodiscard]] double rope_n() const { return rope_n_; }
  [[nodiscard]] bool load_on_ground() const { return grounded_; }
  /// Of the load from the plumb line through the hook.
  [[nodiscard]] double swing_rad() const;
  [[nodiscard]] double lean_rad() const;

  /// What the machine stands on, in the step before.
  struct Feet {
    double least_n = 0, sum_n = 0, friction = 0;  ///< friction: largest share of it in use
    int contacts = 0;
    bool underside = false;
    balance::Point2 centre;  ///< of the pressure, in the machine's frame
  };
  [[nodiscard]] const Feet& feet() const { return feet_; }
  [[nodiscard]] const Engine& engine() const { return engine_; }

 private:
  struct Driven {
    int dof = -1, joint_dof = -1, at = -1;
    double sense = 1;  ///< of the driven joint against the mover's plus
    double start = 0, current_a = 0;
  };
  [[nodiscard]] double load_on(int dof) const;
  void push(std::size_t mover, double input);
  void push_gear();
  void move_belts();
  void touch();

  WorkRig rig_;
  double dt_s_ = 0;
  Engine engine_;
  std::vector<Driven> driven_;
  struct Tyre {
    int dof = -1, pin_dof = -1;
    bool left = true, driven = false;
    double radius_m = 0;
  };
  struct Kingpin {
    int at = -1;
    double x_mm = 0, y_mm = 0;
  };
  std::vector<Tyre> tyres_;
  std::vector<Kingpin> kingpins_;
  std::vector<int> pins_;          ///< of the left side's beams
  std::vector<signed char> belt_;  ///< per geom: 1 left, -1 right, 0 no belt
  std::vector<char> under_;        ///< per geom
  DriveShaft shaft_;               ///< of one driven wheel
  double side_[2] = {0, 0}, belt_m_s_[2] = {0, 0}, belt_pull_n_[2] = {0, 0}, steer_rad_ = 0, pull_n_ = 0;
  std::vector<int> foot_;  ///< per geom: number of the foot; -1 no foot, -2 the load
  std::vector<double> foot_n_;
  int hook_ = -1, load_at_ = -1, load_dof_ = -1, load_body_ = -1, base_ = -1;
  balance::Vec3 hook_before_;
  bool steady_ = false, grounded_ = false, moved_ = false;
  double rope_n_ = 0, rope_start_mm_ = 0;
  mjtNum up_[3] = {0, 0, 1};
  Feet feet_;
};

}  // namespace trial
