// What follows an allocation: why nothing fits and what would, the trade-off front, remedies that change the choice.
#pragma once

#include "design/design.h"

namespace design {

/// Fills conflicts and ways_out; each way out was solved again and its answer checked.
void explain_infeasible(Result& result, const Options& options, const base::RunControl& control);

/// Fills front and front_note.
void find_front(Result& result, const Options& options, const base::RunControl& control);

/// Of each function that was left out what would be short if it were insisted on, with all other wished ones as they
/// are; empty for those that were chosen, where nothing is found, and when stopped.
[[nodiscard]] std::vector<std::string> why_left_out(const Result& result, const Options& options,
                                                    const base::RunControl& control);

/// Findings about functions that were left out say why; those about one unsure function get the remedy "take another
/// candidate", tried by allocating again.
void add_choice_remedies(Result& result, const std::vector<std::string>& why_left_out, const Options& options,
                         const base::RunControl& control);

}  // namespace design
