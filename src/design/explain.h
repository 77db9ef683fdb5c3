// What follows an allocation: why nothing fits and what would, the trade-off front, remedies that change the choice.
#pragma once

#include "design/design.h"

namespace design {

/// Fills conflicts and ways_out; each way out was solved again and its answer checked.
void explain_infeasible(Result& result, const Options& options, const base::RunControl& control);

/// Fills front and front_note.
void find_front(Result& result, const Options& options, const base::RunControl& control);

/// Findings about one unsure function get the remedy "take another candidate", tried by allocating again.
void add_choice_remedies(Result& result, const Options& options, const base::RunControl& control);

}  // namespace design
