// From proposals to the allocation problem and back: accept sets of part classes become sets of stock types.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "allocation/problem.h"
#include "allocation/solution.h"
#include "assessment/assessment.h"
#include "base/run_control.h"
#include "design/design.h"

namespace design {

inline constexpr int kFloor = 1000;  ///< thousandths: what was asked for is reached

/// Names of the budgets of every problem made here.
inline constexpr const char* kPorts = "sockets";
inline constexpr const char* kChannels = "channels";
inline constexpr const char* kMass = "mass";  ///< 0.1 g, of the taken parts; no limit, it is what is minimised
inline constexpr const char* kAddedMass = "added mass";  ///< 0.1 g, what the machine's own limit still leaves
inline constexpr const char* kCurrent = "current";       ///< mA, running

/// What the machine weighs before any function is chosen, as far as the masses are estimates: what counts against the
/// limit on top is then what a candidate adds, the budget kAddedMass.
[[nodiscard]] double base_mass_g(const brief::Brief& brief);

/// Part types of the problem: first the stock types, in their order, then every other class that some need accepts,
/// with none in stock, so that "one more of it" can be a way out. `part_classes` gets the class of each.
/// Everything is offered, near misses too; the floor keeps them out until a way out lowers it. Throws base::GivenUp
/// when the run is given up on the way.
[[nodiscard]] allocation::Problem make_problem(const brief::Brief& brief, const std::vector<FunctionResult>& functions,
                                               std::vector<stock::ClassId>& part_classes,
                                               const base::RunControl& control = {});

/// Points each locked function to its candidate; an unknown key is reported at the function's place.
void apply_locks(const brief::Brief& brief, const std::vector<FunctionResult>& functions, allocation::Problem& problem,
                 document::Diagnostics& diagnostics);

/// Pieces per stock type and function, reserves included.
[[nodiscard]] std::vector<assessment::Taken> taken_of(const allocation::Solution& solution);

}  // namespace design
