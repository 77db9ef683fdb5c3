// A screw actuator on the crank of a four-bar, both on the lattice: stabiliser legs, knuckles, bridge leaves that a
// direct actuator cannot turn far enough.
//
// The four-bars come from find_four_bars; the moment at the crank along the travel follows by virtual work; the
// actuator's mounts come from place_actuators with that moment. Exhaustive with proven pruning: linkages are tried in
// the order of a lower bound of their actuator force, and the search ends when the bound passes the worst one kept:
//   force >= peak moment / longest lever the mounts offer, the lesser of the farthest base and the farthest rod mount
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "linkage/placement.h"
#include "linkage/synthesis.h"

namespace linkage {

struct ActuatedTask {
  FourBarTask linkage;  ///< `keep` and `aim` are not used; every feasible linkage and start is a choice here
  std::vector<lattice::Point2> base_mounts;  ///< holes of the frame
  std::vector<lattice::Point2> rod_mounts;   ///< holes of the crank: half-pitches from its pivot, x along the crank
  std::vector<ActuatorType> actuators;
  double min_lever_mm = 0;
  int keep = 10;
};

struct ActuatedChoice {
  FourBarChoice linkage;
  Placement placement;  ///< of least peak force for it
};

struct Actuated {
  std::vector<ActuatedChoice> best;  ///< distinct in lengths and pivot offset, least peak force first
  FourBars linkages;                 ///< what the first stage found and why others fell
  std::int64_t travels = 0;          ///< feasible linkages x starts x closures
  std::int64_t placed = 0;           ///< of them, judged with every placement
  std::int64_t bounded = 0;          ///< of them, proven no better than those kept
  std::int64_t without = 0;          ///< of those placed: no placement serves
  std::vector<Miss> misses;          ///< of the travel judged last without a placement
  bool complete = true;
  std::string covered;
};
[[nodiscard]] Actuated find_actuated(const ActuatedTask& task, const base::RunControl& control = {});

}  // namespace linkage
