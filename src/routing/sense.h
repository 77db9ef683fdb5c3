// Sense of rotation of a layout's outputs, from the kinds and places of its meshes.
//
// Rotation is counted by the right hand about the positive axis. At the point of contact both wheels have the same
// velocity, w_a x r_a = w_b x r_b, which gives for w_b / w_a:
//   spur, outer ring   -1                inner ring  +1
//   bevel, crown       -s_a s_b          s_a: +1 when wheel a stands at the greater coordinate of its own axis, seen
//                                        from the line of the other; s_b likewise
//   worm               s                 right-handed thread, s: +1 when the driven wheel's line lies from the worm's
//                                        towards worm axis x wheel axis. Right-handed: common practice, no source.
#pragma once

#include <vector>

#include "routing/layout.h"

namespace routing {

/// Per output of the problem: +1 or -1, the sign of its rotation about its own positive axis when the input turns
/// positively about the input's; 0 where the meshes do not lead there.
[[nodiscard]] std::vector<int> output_senses(const Problem&, const Layout&);

}  // namespace routing
