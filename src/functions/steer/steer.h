// Kind "steer": a motor and train that turn the wheels of an axle through a crank, a drag link and a track rod.
#pragma once

#include "candidate/kind.h"

namespace functions::steer {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::steer
