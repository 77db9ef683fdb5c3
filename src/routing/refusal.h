// Why a search found nothing, in figures. Inside of routing/.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "routing/fill.h"
#include "routing/ready.h"
#include "routing/route.h"

namespace routing {

/// What a search counted on its way.
struct Tally {
  std::int64_t off_window = 0;                         ///< trains given that miss the ratio
  std::int64_t sketches = 0;                           ///< layouts of shafts that led to an input
  std::map<int, std::int64_t> no_room;                 ///< by wheel class: did not fit where the distance put it
  std::int64_t axle_in_wheel = 0;                      ///< shafts whose axle would run through a standing wheel
  std::array<std::int64_t, 4> obstacles{};             ///< sketches by how far they came
  std::map<std::pair<int, int>, std::int64_t> blamed;  ///< classes of meshes without free slots
};

/// The first stage that let nothing through, with its figures; several when they share the blame.
[[nodiscard]] std::vector<Refusal> refusals_of(const Router::Ready&, const std::vector<std::vector<int>>& trains,
                                               const Tally&);

}  // namespace routing
