// Margins of one hoist design for one set of parameters: pure, thread safe, deterministic.
#pragma once

#include <memory>
#include <optional>
#include <string_view>
#include <vector>

#include "candidate/candidate.h"
#include "functions/drive/drive.h"
#include "functions/drive/placing.h"
#include "functions/hoist/reeving.h"
#include "functions/hoist/wants.h"

namespace functions::hoist {

/// What all designs of one function share. Holds its own copy of the brief, so a design outlives the caller's.
struct Problem {
  std::shared_ptr<const brief::Brief> brief;
  int sides = 1;
  Wants wants;
  double weight_n = 0;  ///< load and the heaviest hook the stock may give, on one side
};

/// Drum, rope and tackle without their drive.
struct Rigging {
  stock::ClassId drum{}, rope{};
  int falls = 1;
  Winding winding;            ///< hook at its highest
  double wound_mm = 0;        ///< rope on the drum then
  double rope_needed_mm = 0;  ///< in all
};

struct Design {
  std::shared_ptr<const Problem> problem;
  Rigging rigging;
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site = nullptr;
  std::optional<drive::Placed> placed = std::nullopt;  ///< once it is laid out
};

/// What the rigging asks of the drum shaft in a sample.
struct Pull {
  double sheave_efficiency = 1;
  double rope_n = 0;                      ///< on the drum, raising
  double standing_n = 0;                  ///< on the drum, load at rest, friction of the sheaves helping
  std::vector<double> layer_diameter_mm;  ///< rope centre, per used layer
  std::vector<double> torque_nmm;         ///< raising, per layer
  [[nodiscard]] double peak_nmm() const { return torque_nmm.back(); }
};
[[nodiscard]] Pull pull_of(const Problem& problem, const Rigging& rigging, const brief::Sample& sample);

/// Speed of the hook on a layer.
[[nodiscard]] double hook_speed_mm_s(double drum_rad_s, double layer_diameter_mm, int falls);

struct Reached {
  double rope_n = 0, rope_by_motor_n = 0;  ///< at the outermost layer
  bool current_limited = false;
  double slowest_mm_s = 0;
  int slowest_layer = 1;
  double torque_nmm = 0;
  double tooth_margin = 0, axle_margin = 0, stall_tooth_margin = 0;
  int weakest_stage = -1;
  double rope_strength_n = 0, rope_wanted_n = 0;
  double current_ma = 0;  ///< of one side, outermost layer
  // Only a lock counts as holding: the motor's own friction fades with vibration and wear (common practice, no source).
  bool locks = false;
  double hold_reached = 0, hold_needed = 0;  ///< friction in the worm; without worm 0 and the load's torque in N mm
  double friction_hold = 0;                  ///< motor's own friction over the standing load, for information
};
[[nodiscard]] Reached reach(const Problem& problem, const Rigging& rigging, const Pull& pull,
                            const drive::Powertrain& powertrain, const drive::Machine& machine);
/// Names in a fixed order: force, speed, tooth (only with a train), axle, rope, hold (only if wanted).
/// Without `notes` the margins have no words: for searches that judge thousands.
[[nodiscard]] candidate::Evaluation margins_of(const Reached& reached, const Design& design, bool notes = true);
[[nodiscard]] candidate::Evaluation evaluate(const Design& design, const brief::Sample& sample);

}  // namespace functions::hoist
