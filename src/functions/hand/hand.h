// Kind "hand": what fingers work on the model: knobs behind a train, pushers to a buried switch, latches.
#pragma once

#include "candidate/kind.h"
#include "functions/hand/wants.h"

namespace functions::hand {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::hand
