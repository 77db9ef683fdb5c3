// What the machine stands on: wheels and feet (points), crawlers (lines), rockers that share their load between two
// ends, each at its own height; who touches, with which load and pressure, and which polygon the machine tips over.
//
// A rocker is a beam on a pin across it: it hands its load to its ends in inverse proportion to their distance from the
// pin and holds the chassis at one point only, so the machine tips about the line through that point, not through the
// wheel. On a slope the pin's height moves that point downhill along the beam by height x slope (forces of the ground
// on one rocker are taken parallel to gravity). Rockers hang on rockers; their own masses belong to the machine's.
// Lines press as rigid tracks on an even bed: trapezoid or triangle along their length.
// Frame and slope as in support.h.
#pragma once

#include <string>
#include <vector>

#include "balance/support.h"

namespace balance {

/// Shares used by the earth-moving rule (ISO 10567 as quoted in the Kubota U25 operator manual, p. 69).
inline constexpr double kTippingShare = 0.75;
inline constexpr double kDriveShare = 0.87;

struct Support {
  std::string name;
  Point2 from, to;                 ///< ends of the contact line; equal for a wheel or a foot
  double width_mm = 0;             ///< across; 0: no pressure is given
  double print_mm = 0;             ///< length of the print of a point contact; lines have their own
  double stiffness_n_per_mm = 50;  ///< of the whole support. Default: our guess for a plastic wheel or pad
  double proud_mm = 0;             ///< ground under it above the plane, or how far a foot is driven below the others

  [[nodiscard]] bool is_line() const { return from.x_mm != to.x_mm || from.y_mm != to.y_mm; }
};

/// Ends count the supports first, then the rockers: end = supports.size() + k is rocker k, which must come earlier.
/// Both ends the same line: a track frame rocking on one pin.
struct Rocker {
  std::string name;
  int a = 0, b = 0;
  Vec3 pivot;  ///< middle of the pin; its foot lies between the ends
};

struct SupportState {
  std::string name;  ///< "on tracks", "feet down"
  std::vector<Support> supports;
  std::vector<Rocker> rockers;
  double tipping_share = kTippingShare;  ///< rated load over tipping load in this state
};

/// Empty when every end exists, is used once and has a length to rock over; otherwise what is wrong, naming the part.
[[nodiscard]] std::string fault_of(const SupportState& state);

/// Corners of the polygon the machine tips over, counter-clockwise. Empty when a rocker's pin is not over it on this
/// slope.
[[nodiscard]] std::vector<Point2> tipping_polygon(const SupportState& state, const Slope& slope = {});

/// One tipping line. When the machine is about to tip about it, its supports carry everything and the nearest others
/// nothing: it then leans by  load/stiffness/back  towards the line.
struct TippingEdge {
  Point2 from, to;
  double stiffness_n_per_mm = 0;  ///< of all supports that touch the line, each as a whole
  double back_mm = 0;             ///< distance of the nearest other support; of a line its far end
};
/// In the order of tipping_polygon's corners.
[[nodiscard]] std::vector<TippingEdge> tipping_edges(const SupportState& state, const Slope& slope = {});

struct SupportLoad {
  double load_n = 0;                   ///< normal to the plane
  double mean_kpa = 0, peak_kpa = 0;   ///< 0 when the support has no width
  std::vector<double> along_n_per_mm;  ///< lines: at kLineNodes equally spaced points from `from` to `to`
};
inline constexpr int kLineNodes = 17;

struct Standing {
  bool stands = false;   ///< false: the line of gravity leaves the polygon; all loads are then 0
  double margin_mm = 0;  ///< of the line of gravity to the polygon, negative outside
  std::vector<SupportLoad> supports;
  std::vector<double> rocker_load_n;
  int touching = 0;                                 ///< supports with load
  double sink_mm = 0, pitch_rad = 0, roll_rad = 0;  ///< pitch: nose up; roll: left side up; beyond the plane's slope
};
/// The machine at rest. KW_CHECK: fault_of(state) is empty.
[[nodiscard]] Standing stand(const SupportState& state, double weight_n, Vec3 centre, const Slope& slope = {});

/// As tipping_slope_rad of support.h, with rockers.
[[nodiscard]] double tipping_slope_rad(const SupportState& state, Vec3 centre, double downhill_rad);
[[nodiscard]] std::vector<double> tipping_slopes_rad(const SupportState& state, Vec3 centre, int directions);

}  // namespace balance
