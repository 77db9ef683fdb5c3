// A motor or hub between two halves of a frame, alone or with beams tied beside it: how far the load sinks and sways,
// and what pins and housing bear. Pure; mm, N, N mm, MPa.
#pragma once

#include "functions/frame/wants.h"
#include "stock/part.h"

namespace functions::frame {

struct Carried {
  double sag_mm = 0, sway_mm = 0, roll_rad = 0;
  double housing_share = 0, pin_share = 0, beam_share = 0;  ///< of the sag, sum 1
  double pin_n = 0;                                         ///< most loaded pin
  double pull_n = 0;  ///< most along a pin that can slip out of its hole: one whose half is pinned on that face only
  double housing_mpa = 0;  ///< bending and stretch of the shell, most
  double beam_mpa = 0;     ///< the same of a beam beside it; 0 without
};

/// Space frame (structure/frame.h): what holds the near half and what is pinned to the far half are taken as stiff; the
/// load hangs on the latter. Beams beside the body are pinned at all its holes. `level` of housing, beams and beddings.
[[nodiscard]] Carried carry(const Wants&, const stock::KitSystem&, int beams, structure::Level level);

/// Bending stress that a housing of ABS bears for good: half the yield stress of 44 MPa (Terluran GP-35 data sheet; the
/// half is assumed, as of beams).
inline constexpr base::Triple kHousing_mpa{15, 22, 30};

}  // namespace functions::frame
