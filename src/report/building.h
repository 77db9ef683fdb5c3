// The order of assembly as text and JSON: of one train, and of the functions on each body.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "assembly/order.h"
#include "candidate/candidate.h"
#include "design/building.h"
#include "report/layout.h"

namespace report {

/// A heading and numbered steps; empty for a candidate without a laid-out train.
[[nodiscard]] std::string building_text(const candidate::Candidate&, int sides, const TextOptions&);
/// null without a train.
[[nodiscard]] nlohmann::ordered_json building_json(const candidate::Candidate&);

/// "Chassis: first drive, from above; then ...": one paragraph a body with more than one unit.
[[nodiscard]] std::string building_text(const std::vector<design::BodyOrder>&, const brief::Brief&, const TextOptions&);
[[nodiscard]] nlohmann::ordered_json building_json(const std::vector<design::BodyOrder>&, const brief::Brief&);

}  // namespace report
