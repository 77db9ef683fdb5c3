// Any bytes as a handset script: times that rise and inputs within their range, or problems with their places.
#include <cmath>

#include "fuzz/target.h"
#include "simulation/script.h"

void fuzz_one(std::string_view input) {
  document::Diagnostics d;
  const auto script =
      simulation::parse_script(input, "script", {"travel left", "travel right", "winch", "boom"}, {"winch", "boom"}, d);
  fuzz_check(script.has_value() || d.has_errors(), "a script is read or its problem is told");
  if (!script) return;
  double before = -1;
  for (const simulation::Step& step : script->steps) {
    fuzz_check(std::isfinite(step.time_s) && step.time_s > before, "times rise");
    before = step.time_s;
    fuzz_check(step.input.size() == script->inputs.size() && step.load.size() == script->loads.size(),
               "every column has a value");
    for (const double v : step.input) fuzz_check(std::isnan(v) || std::abs(v) <= 1, "inputs stay within their range");
    for (const double v : step.load) fuzz_check(std::isnan(v) || v >= 0, "loads are not negative");
  }
}
