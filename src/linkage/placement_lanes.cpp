#include "linkage/placement_lanes.h"

#include <cmath>
#include <cstring>
#include <limits>

// Versions for wider processors, chosen when the program is loaded. Not under sanitizers: their runtime is not up yet
// when the choice is made.
#if defined(__x86_64__) && defined(__ELF__) && defined(__GNUC__) && !defined(__clang__) && !defined(KW_SANITIZED)
#define KW_LANES_DISPATCH __attribute__((target_clones("avx2", "default")))
#else
#define KW_LANES_DISPATCH
#endif

namespace linkage::lanes {
namespace {

using Floats = float __attribute__((vector_size(4 * kLanes)));
using Ints = std::int32_t __attribute__((vector_size(4 * kLanes)));

constexpr float kInfinity = std::numeric_limits<float>::infinity();
constexpr float kError = 5e-7F;

inline __attribute__((always_inline)) void load(Floats& to, const float* from) {
  std::memcpy(&to, from, sizeof to);
}
inline __attribute__((always_inline)) void roots(Floats& of) {
  for (int i = 0; i < kLanes; ++i) of[i] = __builtin_sqrtf(of[i]);
}

}  // namespace

std::size_t padded(std::size_t count) {
  return (count + kLanes - 1) / kLanes * kLanes;
}

KW_LANES_DISPATCH
void classify(const Rods& rods, const Limits& limits, const Ends& ends, std::int32_t* state, Tally& tally) {
  constexpr auto kMost = static_cast<std::size_t>(kMostActuators);
  const std::size_t lanes = rods.x.size(), actuators = limits.closed_sq.size();
  const Floats zero = {};
  const Floats infinite = zero + kInfinity;
  const Ints one = Ints{} + 1;
  Ints dead_count = {}, lever_count = {}, short_count[kMost] = {}, long_count[kMost] = {}, stroke_count[kMost] = {};
  Floats part_least = infinite, lever_most = zero;
  Floats short_least[kMost], long_most[kMost] = {}, stroke_least[kMost];
  for (std::size_t a = 0; a < actuators; ++a) short_least[a] = stroke_least[a] = infinite;
  for (std::size_t i = 0; i < lanes; i += kLanes) {
    Floats x, z, square, inverse;
    load(x, &rods.x[i]);
    load(z, &rods.z[i]);
    load(square, &rods.square[i]);
    load(inverse, &rods.inverse_square[i]);
    const Floats t = kError * (square + ends.square), t4 = 4.0F * t;
    const Floats low_dx = x - ends.low_x, low_dz = z - ends.low_z;
    const Floats high_dx = x - ends.high_x, high_dz = z - ends.high_z;
    const Floats low_sq = low_dx * low_dx + low_dz * low_dz, high_sq = high_dx * high_dx + high_dz * high_dz;
    const Floats low_cross = ends.low_x * z - ends.low_z * x, high_cross = ends.high_x * z - ends.high_z * x;
    const Floats low_size = low_cross < zero ? -low_cross : low_cross;
    const Floats high_size = high_cross < zero ? -high_cross : high_cross;
    const Floats least_size = low_size < high_size ? low_size : high_size;
    Ints unsure = least_size <= t;
    const Ints dead = (low_cross < zero) ^ (high_cross < zero);
    const Floats inner = least_size - t;
    const Floats part = inner * inner * (inverse * ends.inverse_square);

    // Levers: cross^2 against least lever^2 x L^2, both with their bounds.
    const Floats low_gap = low_cross * low_cross - limits.min_lever_sq * low_sq;
    const Floats high_gap = high_cross * high_cross - limits.min_lever_sq * high_sq;
    const Floats slack = limits.min_lever_sq * t4 + t * t;
    const Floats low_slack = 2.0F * low_size * t + slack, high_slack = 2.0F * high_size * t + slack;
    unsure |=
        ((low_gap <= low_slack) & (low_gap >= -low_slack)) | ((high_gap <= high_slack) & (high_gap >= -high_slack));
    const Ints small = (low_gap < zero) | (high_gap < zero);
    const Floats low_up = low_size + t, high_up = high_size + t;
    const Floats low_room = low_sq - t4, high_room = high_sq - t4;
    unsure |= (low_room <= zero) | (high_room <= zero);
    const Floats low_lever = low_up * low_up / low_room, high_lever = high_up * high_up / high_room;
    const Floats lever = low_lever < high_lever ? low_lever : high_lever;

    const Ints longer = low_sq > high_sq;
    const Floats most = longer ? low_sq : high_sq, least = longer ? high_sq : low_sq;
    for (std::size_t a = 0; a < actuators; ++a) {
      const Floats to_open = most - limits.open_sq[a], to_closed = least - limits.closed_sq[a];
      unsure |= ((to_open <= t4) & (to_open >= -t4)) | ((to_closed <= t4) & (to_closed >= -t4));
    }
    const Ints fallen = ~unsure & dead, weak = ~unsure & ~dead & small, live = ~unsure & ~dead & ~small;
    const Floats dead_part = fallen ? part : infinite;
    part_least = dead_part < part_least ? dead_part : part_least;
    const Floats weak_lever = weak ? lever : zero;
    lever_most = weak_lever > lever_most ? weak_lever : lever_most;
    dead_count += fallen & one;
    lever_count += weak & one;
    Floats long_root = most - t4, short_root = least + t4;
    roots(long_root);
    roots(short_root);
    // Roots and their difference are rounded once each.
    const Floats stroke = long_root - short_root - 2e-7F * long_root;
    Ints serves = {};
    for (std::size_t a = 0; a < actuators; ++a) {
      const Ints is_long = least < zero + limits.closed_sq[a];
      const Ints is_short = most > zero + limits.open_sq[a];
      serves |= ~is_long & ~is_short;
      const Ints only_short = live & ~is_long & is_short, only_long = live & is_long & ~is_short,
                 both = live & is_long & is_short;
      short_count[a] += only_short & one;
      long_count[a] += only_long & one;
      stroke_count[a] += both & one;
      const Floats over = only_short ? most - t4 : infinite, under = only_long ? least + t4 : zero,
                   lacking = both ? stroke : infinite;
      short_least[a] = over < short_least[a] ? over : short_least[a];
      long_most[a] = under > long_most[a] ? under : long_most[a];
      stroke_least[a] = lacking < stroke_least[a] ? lacking : stroke_least[a];
    }
    const Ints out = (live & serves & (one * kSurvives)) | (unsure & (one * kUnsure));
    std::memcpy(&state[i], &out, sizeof out);
  }
  tally.dead_centre = tally.lever = 0;
  tally.part = kInfinity;
  tally.lever_sq = 0;
  for (int l = 0; l < kLanes; ++l) {
    tally.dead_centre += dead_count[l];
    tally.lever += lever_count[l];
    if (part_least[l] < tally.part) tally.part = part_least[l];
    if (lever_most[l] > tally.lever_sq) tally.lever_sq = lever_most[l];
  }
  for (std::size_t a = 0; a < actuators; ++a) {
    std::int32_t counts[3] = {};
    float nearest[3] = {kInfinity, 0, kInfinity};
    for (int l = 0; l < kLanes; ++l) {
      counts[0] += short_count[a][l];
      counts[1] += long_count[a][l];
      counts[2] += stroke_count[a][l];
      if (short_least[a][l] < nearest[0]) nearest[0] = short_least[a][l];
      if (long_most[a][l] > nearest[1]) nearest[1] = long_most[a][l];
      if (stroke_least[a][l] < nearest[2]) nearest[2] = stroke_least[a][l];
    }
    tally.too_short[a] = counts[0];
    tally.too_long[a] = counts[1];
    tally.stroke[a] = counts[2];
    tally.short_sq[a] = nearest[0];
    tally.long_sq[a] = nearest[1];
    tally.stroke_hp[a] = nearest[2];
  }
}

KW_LANES_DISPATCH
void peaks(const float* x, const float* z, std::size_t count, const float* base_x, const float* base_z,
           const float* moment_sq, std::size_t angles, float* peak) {
  // Two vectors at a time hide the divider's latency.
  std::size_t i = 0;
  for (; i + 2 * kLanes <= count; i += 2 * kLanes) {
    Floats x0, z0, x1, z1, peak0 = {}, peak1 = {};
    load(x0, x + i);
    load(z0, z + i);
    load(x1, x + i + kLanes);
    load(z1, z + i + kLanes);
    for (std::size_t k = 0; k < angles; ++k) {
      const float ax = base_x[k], az = base_z[k], m = moment_sq[k];
      const Floats dx0 = x0 - ax, dz0 = z0 - az, cross0 = ax * z0 - az * x0;
      const Floats dx1 = x1 - ax, dz1 = z1 - az, cross1 = ax * z1 - az * x1;
      const Floats force0 = m * (dx0 * dx0 + dz0 * dz0) / (cross0 * cross0);
      const Floats force1 = m * (dx1 * dx1 + dz1 * dz1) / (cross1 * cross1);
      peak0 = force0 > peak0 ? force0 : peak0;
      peak1 = force1 > peak1 ? force1 : peak1;
    }
    std::memcpy(peak + i, &peak0, sizeof peak0);
    std::memcpy(peak + i + kLanes, &peak1, sizeof peak1);
  }
  for (; i < count; i += kLanes) {
    Floats x0, z0, peak0 = {};
    load(x0, x + i);
    load(z0, z + i);
    for (std::size_t k = 0; k < angles; ++k) {
      const float ax = base_x[k], az = base_z[k];
      const Floats dx = x0 - ax, dz = z0 - az, cross = ax * z0 - az * x0;
      const Floats force = moment_sq[k] * (dx * dx + dz * dz) / (cross * cross);
      peak0 = force > peak0 ? force : peak0;
    }
    std::memcpy(peak + i, &peak0, sizeof peak0);
  }
}

}  // namespace linkage::lanes
