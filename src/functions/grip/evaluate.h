// Margins of one grip for one set of parameters: pure, thread safe, deterministic.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "functions/drive/drive.h"
#include "functions/drive/placing.h"
#include "functions/grip/jaws.h"
#include "functions/grip/wants.h"

namespace functions::grip {

struct Problem {
  std::shared_ptr<const brief::Brief> brief;
  Wants wants;
  int sides = 1;
};

/// Jaws with what closes them.
struct Closer {
  JawPair pair;
  std::optional<stock::ClassId> gear;  ///< of the pair that joins both jaws
  JawDrive drive;
};

struct Design {
  std::shared_ptr<const Problem> problem;
  Closer closer;
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site = nullptr;
  std::optional<drive::Placed> placed = std::nullopt;
};

/// Crank torque for the wanted squeeze at kOpenings openings.
[[nodiscard]] std::vector<double> crank_torque_nmm(const Problem&, const Closer&, const brief::Sample&);
/// Moment at which a tooth of the pair that joins the jaws reaches its allowable (Lewis).
[[nodiscard]] double jaw_gear_limit_nmm(const Closer&, const brief::Brief&, double tooth_stress_mpa);

/// Names in a fixed order: squeeze, time, tooth (with a train), axle, jaw gear (both jaws), hold (if wanted).
[[nodiscard]] candidate::Evaluation evaluate(const Problem&, const Closer&, const drive::Powertrain&,
                                             const brief::Sample&);

}  // namespace functions::grip
