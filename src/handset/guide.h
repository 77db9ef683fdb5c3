// The set-up guide: numbered steps with one figure each, for somebody who has never opened a programming screen.
#pragma once

#include <string>
#include <vector>

#include "handset/plan.h"

namespace handset {

struct GuideStep {
  enum class Figure { cells, sockets, controls, senses, limits, ends, interlocks, engine, checks };
  std::string title;
  std::vector<std::string> lines;
  Figure figure = Figure::cells;
};

/// What sits in each of Power::ports: "travel left". The motors of a function come in the order of its drives.
[[nodiscard]] std::vector<std::string> socket_names(const std::vector<assessment::Chosen>& chosen,
                                                    const assessment::Assessment& assessed);

/// Steps in the order of doing; steps that have nothing to say are left out. The figures are drawn in report/.
[[nodiscard]] std::vector<GuideStep> guide(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                           const assessment::Assessment& assessed, const Plan& plan);

}  // namespace handset
