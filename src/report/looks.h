// The colour plan as text and JSON.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "design/design.h"
#include "report/layout.h"

namespace report {

/// Zones with what they get, and the schemes that the stock carries best; empty without zones.
[[nodiscard]] std::string looks_text(const design::Result&, const TextOptions&);
/// null without zones.
[[nodiscard]] nlohmann::ordered_json looks_json(const design::Result&);

}  // namespace report
