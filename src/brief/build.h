// From a project as written to a brief: references resolved, defaults filled in and said, units converted.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>

#include "brief/brief.h"
#include "document/diagnostic.h"
#include "project/project.h"

namespace brief {

/// Builds the brief of `project` for one donor kit. Reports every problem at once, as brief.<what>; nothing when there
/// is an error, be it in `diagnostics` already; warnings about what was assumed come only with a brief. A stock that is
/// too small for the named hubs is a warning and leaves fewer of them: that no design exists then is an answer, not an
/// error. `known_kinds` are the names a function's kind may have; empty = not checked here.
[[nodiscard]] std::optional<Brief> build(const project::Project& project,
                                         std::shared_ptr<const stock::Catalogue> catalogue,
                                         std::shared_ptr<const stock::Stock> stock, document::Diagnostics& diagnostics,
                                         std::span<const std::string> known_kinds = {});

}  // namespace brief
