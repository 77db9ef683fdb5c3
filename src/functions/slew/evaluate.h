// What a slewing drive reaches with one set of parameters: pure, for the nominal figures and for every draw.
#pragma once

#include "functions/drive/drive.h"
#include "functions/slew/turning.h"
#include "functions/slew/wants.h"

namespace functions::slew {

struct Variant {
  drive::Powertrain powertrain;  ///< ends on the ring, or on the slewing axle for bevel and worm
  stock::ClassId ring{};         ///< driven or only bearing
  double bearing_radius_mm = 0;
};

/// The moved body with all bodies that hang on it, in their zero pose, and the payload straight ahead of it.
[[nodiscard]] Slewed slewed(const Wants&, const brief::Brief&, double mass_factor);
[[nodiscard]] Need needed(const Wants&, const brief::Brief&, double bearing_radius_mm, const brief::Sample&);
[[nodiscard]] candidate::Evaluation evaluate(const Variant&, const Wants&, const brief::Brief&, int sides,
                                             const brief::Sample&);

}  // namespace functions::slew
