#include "lattice/space.h"

#include <bit>

#include "base/text.h"

namespace lattice {

void sort_once(std::vector<Point3>& points) {
  if (points.empty()) return;
  Point3 low = points.front(), high = low;
  for (const Point3& p : points) {
    for (const Axis a : kAxes) {
      low.set(a, std::min(low.at(a), p.at(a)));
      high.set(a, std::max(high.at(a), p.at(a)));
    }
  }
  const auto size = [&](Axis a) { return static_cast<std::size_t>(std::int64_t{high.at(a)} - low.at(a)) + 1; };
  const std::size_t nx = size(Axis::x), ny = size(Axis::y), nz = size(Axis::z);
  // Solids fill their box well enough to be ticked off in it; a few points far apart are sorted.
  constexpr std::size_t kMostPerPoint = 64;
  const std::size_t most = kMostPerPoint * points.size();
  if (nx > most || ny > most / nx || nz > most / (nx * ny)) {
    std::sort(points.begin(), points.end());
    points.erase(std::unique(points.begin(), points.end()), points.end());
    return;
  }
  // One bit a point, whole words for each column along z.
  const std::size_t words = (nz + 63) / 64;
  std::vector<std::uint64_t> ticked(nx * ny * words, 0);
  for (const Point3& p : points) {
    const auto z = static_cast<std::size_t>(p.z_hp - low.z_hp);
    ticked[(static_cast<std::size_t>(p.x_hp - low.x_hp) * ny + static_cast<std::size_t>(p.y_hp - low.y_hp)) * words +
           z / 64] |= std::uint64_t{1} << (z % 64);
  }
  points.clear();
  std::size_t at = 0;
  for (int x = low.x_hp; x <= high.x_hp; ++x) {
    for (int y = low.y_hp; y <= high.y_hp; ++y) {
      for (int z = low.z_hp; z <= high.z_hp; z += 64) {
        for (std::uint64_t bits = ticked[at++]; bits != 0; bits &= bits - 1)
          points.push_back({x, y, z + std::countr_zero(bits)});
      }
    }
  }
}

std::string pitches_text(const Point3& p) {
  return "(" + base::plain(p.x_hp / 2.0) + ", " + base::plain(p.y_hp / 2.0) + ", " + base::plain(p.z_hp / 2.0) + ")";
}

std::string pitches_text(const Box3& b) {
  std::string out;
  for (const Axis a : kAxes) {
    if (a != Axis::x) out += ", ";
    out += letter(a);
    out += " " + base::plain(b.low.at(a) / 2.0) + " to " + base::plain(b.high.at(a) / 2.0);
  }
  return out;
}

}  // namespace lattice
