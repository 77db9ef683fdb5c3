// What a boom does in the plane it luffs in under a load at its tip: how far it gives and where its beams are most
// strained, per newton. For load charts.
//
// Stress in a beam at a hole: N/A + M_y/W_y + M_z/W_z with the net section there (a bar without the hole's strip):
//   A = (h - d) b,   W_y = b (h^3 - d^3)/(6 h),   W_z = (h - d) b^2/6,
// h height, b breadth, d hole. Nominal stress of any textbook; peaks at the hole's edge are not in it, so the allowable
// must be one for parts with holes. Pins, axles and their holes are not looked at.
#pragma once

#include <optional>
#include <string>

#include "structure/boom.h"
#include "structure/sections.h"

namespace structure {

struct BoomInPlane {
  std::optional<std::string> mechanism;  ///< what moves freely; nothing else is set then
  double give_mm_per_n = 0;              ///< of the tip across the boom, downwards
  double stress_mpa_per_n = 0;           ///< greatest in any beam
  std::string weakest;                   ///< that beam, both sides together
  double arm_mm = 0;                     ///< of the force about the foot's pivot, level
};
/// For one newton straight down at the boom's gauge point (its tip unless `load` says otherwise), all weights left out;
/// `load` gives the posture and that point. Linear, free play taken up. KW_CHECK: no fault.
[[nodiscard]] BoomInPlane in_plane(const Boom& boom, const BoomLoad& load, const HoledBar& bar);

}  // namespace structure
