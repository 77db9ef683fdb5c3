// Clocks and answer hashes of the benchmarks.
#pragma once

#include <time.h>

#include <cmath>
#include <cstdint>

namespace bench {

inline double now_ms(clockid_t clock) {
  timespec t{};
  clock_gettime(clock, &t);
  return static_cast<double>(t.tv_sec) * 1e3 + static_cast<double>(t.tv_nsec) * 1e-6;
}

inline constexpr std::uint64_t kHashStart = 0xcbf29ce484222325;
/// FNV-1a over the value rounded to 1e-7; what is not finite counts alike.
inline void mix(std::uint64_t& hash, double value) {
  const auto rounded = std::isfinite(value) ? static_cast<std::uint64_t>(std::llround(value * 1e7)) : ~std::uint64_t{0};
  for (int i = 0; i < 8; ++i) {
    hash ^= rounded >> (8 * i) & 0xff;
    hash *= 0x100000001b3;
  }
}

}  // namespace bench
