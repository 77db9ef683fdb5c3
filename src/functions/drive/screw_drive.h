// What kinds with a screw actuator share: the actuator along its travel, its screw and lock, the time behind a drive,
// and the room it sweeps.
//
// Plane of the mechanism as in linkage/actuator.h: x along, z up, from the pivot; angles counter-clockwise.
#pragma once

#include <array>
#include <string_view>
#include <vector>

#include "functions/drive/drive.h"
#include "lattice/lattice.h"
#include "linkage/actuator.h"
#include "linkage/placement.h"
#include "linkage/screw.h"

namespace functions::drive {

/// Width of an actuator across its line (invented: the catalogue tells only its length).
inline constexpr int kActuatorWidth_p = 2;

/// A placement at equally spaced angles.
struct ActuatorTravel {
  std::vector<double> length_mm;
  std::vector<double> lever_mm;  ///< magnitude
  std::vector<double> eyes;      ///< |x| + |1 - x| >= 1, x = d(direction of the rod)/d(angle): turning of both eyes
  std::vector<double> share_mm;  ///< rod travel that belongs to the angle (trapezoid rule), sums to the stroke
  bool lengthens_to_raise = true;
  double stroke_mm = 0;
  double least_lever_mm = 0;
  std::size_t least_lever_at = 0;
};
[[nodiscard]] ActuatorTravel travel_of(const linkage::ActuatorTriangle& triangle, const std::vector<double>& angle_rad);
/// Mounts in half-pitches from the pivot, in the frame of the pivot.
[[nodiscard]] linkage::ActuatorTriangle triangle_of(lattice::Point2 base, lattice::Point2 rod, double pitch_mm);

/// Thread of an actuator class in a sample.
[[nodiscard]] linkage::Screw screw_in(const stock::Actuator& part, const brief::Sample& sample);

/// Time of a travel with torque `torque_nmm` at each angle; infinite when one of them stalls the drive.
[[nodiscard]] double travel_time_s(const ActuatorTravel& travel, const std::vector<double>& torque_nmm, double lead_mm,
                                   const SpeedLine& line);

/// What stops a load from driving the screw back: the thread, or else a worm in the train. The motor's own friction
/// does not count: it fades with vibration and wear (common practice, no source).
struct Lock {
  double reached = 0, needed = 0;  ///< coefficients of friction
  std::string_view by;             ///< "thread", "worm in the train"
  [[nodiscard]] double ratio() const { return reached / needed; }
};
[[nodiscard]] Lock lock_of(const linkage::Screw& screw, const gearing::Train& train, double worm_friction);

/// The worm of a train that holds best; reached 0 against 1 without worm.
[[nodiscard]] Lock worm_lock(const gearing::Train& train, double worm_friction);

/// Actuator classes the function may use with at least `least` pieces in the stock; of those it must use, only them.
/// None: a rejection "<kind>.no_actuator".
[[nodiscard]] std::vector<stock::ClassId> usable_actuators(const brief::Brief&, const brief::Function&, int least,
                                                           candidate::RejectionLog&);

/// Searches the mounts and tells the proposal what was examined, left out and missed ("<kind>.<reason>").
[[nodiscard]] linkage::PlacementResult place_mounts(const linkage::PlacementTask&, const brief::Function&,
                                                    candidate::Proposal&, candidate::RejectionLog&,
                                                    const base::RunControl&);

/// What a strip round the lines base - end passes over while the ends turn about the pivot from `low_rad` to
/// `high_rad`, told in boxes whose rows are kSweepRow_hp high. Half-pitches; base and ends from the pivot, the rows
/// where it stands.
struct SweptRow {
  std::array<int, 2> x_hp{}, z_hp{};
};
[[nodiscard]] std::vector<SweptRow> swept(lattice::Point2 pivot, lattice::Point2 base,
                                          const std::vector<lattice::Point2>& ends, double low_rad, double high_rad,
                                          double half_width_hp, int row_hp = 4);

}  // namespace functions::drive
