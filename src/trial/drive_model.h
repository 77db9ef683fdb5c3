// Pieces of the engine's description that vehicles are made of. Not for other folders.
#pragma once

#include <string>

#include "balance/side_view.h"

namespace trial {

inline constexpr double kDeep_mm = 60;  ///< of the blocks that make the ground
/// What turns with a wheel, kg m^2: without it the friction of its contact would be soft, and a stiff shaft chatters.
inline constexpr double kWheelInertia = 2e-5;
/// Beams, N m s/rad and kg m^2: a light one chatters, and its contacts would be soft (the engine's contacts give in
/// proportion to how lightly what they touch moves).
inline constexpr double kRockerDamping = 4e-3, kRockerInertia = 2e-4;
/// The motors' turning parts seen at the ground, as a share of the vehicle's mass: a guess; counts while speeding up
/// only.
inline constexpr double kTurningShare = 0.3;

/// A slab whose upper face runs from a to b, in the middle plane.
[[nodiscard]] std::string slab(const char* name, balance::SidePoint a, balance::SidePoint b, double thick_mm,
                               double half_width_m, double friction);
[[nodiscard]] std::string ball(const std::string& name, balance::SidePoint at, double radius_mm, double friction);
/// Belt under two neighbouring wheels: a round bar between equal ones, else both wheels and the tangent under them.
[[nodiscard]] std::string belt_between(std::size_t i, const balance::SideWheel& a, const balance::SideWheel& b,
                                       double friction);

}  // namespace trial
