// First stage: from files to the brief.
#pragma once

#include <memory>

#include "design/design.h"

namespace design {

/// Reads project, kit system and stock and builds the brief; null when there was an error. Every problem is reported.
/// `beside`, when given, gets what the project tells that is no part of the brief: its zones and publication.
[[nodiscard]] std::shared_ptr<const brief::Brief> read_brief(const Options& options, document::Diagnostics& diagnostics,
                                                             Result* beside = nullptr);

}  // namespace design
