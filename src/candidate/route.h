// The routed train of a candidate: where every shaft, wheel and bearing stands.
#pragma once

#include <memory>

#include "routing/layout.h"
#include "routing/problem.h"

namespace candidate {

/// Candidates of one search share the problem (kit, walls, places); each has its own layout.
struct Route {
  std::shared_ptr<const routing::Problem> problem;  ///< never null
  routing::Layout layout;
  int body = -1;  ///< whose frame and lattice it stands in, index into Brief::bodies; -1 = chassis
};

}  // namespace candidate
