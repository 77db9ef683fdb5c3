// Kind "slew": a motor and train that turn an upper body on a turntable, against its bearing, a slope and its inertia.
#pragma once

#include "candidate/kind.h"

namespace functions::slew {

[[nodiscard]] candidate::Kind kind();
[[nodiscard]] candidate::Proposal propose(const brief::Function&, const candidate::Wants&, const brief::Brief&,
                                          const base::RunControl&);

}  // namespace functions::slew
