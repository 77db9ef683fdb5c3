// A routed train: every shaft, wheel, bearing, bush and axle in its place.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "lattice/cells.h"
#include "routing/problem.h"

namespace routing {

/// How the outer bearings of a shaft stand to what it carries.
enum class Support {
  straddled,
  overhung_low,
  overhung_high
};  ///< overhung_high: the load lies beyond the last bearing

struct PlacedShaft {
  Axis axis = Axis::y;
  Cross at;
  int axle = -1;                 ///< index into Kit::axles
  int from_hp = 0, to_hp = 0;    ///< the whole axle, terminal inserts included
  std::vector<int> bearings_hp;  ///< middles of the walls that hold it, ascending
  std::vector<int> bushes_hp;    ///< low side of each bush (Kit::bush_hp long), ascending
  Support support = Support::straddled;
  int output = -1;  ///< index into Problem::outputs if it is one's shaft
  bool input = false;
  int motors = 0;  ///< terminals that hold it (input motors, or an output's terminal)
};

struct PlacedWheel {
  int wheel = -1;  ///< index into Kit::wheels
  int shaft = -1;  ///< index into Layout::shafts; -1: a ring
  Axis axis = Axis::y;
  Cross at;
  double from_hp = 0, to_hp = 0;  ///< along the axis; whole numbers for wheels of parallel stages
  bool overhung = false;          ///< not between two bearings
};

struct PlacedMesh {
  int pair = -1;                 ///< index into Kit::pairs
  int driver = -1, driven = -1;  ///< indices into Layout::wheels
  int misfit_um = 0;
};

struct Layout {
  int input = 0;                    ///< number of an input: input_of()
  std::vector<int> place;           ///< which place of each output
  std::vector<PlacedShaft> shafts;  ///< shafts[0] carries the motor
  std::vector<PlacedWheel> wheels;
  std::vector<PlacedMesh> meshes;      ///< from the input outwards, output by output
  std::vector<base::Rational> ratios;  ///< of each output, signed
  std::vector<int> idlers;             ///< of each output: wheels that only pass the motion on
  std::int64_t cost = 0;               ///< see cost_of()
  Box3 envelope;                       ///< of everything but the terminals' bodies
};

/// Points of a layout, lower is better. Whole numbers, so that equal means equal.
/// Chosen so that a part weighs as much as 0.1 mm of misfit or ten pitches of axle; a wheel that is not held on both
/// sides costs two parts, a bevel or crown there four, because their teeth part under load (common practice, no
/// source).
struct Weights {
  static constexpr std::int64_t part = 100;            ///< wheel, axle, joiner, bush
  static constexpr std::int64_t bearing = 50;          ///< wall hole
  static constexpr std::int64_t axle_pitch = 10;       ///< per pitch of axle
  static constexpr std::int64_t misfit_um = 1;         ///< per micrometre and mesh
  static constexpr std::int64_t overhung = 200;        ///< per wheel
  static constexpr std::int64_t overhung_angle = 400;  ///< per bevel or crown instead
  static constexpr std::int64_t envelope_hp = 2;       ///< per half-pitch of length + width + height
};

/// Points of an axle beside its part: its length, and when joined the second piece and the joiner.
[[nodiscard]] constexpr std::int64_t axle_cost(const AxleStock& axle) {
  return Weights::axle_pitch * axle.length_p + (axle.joined() ? 2 * Weights::part : 0);
}

/// Where the two axles of a joined shaft meet, half-pitches along it; empty: one axle.
[[nodiscard]] std::optional<int> joint_hp(const Kit&, const PlacedShaft&);

/// Length of an axle for people, in pitches: "7", joined "7 + 8", the low end's first.
[[nodiscard]] std::string axle_text(const Kit&, int axle);

/// Sum over the layout: wheels (rings apart), axles, joiners, bushes, bearings, axle lengths, misfits, overhung wheels,
/// envelope.
[[nodiscard]] std::int64_t cost_of(const Problem&, const Layout&);

/// Box of everything but the terminals' bodies and the axle inside them, rounded outwards to half-pitches.
[[nodiscard]] Box3 envelope_of(const Problem&, const Layout&);

/// Stable text of what is where: "in 4,6 y | 8@3>24 ..." Two layouts are the same when it is equal.
[[nodiscard]] std::string key_of(const Problem&, const Layout&);

/// For people, one line: "8:24 · 12:20, 3 shafts, 4 x 3 x 5 pitches".
[[nodiscard]] std::string text_of(const Problem&, const Layout&);

/// Cells that any solid of the layout enters, terminals' bodies and attachments included.
[[nodiscard]] lattice::Cells cells_of(const Problem&, const Layout&);

}  // namespace routing
