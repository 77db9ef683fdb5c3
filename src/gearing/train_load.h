// What a train costs and stands: torque on every shaft, force in every mesh, efficiency both ways, tooth margins.
// Plain numbers in, fixed-size arrays out: no allocation, so that a candidate can be evaluated for many draws.
// Torques are magnitudes in N mm.
#pragma once

#include <array>

#include "gearing/tooth.h"
#include "gearing/train.h"

namespace gearing {

inline constexpr int kMostStages = 8;  ///< of a train whose load is asked for; more is a fault of ours

/// One parameter sample: efficiency per mesh, friction in the worm mesh, share of the torque lost per shaft.
struct MeshEfficiencies {
  double spur = 1, bevel = 1, crown = 1, ring = 1;  ///< 0..1
  double worm_friction = 0;                         ///< coefficient
  double bearing_loss = 0;                          ///< 0..1 per shaft
};
[[nodiscard]] MeshEfficiencies nominal_efficiencies(const stock::CraftFigures& craft);

/// Driver to driven; a worm's comes from its lead angle.
[[nodiscard]] double forward_efficiency(const Stage& stage, const MeshEfficiencies& e);
/// Driven to driver; 0 = the mesh locks (only a worm does).
[[nodiscard]] double backward_efficiency(const Stage& stage, const MeshEfficiencies& e);

/// Whole train, bearings of all shafts() included.
[[nodiscard]] double forward_efficiency(const Train& train, const MeshEfficiencies& e);
[[nodiscard]] double backward_efficiency(const Train& train, const MeshEfficiencies& e);
/// True when a load on the output can turn the input.
[[nodiscard]] bool backdrives(const Train& train, const MeshEfficiencies& e);

/// Allowable tooth load of a stage: stress * b m Y, lowered for bevel and crown on unsupported shafts.
[[nodiscard]] double allowable_tooth_load_n(const Stage& stage, const ToothLimits& limits);
/// Allowable torque on the stage's driven shaft: allowable load times its pitch radius.
[[nodiscard]] double driven_torque_capacity_nmm(const Stage& stage, const ToothLimits& limits);

struct TrainLoad {
  int stages = 0;
  double input_torque_nmm = 0;                             ///< at the motor
  double efficiency = 0;                                   ///< output power / input power, forward
  std::array<double, kMostStages + 1> shaft_torque_nmm{};  ///< transmitted into the next mesh (bearing loss taken off);
                                                           ///< the last one is the output torque
  std::array<double, kMostStages> tooth_force_n{};         ///< tangential on the pitch circle; worm: on the wheel
  std::array<double, kMostStages> tooth_margin{};          ///< allowable / force; no force gives infinity
  int weakest = -1;                                        ///< stage with the least margin; -1 without stages
  double worst_tooth_margin = 0;                           ///< infinity without stages
};

/// The motor drives the given torque at the output, steadily.
[[nodiscard]] TrainLoad torque_at_stages(const Train& train, double output_torque_nmm, const MeshEfficiencies& e,
                                         const ToothLimits& limits);
/// Output torque for a torque at the motor (the inverse: output = input * reduction * efficiency).
[[nodiscard]] double output_torque_nmm(const Train& train, double input_torque_nmm, const MeshEfficiencies& e);
/// Greatest output torque the teeth stand, motor driving.
[[nodiscard]] double tooth_torque_limit_nmm(const Train& train, const MeshEfficiencies& e, const ToothLimits& limits);

/// A load torque on the output held at rest.
struct HoldingLoad {
  bool backdrives = true;         ///< false: a worm locks, the motor holds nothing
  double holding_torque_nmm = 0;  ///< least torque at the motor that holds the load (friction helps)
  double backward_efficiency = 0;
  double worst_tooth_margin = 0;  ///< standing load through the teeth up to the locking mesh, losses ignored
  int weakest = -1;
};
[[nodiscard]] HoldingLoad holding_load(const Train& train, double output_torque_nmm, const MeshEfficiencies& e,
                                       const ToothLimits& limits);

/// "12:36, the last mesh" or "8:24, mesh 1 of 3": names a stage for people.
[[nodiscard]] std::string stage_name(const Train& train, int stage);

}  // namespace gearing
