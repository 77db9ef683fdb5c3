// Numbers and triples as results write them. Inside of report/.
#pragma once

#include <cmath>
#include <nlohmann/json.hpp>
#include <vector>

#include "base/triple.h"
#include "report/json.h"

namespace report {

[[nodiscard]] inline nlohmann::ordered_json number(double value) {
  return std::isfinite(value) ? nlohmann::ordered_json(rounded(value)) : nlohmann::ordered_json(nullptr);
}
[[nodiscard]] inline nlohmann::ordered_json triple(const base::Triple& t) {
  return {{"low", number(t.low)}, {"nominal", number(t.nominal)}, {"high", number(t.high)}};
}
[[nodiscard]] inline nlohmann::ordered_json numbers(const std::vector<double>& values) {
  nlohmann::ordered_json out = nlohmann::ordered_json::array();
  for (const double v : values) out.push_back(number(v));
  return out;
}

}  // namespace report
