// Supports of a machine that lifts, as bodies of the engine's description. Not for other folders.
#pragma once

#include <string>

#include "balance/standing.h"

namespace trial {

/// Springs on feet named "foot0", "foot1", ... that may leave the ground, and the beams they hang on, for the inside of
/// the base's body, which stands in the supports' frame.
[[nodiscard]] std::string feet_description(const balance::SupportState& state);

}  // namespace trial
