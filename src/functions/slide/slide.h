// Kind "slide": a stage that moves along a line, by a screw actuator, by rack and pinion, or by hand with pins.
#pragma once

#include "candidate/kind.h"
#include "functions/slide/wants.h"

namespace functions::slide {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::slide
