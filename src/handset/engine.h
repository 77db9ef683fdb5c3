// The ornamental engine's rule: idles when nothing runs and follows the load of the other motors.
//
//   wanted = idle + (1 - idle) min(1, load / full_load)      load = current of the other motors over their stall
//   currents y' = (wanted - y)/tau, tau = rise_s while wanted > y, fall_s after
#pragma once

#include <string>
#include <vector>

namespace handset {

struct Engine {
  double idle = 0.3;       ///< input at rest; enough to keep it turning
  double full_load = 0.3;  ///< load at which it runs full
  double rise_s = 0.4;
  double fall_s = 1.5;
};

/// The rule at work; one per engine.
class EngineFollower {
 public:
  explicit EngineFollower(const Engine& engine) : engine_(engine), output_(engine.idle) {}
  /// Output after another `dt_s` at a load (0 or more).
  double step(double dt_s, double load);

 private:
  Engine engine_;
  double output_;
};

/// The rule in words any programming screen has: numbers, a loop, a comparison.
[[nodiscard]] std::vector<std::string> program_of(const Engine& engine, const std::vector<std::string>& others);

}  // namespace handset
