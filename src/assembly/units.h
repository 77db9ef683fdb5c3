// In which order whole functions go into the machine: each a rigid set of cells on a body's lattice.
// Unit cells are half-pitch cubes by their low corner.
#pragma once

#include <string>
#include <vector>

#include "lattice/space.h"
#include "lattice/sweep.h"

namespace assembly {

/// What one function (or a placed thing) fills on one body's lattice.
struct Unit {
  std::string name;
  std::vector<lattice::Point3> cells;  ///< ascending, no repeats; not empty
};

struct UnitStep {
  std::vector<int> units;  ///< indices, ascending; two or more are built up together
  lattice::Way way;        ///< moves this way into its place
};

struct UnitOrder {
  std::vector<UnitStep> steps;  ///< first to last; every unit once. The last may hold units that lock each other
  std::vector<int> locked;      ///< units that no straight way takes apart: built up in place together; ascending
};

/// Units whose cells are in nobody's way go in one by one. Units that share a cell are a fault of the caller's: they
/// count as locked. Deterministic.
[[nodiscard]] UnitOrder order_of(const std::vector<Unit>&);

}  // namespace assembly
