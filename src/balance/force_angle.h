// Force-angle measure of tip-over stability: any force and moment on the machine, supports at any heights.
//
// Per tip-over axis from support p_i to p_i+1, with a its unit vector, l the perpendicular from the centre to the axis,
// f = (1 - a a^T) F the part of the force that can tip, and the moment about the axis as an equivalent force
// l^ x (a a^T M)/|l|:
//   angle = +- acos(f*^ . l^),  measure = angle x |d| x |f*|,  d the perpendicular from the axis to f*'s line.
// Papadopoulos & Rey, "The force-angle measure of tipover stability margin for mobile manipulators", Vehicle System
// Dynamics 33(1), 2000, p. 29-48 (formula from memory). The measure falls when the machine is top-heavy or lightly
// pressed.
#pragma once

#include <span>

#include "balance/mass.h"

namespace balance {

/// Force and moment about the centre of gravity on the machine, everything but the ground's: weight, pull of a rope,
/// wind.
struct Wrench {
  double fx_n = 0, fy_n = 0, fz_n = 0;
  double mx_nmm = 0, my_nmm = 0, mz_nmm = 0;
};
/// Adds a force acting at a point, with its moment about `centre`.
[[nodiscard]] Wrench with_force(Wrench wrench, Vec3 centre, Vec3 at, double fx_n, double fy_n, double fz_n);

struct ForceAngle {
  int edge = -1;           ///< from corner `edge` to the next
  double angle_rad = 0;    ///< negative: tips about this edge
  double measure_nmm = 0;  ///< its least over all edges is the margin
};
/// Corners counter-clockwise seen from above, at least three, no two in one place. The edge with the least measure.
[[nodiscard]] ForceAngle force_angle(std::span<const Vec3> corners, Vec3 centre, const Wrench& wrench);

}  // namespace balance
