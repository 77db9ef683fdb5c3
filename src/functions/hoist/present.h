// What people see of a hoist candidate: key, title, figures, curves, drawing and notes.
#pragma once

#include "functions/hoist/evaluate.h"

namespace functions::hoist {

[[nodiscard]] std::string key_of(const Design& design);
[[nodiscard]] std::string title_of(const Design& design);
/// Fills figures, curves, shapes and notes of a candidate made from `design`.
void present(const Design& design, candidate::Candidate& candidate);

}  // namespace functions::hoist
