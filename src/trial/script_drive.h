// A handset script driven in the engine: every step's movements beside those of the time simulation.
//
// The same script through the same ramps, limits, soft ends and interlocks. The simulation takes loads from its drives'
// tables and no inertia of booms; the engine has the machine's bodies, its load on a rope, its wheels on the ground.
#pragma once

#include <string>
#include <vector>

#include "simulation/simulate.h"
#include "trial/machine.h"

namespace trial {

struct ScriptMove {
  std::size_t drive = 0;  ///< index into ScriptTrial::drives
  double start_s = 0, end_s = 0;
  double input = 0;                      ///< of the script
  double closed_way = 0, trial_way = 0;  ///< within the step, deg or mm
  std::string unit;
  /// Until the drive has made nearly all of the way that the simulation makes within the step, counted from the step's
  /// start; the trial's goes on beyond it at its mean rate where it does not come so far.
  Beside time;
};

struct ScriptSample {
  double time_s = 0;
  std::vector<double> closed, trial;  ///< of every drive, deg or mm
  double x_mm = 0, y_mm = 0, yaw_rad = 0, roll_rad = 0, swing_rad = 0;
};

struct ScriptTrial {
  std::string why_not;  ///< nothing to drive, or not driven to the end
  std::vector<std::string> drives, units;
  std::vector<ScriptMove> moves;
  std::vector<ScriptSample> samples;
  std::vector<std::string> doubts, left_out;
  double most_swing_rad = 0, most_roll_rad = 0;
  bool tipped = false;
  double time_s = 0;
};

/// `options` as the simulation gets them, handling and interlocks filled in; sampled every 20 ms here.
[[nodiscard]] ScriptTrial try_script(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                     const assessment::Assessment& assessed, const simulation::Machine& machine,
                                     const simulation::Script& script, simulation::Options options, double step_ms,
                                     bool doubts, const base::RunControl& control = {});

}  // namespace trial
