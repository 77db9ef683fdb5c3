#include "handset/engine.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"

namespace handset {
namespace {

constexpr double kLoop_s = 0.1;  // as often as the simplest controllers run

}  // namespace

double EngineFollower::step(double dt_s, double load) {
  const double wanted = engine_.idle + (1 - engine_.idle) * std::min(1.0, load / engine_.full_load);
  const double tau_s = wanted > output_ ? engine_.rise_s : engine_.fall_s;
  output_ += (wanted - output_) * (1 - std::exp(-dt_s / tau_s));
  return output_;
}

std::vector<std::string> program_of(const Engine& engine, const std::vector<std::string>& others) {
  const auto percent = [](double share) { return base::plain(std::round(100 * share)); };
  return {
      fmt::format("speed := {}", percent(engine.idle)),
      fmt::format("every {} s do", base::plain(kLoop_s)),
      fmt::format("  load := sum of the currents of {}, in % of their stall currents", base::list_text(others, "and")),
      fmt::format("  wanted := {} + {} * load / {}", percent(engine.idle), percent(1 - engine.idle),
                  percent(engine.full_load)),
      "  if wanted > 100 then wanted := 100",
      fmt::format("  if wanted > speed then step := {} else step := {}",
                  base::plain(std::round(100 * (1 - std::exp(-kLoop_s / engine.rise_s))) / 100),
                  base::plain(std::round(100 * (1 - std::exp(-kLoop_s / engine.fall_s))) / 100)),
      "  speed := speed + step * (wanted - speed)",
      "  run the engine's motor at speed %",
  };
}

}  // namespace handset
