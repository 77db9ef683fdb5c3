// What the machine stands and drives on: the running gear of the chosen function together with the project's support.
// Every driven axle has motors of its own, since no kind leads one motor's train to several axles; a track has its own.
// Not for other folders.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "balance/side_view.h"
#include "balance/standing.h"

namespace assessment {

struct Undercarriage {
  balance::SupportState state;            ///< for tipping and lifting: the support's own points unless wheels rock
  balance::SupportState wheels;           ///< for driving: every wheel or track that carries
  std::vector<bool> driven;               ///< per support of `wheels`
  std::optional<balance::SideView> side;  ///< without weight and centre; empty = nothing drives it along
  std::string function;                   ///< that drives
  std::string note;                       ///< what was assumed; mostly empty
  double gauge_mm = 0, width_mm = 0;      ///< between left and right; of a tyre or belt, 0 = not known
  double pull_n = 0;                      ///< at the ground with the motors stalled; 0 = not known
  bool steers_by_skidding = false;
};

/// Rocking pairs come from the running gear, else from the support; wheels stand where the running gear has them.
[[nodiscard]] Undercarriage undercarriage_of(const brief::Brief& brief, const std::vector<Chosen>& chosen);

}  // namespace assessment
