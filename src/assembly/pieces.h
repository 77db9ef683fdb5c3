// The pieces of a layout as the search sees them: stacks of axis-parallel boxes. A cylinder is cut into thin slabs,
// each as wide as the cylinder at its widest there, so that nothing is ever smaller than it is. Inside of assembly/.
#pragma once

#include <vector>

#include "assembly/order.h"
#include "routing/solids.h"

namespace assembly {

/// Thickness of a slab as a share of the clearance that layouts keep. A slab sticks out of its cylinder by no more than
/// its thickness, two pieces by twice as much; that must stay below the clearance, or parts that just pass each other
/// would seem to touch.
inline constexpr double kSlabShare = 0.4;
inline constexpr double kThinnestSlabHp = 1.0 / 128;
/// Overlaps below this are touching. Half-pitches.
inline constexpr double kTouchHp = 1e-6;

struct Slab {
  std::array<double, 3> low_hp{}, high_hp{};  ///< by axis
};

struct PieceSolid {
  routing::PlacedSolid::Role role = routing::PlacedSolid::Role::wheel;
  lattice::Axis axis = lattice::Axis::y;  ///< of the line it sits on
  lattice::Cross at;
  Slab hull;
  std::vector<Slab> slabs;
};

/// How two wheels that mesh may part.
struct MeshParting {
  int driver = -1, driven = -1;  ///< pieces
  routing::PairType type = routing::PairType::spur;
};

struct TerminalHold {
  int body = -1, axle = -1;  ///< pieces
  lattice::Way out;          ///< the axle leaves the body this way
};

struct Assembly {
  std::vector<Piece> pieces;
  std::vector<std::vector<PieceSolid>> solids;  ///< by piece
  std::vector<MeshParting> meshes;
  std::vector<TerminalHold> terminals;
};

/// Pieces in a fixed order: walls, bodies, rings, then shaft by shaft in the order of their letters: axle, wheels,
/// bushes, attachments.
[[nodiscard]] Assembly assembly_of(const routing::Problem&, const routing::Layout&);

}  // namespace assembly
