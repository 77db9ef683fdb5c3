// Loads on the shafts of a layout: how much axle is twisted, how far wheels hang out, what the teeth press, and what
// the bearings give back.
//
// Positions are millimetres along the shaft's axis, forces newtons. A shaft along `axis` is bent in two perpendicular
// planes, (axis, u) and (axis, v), with u and v as in lattice::Cross; they do not influence each other.
#pragma once

#include <vector>

#include "routing/layout.h"
#include "routing/problem.h"

namespace routing {

/// A piece of axle that carries the turning moment from where it comes in to where it goes out.
struct Twist {
  int from_wheel = -1;            ///< index into Layout::wheels; -1: the motor (of two the nearer)
  int to_wheel = -1;              ///< index into Layout::wheels; -1: an attachment or the output's terminal
  double length_mm = 0;           ///< between the middles of the faces; a terminal counts from its face
  double from_mm = 0, to_mm = 0;  ///< along the axis
};

struct WheelStand {
  int wheel = -1;
  double middle_mm = 0;    ///< of its face
  double overhang_mm = 0;  ///< middle of the face to the nearest support; 0 between two supports
};

struct ShaftSpan {
  std::vector<double> supports_mm;  ///< middles of the bearings and faces of the terminals, ascending
  double spacing_mm = 0;            ///< first to last support
  std::vector<WheelStand> wheels;   ///< in the order of Layout::wheels
  std::vector<Twist> twists;        ///< one for every way out of the shaft
};

/// By index into Layout::shafts.
[[nodiscard]] std::vector<ShaftSpan> shaft_spans(const Problem&, const Layout&);

/// A load on a shaft, by its place and its components across it.
struct PointLoad {
  double at_mm = 0;
  double u_n = 0, v_n = 0;
  /// Couples in the planes (axis, u) and (axis, v), positive like a force +u just beyond and -u just before the place.
  /// They come from axial forces at the pitch radius.
  double couple_u_nmm = 0, couple_v_nmm = 0;
  double axial_n = 0;  ///< along the axis; borne by the bushes, not by the bearings
  int wheel = -1;      ///< index into Layout::wheels of what it acts on, -1 = something else
};

/// What every mesh presses on its shafts, by index into Layout::shafts.
/// `tangential_n[i]` is the force of mesh i along the pitch circle of its driven wheel (worm: along the worm's axis);
/// `pressure_angle_rad` in (0, pi/2) is the normal one. `input_sense` +1: shaft 0 turns right-handed about +axis.
/// Separating forces: spur F tan a; bevel F tan a split by the pitch cone; crown F tan a off the pinion; worm
/// (right-handed, without friction) F tan a / cos g and F tan g with tan g = lead / circumference. Shigley (Budynas &
/// Nisbett), chapter 13, force analysis. A ring has no shaft and takes none. Wrong sizes are faults of the caller:
/// KW_CHECK.
[[nodiscard]] std::vector<std::vector<PointLoad>> tooth_loads(const Problem&, const Layout&,
                                                              const std::vector<double>& tangential_n,
                                                              double pressure_angle_rad, int input_sense = 1);

struct Reaction {
  double at_mm = 0;
  double u_n = 0, v_n = 0;  ///< of the bearing on the shaft
  [[nodiscard]] double size_n() const;
};

/// What the supports (at least two, ascending, distinct) give: a straight beam of even stiffness on rigid points that
/// hold both ways. Two supports: statics alone. More: Clapeyron's theorem of three moments, independent of the
/// stiffness; play in the holes, which lets the middle ones off, is not counted.
[[nodiscard]] std::vector<Reaction> bearing_reactions(const std::vector<double>& supports_mm,
                                                      const std::vector<PointLoad>& loads);

/// A wheel beyond the supports and what it does to the axle there.
struct Overhang {
  int wheel = -1;          ///< index into Layout::wheels
  double overhang_mm = 0;  ///< middle of its face to the last support
  double force_n = 0;      ///< across the shaft, all loads on the wheel together
  double bending_nmm = 0;  ///< moment at the last support by all loads beyond it, root of the squares of both planes
};
/// In the order of the span's wheels.
[[nodiscard]] std::vector<Overhang> overhangs(const ShaftSpan&, const std::vector<PointLoad>&);

/// Greatest bending moment on the shaft, N mm, over supports and loads: root of the squares of both planes.
[[nodiscard]] double most_bending_nmm(const std::vector<Reaction>& reactions, const std::vector<PointLoad>& loads);

}  // namespace routing
