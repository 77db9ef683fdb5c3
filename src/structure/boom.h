// A boom from plain numbers: rows of beams on two sides (or one), pins, cross axles, ties, an actuator. How far its tip
// sinks, sways and rolls, elastically and by free play, and which part or joint that comes from.
//
// The boom's own axes: x from the foot pivot to the tip, y to the left, z up when it lies level; stations in hole
// pitches along x. Beams lie in planes counted outward from `inner_p`; holes, pins and axles run along y. Everything is
// mirrored about y = 0. Luffing turns gravity, the turntable's axis and the actuator's base instead of the boom.
//
// Joints in holes are elastic beddings of c N/mm per mm of pin in the hole: radial c L, tilt c L^3/12. Clearances and
// what they do: play.h. Not counted: friction in tight pins, bushes rubbing on faces, shear across holes: see
// sections.h.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "structure/buckling.h"
#include "structure/play.h"

namespace structure {

/// One beam on each side. `plane` may be negative: further in than the first row, as far as the middle lets it.
struct BoomBeam {
  int from_p = 0, to_p = 0;  ///< first and last hole
  int plane = 0;
};
/// Joins the beams of planes `plane` and `plane + 1`, on each side.
struct BoomPin {
  int at_p = 0;
  int plane = 0;
};
/// A cross axle through every beam at its station, on both sides, held sideways by bushes.
struct BoomAxle {
  int at_p = 0;
};
/// A cross beam above (+1) or below (-1) that closes the box: at each end a bracket on two pins, at_p and at_p + 1, in
/// the innermost beam there.
struct BoomTie {
  int at_p = 0;
  int level_p = 1;
};
struct BoomActuator {
  int at_p = 0;                       ///< of its own cross axle
  double base_x_p = 0, base_z_p = 0;  ///< its other pin, from the foot pivot, in the chassis' level axes
  std::vector<double> y_p{0};         ///< where on the axle: one in the middle, or a pair
  double stiffness_n_mm = 0;          ///< each
  double play_mm = 0;                 ///< each, along it, to either side
  double ahead_p = 0, above_p = 0;    ///< of its axle from the hole: a bracket on either side, as stiff as a beam
};
struct BoomFoot {
  double bearing_p = 0;  ///< the foot axle's bearings stand at y = +- this; beams beside them, not in the same place
  Clearance bearing;     ///< of the foot axle in a bearing
  Clearance turntable;   ///< below the foot, axis upright: turn = backlash of the slew drive, tilt = rocking
  double turntable_below_p = 0;  ///< height of the foot pivot over the turntable
};

/// Sizes and materials shared by all parts.
struct BoomParts {
  double pitch_mm = 0;
  BarSection beam;  ///< z along the height; see holed_section
  Material beam_material;
  double beam_mass_g_mm = 0;
  double beam_thickness_mm = 0;  ///< along y: what a pin is engaged over
  BarSection pin;
  BarSection axle;
  Material pin_material, axle_material;
  double axle_mass_g_mm = 0;
  double pin_mass_g = 0;
  double bedding_mpa = 0;   ///< c above, N/mm per mm
  Clearance pin_clearance;  ///< engaged_mm 0 = the beam's thickness
  Clearance axle_clearance;
};

struct Boom {
  int sides = 2;       ///< 2, or 1: one row at y = plane pitches
  int length_p = 0;    ///< from the foot pivot (station 0) to the tip, where the load hangs from a cross axle
  double inner_p = 0;  ///< y of plane 0; one side: unused
  std::vector<BoomBeam> beams;
  std::vector<BoomPin> pins;
  std::vector<BoomAxle> axles;  ///< besides those of foot, tip and actuator
  std::vector<BoomTie> ties;
  BoomActuator actuator;
  BoomFoot foot;
  BoomParts parts;
};

/// A stage beyond the tip counts as stiff: it grips the tip axle in every beam (its own actuator stands on the boom).
struct BoomLoad {
  double luff_rad = 0;        ///< boom above what carries it
  double carrier_rad = 0;     ///< and that above level: a stage below
  double side_slope_rad = 0;  ///< the ground's, pulling everything to +y
  double tip_mass_g = 0;
  double side_force_n = 0;           ///< more where the gauges are, along +y: a swinging load, wind
  std::array<double, 2> mass_mm{};   ///< where the tip's mass acts, from the tip, boom's x and z
  std::array<double, 2> gauge_mm{};  ///< where sag, sway and roll are taken, from the tip, boom's x and z
};

/// What is wrong with a description, with stations and planes; a boom without a fault may still be a mechanism.
[[nodiscard]] std::optional<std::string> fault(const Boom& boom);

enum class Gauge { sag, sway, roll };  ///< tip along -z (mm), along y (mm), about x (rad)
enum class Way { bends, twists, stretches, yields, plays };
[[nodiscard]] std::string_view name_of(Gauge gauge);
[[nodiscard]] std::string_view name_of(Way way);

struct Source {
  std::string part;  ///< "beam 0-14 in plane 0", "axle at 5", "pin at 3, planes 0-1", both sides together
  Way way = Way::bends;
  double value = 0;  ///< mm or rad, positive when it adds to the total
  double share = 0;  ///< of the gauge's total; shares sum to 1 unless the total is 0
};
/// elastic is signed (positive as in Gauge). play, to either side: how far the tip can be moved before anything
/// resists; play_at_least: a motion that was found possible (free_play stops within 0.2 % of play, or after its last
/// round); play_bound: what play can never exceed under any load. total = |elastic| + play.
struct GaugeReport {
  double elastic = 0, play = 0, play_at_least = 0, play_bound = 0, total = 0;
  std::vector<Source> sources;  ///< greatest first; ties by name and way
  /// Shares of one part or one way, summed.
  [[nodiscard]] double share_of(std::string_view part) const;
  [[nodiscard]] double share_of(Way way) const;
};

struct BoomReport {
  std::optional<std::string> mechanism;  ///< what moves freely; nothing else is set then
  GaugeReport sag, sway, roll;
  double rock_rad = 0;          ///< sway.total over the distance from the foot to the gauge, to either side
  double actuator_force_n = 0;  ///< of all actuators together; positive pushes
  double mass_g = 0;            ///< beams, axles and pins
  [[nodiscard]] const GaugeReport& at(Gauge gauge) const;
};

/// KW_CHECK: no fault.
[[nodiscard]] BoomReport judge(const Boom& boom, const BoomLoad& load);
/// Only one gauge and what belongs to it, for comparing variants.
[[nodiscard]] BoomReport judge(const Boom& boom, const BoomLoad& load, Gauge only);

/// What the turntable's backlash and rocking give to a gauge, to either side; part of the gauge's play.
[[nodiscard]] double turntable_play(const Boom& boom, const BoomLoad& load, Gauge gauge);

/// The boom as a frame, with the clearance of each joint (same index) and the loads: for buckling and for drawing.
struct BoomFrame {
  Frame frame;
  std::vector<Clearance> clearances;
  std::vector<bool> actuator;  ///< per joint
  Loads loads;
  int tip = 0;  ///< node
};
[[nodiscard]] BoomFrame frame_of(const Boom& boom, const BoomLoad& load);
/// Linear buckling of the whole boom under its loads.
[[nodiscard]] Buckling buckling(const Boom& boom, const BoomLoad& load, const BucklingOptions& options = {});

/// Stations whose hole is taken in a beam (pins, axles, ties, actuator, foot, tip), ascending.
[[nodiscard]] std::vector<int> taken_holes(const Boom& boom, const BoomBeam& beam);
/// The lowest-plane beam with holes at both stations; nullopt if none.
[[nodiscard]] std::optional<BoomBeam> innermost(const Boom& boom, int from_p, int to_p);

}  // namespace structure
