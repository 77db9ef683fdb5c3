// The uncertain inputs a project may override, by name: one table for the reader, the schema and the brief.
#pragma once

#include <array>
#include <cstddef>
#include <string_view>

namespace project {

struct ParameterName {
  std::string_view name;
  std::string_view unit;
  double low;  ///< closed range of each of low, nominal and high
  double high;
  std::string_view doc;
};

inline constexpr std::size_t kParameterNames = 22;
/// In the order of brief::Parameter.
[[nodiscard]] const std::array<ParameterName, kParameterNames>& parameter_names();

}  // namespace project
