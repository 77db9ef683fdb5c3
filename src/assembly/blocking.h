// What is in whose way: for each of the six ways of the lattice a directed graph over the pieces. Inside of assembly/.
#pragma once

#include <array>
#include <vector>

#include "assembly/pieces.h"

namespace assembly {

/// blockers[way][i]: pieces that i would run into on its way out to infinity, ascending. Ways as in lattice::kWays.
struct Blocking {
  std::array<std::vector<std::vector<int>>, 6> blockers;
  [[nodiscard]] std::size_t size() const { return blockers[0].size(); }
};

[[nodiscard]] Blocking blocking_of(const Assembly&);

/// Nothing of `left` but the moved pieces themselves is in the way. Marks by piece.
[[nodiscard]] bool is_free(const Blocking&, std::size_t way, const std::vector<int>& moved,
                           const std::vector<char>& left);

/// The smallest sets of nodes that can leave along a way together: strongly connected groups with no arrow out of them
/// (Tarjan, "Depth-first search and linear graph algorithms", SIAM J. Comput. 1 (1972) 146-160). `arrows` by node,
/// ascending; each set ascending, sets by their first node.
[[nodiscard]] std::vector<std::vector<int>> closed_groups(const std::vector<std::vector<int>>& arrows);

}  // namespace assembly
