// Kind "frame": a motor or hub that carries a part of the machine by its fixing holes.
#pragma once

#include "candidate/kind.h"
#include "functions/frame/wants.h"

namespace functions::frame {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::frame
