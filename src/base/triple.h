// A figure that is not known exactly: lowest, most likely and highest value, and seeded draws from it.
//
// Draws are counter based: draw k of parameter p depends on (seed, p, k) only, never on what was drawn before, so every
// part of the program sees the same world in draw k, in any order and on any number of threads.
// Distribution: triangular over [low, high] with its peak at nominal (inverse of the cumulative distribution; any
// textbook on simulation). Generator: SplitMix64 finaliser (Steele, Lea, Flood, OOPSLA 2014).
#pragma once

#include <cstdint>
#include <string_view>

namespace base {

struct Triple {
  double low = 0;
  double nominal = 0;
  double high = 0;

  static constexpr Triple exact(double value) { return {value, value, value}; }
  /// nominal with a relative half-width, e.g. spread(5, 0.1) = {4.5, 5, 5.5}.
  static constexpr Triple spread(double value, double relative) {
    const double half = value < 0 ? -value * relative : value * relative;
    return {value - half, value, value + half};
  }
  [[nodiscard]] constexpr bool ordered() const { return low <= nominal && nominal <= high; }
  friend bool operator==(const Triple&, const Triple&) = default;
};

/// Uniform number in [0, 1) for (seed, stream, index).
[[nodiscard]] double uniform_draw(std::uint64_t seed, std::uint64_t stream, std::uint64_t index);

/// Triangular draw from `triple`; equal bounds give the nominal value itself.
[[nodiscard]] double triangular_draw(const Triple& triple, double uniform);

/// Stable 64-bit hash of a name (FNV-1a), used as a stream number.
[[nodiscard]] std::uint64_t stream_of(std::string_view name);

}  // namespace base
