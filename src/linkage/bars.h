// Bars of the stock as links of a mechanism.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace linkage {

/// Bars alike. Any two holes of a bar make a link of 1 .. holes - 1 pitches.
struct Bar {
  int holes = 0;
  int pieces = 0;
  std::string name;
};
/// For links of these lengths (pitches, one bar each) the bars to take, as indices into `bars`: the shortest that
/// serve. Empty when the stock cannot: the greedy choice from the longest link down is exact, as any longer bar serves
/// a shorter link.
[[nodiscard]] std::optional<std::vector<int>> bars_for(std::span<const Bar> bars, std::span<const int> lengths_p);

}  // namespace linkage
