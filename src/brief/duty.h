// The working cycle and the handset of a brief. Inside of brief/.
#pragma once

#include "brief/brief.h"
#include "document/diagnostic.h"
#include "project/project.h"

namespace brief {

/// Fills Brief::duty, duty_is_default and handset; the functions must be there. Reports duty.unknown_function and
/// duty.twice.
void build_duty(const project::Project& project, Brief& brief, document::Diagnostics& diagnostics);

}  // namespace brief
