// What people see of a stabiliser candidate: figures, curves, drawing and notes. Only made for candidates that are
// kept.
#pragma once

#include "functions/stabiliser/evaluate.h"

namespace functions::stabiliser {

[[nodiscard]] std::string key_of(const Design& design);
[[nodiscard]] std::string title_of(const Design& design);

/// How the far end of a cross shaft lags behind the near one at a torque per actuator.
struct CrossShaft {
  double near_deg = 0, far_deg = 0;  ///< twist from the driven wheel to either actuator
  double foot_mm = 0;                ///< what that makes between the two feet, deployed
  double joiner_deg = 0;             ///< play of a joiner on the way to one of the actuators, to either side
  double joiner_foot_mm = 0;         ///< what that makes between the two feet, to either side
};
[[nodiscard]] CrossShaft cross_shaft_of(const Design& design, double torque_nmm, double shear_modulus_mpa);
/// The same for any placed cross shaft; the foot moves by `foot_per_rod` per millimetre of the rod.
[[nodiscard]] CrossShaft cross_shaft_of(const drive::Placed&, const brief::Brief&, const stock::Actuator&,
                                        double torque_nmm, double shear_modulus_mpa, double foot_per_rod);
void tell_cross_shaft(const CrossShaft&, candidate::Candidate&);

/// Fills figures, curves, shapes and notes of a candidate made from `design`.
void present(const Design& design, candidate::Candidate& candidate);

}  // namespace functions::stabiliser
