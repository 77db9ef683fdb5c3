// A scale study as text and JSON.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "design/scale.h"
#include "report/layout.h"

namespace report {

[[nodiscard]] std::string scale_text(const design::ScaleStudy& study, const TextOptions& options);
[[nodiscard]] nlohmann::ordered_json scale_json(const design::ScaleStudy& study);

}  // namespace report
