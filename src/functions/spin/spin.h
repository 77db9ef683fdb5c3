// Kind "spin": one motor turns several things for show, each within its range of speeds.
#pragma once

#include "candidate/kind.h"

namespace functions::spin {

[[nodiscard]] candidate::Kind kind();
[[nodiscard]] candidate::Proposal propose(const brief::Function&, const candidate::Wants&, const brief::Brief&,
                                          const base::RunControl&);

}  // namespace functions::spin
