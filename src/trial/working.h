// A whole machine in space in the engine: what it stands on, its joints under their motors, a load on a rope, step by
// step. Not for other folders.
//
// A driven joint turns a frame without mass, in which the body hangs on a spring of its give; a screw is built as it is
// (motion.h) and pushes the frame. The rope is a line that only pulls: from a drum (a slider without mass on the hook's
// body) over the hook point to the load, which has three ways to go and touches the ground. Motors as movers.h has
// them; what they drive through takes its share as Coulomb friction, and all of the load where it locks.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "balance/lifting_machine.h"
#include "trial/engine.h"
#include "trial/movers.h"

namespace trial {

struct WorkRig {
  balance::LiftingMachine machine;
  int state = 0;              ///< of the machine: what it stands on
  std::vector<double> joint;  ///< of every body, where it starts
  std::vector<Mover> movers;
  // A load on a rope; 0 = none.
  double load_g = 0;      ///< hook and slings with it
  double rope_mm = 0;     ///< from the hook point to the load's middle, at the start
  double load_r_mm = 10;  ///< of the ball that stands for it
  /// Rod mounts and joints as in `machine`; a body without a mover stays where it starts, but for its give.
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
    double least_n = 0, sum_n = 0;
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
  void touch();

  WorkRig rig_;
  double dt_s_ = 0;
  Engine engine_;
  std::vector<Driven> driven_;
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
