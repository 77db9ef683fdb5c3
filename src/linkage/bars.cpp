#include "linkage/bars.h"

#include <algorithm>

namespace linkage {

std::optional<std::vector<int>> bars_for(std::span<const Bar> bars, std::span<const int> lengths_p) {
  std::vector<std::size_t> order(lengths_p.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return lengths_p[a] > lengths_p[b]; });
  std::vector<int> left;
  for (const Bar& b : bars) left.push_back(b.pieces);
  std::vector<int> out(lengths_p.size(), -1);
  for (const std::size_t i : order) {
    int best = -1;
    for (std::size_t b = 0; b < bars.size(); ++b) {
      if (left[b] < 1 || bars[b].holes - 1 < lengths_p[i]) continue;
      if (best < 0 || bars[b].holes < bars[static_cast<std::size_t>(best)].holes) best = static_cast<int>(b);
    }
    if (best < 0) return std::nullopt;
    --left[static_cast<std::size_t>(best)];
    out[i] = best;
  }
  return out;
}

}  // namespace linkage
