// Kind "grip": jaws closed by a four-bar on the lattice, driven by a motor.
#pragma once

#include "candidate/kind.h"
#include "functions/grip/wants.h"

namespace functions::grip {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::grip
