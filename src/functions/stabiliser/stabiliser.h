// Kind "stabiliser": legs that swing down beside the machine by screw actuators and lift it or widen its stance.
#pragma once

#include "candidate/kind.h"

namespace functions::stabiliser {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::stabiliser
