// Cells that solids enter: exact box and cylinder against unit cubes.
#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "lattice/cells.h"
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
  // Squares: what lies between two radii 1e-9 apart is far coarser than their rounding.
  const auto square = [](double x) { return x * x; };
  return square(nearest(u)) + square(nearest(v)) < square(std::max(0.0, radius_hp - kTouch_hp)) &&
         (open_hp <= 0 || square(farthest(u)) + square(farthest(v)) > square(open_hp + kTouch_hp));
}

/// The pieces of a span in which `in` holds: one, or two where a ring is open in the middle.
template <class In>
std::array<Span, 2> runs(Span span, const In& in) {
  std::array<Span, 2> out{};
  std::size_t n = 0;
  for (int z = span.first; z < span.past; ++z) {
    if (!in(z)) continue;
    if (n > 0 && out[n - 1].past == z) {
      ++out[n - 1].past;
    } else {
      KW_CHECK(n < out.size(), "a line meets a ring in two pieces at most");
      out[n++] = {z, z + 1};
    }
  }
  return out;
}

}  // namespace

lattice::Cells cells_of(const Problem& p, const Layout& l) {
  const double half_mm = p.kit.half_pitch_mm();
  const std::vector<PlacedSolid> all = solids(p, l);
  using Range = std::array<Span, 3>;
  std::vector<Range> ranges;
  Range hull{};
  for (const PlacedSolid& s : all) {
    Range& range = ranges.emplace_back();
    for (std::size_t a = 0; a < 3; ++a) {
      range[a] = span(s.low_mm[a] / half_mm, s.high_mm[a] / half_mm);
      hull[a] = ranges.size() == 1
                    ? range[a]
                    : Span{std::min(hull[a].first, range[a].first), std::max(hull[a].past, range[a].past)};
    }
  }
  lattice::CellSet cells({{hull[0].first, hull[1].first, hull[2].first}, {hull[0].past, hull[1].past, hull[2].past}});
  for (std::size_t i = 0; i < all.size(); ++i) {
    const PlacedSolid& s = all[i];
    const auto& [in_x, in_y, in_z] = ranges[i];
    const Millimetres middle = s.middle_mm();
    const auto u = static_cast<std::size_t>(index(u_axis(s.axis))), v = static_cast<std::size_t>(index(v_axis(s.axis)));
    const auto enters = [&](int cu, int cv) {
      return disc_enters(cu - middle[u] / half_mm, cv - middle[v] / half_mm, s.radius_mm / half_mm,
                         s.open_radius_mm / half_mm);
    };
    if (!s.round) {
      cells.add({{in_x.first, in_y.first, in_z.first}, {in_x.past, in_y.past, in_z.past}});
      continue;
    }
    // The disc is the same all along the axis: each of its squares is asked for once.
    switch (s.axis) {
      case Axis::z:
        for (int x = in_x.first; x < in_x.past; ++x)
          for (const Span& run : runs(in_y, [&](int y) { return enters(x, y); }))
            cells.add({{x, run.first, in_z.first}, {x + 1, run.past, in_z.past}});
        break;
      case Axis::y:
        for (int x = in_x.first; x < in_x.past; ++x)
          for (const Span& run : runs(in_z, [&](int z) { return enters(x, z); }))
            cells.add({{x, in_y.first, run.first}, {x + 1, in_y.past, run.past}});
        break;
      case Axis::x:
        for (int y = in_y.first; y < in_y.past; ++y)
          for (const Span& run : runs(in_z, [&](int z) { return enters(y, z); }))
            cells.add({{in_x.first, y, run.first}, {in_x.past, y + 1, run.past}});
        break;
    }
  }
  return cells.cells();
}

}  // namespace routing
