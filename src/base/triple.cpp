#include "base/triple.h"

#include <cmath>

namespace base {
namespace {

std::uint64_t mix(std::uint64_t z) {
  z += 0x9e3779b97f4a7c15ULL;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31);
}

}  // namespace

double uniform_draw(std::uint64_t seed, std::uint64_t stream, std::uint64_t index) {
  const std::uint64_t bits = mix(mix(mix(seed) ^ stream) ^ index);
  return static_cast<double>(bits >> 11) * 0x1.0p-53;
}

double triangular_draw(const Triple& t, double u) {
  const double width = t.high - t.low;
  if (!(width > 0)) return t.nominal;
  const double left = (t.nominal - t.low) / width;
  if (u < left) return t.low + std::sqrt(u * width * (t.nominal - t.low));
  return t.high - std::sqrt((1 - u) * width * (t.high - t.nominal));
}

std::uint64_t stream_of(std::string_view name) {
  std::uint64_t h = 0xcbf29ce484222325ULL;
  for (const char c : name) h = (h ^ static_cast<unsigned char>(c)) * 0x100000001b3ULL;
  return h;
}

}  // namespace base
