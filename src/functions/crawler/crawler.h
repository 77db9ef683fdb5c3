// Kind "crawler": tracks or rows of wheels driven side by side, steered by driving the sides against each other.
#pragma once

#include "candidate/kind.h"

namespace functions::crawler {

[[nodiscard]] candidate::Kind kind();
[[nodiscard]] candidate::Proposal propose(const brief::Function&, const candidate::Wants&, const brief::Brief&,
                                          const base::RunControl&);

}  // namespace functions::crawler
