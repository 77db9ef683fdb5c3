// The placement sweep in single precision, eight lanes at a time: it decides what single precision can decide and says
// which pairs need double. Lengths in half-pitches from the pivot, so lattice points are exact.
//
// Errors are bounded, not hoped for: with t = 5e-7 (|A|^2 + |R|^2), A x R is known within t and L^2 within 4 t (a
// handful of roundings of 6e-8 each, with a factor of three to spare). Whatever lies within its bound of a limit is
// left to double. Lanes are explicit vectors: every lane does plain IEEE operations in a fixed order, so the result is
// the same on any processor; on x86 the wider of two versions is taken when the processor has it.
#pragma once

#include <cstdint>
#include <vector>

namespace linkage::lanes {

inline constexpr int kLanes = 8;  ///< of the widest version; arrays are padded to it
/// classify() keeps that many actuators' counts in registers and stack; the caller takes double for longer lists.
inline constexpr int kMostActuators = 16;
/// Lanes above `count` are padded with zeros.
[[nodiscard]] std::size_t padded(std::size_t count);

/// Rod mounts, one per lane.
struct Rods {
  std::vector<float> x, z, square, inverse_square;  ///< padded; square = x^2 + z^2
};

struct Limits {
  float min_lever_sq = 0;
  std::int32_t wrong_positive = 0, wrong_negative = 0;  ///< -1: pairs with such a cross product are not looked into
  std::vector<float> closed_sq, open_sq;                ///< per actuator
};

/// The base mount turned into the moving body's frame at both ends of the travel.
struct Ends {
  float low_x = 0, low_z = 0, high_x = 0, high_z = 0;
  float square = 0, inverse_square = 0;  ///< of the mount's distance from the pivot
};

/// The nearest misses known so far, each loosened by what single precision may be off.
struct Records {
  float part = 0;                                   ///< sin^2 beyond a dead centre, least
  float lever_sq = 0;                               ///< of levers that are too small, largest; -1 = none yet
  std::vector<float> short_sq, long_sq, stroke_hp;  ///< per actuator: least, largest (-1 = none yet), least
};

/// What is certain about one base mount's pairs.
struct Tally {
  std::int32_t dead_centre = 0, lever = 0, other_side = 0;
  std::vector<std::int32_t> too_short, too_long, stroke;  ///< per actuator
  bool nearer = false;                                    ///< some pair may be a nearer miss than those on record
};

inline constexpr std::int32_t kFell = 0, kSurvives = 1, kUnsure = 2;

/// Judges all rods against one base mount; `state` per padded lane. Unsure lanes are in no count.
void classify(const Rods& rods, const Limits& limits, const Ends& ends, const Records& records, std::int32_t* state,
              Tally& tally);

/// Largest moment_sq L^2/(A x R)^2 over the angles for `count` (padded) pairs of one base mount; base_x, base_z,
/// moment_sq per angle.
void peaks(const float* x, const float* z, std::size_t count, const float* base_x, const float* base_z,
           const float* moment_sq, std::size_t angles, float* peak);

/// Bounds on what pairs that certainly survive reach: force as root of the peak, lengths at the ends, stroke.
struct Bounds {
  std::vector<float> force_low, force_high, least_sq, most_sq, stroke_low;  ///< padded
};
/// For `count` (padded) pairs of one base mount. A force that single precision cannot tell is from 0 to infinity.
void bound(const float* x, const float* z, const float* peak, std::size_t count, const Ends& ends, Bounds& out);

}  // namespace linkage::lanes
