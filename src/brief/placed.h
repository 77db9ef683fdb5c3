// Placed things and openables: boxes on a body's lattice, what they pass over and the ways kept clear. Inside of
// brief/.
#pragma once

#include "brief/brief.h"
#include "document/diagnostic.h"
#include "project/project.h"

namespace brief {

/// Half-pitch box of the lattice points inside the room; empty, with "brief.room_too_narrow", when it is less than a
/// pitch wide; empty without a word when no room was said.
[[nodiscard]] std::optional<lattice::Box3> build_room(const project::Room& room, document::Diagnostics& diagnostics);

/// Fills Brief::placed and Brief::openables; bodies and functions are there already. Reports unknown_way,
/// placed_in_placed, hinge_off_lattice and opens_nowhere.
void build_placed(const project::Project& project, double pitch_mm, Brief& out, document::Diagnostics& diagnostics);

}  // namespace brief
