// What a routing problem is made of: toothed wheels as solids, which of them mesh at which lattice offsets, walls of
// beams that hold the shafts, the input, the outputs, and what is in the way.
//
// Lengths along the lattice are whole half-pitches (_hp); radii and faces millimetres. A slot is one half-pitch of a
// shaft, [k, k + 1] hp. Ratios are driven speed / driver speed, signed. The folder knows numbers only: functions/drive
// fills them in from gearing and stock.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/rational.h"
#include "base/shared_vector.h"
#include "lattice/lattice.h"
#include "lattice/space.h"

namespace routing {

using lattice::Axis;
using lattice::Box3;
using lattice::Cross;
using lattice::Point3;

/// A toothed wheel as a solid. A ring turns on its own bearing, has no axle and may be open inside.
struct Wheel {
  std::string name;  ///< for people: "24", "crown 24", "ring 52"
  int id = -1;       ///< the caller's own number of the part class
  int teeth = 0;     ///< worm: starts
  double pitch_radius_mm = 0;
  double outer_radius_mm = 0;  ///< tip circle
  double open_radius_mm = 0;   ///< ring: free inside this radius (tips of the inner teeth); 0 = solid
  double face_mm = 0;          ///< along the shaft
  int width_hp = 1;            ///< slots it takes: the face in half-pitches, rounded up
  bool ring = false;
  bool sided = false;                ///< crown: the teeth stand on one face
  int count = 0;                     ///< pieces in the stock
  double inner_pitch_radius_mm = 0;  ///< ring with teeth on both sides: of those inside; 0 = pitch_radius_mm
};

/// spur, ring_outer, ring_inner: parallel shafts. bevel, crown: the shafts meet at a right angle. worm: they cross at a
/// right angle, `offsets` apart.
enum class PairType { spur, bevel, crown, worm, ring_outer, ring_inner };
[[nodiscard]] constexpr bool parallel(PairType t) {
  return t == PairType::spur || t == PairType::ring_outer || t == PairType::ring_inner;
}

/// One offset at which a pair meshes: dx >= dz >= 0 hp, all mirror images and the swap meant.
struct PairOffset {
  int dx_hp = 0, dz_hp = 0;
  int misfit_um = 0;  ///< |offered - nominal centre distance|, rounded to the nearest micrometre
};

/// An ordered pair that meshes.
struct Pair {
  int driver = -1, driven = -1;  ///< indices into Kit::wheels
  PairType type = PairType::spur;
  base::Rational ratio;             ///< driven / driver, signed
  std::vector<PairOffset> offsets;  ///< bevel, crown: empty
};

/// Pitch radius of the teeth of a wheel that take part in a mesh of this type.
[[nodiscard]] constexpr double mesh_radius_mm(const Wheel& w, PairType type) {
  return type == PairType::ring_inner && w.inner_pitch_radius_mm > 0 ? w.inner_pitch_radius_mm : w.pitch_radius_mm;
}

struct AxleStock {
  int id = -1;  ///< the caller's own number of the part class
  int length_p = 0;
  int count = 0;
  /// Two axles end to end in a joiner: indices into Kit::axles, the one at the low end first. Has neither id nor count.
  int low_part = -1, high_part = -1;
  [[nodiscard]] constexpr bool joined() const { return low_part >= 0; }
};

/// What there is to build with, as geometry. `copies` sides are built from it.
struct Kit {
  double pitch_mm = 8;
  double addendum_mm = 1;     ///< of the teeth: how far a crown's teeth stand before its pitch plane
  double axle_radius_mm = 0;  ///< over the arms
  double bush_radius_mm = 0;
  int bush_hp = 1;            ///< slots a bush takes: 1, or 2 where the stock has no half-length ones
  double clearance_mm = 0.3;  ///< kept between solids that do not touch by design
  // Every layout holds its kit, so copies share these.
  base::SharedVector<Wheel> wheels;
  base::SharedVector<Pair> pairs;
  base::SharedVector<AxleStock> axles;  ///< ascending by length, one entry a length; joined ones behind (join_axles())
  /// Sleeves that hold the ends of two axles together, as thick as a bush: pieces in the stock and length, even.
  int joiners = 0, joiner_hp = 0;
  int copies = 1;  ///< sides: every part is taken this often
  [[nodiscard]] double half_pitch_mm() const { return pitch_mm / 2; }
};

/// Adds the joined axles to a kit whose single axles and joiners are known: every two of its axles, in both orders. A
/// joiner counts as two parts more, so a single axle that serves and is left is preferred.
void join_axles(Kit&);

/// Something that holds the end of a shaft and turns it or is turned by it: a motor, an actuator's input.
struct Terminal {
  Axis axis = Axis::y;
  Point3 face;        ///< where the shaft leaves the body
  int direction = 1;  ///< +1: the shaft runs towards greater coordinates
  int insert_hp = 2;  ///< axle inside the body
  std::vector<Box3> solids;
  std::string name;
  bool swept = false;  ///< `solids` are the room that a moving body passes through; only drawings tell it apart
};

/// A solid of revolution that sits on an output shaft: sprocket, wheel, drum.
struct Attachment {
  int from_hp = 0, to_hp = 0;  ///< along the shaft
  double radius_mm = 0;
  std::string name;
};

/// One place where an output may be. Either a shaft (with what sits on it, or held by terminals) or a ring.
struct Place {
  Axis axis = Axis::y;
  Cross at;              ///< line of the shaft, centre of the ring
  int ring = -1;         ///< index into Kit::wheels; >= 0: no shaft, the last mesh drives this ring
  int ring_from_hp = 0;  ///< low side of the ring's teeth
  std::vector<Attachment> attachments;
  std::optional<Terminal> terminal;
  /// Holds the other end, facing `terminal`, which must then be there: a cross shaft from actuator to actuator. Its
  /// axle has exactly the length between them.
  std::optional<Terminal> far_terminal = {};
};

struct Output {
  std::string name;
  std::vector<Place> places;  ///< any of them serves
  base::Rational low{1};      ///< window of |output speed / input speed|, both ends included
  base::Rational high{1};
  int sense = 0;  ///< +1, -1: wanted sign of the ratio; 0: any. Only told apart between parallel shafts
};

/// One way the input may be: a motor, or two motors on one line that face each other.
struct Input {
  std::vector<Terminal> motors;  ///< all on the same line
};

/// Inputs side by side: the same motors on the free lines of a rectangle across their axis. For rooms in which a motor
/// has thousands of places.
struct InputField {
  Input at_origin;                 ///< the motors as they stand on the line (0, 0)
  Cross low;                       ///< the first line
  int columns = 0, rows = 0;       ///< lines along u and along v
  std::vector<std::uint8_t> free;  ///< [column * rows + row]: 1 = the motors may stand on that line
  [[nodiscard]] int lines() const { return columns * rows; }
  [[nodiscard]] Axis axis() const { return at_origin.motors.front().axis; }
  /// Number of a line within the field, -1 = it is outside or not free.
  [[nodiscard]] int number_of(Cross at) const {
    const int u = at.u_hp - low.u_hp, v = at.v_hp - low.v_hp;
    if (u < 0 || u >= columns || v < 0 || v >= rows) return -1;
    return free[static_cast<std::size_t>(u * rows + v)] != 0 ? u * rows + v : -1;
  }
  [[nodiscard]] Cross line(int number) const { return {low.u_hp + number / rows, low.v_hp + number % rows}; }
  [[nodiscard]] Input on(Cross at) const;  ///< the motors on that line
};

/// Planes of beams across each axis, by the coordinate of their middle; a beam is two slots thick. Ascending, at least
/// three apart. A shaft is held where it passes a wall; no parallel wheel stands in a wall.
struct Walls {
  std::array<std::vector<int>, 3> at_hp;  ///< by axis
  [[nodiscard]] const std::vector<int>& along(Axis a) const { return at_hp[static_cast<std::size_t>(index(a))]; }
};

struct Problem {
  Kit kit;
  Box3 box;  ///< nothing leaves it but the ends of axles listed as terminals
  Walls walls;
  std::vector<Box3> keep_outs;
  std::vector<Input> inputs;  ///< any of them serves
  /// And any of these. Their numbers follow those of `inputs`, field by field, lines that are not free included.
  std::vector<InputField> input_fields;
  std::vector<Output> outputs;
  /// Pairs in order from the input to output 0; empty: any. Further outputs are free.
  std::vector<std::vector<int>> trains;
  int most_stages = 3;         ///< meshes from the input to an output, idlers included; 1..kMostStages
  int most_idlers = 0;         ///< meshes more than the train's by wheels that only pass the motion on
  bool wheels_outside = true;  ///< false: no wheel of a parallel mesh stands beyond the outermost walls of its axis
  int most_right_angles = 1;   ///< bevel, crown and worm meshes to an output
};

/// Whether the input has a place at all.
[[nodiscard]] bool has_inputs(const Problem&);
/// The input of a number, as Layout::input has it. A number of none: KW_CHECK.
[[nodiscard]] Input input_of(const Problem&, int number);

inline constexpr int kMostStages = 6;
inline constexpr int kMostOutputs = 4;

}  // namespace routing
