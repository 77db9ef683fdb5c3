// What a steering drive reaches with one set of parameters: pure, for the nominal figures and for every draw.
#pragma once

#include <memory>
#include <optional>

#include "functions/drive/placing.h"
#include "functions/steer/rod_search.h"
#include "functions/steer/tyre.h"
#include "functions/steer/wants.h"

namespace functions::steer {

/// What all designs of one function share. Holds its own copy of the brief, so a design outlives the caller's.
struct Problem {
  std::shared_ptr<const brief::Brief> brief;
  Wants wants;
  Axle axle;
};

struct Design {
  std::shared_ptr<const Problem> problem;
  std::shared_ptr<const RodChoice> rods;
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site = nullptr;
  std::optional<drive::Placed> placed = std::nullopt;  ///< once it is laid out
};

/// Load of one steered wheel: as entered, or by levers between the axles from the bodies' masses, half the axle's; not
/// less than a tenth of an even share, because an axle that carries nothing does not steer.
[[nodiscard]] double wheel_load_n(const Wants&, const brief::Brief&, double mass_factor);
[[nodiscard]] double tyre_friction(const Wants&, const brief::Brief&, const brief::Sample&);
/// Moment at one kingpin that turns the standing wheel, its shoulder's friction included.
[[nodiscard]] double kingpin_moment_nmm(const Wants&, const brief::Brief&, const brief::Sample&);
[[nodiscard]] PinFriction pins_in(const brief::Brief&, const brief::Sample&);
/// Push at a tyre that the drive must hold: as entered, or all that the tyre passes on, mu N.
[[nodiscard]] double push_n(const Wants&, const brief::Brief&, const brief::Sample&);
/// Its moment about the kingpin: push x offset of the tyre.
[[nodiscard]] double push_moment_nmm(const Wants&, const brief::Brief&, const brief::Sample&);

/// From stop to stop; infinite when it stalls on the way.
[[nodiscard]] double travel_time_s(const std::vector<double>& torque_nmm, const std::vector<double>& share_rad,
                                   const drive::SpeedLine&);
/// Torque at the output that the drive holds with its motor off; infinite when the train locks.
[[nodiscard]] double holding_nmm(const drive::Machine&);

/// What a powertrain reaches with given rods.
struct Reached {
  double peak_nmm = 0, peak_deg = 0;  ///< at the crank, and where: angle of the left wheel
  double stall_nmm = 0, time_s = 0;
  double rolling_s = 0;  ///< from stop to stop with nothing to turn against
  double tooth_margin = 0, axle_margin = 0, stop_margin = 0;
  int weakest_stage = -1;
  double error_deg = 0, circle_mm = 0;
  double push_nmm = 0, hold_nmm = 0;  ///< at the crank
  double current_ma = 0;              ///< of one axle
  std::optional<double> rack_nmm{};   ///< that the teeth of rack and pinion stand, at the pinion
};
[[nodiscard]] Reached reach(const RodChoice&, const std::vector<double>& torque_nmm, const drive::Powertrain&,
                            const drive::Machine&, const Wants&, const brief::Brief&, double push_moment_nmm);
/// Names in a fixed order: torque, time, metering, tooth (with a train), stop (hard stops), axle, rack tooth (rack),
/// Ackermann error, turning circle (if wanted), hold (if wanted).
[[nodiscard]] candidate::Evaluation margins_of(const Reached&, const Wants&, const drive::Powertrain&);
[[nodiscard]] candidate::Evaluation evaluate(const Design&, const brief::Sample&);

}  // namespace functions::steer
