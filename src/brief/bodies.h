// The tree of rigid bodies and what carries it. Inside of brief/.
#pragma once

#include <optional>
#include <vector>

#include "brief/brief.h"
#include "document/diagnostic.h"
#include "project/project.h"

namespace brief {

/// Contact points of the machine on the ground; without [support] the footprint of the chassis, with a warning.
/// Reports support_size, support_points, support_flat and support_missing.
[[nodiscard]] Support build_support(const project::Project& project, document::Diagnostics& diagnostics);

/// The bodies, every parent before its children and otherwise in file order, the chassis first. A chassis that is
/// named as a parent but not described, or that is missing altogether, is made from the support's footprint. Masses and
/// centres that nobody entered are estimated. Reports unknown_body, body_cycle, several_chassis, chassis_joint,
/// joint_without_pivot and, as warnings, what was assumed.
[[nodiscard]] std::vector<Body> build_bodies(const project::Project& project, const Support& support,
                                             const base::Triple& fill_density_g_cm3,
                                             document::Diagnostics& diagnostics);

}  // namespace brief
