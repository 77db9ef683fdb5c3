// First stage: from files to the brief.
#pragma once

#include <memory>

#include "design/design.h"

namespace design {

/// Reads project, kit system and stock and builds the brief; null when there was an error. Every problem is reported.
[[nodiscard]] std::shared_ptr<const brief::Brief> read_brief(const Options& options,
                                                             document::Diagnostics& diagnostics);

}  // namespace design
