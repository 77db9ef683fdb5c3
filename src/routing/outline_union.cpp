#include "routing/outline_union.h"

#include <algorithm>
#include <cmath>

namespace routing {
namespace {

constexpr double kSame_mm = 1e-3;  // boxes stand on half-pitches: equal or far apart

bool same(Spot a, Spot b) {
  return std::fabs(a.right_mm - b.right_mm) < kSame_mm && std::fabs(a.up_mm - b.up_mm) < kSame_mm;
}

bool inside(const std::vector<Window>& windows, Spot p) {
  return std::any_of(windows.begin(), windows.end(), [&](const Window& w) {
    return p.right_mm > w.low.right_mm && p.right_mm < w.high.right_mm && p.up_mm > w.low.up_mm &&
           p.up_mm < w.high.up_mm;
  });
}

}  // namespace

std::vector<std::vector<Spot>> outside_of(const std::vector<Window>& windows, const std::vector<Spot>& outline,
                                          std::vector<Piece>& drawn) {
  std::vector<std::vector<Spot>> pieces;
  for (std::size_t i = 1; i < outline.size(); ++i) {
    const Spot a = outline[i - 1], b = outline[i];
    const double length = std::hypot(b.right_mm - a.right_mm, b.up_mm - a.up_mm);
    if (length < kSame_mm) continue;
    const double dr = (b.right_mm - a.right_mm) / length, du = (b.up_mm - a.up_mm) / length;
    const auto along = [&](double t) { return Spot{a.right_mm + t * dr, a.up_mm + t * du}; };
    // Cut where any window begins or ends: between two cuts the sides do not change.
    std::vector<double> cuts{0, length};
    for (const Window& w : windows) {
      for (const Spot p : {w.low, w.high}) {
        const double t = (p.right_mm - a.right_mm) * dr + (p.up_mm - a.up_mm) * du;
        if (t > kSame_mm && t < length - kSame_mm) cuts.push_back(t);
      }
    }
    std::sort(cuts.begin(), cuts.end());
    for (std::size_t k = 1; k < cuts.size(); ++k) {
      if (cuts[k] - cuts[k - 1] < kSame_mm) continue;
      const Spot from = along(cuts[k - 1]), to = along(cuts[k]), m = along((cuts[k] + cuts[k - 1]) / 2);
      const Spot left{m.right_mm - kSame_mm * du, m.up_mm + kSame_mm * dr},
          right{m.right_mm + kSame_mm * du, m.up_mm - kSame_mm * dr};
      if (inside(windows, left) && inside(windows, right)) continue;
      if (std::any_of(drawn.begin(), drawn.end(), [&](const Piece& d) {
            return (same(d.from, from) && same(d.to, to)) || (same(d.from, to) && same(d.to, from));
          }))
        continue;
      drawn.push_back({from, to});
      if (!pieces.empty() && same(pieces.back().back(), from)) {
        pieces.back().push_back(to);
      } else {
        pieces.push_back({from, to});
      }
    }
  }
  return pieces;
}

}  // namespace routing
