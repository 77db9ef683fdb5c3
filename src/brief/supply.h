// Which hubs feed the machine, and what they give together. Inside of brief/.
#pragma once

#include "brief/brief.h"
#include "brief/references.h"
#include "document/diagnostic.h"
#include "project/project.h"

namespace brief {

/// Hubs by name, by count (the ones in the stock with the most ports first) or, when nothing is said, one. Ports,
/// channels, current and capacity add up; of unlike hubs the lowest voltage and port current and the highest resistance
/// count. Reports not_a_hub and, as warnings, hubs_short (the stock holds fewer) and no_hub.
[[nodiscard]] Supply build_supply(const project::Project& project, const stock::Catalogue& catalogue,
                                  const stock::Stock& stock, const PartFinder& parts,
                                  document::Diagnostics& diagnostics);

/// The kit system's craft figures and, for the factors around 1, common practice without a source; then what the
/// project says.
[[nodiscard]] Parameters build_parameters(const project::Parameters& overrides, const stock::CraftFigures& craft);

}  // namespace brief
