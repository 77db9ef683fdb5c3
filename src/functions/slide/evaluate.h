// Margins of one slide for one set of parameters: pure, thread safe, deterministic.
#pragma once

#include <memory>
#include <optional>

#include "functions/drive/drive.h"
#include "functions/drive/placing.h"
#include "functions/drive/rack_drive.h"
#include "functions/slide/line.h"

namespace functions::slide {

/// What turns rotation into travel: a screw actuator, or a pinion on racks. `offered_mm`: travel that either has.
struct Mover : drive::RackPinion {
  std::optional<stock::ClassId> actuator;
  double per_rad_mm = 0;  ///< travel per turn of the output, over 2 pi
};

struct Problem {
  std::shared_ptr<const brief::Brief> brief;
  Wants wants;
  int sides = 1;
  int longest_bar = 0;  ///< holes of the longest bar that the demand accepts and the stock has; 0: as many as needed
};

struct Design {
  std::shared_ptr<const Problem> problem;
  Mover mover;
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site = nullptr;
  std::optional<drive::Placed> placed = std::nullopt;
};

/// From the bar's middle to the line of what moves it where nobody says, pitches: half the bar, the sleeve's beam above
/// it and half an actuator; half the bar and half a rack that lies on it.
inline constexpr double kBesideScrew_p = 2.5, kBesideRack_p = 1;

/// One side's share of the stage; without a mover, by hand.
[[nodiscard]] Stage stage_of(const Problem&, const Mover*, const brief::Sample&);

/// Holes of the bar: travel and sleeve.
[[nodiscard]] int bar_of(const Problem&);
/// Travel over which the longest bar that serves stays as deep in its sleeve as asked.
[[nodiscard]] double guided_mm(const Problem&);
[[nodiscard]] Torques torques_of(const Problem&, const Mover&, const brief::Sample&);

/// Torque at which a tooth of pinion or rack reaches its allowable (Lewis, the weaker of both, narrower face).
[[nodiscard]] double rack_limit_nmm(const Mover&, const brief::Brief&, double tooth_stress_mpa);

/// Names in a fixed order: travel, force, time, tooth (with a train), axle, actuator or rack tooth, sleeve (moved
/// beside its middle), hold (if wanted).
[[nodiscard]] candidate::Evaluation evaluate(const Problem&, const Mover&, const drive::Powertrain&,
                                             const brief::Sample&);

/// Longer of both ways; infinite when it stalls.
struct Times {
  double out_s = 0, in_s = 0;
};
[[nodiscard]] Times times_of(const Problem&, const Mover&, const Torques&, const drive::SpeedLine&);

/// By hand: force, hold of the pin in shear, positions; sleeve as above.
struct HandPins {
  double out_n = 0, in_n = 0;    ///< greatest over the travel
  double rest_n = 0, pin_n = 0;  ///< that the pin holds, and can
};
[[nodiscard]] HandPins hand_pins(const Problem&, const brief::Sample&);
[[nodiscard]] candidate::Evaluation evaluate_by_hand(const Problem&, const brief::Sample&);

}  // namespace functions::slide
