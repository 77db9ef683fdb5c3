// What people see of a luff candidate: figures, curves, drawing and notes. Only made for candidates that are kept.
#pragma once

#include "functions/luff/evaluate.h"

namespace functions::luff {

[[nodiscard]] std::string key_of(const Design& design);
[[nodiscard]] std::string title_of(const Design& design);

/// Fills figures, curves, shapes and notes of a candidate made from `design`.
void present(const Design& design, candidate::Candidate& candidate);

}  // namespace functions::luff
