// What the machine meets and works on: obstacles, loads, places; and the machine it is modelled on. Inside of brief/.
#pragma once

#include "brief/brief.h"
#include "document/diagnostic.h"
#include "project/project.h"

namespace brief {

/// Fills Brief::obstacles, site_loads, work_places, stow_places and real, and the slope it must lift on. Reports
/// obstacle_size (what its type needs and does not have, or has and does not need), heading_of_slope, part_too_heavy
/// and downhill_without_slope.
void build_site(const project::Project& project, Brief& out, document::Diagnostics& diagnostics);

/// What a support says of its wheels. Reports not_rolling, rocking_wheels and underside_order.
void build_wheels(const project::Support& from, Support& out, document::Diagnostics& diagnostics);

}  // namespace brief
