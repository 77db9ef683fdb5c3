// Kind "luff": a boom, stick or arm raised and lowered by a screw actuator.
#pragma once

#include "candidate/kind.h"

namespace functions::luff {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::luff
