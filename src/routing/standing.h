// What stands at the places of outputs in every case, whatever the train. Inside of routing/.
#pragma once

#include "routing/ready.h"

namespace routing {

/// Whether the ring, the attachments and the terminals' bodies of a place keep to the box, out of walls and keep-outs,
/// and apart. Where they do not, nothing can be built.
[[nodiscard]] bool stands_there(const Problem&, const Place&);
/// Hull of the bodies of a place's terminals; empty: it has none.
[[nodiscard]] std::optional<Box3> bodies_hull(const Place&);

}  // namespace routing
