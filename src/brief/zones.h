// The zones of the colour plan as the project tells them, resolved against kit system and stock. They are no part of
// the Brief: no function may depend on them.
#pragma once

#include <vector>

#include "document/diagnostic.h"
#include "looks/colour_plan.h"
#include "project/project.h"
#include "stock/stock.h"

namespace brief {

/// Reports brief.empty_zone, brief.no_colour, brief.unknown_part; a colour that the stock does not have, with the
/// nearest one it has, is a warning (brief.colour_not_in_stock). Zones with errors are left out.
[[nodiscard]] std::vector<looks::Zone> build_zones(const project::Project& project, const stock::Catalogue& catalogue,
                                                   const stock::Stock& stock, document::Diagnostics& diagnostics);

}  // namespace brief
