// What a steering design shows: figures, curves, its plan, notes for the builder.
#pragma once

#include "functions/steer/evaluate.h"

namespace functions::steer {

[[nodiscard]] std::string key_of(const Design&);
[[nodiscard]] std::string title_of(const Design&);
/// "(2, 0)": a hole in pitches, from the middle of the steered axle.
[[nodiscard]] std::string hole_text(lattice::Point2);
void present(const Design&, candidate::Candidate&);

}  // namespace functions::steer
