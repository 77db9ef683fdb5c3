// In which order the parts of a laid-out train can be put in, computed: nothing is enclosed before its neighbours.
//
// Taken apart in thought: a part comes out when nothing left is in its way along one of the six ways of the lattice,
// all the way out. Building is that backwards. What blocks what along a way is a directed graph (directional blocking
// graphs: Wilson, Latombe, "Geometric reasoning about mechanical assembly", Artificial Intelligence 71 (1994) 371-396,
// from memory); parts that block each other in a ring are held together and go in as one, made up outside before. Where
// every way is one such ring no straight order exists, and that is the answer, with what would free it.
//
// Lengths along the lattice half-pitches (_hp) in the frame of the layout; x forward, y left, z up.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "lattice/space.h"
#include "lattice/sweep.h"
#include "routing/layout.h"
#include "routing/problem.h"

namespace assembly {

enum class PieceKind { wall, axle, wheel, ring, bush, attachment, body };

/// Name of the bush that holds the ends of two axles together.
inline constexpr std::string_view kJoiner = "joiner";

/// One thing that is put in as a whole.
struct Piece {
  PieceKind kind = PieceKind::wall;
  std::string name;  ///< "beams of the wall at y 3½", "axle 5", "gear 24", "bush", "motor"
  int shaft = -1;    ///< index into Layout::shafts; -1: wall, ring, a body that holds no shaft
  /// Wheel, ring: index into Layout::wheels; bush: into the shaft's bushes_hp; attachment: into its place's
  /// attachments; body: into routing::terminals(); wall: the coordinate of its middle, half-pitches.
  int index = -1;
  lattice::Axis axis = lattice::Axis::y;  ///< of its shaft; wall: across which it stands
  lattice::Cross at;                      ///< of its shaft's line, or a ring's; wall, body: not used
  double from_hp = 0, to_hp = 0;          ///< along `axis`
  std::vector<lattice::Cross> holes;      ///< wall: of the bearings in it, ascending
};

/// A piece brought to its place and held there while the axle is pushed through it.
struct Held {
  int piece = -1;
  lattice::Way way;  ///< it moves this way into its place
};

enum class StepSort {
  stand,    ///< beams of a wall, pinned to the frame
  put_in,   ///< a motor, ring, or anything slid to its place by itself
  push_on,  ///< a wheel, bush or attachment onto an axle that is in
  slide,    ///< an axle, through what stands and what is held
  bring     ///< what was made up outside, held together
};

struct Step {
  StepSort sort = StepSort::put_in;
  std::vector<int> pieces;   ///< that move together, indices into Order::pieces, ascending; `bring`: two or more
  std::vector<Held> held;    ///< `slide` only: brought to their places first, in this order
  lattice::Way way;          ///< the pieces move this way into their place, in a straight line from outside
  std::vector<int> through;  ///< `slide`: what the axle passes through, in the order it meets them
  int made_up = -1;          ///< step is done outside, for the group with this number; -1 = in the machine
  int group = -1;            ///< `bring`: number of the group that goes in; its steps stand before
  std::string text;          ///< for people: "Slide the axle 5 to the left through ..., hole x 3½, z 2"
};

/// Parts that no straight way takes apart.
struct Locked {
  std::vector<int> pieces;  ///< ascending; empty = nothing is locked
  /// One ring of parts each of which is in the way of the one before, for each of the six ways (lattice::kWays).
  std::vector<std::vector<int>> rings;
  std::vector<int> freed_by;  ///< each of these, were it not there, lets the others be put in; ascending
  std::string text;           ///< names them and says what helps
};

struct Order {
  std::vector<Piece> pieces;
  std::vector<Step> steps;  ///< first to last; without what is locked
  Locked locked;
  [[nodiscard]] bool complete() const { return locked.pieces.empty(); }
};

/// The order for one layout (one side of a mirrored pair). Deterministic: same layout, same bytes.
///
/// Beams of a wall count as the blocks round their bearings; what connects them is laid with them. A wheel in mesh
/// slides along its axis, or comes straight at the other one within the pressure angle (20 deg) of the line of centres;
/// bevels and crowns part along either axis, a worm away from its wheel. Motors and actuators let go of an axle only
/// along it. Keep-outs and what other functions put there are not looked at (see units.h).
[[nodiscard]] Order order_of(const routing::Problem&, const routing::Layout&);

/// The steps numbered, one a line, and what is locked; each line ends with a newline.
[[nodiscard]] std::string order_text(const Order&);

}  // namespace assembly
