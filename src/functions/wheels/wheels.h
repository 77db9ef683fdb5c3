// Kind "wheels": a vehicle's driven axles, with a differential, on one solid axle or wheel by wheel.
#pragma once

#include "candidate/kind.h"
#include "functions/wheels/wants.h"

namespace functions::wheels {

[[nodiscard]] candidate::Kind kind();

}  // namespace functions::wheels
