// A handset script: what the driver does, as rows of time and inputs.
//
// CSV: first column time_s, further columns named like functions ("winch") or single drives ("travel left"), values
// from -1 (minus, full) to 1 (plus, full); "load <function>" gives the share of the load from then on. Empty cells keep
// what was. Any of , ; tab may separate. The last row's time ends it.
// TOML: [[step]] tables with time_s, [step.inputs] and [step.loads].
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "document/diagnostic.h"

namespace simulation {

struct Step {
  double time_s = 0;
  std::vector<double> input;  ///< per name; NaN = as before
  std::vector<double> load;   ///< per name of a function with a load column; NaN = as before
};

struct Script {
  std::vector<std::string> inputs;  ///< names, in the order of the columns
  std::vector<std::string> loads;
  std::vector<Step> steps;  ///< times rising
  [[nodiscard]] double end_s() const { return steps.empty() ? 0 : steps.back().time_s; }
};

/// `known`: names that may be driven; `functions`: names that may have a load. Reports script.* at line and column.
[[nodiscard]] std::optional<Script> parse_script(std::string_view text, const std::string& file,
                                                 const std::vector<std::string>& known,
                                                 const std::vector<std::string>& functions,
                                                 document::Diagnostics& diagnostics);

}  // namespace simulation
