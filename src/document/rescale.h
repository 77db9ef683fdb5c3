// A document as it would read for the same thing built larger or smaller.
//
// Geometric similarity at the same density and the same times: lengths and speeds go with the factor, masses and forces
// with its cube, moments with its fourth power; angles, times, turning speeds, counts, electrical and material figures
// stay. Numbers in hole pitches are rounded to whole half-pitches, so a scaled layout stays on the lattice.
#pragma once

#include <vector>

#include "document/fields.h"
#include "document/node.h"

namespace document {

/// The power of the factor that a unit goes with; 0 = it stays.
[[nodiscard]] int scale_power(std::string_view unit);

/// Changes every number of the table that its field's unit says goes with the size, in all tables below it.
void rescale(Node& table, const std::vector<FieldDoc>& fields, double factor);

}  // namespace document
