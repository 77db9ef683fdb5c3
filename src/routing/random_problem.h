// Small routing problems made from a seed, for tests only: invented wheels on an invented lattice, boxes of a few
// pitches, every sort of mesh, several outputs, obstacles, given trains; some can be built and some cannot.
#pragma once

#include <cstdint>

#include "routing/problem.h"

namespace routing::test {

/// SplitMix64: the same numbers on every machine.
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
  }
  int in(int low, int high) { return low + static_cast<int>(next() % static_cast<std::uint64_t>(high - low + 1)); }
  bool chance(int percent) { return in(1, 100) <= percent; }

 private:
  std::uint64_t state_;
};

/// What a problem may hold.
struct Sort {
  int most_stages = 3;
  int most_stages_wide = 2;  ///< with right angles or two outputs, where there is much more to enumerate
  int inside_percent = 25;   ///< Problem::wheels_outside off
  int loose_percent = 60;    ///< plenty of room, stock and play in the ratio
  int two_outputs_percent = 20;
  int right_angle_percent = 30;  ///< bevels, crowns or worms among the wheels, walls across a second axis
  int ring_percent = 10;
  int idler_percent = 30;
  int trains_percent = 20;
  int keep_out_percent = 30;
  int two_motors_percent = 8;
  int output_terminal_percent = 10;
  int far_terminal_percent = 30;  ///< of those, held at both ends
  int copies_percent = 10;
  int full_bush_percent = 0;  ///< bushes of a whole pitch only
  int joiner_percent = 0;     ///< short axles only, with joiners
  /// Three meshes lead to the outputs, one of them at a right angle and one by an idler; larger boxes.
  int corner_idler_percent = 0;
};

[[nodiscard]] Problem random_problem(std::uint64_t seed, const Sort& sort = {});

/// Every pair that these wheels make on the lattice: parallel ones with all offsets within `misfit_mm`. `bevels` are
/// the wheels that also mesh as bevels; a wheel with one tooth is a worm.
[[nodiscard]] std::vector<Pair> pairs_of(const Kit& kit, const std::vector<bool>& bevels, double misfit_mm);

/// A spur wheel of module 1 with one slot of face.
[[nodiscard]] Wheel spur_wheel(int teeth, int count, int width_hp = 1, double half_pitch_mm = 4);

}  // namespace routing::test
