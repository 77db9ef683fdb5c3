// A machine that lifts, in the physics engine: its load ramped up slowly until it tips.
//
// Supports are springs that push, each on its own foot that may leave the ground (a track on one at each end); joints
// that give are hinges with a spring; everything else is rigid. Tipped = the base leans 2 degrees further than it
// stood. The load pulls straight down at the hook. Gravity leans as the slope does. Only tipping is tried: what drives
// hold is not in the model.
#pragma once

#include <atomic>
#include <cstdint>
#include <string>
#include <vector>

#include "balance/lifting_machine.h"

namespace trial {

struct TippingOptions {
  double step_ms = 1;               ///< of the engine, 0.1 to 2
  double ramp_share_per_s = 0.008;  ///< of the expected load, per second, from 88 % of it on: quicker ones overshoot
  double expected_n = 0;            ///< where it should tip, > 0; sets the ramp, not the answer
  const std::atomic<bool>* stop = nullptr;  ///< set: the run is given up
  double most_share = 1.5;                  ///< of the expected load: beyond it the trial ends without tipping
};

struct TippingSample {
  double time_s = 0, load_n = 0, lean_rad = 0;
  balance::Vec3 hook;
};

struct TippingRun {
  std::string why_not;  ///< not run; empty = run
  bool tipped = false;
  double load_n = 0;    ///< at the hook, tare included, when it tipped; else the most that was tried
  double lean_rad = 0;  ///< under the dead weight
  std::vector<TippingSample> samples;
  std::uint64_t steps = 0, state_hash = 0;
};

/// One pose: state and posture of the machine, slewing and luffing angle as set, without sag.
[[nodiscard]] TippingRun ramp_until_it_tips(const balance::LiftingMachine& machine, int state, int posture,
                                            double slew_rad, double luff_rad, const TippingOptions& options);

}  // namespace trial
