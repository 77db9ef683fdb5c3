// Margins of one stabiliser design for one set of parameters: pure, thread safe, deterministic.
#pragma once

#include <memory>
#include <optional>
#include <string_view>
#include <vector>

#include "candidate/candidate.h"
#include "functions/drive/drive.h"
#include "functions/drive/placing.h"
#include "functions/drive/screw_drive.h"
#include "functions/stabiliser/leg.h"
#include "functions/stabiliser/press.h"
#include "functions/stabiliser/stance.h"
#include "functions/stabiliser/wants.h"

namespace functions::stabiliser {

/// Angles of the travel that are looked at, both ends included, from deployed to stowed.
inline constexpr int kAngles = 49;

/// What all designs of one function share. Holds its own copy of the brief, so a design outlives the caller's.
struct Problem {
  std::shared_ptr<const brief::Brief> brief;
  Wants wants;
  Leg leg;
  Stance nominal;
  std::vector<double> angle_rad;  ///< ascending: deployed first, stowed last
  /// The foot counts as loaded at the first `loaded` angles: those on the ground and the one before, so that first
  /// contact, the heaviest moment, is never missed between two.
  std::size_t loaded = 1;
};

/// An actuator between chassis and leg, with what follows from its mounts alone.
struct Mount {
  lattice::Point2 base, rod;     ///< half-pitches from the hip, x outward
  drive::ActuatorTravel travel;  ///< over Problem::angle_rad
  std::vector<LegPose> pose;
};
[[nodiscard]] Mount mount_of(const Problem&, lattice::Point2 base, lattice::Point2 rod);

struct Design {
  std::shared_ptr<const Problem> problem;
  stock::ClassId actuator{};
  int on_shaft = 1;  ///< actuators that one motor turns
  int drives = 1;    ///< motors with their trains: legs / on_shaft
  Mount mount;
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site = nullptr;
  std::optional<drive::Placed> placed = std::nullopt;  ///< once it is laid out
};

/// One leg over the whole travel in one parameter sample, every leg loaded like the heaviest.
struct Cycle {
  std::vector<double> deploy_nmm, stow_nmm;  ///< at the input of ONE actuator, >= 0
  std::vector<double> rod_n;                 ///< greatest rod force, either direction
  double foot_need_n = 0, tipping_foot_n = 0;
  double peak_nmm = 0, peak_rod_n = 0;
  double mean_nmm = 0;  ///< over the stroke, heavier direction
  double raise_nmm_per_n = 0;
  Contact contact;
  linkage::Screw screw;
};
[[nodiscard]] Cycle cycle_of(const Problem&, const Stance&, const Mount&, const stock::Actuator&, const brief::Sample&);

/// Least over the loaded angles of the foot force that a rod force gives, and where.
struct FootForce {
  double force_n = 0;
  std::size_t at = 0;
};
[[nodiscard]] FootForce least_foot_force(const Problem&, const Mount&, const Cycle&, double rod_n);

/// What the actuator itself sets, whatever drives it.
struct Body {
  FootForce foot;          ///< by the actuator's own limit
  double held_foot_n = 0;  ///< at rest, deployed
};
[[nodiscard]] Body body_of(const Problem&, const Mount&, const Cycle&, const stock::Actuator&);

struct Reached {
  FootForce foot;  ///< the lesser of motor and actuator
  std::string_view foot_by;
  double deploy_s = 0, stow_s = 0;  ///< infinite when it stalls
  double torque_nmm = 0;            ///< greatest at the drive's output, all its actuators
  double stall_nmm = 0;
  double tooth_margin = 0;
  int weakest_stage = -1;
  double stall_tooth_margin = 0;
  double axle_margin = 0;
  double current_ma = 0;  ///< of one drive, at the greatest torque
  double held_foot_n = 0;
  drive::Lock lock;
};
[[nodiscard]] Reached reach(const Problem&, const stock::Actuator&, int on_shaft, const Mount&, const Cycle&,
                            const Body&, const drive::Powertrain&, const drive::Machine&, const drive::SpeedLine&);

/// Names in a fixed order: foot force, time, tooth (only with a train), axle, hold, lock, tipping angle (only if
/// wanted).
[[nodiscard]] candidate::Evaluation margins_of(const Problem&, const Stance&, const Reached&, const Cycle&,
                                               const drive::Powertrain&, int drives);
[[nodiscard]] candidate::Evaluation evaluate(const Design& design, const brief::Sample& sample);

}  // namespace functions::stabiliser
