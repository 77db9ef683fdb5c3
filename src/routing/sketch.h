// A train as lines on the lattice, before slots, bearings and axles: what level 1 of the search hands to level 2.
// Inside of routing/.
#pragma once

#include <array>

#include "routing/problem.h"

namespace routing {

inline constexpr int kMostMeshes = kMostStages * kMostOutputs;
inline constexpr int kMostShafts = kMostMeshes + kMostOutputs;
inline constexpr int kMostWheels = 2 * kMostMeshes + kMostOutputs;

struct SketchShaft {
  Axis axis = Axis::y;
  Cross at;
  int output = -1;  ///< carries this output (its attachments, its terminal)
};
struct SketchWheel {
  int cls = -1;     ///< index into Kit::wheels
  int shaft = -1;   ///< -1: a ring
  int output = -1;  ///< the ring's output
};
struct SketchMesh {
  int pair = -1;
  int driver = -1, driven = -1;  ///< sketch wheels
  int misfit_um = 0;
};

struct Sketch {
  std::array<SketchShaft, kMostShafts> shafts;
  std::array<SketchWheel, kMostWheels> wheels;
  std::array<SketchMesh, kMostMeshes> meshes;  ///< every mesh touches a wheel of an earlier one or starts a branch
  std::array<int, kMostOutputs> place{};
  int n_shafts = 0, n_wheels = 0, n_meshes = 0, n_outputs = 0;
  int input_shaft = -1;
};

}  // namespace routing
