// Where a screw actuator can be mounted: every base mount x rod mount x actuator on the half-pitch lattice.
//
// A placement serves when, over the whole travel [low, high]: the pin-to-pin length stays within what the actuator can
// take, the lever arm never falls below a least one, no dead centre is passed, and the force stays below its limit.
// Exhaustive and exact in geometry: for a travel below 180 deg without dead centre the length is monotone and the lever
// has a single peak, so both are bounded by their end values; the force is looked at in every angle of the load table.
// A travel of 180 deg or more always passes a dead centre. Frames and signs as in actuator.h.
#pragma once

#include <cstdint>
#include <limits>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/run_control.h"
#include "lattice/lattice.h"
#include "linkage/actuator.h"

namespace linkage {

/// Moments the actuator must give about the pivot at equally spaced angles, both ends included; any sign.
struct MomentCase {
  std::string name;                ///< "loaded", "empty"
  std::vector<double> moment_nmm;  ///< same length in every case, at least 2
};

struct ActuatorType {
  std::string name;  ///< for messages
  double closed_mm = 0;
  double open_mm = 0;
  double max_force_n = std::numeric_limits<double>::infinity();
};

/// Where the actuator's line passes the pivot of a body that reaches forward: below it, the actuator lengthens to raise
/// (lever > 0) and the load pushes it together; above it, it shortens to raise and the load pulls it.
enum class Side { either, below, above };

struct PlacementTask {
  double pitch_mm = 0;
  lattice::Point2 pivot_base;                ///< pivot in the base frame
  lattice::Point2 pivot_body;                ///< the same pivot in the moving body's frame
  std::vector<lattice::Point2> base_mounts;  ///< base frame; see mounts_in
  std::vector<lattice::Point2> rod_mounts;   ///< moving body's frame, which is the base's at angle 0
  std::vector<ActuatorType> actuators;
  double low_rad = 0;
  double high_rad = 0;
  double min_lever_mm = 0;
  Side side = Side::either;
  std::vector<MomentCase> cases;  ///< at least one
};

/// Lattice points of a box, every `step_hp` half-pitches from its low corner, without those in `keep_out`; by x, then
/// z.
[[nodiscard]] std::vector<lattice::Point2> mounts_in(const lattice::Box2& box, int step_hp = 1,
                                                     std::span<const lattice::Box2> keep_out = {});

struct Placement {
  lattice::Point2 base, rod;
  int actuator = 0;         ///< index into the task's list
  double peak_force_n = 0;  ///< magnitude, over all cases and table angles
  bool peak_pushes = false;
  int peak_case = 0;
  double peak_angle_rad = 0;
  double length_low_mm = 0;   ///< at the low angle
  double length_high_mm = 0;  ///< at the high angle
  double stroke_mm = 0;       ///< |difference|, a proxy of the time
  double min_lever_mm = 0;    ///< magnitude
};

/// Why placements fell out. Geometry first (dead_centre, lever: all actuators at once), then per actuator.
enum class Reason { dead_centre, lever, too_short, too_long, stroke, force };

/// All placements that fell to one reason, with the one that came nearest.
struct Miss {
  Reason reason = Reason::dead_centre;
  int actuator = -1;       ///< -1: whatever the actuator
  std::int64_t count = 0;  ///< placements (pairs x actuators)
  double shortfall = 0;    ///< of the nearest: mm, N, or deg of travel beyond the dead centre
  double angle_rad = 0;    ///< where
  double reached = 0;      ///< lever in mm, force in N, length in mm; dead centre: unused
  lattice::Point2 base, rod;
};
/// "longest actuator is 9.4 mm too short at 62 deg".
[[nodiscard]] std::string text(const PlacementTask& task, const Miss& miss);
/// Code of a reason ("actuator_too_short", "lever_too_small", ...), and the unit of its shortfall.
[[nodiscard]] std::string_view code_of(Reason reason);
[[nodiscard]] std::string_view unit_of(Reason reason);

struct PlacementResult {
  /// Per actuator the placements that no other beats or equals in (peak force, stroke): least force first. Of equal
  /// ones the first by base mount, then rod mount, in the order of the task.
  std::vector<std::vector<Placement>> fronts;
  std::vector<std::int64_t> feasible;  ///< per actuator
  std::vector<Miss> misses;            ///< only reasons that occurred: by reason, then actuator
  std::int64_t examined = 0;           ///< pairs x actuators
  std::int64_t other_side = 0;         ///< of these, not looked into because they are on the side not asked for
  bool complete = true;                ///< false: stopped from outside; base mounts looked at are then fewer
  std::int64_t base_mounts_done = 0;
};

/// O(base x rod + survivors x angles). KW_CHECK: pitch > 0, low < high, cases of equal length >= 2, closed <= open.
[[nodiscard]] PlacementResult place_actuators(const PlacementTask& task, const base::RunControl& control = {});

/// The triangle of a placement, in mm of the base frame.
[[nodiscard]] ActuatorTriangle triangle_of(const PlacementTask& task, lattice::Point2 base, lattice::Point2 rod);

}  // namespace linkage
