// A design through a handset script: the machine as chosen, its ornamental engine, its tipping margin.
#pragma once

#include "assessment/assessment.h"
#include "handset/plan.h"
#include "simulation/run.h"

namespace simulation {

/// Names that a script may drive: functions, and single drives of functions with several.
[[nodiscard]] std::vector<std::string> drivable(const Machine& machine, const brief::Brief& brief);
[[nodiscard]] std::vector<std::string> function_ids(const brief::Brief& brief);

/// Runs a design. `options.tipping` is filled in from the posture when the project names a stance.
[[nodiscard]] Outcome simulate(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                               const assessment::Assessment& assessed, const Machine& machine, const Script& script,
                               Options options = {});

/// Takes the handset's ramps, limits, soft ends and interlocks into `options`. Interlocks with legs count only where
/// the script moves the legs: otherwise they are taken to stand where they are needed. Returns what has to be told.
[[nodiscard]] std::vector<std::string> follow_plan(const handset::Plan& plan, const brief::Brief& brief,
                                                   const Machine& machine, const Script& script, Options& options);

/// The working cycle of the brief as a script, for `time_s`: each phase to and fro at full input.
[[nodiscard]] Script cycle_script(const brief::Brief& brief, const Machine& machine, double time_s);

}  // namespace simulation
