// Kind "hoist": a load raised by a rope wound on a drum.
#pragma once

#include "candidate/kind.h"

namespace functions::hoist {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::hoist
