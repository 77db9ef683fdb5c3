// Statics of one actuator placement along the travel, with friction, and what that asks of the screw's input shaft.
//
// Pins: a moment M about the pivot needs the rod force F in
//   opposing the motion:  M = F (h - f r (u + 1)) - f r W        helping it:  M = F (h + f r (u + 1)) + f r W
// h lever arm; f pin friction; r pin radius; u = |x| + |1 - x| turning of the two eyes per turning of the body, with x
// = d(direction of the rod)/d(angle); the pivot carries at most F + W, W the weight below it (so the 1 beside u).
// Virtual work with friction torques f r x force in every pin (friction circle). A load that helps by less than the
// friction still opposes. Screw: T = F c, c from linkage/screw.h, raising for opposing force and lowering for helping
// force; a self-locking screw needs torque either way. N, mm, N mm, rad.
#pragma once

#include <vector>

#include "functions/drive/screw_drive.h"
#include "functions/luff/load_moment.h"

namespace functions::luff {

/// A placement at the angles of a moment table.
using Geometry = drive::ActuatorTravel;

/// What friction there is in one parameter sample.
struct Friction {
  double pin = 0;  ///< coefficient
  double pin_radius_mm = 0;
  double raise_nmm_per_n = 0;  ///< screw torque per opposing force
  double lower_nmm_per_n = 0;  ///< per helping force; negative: the load drives the screw
};
[[nodiscard]] Friction friction_of(const linkage::Screw& screw, double pin_friction, double pin_radius_mm);

/// Rod force, all actuators together. Infinite where friction eats the whole lever.
struct RodForce {
  double opposing_n = 0;  ///< >= 0
  double helping_n = 0;   ///< >= 0; one of the two is 0
};
/// `against_nmm` = moment of the load against the motion; negative when it helps.
[[nodiscard]] RodForce rod_force(double against_nmm, double lever_mm, double eyes, double weight_n, const Friction& f);

/// The whole travel in one parameter sample.
struct Cycle {
  std::vector<double> raise_nmm, lower_nmm;  ///< torque at the screw's input, >= 0 (a driving load counts as none)
  std::vector<double> force_n;               ///< greatest rod force, either direction, either extreme of the load
  double peak_torque_nmm = 0;
  std::size_t peak_torque_at = 0;
  double peak_force_n = 0;
  std::size_t peak_force_at = 0;
  bool peak_pushes = false;                       ///< the rod is in compression there
  double mean_raise_nmm = 0, mean_lower_nmm = 0;  ///< over the stroke
};
[[nodiscard]] Cycle cycle_of(const Geometry& geometry, const MomentTable& moments, double mass_factor,
                             const Friction& friction);

}  // namespace functions::luff
