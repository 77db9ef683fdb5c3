// Pieces of an engine model's text that several models share: places, turns, and a lifting machine's bodies.
#pragma once

#include <string>

#include "balance/lifting_machine.h"

namespace trial {

/// "x y z" in metres.
[[nodiscard]] std::string place_text(balance::Vec3 at);
/// Quaternion of a turn about a unit axis.
[[nodiscard]] std::string quat_text(balance::Vec3 axis, double rad);
/// The opening tag of a body's frame as its joint is set (radians or millimetres); whatever turns or slides is then
/// fixed in it.
[[nodiscard]] std::string open_frame(const std::string& name, const balance::Body&, double set);
/// The spring of a joint's give at this setting, half critically damped for a fifth of a kilogram; empty where it gives
/// nothing.
[[nodiscard]] std::string give_joint(const balance::LiftingBody&, double set);
/// Mass at its centre, spread like a ball of this radius of gyration; 0.1 g at least.
[[nodiscard]] std::string inertial_text(const balance::Body&, double gyration_mm);

}  // namespace trial
