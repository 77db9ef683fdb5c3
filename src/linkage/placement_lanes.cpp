#include "linkage/placement_lanes.h"

#include <cmath>
#include <cstring>
#include <limits>

#if defined(__x86_64__) && defined(__GNUC__)
#define KW_LANES_WIDE 1
#endif

namespace linkage::lanes {
namespace {

/// Vectors of one register: 4 lanes everywhere, 8 where the processor has them. Every lane does the same operations in
/// both.
struct Narrow {
  static constexpr int kCount = 4;
  using Floats = float __attribute__((vector_size(16)));
  using Ints = std::int32_t __attribute__((vector_size(16)));
};
#ifdef KW_LANES_WIDE
struct Wide {
  static constexpr int kCount = 8;
  using Floats = float __attribute__((vector_size(32)));
  using Ints = std::int32_t __attribute__((vector_size(32)));
};
bool has_wide() {
  static const bool wide = __builtin_cpu_supports("avx2");
  return wide;
}
#endif
// The bodies are inlined into a function per width, which is compiled for that width's instructions.
#define KW_INLINE inline __attribute__((always_inline))

constexpr float kInfinity = std::numeric_limits<float>::infinity();
constexpr float kError = 5e-7F;

template <class Floats>
KW_INLINE void load(Floats& to, const float* from) {
  std::memcpy(&to, from, sizeof to);
}
template <class Ints>
KW_INLINE bool any(const Ints& mask) {
  std::uint64_t part[sizeof mask / 8];
  std::memcpy(part, &mask, sizeof part);
  std::uint64_t all = 0;
  for (const std::uint64_t p : part) all |= p;
  return all != 0;
}
template <class Ints>
KW_INLINE std::int32_t sum(const Ints& of) {
  std::int32_t total = 0;
  for (std::size_t i = 0; i < sizeof of / 4; ++i) total += of[i];
  return total;
}
template <class Floats>
KW_INLINE void roots(Floats& of) {
  for (std::size_t i = 0; i < sizeof of / 4; ++i) of[i] = __builtin_sqrtf(of[i]);
}

template <class Lanes>
KW_INLINE void classify_in(const Rods& rods, const Limits& limits, const Ends& ends, const Records& records,
                           std::int32_t* state, Tally& tally) {
  using Floats = typename Lanes::Floats;
  using Ints = typename Lanes::Ints;
  constexpr auto kMost = static_cast<std::size_t>(kMostActuators);
  const std::size_t lanes = rods.x.size(), actuators = limits.closed_sq.size();
  const Floats zero = {};
  const Ints one = Ints{} + 1;
  // Masks are -1 where true: counts are sums of masks, negated at the end.
  Ints dead_count = {}, lever_count = {}, other_count = {}, short_count[kMost] = {}, long_count[kMost] = {},
       stroke_count[kMost] = {};
  Ints nearer = {};
  const float lever_record = records.lever_sq;
  for (std::size_t i = 0; i < lanes; i += Lanes::kCount) {
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
    const Ints low_negative = low_cross < zero, high_negative = high_cross < zero;
    const Floats low_size = low_negative ? -low_cross : low_cross;
    const Floats high_size = high_negative ? -high_cross : high_cross;
    const Floats least_size = low_size < high_size ? low_size : high_size;
    Ints unsure = least_size <= t;
    const Ints dead = low_negative ^ high_negative;
    const Floats inner = least_size - t;
    const Floats part = inner * inner * (inverse * ends.inverse_square);

    // Levers: cross^2 against least lever^2 x L^2, with the bound of both.
    const Floats low_gap = low_size * low_size - limits.min_lever_sq * low_sq;
    const Floats high_gap = high_size * high_size - limits.min_lever_sq * high_sq;
    const Floats slack = limits.min_lever_sq * t4 + t * t;
    const Floats low_slack = 2.0F * low_size * t + slack, high_slack = 2.0F * high_size * t + slack;
    unsure |= (low_gap * low_gap <= low_slack * low_slack) | (high_gap * high_gap <= high_slack * high_slack);
    const Ints small = (low_gap < zero) | (high_gap < zero);
    const Ints other =
        ~(unsure | dead) & ((low_negative & limits.wrong_negative) | (~low_negative & limits.wrong_positive));
    const Ints fallen = ~unsure & dead, weak = ~(unsure | dead | other) & small;
    Ints live = ~(unsure | dead | small | other);
    dead_count += fallen;
    other_count += other;
    lever_count += weak;
    const Floats low_up = low_size + t, high_up = high_size + t;
    nearer |= (fallen & (part < zero + records.part)) | (weak & (low_up * low_up > lever_record * (low_sq - t4)) &
                                                         (high_up * high_up > lever_record * (high_sq - t4)));
    Ints serves = {};
    if (any(live)) {
      const Ints longer = low_sq > high_sq;
      const Floats most = longer ? low_sq : high_sq, least = longer ? high_sq : low_sq;
      const Floats bound_sq = t4 * t4;
      Ints close = {};
      for (std::size_t a = 0; a < actuators; ++a) {
        const Floats to_open = most - limits.open_sq[a], to_closed = least - limits.closed_sq[a];
        close |= (to_open * to_open <= bound_sq) | (to_closed * to_closed <= bound_sq);
      }
      unsure |= live & close;
      live &= ~close;
      const Floats over = most - t4, under = least + t4;
      Ints any_both = {};
      for (std::size_t a = 0; a < actuators; ++a) {
        const Ints is_long = least<zero + limits.closed_sq[a], is_short = most> zero + limits.open_sq[a];
        serves |= ~(is_long | is_short);
        const Ints only_short = live & ~is_long & is_short, only_long = live & is_long & ~is_short;
        const Ints both = live & is_long & is_short;
        short_count[a] += only_short;
        long_count[a] += only_long;
        stroke_count[a] += both;
        any_both |= both;
        nearer |=
            (only_short & (over < zero + records.short_sq[a])) | (only_long & (under > zero + records.long_sq[a]));
      }
      if (any(any_both)) {
        Floats long_root = over, short_root = under;
        roots(long_root);
        roots(short_root);
        // Roots and their difference are rounded once each.
        const Floats stroke = long_root - short_root - 2e-7F * long_root;
        for (std::size_t a = 0; a < actuators; ++a) {
          const Ints both = live & (least < zero + limits.closed_sq[a]) & (most > zero + limits.open_sq[a]);
          nearer |= both & (stroke < zero + records.stroke_hp[a]);
        }
      }
    }
    const Ints out = (live & serves & (one * kSurvives)) | (unsure & (one * kUnsure));
    std::memcpy(&state[i], &out, sizeof out);
  }
  tally.nearer = any(nearer);
  tally.dead_centre = -sum(dead_count);
  tally.lever = -sum(lever_count);
  tally.other_side = -sum(other_count);
  for (std::size_t a = 0; a < actuators; ++a) {
    tally.too_short[a] = -sum(short_count[a]);
    tally.too_long[a] = -sum(long_count[a]);
    tally.stroke[a] = -sum(stroke_count[a]);
  }
}

template <class Lanes>
KW_INLINE void peaks_in(const float* x, const float* z, std::size_t count, const float* base_x, const float* base_z,
                        const float* moment_sq, std::size_t angles, float* peak) {
  using Floats = typename Lanes::Floats;
  // Two vectors at a time hide the divider's latency.
  std::size_t i = 0;
  for (; i + 2 * Lanes::kCount <= count; i += 2 * Lanes::kCount) {
    Floats x0, z0, x1, z1, peak0 = {}, peak1 = {};
    load(x0, x + i);
    load(z0, z + i);
    load(x1, x + i + Lanes::kCount);
    load(z1, z + i + Lanes::kCount);
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
    std::memcpy(peak + i + Lanes::kCount, &peak1, sizeof peak1);
  }
  for (; i < count; i += Lanes::kCount) {
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

template <class Lanes>
KW_INLINE void bound_in(const float* x, const float* z, const float* peak, std::size_t count, const Ends& ends,
                        Bounds& out) {
  using Floats = typename Lanes::Floats;
  using Ints = typename Lanes::Ints;
  const Floats zero = {};
  for (std::size_t i = 0; i < count; i += Lanes::kCount) {
    Floats rx, rz, force;
    load(rx, x + i);
    load(rz, z + i);
    load(force, peak + i);
    const Floats scale = rx * rx + rz * rz + ends.square, t4 = 4.0F * kError * scale;
    const Floats low_dx = rx - ends.low_x, low_dz = rz - ends.low_z;
    const Floats high_dx = rx - ends.high_x, high_dz = rz - ends.high_z;
    const Floats low_sq = low_dx * low_dx + low_dz * low_dz, high_sq = high_dx * high_dx + high_dz * high_dz;
    const Floats low_cross = ends.low_x * rz - ends.low_z * rx, high_cross = ends.high_x * rz - ends.high_z * rx;
    const Floats low_size = low_cross < zero ? -low_cross : low_cross;
    const Floats high_size = high_cross < zero ? -high_cross : high_cross;
    const Floats least_size = low_size < high_size ? low_size : high_size;
    const Ints longer = low_sq > high_sq;
    const Floats most = longer ? low_sq : high_sq, least = longer ? high_sq : low_sq;
    // Cross product and length are least at an end of the travel (see placement.h); twice the lanes' own bound.
    const Floats off = 2.0F * kError * (scale * (1.0F / least_size + 4.0F / least) + 2.0F);
    const Ints rough = ~(off < zero + 0.25F);
    Floats long_root = most - t4, short_root = least + t4;
    roots(force);
    roots(long_root);
    roots(short_root);
    const Floats force_low = rough ? zero : force * (1.0F - off);
    const Floats force_high = rough ? zero + kInfinity : force * (1.0F + 2.0F * off);
    const Floats stroke = long_root - short_root - 2e-7F * long_root;
    const Floats stroke_low = stroke > zero ? stroke : zero;
    std::memcpy(&out.force_low[i], &force_low, sizeof force_low);
    std::memcpy(&out.force_high[i], &force_high, sizeof force_high);
    std::memcpy(&out.least_sq[i], &least, sizeof least);
    std::memcpy(&out.most_sq[i], &most, sizeof most);
    std::memcpy(&out.stroke_low[i], &stroke_low, sizeof stroke_low);
  }
}

}  // namespace

std::size_t padded(std::size_t count) {
  return (count + kLanes - 1) / kLanes * kLanes;
}

#ifdef KW_LANES_WIDE
namespace {
__attribute__((target("avx2"))) void classify_wide(const Rods& rods, const Limits& limits, const Ends& ends,
                                                   const Records& records, std::int32_t* state, Tally& tally) {
  classify_in<Wide>(rods, limits, ends, records, state, tally);
}
}  // namespace
#endif
void classify(const Rods& rods, const Limits& limits, const Ends& ends, const Records& records, std::int32_t* state,
              Tally& tally) {
#ifdef KW_LANES_WIDE
  if (has_wide()) return classify_wide(rods, limits, ends, records, state, tally);
#endif
  classify_in<Narrow>(rods, limits, ends, records, state, tally);
}

#ifdef KW_LANES_WIDE
namespace {
__attribute__((target("avx2"))) void peaks_wide(const float* x, const float* z, std::size_t count, const float* base_x,
                                                const float* base_z, const float* moment_sq, std::size_t angles,
                                                float* peak) {
  peaks_in<Wide>(x, z, count, base_x, base_z, moment_sq, angles, peak);
}
}  // namespace
#endif
void peaks(const float* x, const float* z, std::size_t count, const float* base_x, const float* base_z,
           const float* moment_sq, std::size_t angles, float* peak) {
#ifdef KW_LANES_WIDE
  if (has_wide()) return peaks_wide(x, z, count, base_x, base_z, moment_sq, angles, peak);
#endif
  peaks_in<Narrow>(x, z, count, base_x, base_z, moment_sq, angles, peak);
}

#ifdef KW_LANES_WIDE
namespace {
__attribute__((target("avx2"))) void bound_wide(const float* x, const float* z, const float* peak, std::size_t count,
                                                const Ends& ends, Bounds& out) {
  bound_in<Wide>(x, z, peak, count, ends, out);
}
}  // namespace
#endif
void bound(const float* x, const float* z, const float* peak, std::size_t count, const Ends& ends, Bounds& out) {
#ifdef KW_LANES_WIDE
  if (has_wide()) return bound_wide(x, z, peak, count, ends, out);
#endif
  bound_in<Narrow>(x, z, peak, count, ends, out);
}

}  // namespace linkage::lanes
