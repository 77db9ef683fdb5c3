// Cells that solids enter: exact box and cylinder against unit cubes.
#include <algorithm>
#include <cmath>

#include "routing/layout.h"
#include "routing/solids.h"

namespace routing {
namespace {

// Touching is not entering: lattice faces meet exactly, and radii in millimetres carry rounding of about 1e-15.
constexpr double kTouch_hp = 1e-9;

struct Span {
  int first = 0, past = 0;
};
Span span(double low_hp, double high_hp) {
  return {static_cast<int>(std::floor(low_hp + kTouch_hp)), static_cast<int>(std::ceil(high_hp - kTouch_hp))};
}

/// Does the ring open < r < radius about (0, 0) enter the unit square whose low corner is (u, v)?
bool disc_enters(double u, double v, double radius_hp, double open_hp) {
  const auto nearest = [](double low) { return std::max({0.0, low, -(low + 1)}); };
  const auto farthest = [](double low) { return std::max(std::fabs(low), std::fabs(low + 1)); };
  return std::hypot(nearest(u), nearest(v)) < radius_hp - kTouch_hp &&
         (open_hp <= 0 || std::hypot(farthest(u), farthest(v)) > open_hp + kTouch_hp);
}

}  // namespace

std::vector<Point3> cells_of(const Problem& p, const Layout& l) {
  const double half_mm = p.kit.half_pitch_mm();
  std::vector<Point3> cells;
  for (const PlacedSolid& s : solids(p, l)) {
    std::array<Span, 3> range;
    for (std::size_t a = 0; a < 3; ++a) range[a] = span(s.low_mm[a] / half_mm, s.high_mm[a] / half_mm);
    const Millimetres middle = s.middle_mm();
    const auto u = static_cast<std::size_t>(index(u_axis(s.axis))), v = static_cast<std::size_t>(index(v_axis(s.axis)));
    for (int x = range[0].first; x < range[0].past; ++x) {
      for (int y = range[1].first; y < range[1].past; ++y) {
        for (int z = range[2].first; z < range[2].past; ++z) {
          const std::array<int, 3> c{x, y, z};
          if (s.round && !disc_enters(c[u] - middle[u] / half_mm, c[v] - middle[v] / half_mm, s.radius_mm / half_mm,
                                      s.open_radius_mm / half_mm)) {
            continue;
          }
          cells.push_back({x, y, z});
        }
      }
    }
  }
  lattice::sort_once(cells);
  return cells;
}

}  // namespace routing
