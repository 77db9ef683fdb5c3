// The judge's pieces, for itself and for the enumerator of the tests: what one shaft needs to be held, and the solids
// of a layout. Part of kw_routing_checker; the search does not see it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "routing/checker_geometry.h"
#include "routing/layout.h"
#include "routing/problem.h"

namespace routing {

/// Along a shaft, in half-pitches; whole or not.
struct Span {
  double from_hp = 0, to_hp = 0;
};

/// Touching along a shaft, in half-pitches.
inline constexpr double kTouchHp = 1e-7;
[[nodiscard]] inline bool overlaps(Span a, Span b) {
  return (a.to_hp < b.to_hp ? a.to_hp : b.to_hp) - (a.from_hp > b.from_hp ? a.from_hp : b.from_hp) > kTouchHp;
}

/// What is known of a shaft before it is held: the terminals that are on it and what sits on it.
struct ShaftLoad {
  Axis axis = Axis::y;
  std::vector<const Terminal*> terminals;
  std::vector<Span> items;  ///< wheels and attachments
};

/// How a load must be held with a given kind of support; `fault` says why it cannot be, in one sentence.
struct Holding {
  std::string fault;
  std::vector<int> bearings_hp, bushes_hp;
  int reach_from_hp = 0, reach_to_hp = 0;              ///< the axle covers this
  bool low_end_fixed = false, high_end_fixed = false;  ///< by a terminal
};
[[nodiscard]] Holding holding(const Problem& problem, const ShaftLoad& load, Support support);

/// Why an axle [from, to] does not serve a holding; empty = it does. Clashes apart.
[[nodiscard]] std::string axle_fault(const Problem& problem, Axis axis, const Holding& held, int from_hp, int to_hp);

/// Whether a wheel of a parallel mesh stands beyond the outermost walls although Problem::wheels_outside is off.
[[nodiscard]] bool beyond_walls(const Problem& problem, Axis axis, Span wheel);

/// Whether `item` has a bearing or a terminal on both sides.
[[nodiscard]] bool held_on_both_sides(const ShaftLoad& load, const std::vector<int>& bearings_hp, Span item);

enum class SolidKind { wheel, axle, bush, attachment, bearing, terminal, keep_out, joiner };

struct Solid {
  SolidKind kind = SolidKind::wheel;
  int shaft = -1;  ///< -1: ring, terminal, keep-out
  int index = -1;  ///< of the wheel, the terminal in terminals_of(), the attachment of its shaft; bearing: its wall
  Shape shape;
  std::optional<Block> in_box;  ///< what of it must lie in the box; empty: nothing
};

/// A terminal in use and the shaft it is on (-1 if no shaft of the layout stands there).
struct UsedTerminal {
  const Terminal* terminal = nullptr;
  int shaft = -1;
};
[[nodiscard]] std::vector<UsedTerminal> terminals_of(const Problem& problem, const Layout& layout);
[[nodiscard]] ShaftLoad load_of(const Problem& problem, const Layout& layout, int shaft);

/// "wheel 24", "bearing in the wall at 4 hp of shaft 1".
[[nodiscard]] std::string name_of(const Problem& problem, const Layout& layout, const Solid& solid);
[[nodiscard]] Solid wheel_solid(const Problem& problem, const PlacedWheel& wheel, int index);
/// Axle, bushes and bearings of a shaft.
[[nodiscard]] std::vector<Solid> shaft_solids(const Problem& problem, const PlacedShaft& shaft, int index,
                                              const std::vector<const Terminal*>& terminals);
/// Everything: the layout's parts, attachments, bodies of terminals in use, keep-outs.
[[nodiscard]] std::vector<Solid> solids_of(const Problem& problem, const Layout& layout);
/// Attachments, bodies of terminals in use, keep-outs: what stands before any part is placed.
[[nodiscard]] std::vector<Solid> fixed_solids(const Problem& problem, const Layout& layout);

/// Whether two solids have to keep clear of each other and do not. `meshes` of the layout exempt their two wheels;
/// `used` says which terminal holds which shaft.
[[nodiscard]] bool solids_clash(const Problem& problem, const std::vector<PlacedMesh>& meshes,
                                const std::vector<UsedTerminal>& used, const Solid& a, const Solid& b);

/// Cost and envelope as the rules define them.
struct Figures {
  std::int64_t cost = 0;
  Box3 envelope;
};
[[nodiscard]] Figures figures_of(const Problem& problem, const Layout& layout);

/// The part of check() that knows no geometry: the tree, paths, ratios, senses, limits and given trains.
[[nodiscard]] std::vector<std::string> check_structure(const Problem& problem, const Layout& layout);

/// Why the two wheels of a mesh do not stand as its pair needs; empty = they do. Misfit and offset for a parallel pair
/// are judged too.
[[nodiscard]] std::string mesh_fault(const Problem& problem, const PlacedWheel& driver, const PlacedWheel& driven,
                                     const PlacedMesh& mesh);

}  // namespace routing
