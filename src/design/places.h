// Which places on the machine the allocation must tell apart, so that no two chosen candidates stand in each other.
//
// Candidates fill thousands of lattice cells; the allocation needs few. Two candidates of different functions clash
// when they share a cell of the same body. From all cells that candidates of two functions fill, a small set is taken
// that every clashing pair shares at least one of (greedy cover), so nothing is lost: exactly the pairs that clash
// share a place.
#pragma once

#include <string>
#include <vector>

#include "base/run_control.h"
#include "brief/brief.h"
#include "design/design.h"

namespace design {

struct Places {
  std::vector<std::string> names;                 ///< by place id: "boom at (3, 0, 4.5) p"
  std::vector<std::vector<std::vector<int>>> of;  ///< per function and candidate: ids, ascending
};

/// Deterministic: depends on the proposals only. Throws base::GivenUp when the run is given up on the way.
[[nodiscard]] Places places_of(const brief::Brief& brief, const std::vector<FunctionResult>& functions,
                               const base::RunControl& control = {});

}  // namespace design
