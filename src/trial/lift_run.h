// The movements of a lift in the engine. Not for other folders.
#pragma once

#include "trial/lift.h"
#include "trial/movers.h"

namespace trial {

/// What is done, as numbers.
struct LiftPlan {
  balance::LiftingMachine machine;
  int state = 0;
  std::vector<double> joint;  ///< of every body at the start
  std::vector<Mover> movers;
  int slew = -1, luff = -1, hoist = -1;  ///< indices into movers
  double load_g = 0;                     ///< that hangs, hook with it
  double rope_mm = 0, load_r_mm = 10;
  double lift_mm = 0;      ///< hoisted off the ground, or raised by the boom
  double luff_to_rad = 0;  ///< the chart's edge
  double luff_up_rad = 0;  ///< without a hoist: up to here to leave the ground
  double slew_to_rad = 0;
  double input = 1, ramp_s = 0;
  // Of the slewing drive: its steady rate, the part of the ramp in which it turns, its lags while it starts and
  // while it stops.
  double rate_rad_s = 0, turning_ramp_s = 0, start_lag_s = 0, stop_lag_s = 0;
  double dead_share = 0;  ///< of that input, below which it does not turn
  std::vector<balance::Point2> polygon;
  balance::Vec3 place;
};

[[nodiscard]] LiftRun run_lift(const LiftPlan& plan, double step_ms, double friction, const std::atomic<bool>* stop);

}  // namespace trial
