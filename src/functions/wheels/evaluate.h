// What driven wheels reach with one set of parameters: pure, for the nominal figures and for every draw.
#pragma once

#include "functions/drive/drive.h"
#include "functions/wheels/wants.h"

namespace functions::wheels {

/// differential: the train ends on a differential's case. solid_axle: on the axle that carries both wheels. each_wheel:
/// on one wheel's axle.
enum class Delivery { differential, solid_axle, each_wheel };

struct Variant {
  Delivery delivery = Delivery::solid_axle;
  stock::ClassId wheel{};
  double radius_mm = 0;
};

/// What floor, slope, curve and step ask. No part of it depends on the drive.
struct Ground {
  double weight_n = 0;
  Centre centre;
  double flat_force_n = 0;  ///< all driven axles together, as the next three
  double slope_force_n = 0;
  double curve_force_n = 0;  ///< on the level, 0 = no curve asked for
  double step_axle_n = 0;    ///< of the most loaded driven axle; 0 = no step asked for
  double adhesion_slope_rad = 0;
  double tip_slope_rad = 0;
  double step_mm = 0;  ///< highest step by friction and balance
  int step_axle = -1;  ///< from the rear; the one that fails beyond it
};
[[nodiscard]] Ground ground(const Wants&, const brief::Brief&, double radius_mm, bool solid_axle, const brief::Sample&);

/// Margins that the floor sets whatever drives; same names and order for every sample.
[[nodiscard]] std::vector<candidate::Margin> ground_margins(const Wants&, const Ground&);
/// The powertrain is that of one driven axle, or of one driven wheel.
[[nodiscard]] candidate::Evaluation evaluate(const Variant&, const drive::Powertrain&, const Wants&, const Ground&,
                                             const brief::Brief&, const brief::Sample&);

/// Powertrains of the whole vehicle.
[[nodiscard]] int drives_of(const Wants&, Delivery);
/// Torque at one powertrain's output from a force of all driven axles together; from a force at one axle.
[[nodiscard]] double output_torque_nmm(const Variant&, const Wants&, double force_n);
[[nodiscard]] double axle_torque_nmm(const Variant&, double axle_n);
/// Greatest torque that an output is asked for.
[[nodiscard]] double most_torque_nmm(const Variant&, const Wants&, const Ground&);

}  // namespace functions::wheels
