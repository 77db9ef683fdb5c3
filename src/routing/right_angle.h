// Where the wheels of a right-angle mesh stand, which their shafts' lines fix but for the side. Inside of routing/.
#pragma once

#include <utility>

#include "routing/problem.h"

namespace routing {

/// Interval of a wheel along its shaft, hp, not always whole: `meet` is the coordinate where the other shaft passes,
/// `side` +1 or -1 the side of it (worm: none, both are the same).
[[nodiscard]] std::pair<double, double> right_angle_interval(const Kit&, PairType, const Wheel& wheel,
                                                             const Wheel& other, int meet, int side);

/// Whether a wheel keeps to the box, out of the walls of its axis and clear of keep-outs there.
[[nodiscard]] bool stands_alone(const Problem&, const Wheel&, Axis, Cross, std::pair<double, double> along_hp);

}  // namespace routing
