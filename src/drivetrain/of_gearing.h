// A gear train as the operating point sees it: magnitude of its ratio, losses both ways for one set of efficiencies.
#pragma once

#include "drivetrain/drivetrain.h"
#include "gearing/train_load.h"

namespace drivetrain {

/// A worm that locks comes out with backward efficiency 0: a helping load then asks nothing of the motor.
[[nodiscard]] Train train_of(const gearing::Train& train, const gearing::MeshEfficiencies& efficiencies);

}  // namespace drivetrain
