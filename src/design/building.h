// In which order a machine is built: every chosen train part by part, and the functions on each body among each other.
#pragma once

#include <string>
#include <vector>

#include "assembly/units.h"
#include "design/design.h"

namespace design {

/// The functions and placed things on one lattice, in the order in which they go in.
struct BodyOrder {
  int body = 0;                       ///< whose lattice (brief::lattice_body), index into Brief::bodies
  std::vector<assembly::Unit> units;  ///< functions, then placed things, in the project's order
  std::vector<bool> placed;           ///< by unit: a placed thing, otherwise a function
  assembly::UnitOrder order;
};

/// Bodies with at least one unit, ascending. From the cells that chosen candidates tell and the boxes of placed things:
/// what tells no cells is not in it. Empty without a choice.
[[nodiscard]] std::vector<BodyOrder> building_order(const Result&);

}  // namespace design
