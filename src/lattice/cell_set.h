// Unit cells of the lattice as bits: for solids that fill many of them and overlap.
#pragma once

#include <cstdint>
#include <vector>

#include "lattice/space.h"

namespace lattice {

/// Cells (by their low corner) within a box, one bit each, along z in whole words.
class CellSet {
 public:
  /// Cells inside `bounds`; one that is empty or upside down holds none.
  explicit CellSet(const Box3& bounds);
  /// Ticks the cells (x, y, z), z in [from, past); all within the bounds.
  void add(int x_hp, int y_hp, int from_hp, int past_hp);
  /// Ascending.
  [[nodiscard]] std::vector<Point3> cells() const;

 private:
  Point3 low_;
  int nx_ = 0, ny_ = 0, nz_ = 0;
  std::size_t words_ = 0;  ///< of a column
  std::vector<std::uint64_t> bits_;
};

}  // namespace lattice
