// Questions about the tree of bodies that several kinds ask.
#pragma once

#include <string_view>
#include <vector>

#include "brief/brief.h"

namespace brief {

/// The body whose lattice a body's parts stand on: the body itself, or the one it is fixed to. A lattice has its origin
/// at that body's joint, the chassis' at the machine's origin.
[[nodiscard]] int lattice_body(const std::vector<Body>& bodies, int body);
/// Origin of the lattice of such a body, machine frame, zero pose.
[[nodiscard]] Vec3 lattice_origin_mm(const std::vector<Body>& bodies, int lattice_body);

/// What a drive may stand out from a body's envelope when nobody said where it may stand, half-pitches: a motor's
/// length (invented).
inline constexpr int kAround_hp = 12;

/// True when `body` is `root` or hangs on it.
[[nodiscard]] bool hangs_on(const Brief& brief, int body, int root);

/// Index of the body with this id; -1 when there is none.
[[nodiscard]] int body_index(const Brief& brief, std::string_view id);

/// The body furthest out from `from` (itself included): most moving joints on the way, then most bodies, then the
/// first. So a boom comes before the ballast that is fixed beside it. `from` is a valid index.
[[nodiscard]] int outermost_body(const Brief& brief, int from);

/// End of a body's envelope on the side away from its joint, machine frame, zero pose.
[[nodiscard]] Vec3 far_end_mm(const Body& body);

}  // namespace brief
