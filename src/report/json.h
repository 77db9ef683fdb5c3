// Results for programs: schema/result.schema.json says what stands where.
//
// Key order is fixed. Numbers that were measured or computed in floating point are rounded to kDigits significant
// digits, so that results of different machines compare equal; counts are exact. Not-finite numbers become null.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "design/design.h"
#include "report/text.h"

namespace report {

inline constexpr int kDigits = 6;
inline constexpr int kFormatVersion = 1;

[[nodiscard]] double rounded(double value, int digits = kDigits);

/// A located tree without its places.
[[nodiscard]] nlohmann::ordered_json json_of(const document::Node& node);
[[nodiscard]] nlohmann::ordered_json json_of(const document::Diagnostics& diagnostics);
[[nodiscard]] nlohmann::ordered_json json_of(const candidate::Candidate& candidate, const brief::Brief& brief);
/// {worst_margin, margins}, without intervals.
[[nodiscard]] nlohmann::ordered_json json_of(const candidate::Evaluation& evaluation);
[[nodiscard]] nlohmann::ordered_json json_of(const assessment::Stance& stance, const brief::Brief& brief);
[[nodiscard]] nlohmann::ordered_json json_of(const assessment::Assessment& assessment, const brief::Brief& brief);

[[nodiscard]] nlohmann::ordered_json check_json(const design::Result& result);
[[nodiscard]] nlohmann::ordered_json design_json(const design::Result& result);
[[nodiscard]] nlohmann::ordered_json explain_json(const design::Result& result, std::size_t function,
                                                  const std::string& key);
/// The load chart alone.
[[nodiscard]] nlohmann::ordered_json chart_json(const design::Result& result);
[[nodiscard]] nlohmann::ordered_json compare_json(const std::vector<Compared>& kits);

/// "feasible", "infeasible", "undecided", "bad_input" or, when an earlier stage was asked for, "not_allocated".
[[nodiscard]] std::string status_of(const design::Result& result);

/// Text of a document: two blanks of indentation, a newline at the end; broken UTF-8 is replaced, never thrown at.
[[nodiscard]] std::string dumped(const nlohmann::ordered_json& json);

}  // namespace report
