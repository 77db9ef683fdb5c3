// What a crawler reaches with one set of parameters: pure, for the nominal figures and for every draw.
#pragma once

#include <optional>

#include "functions/crawler/going.h"
#include "functions/crawler/wants.h"
#include "functions/drive/drive.h"

namespace functions::crawler {

/// One way to build it: a powertrain on a sprocket or wheel of a radius.
struct Variant {
  drive::Powertrain powertrain;  ///< one per driven wheel; tracks have one a side
  stock::ClassId roller{};       ///< sprocket or wheel
  double radius_mm = 0;          ///< at which the force acts
  int driven_wheels = 1;         ///< a side; tracks: 1
  std::optional<stock::ClassId> link;
  int links = 0;  ///< a side
};

/// What a driven side must give, N at the radius, and what floor and balance allow. No part of it depends on the drive.
struct Ground {
  double weight_n = 0;
  Centre centre;
  double flat_force_n = 0;  ///< all sides together, as the following
  double slope_force_n = 0;
  double turn_force_n = 0;  ///< 0 = does not turn on the spot
  double step_force_n = 0;  ///< 0 = no step asked for
  double adhesion_slope_rad = 0;
  double tip_slope_rad = 0;
  double turn_friction_given = 0;   ///< along the driven contacts, per weight on the side
  double turn_friction_needed = 0;  ///< the same that the sideways sliding asks for
  double step_mm = 0;               ///< highest step by friction and balance
  bool balance_limits_step = false;
};
[[nodiscard]] Outline outline_of(const Wants&, double radius_mm);
[[nodiscard]] Ground ground(const Wants&, const brief::Brief&, double radius_mm, int driven_wheels, int sides,
                            const brief::Sample&);

/// Margins the floor sets whatever drives: traction, balance, turning grip, step. Same names and order for every
/// sample.
[[nodiscard]] std::vector<candidate::Margin> ground_margins(const Wants&, const Ground&);
/// All margins and the running current of all sides. `sides` of the function.
[[nodiscard]] candidate::Evaluation evaluate(const Variant&, const Wants&, const Ground&, const brief::Brief&,
                                             int sides, const brief::Sample&);
/// Torque at one driven shaft from a force of all sides together.
[[nodiscard]] double shaft_torque_nmm(const Variant&, int sides, double force_n);

}  // namespace functions::crawler
