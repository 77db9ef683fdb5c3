// A load picked up, swung round and set down at the load chart's edge, beside its closed forms.
//
// The load hangs on a rope from the hook point. With a hoist: hoisted off the ground at the best radius, luffed out to
// the greatest radius at which the chart still carries it, slewed, and hoisted down. Without one the rope has the
// length that reaches the ground at the chart's edge, and the boom lifts and lowers. Between the movements a hand takes
// the swing away, so that every swing is of one movement. Motors push along their lines; nothing is damped but by them.
// For models only, never for real lifting.
#pragma once

#include <string>
#include <vector>

#include "trial/trial.h"

namespace trial {

struct LiftWish {
  double load_g = 0;    ///< payload; 0 = what the design was asked to lift
  double slew_deg = 0;  ///< swung round to, from straight ahead; 0 = the worst angle of the chart
  double input = 1;     ///< of the slewing control, share of full, (0, 1]
  double ramp_s = -1;   ///< of the slewing control, from rest to full; negative = as the handset is set up
  double step_ms = 1;   ///< of the engine, 0.1 to 2
  bool doubts = true;   ///< run the checks
};

struct LiftPhase {
  std::string name;  ///< "hoist up", "luff out", "slew", "swing", "set down"
  double start_s = 0, end_s = 0;
  double most_swing_rad = 0;
  double least_margin_mm = 0;  ///< of the feet's pressure to the tipping line
  double least_foot_n = 0;
  bool arrives = true;
};

struct LiftSample {
  double time_s = 0;
  balance::Vec3 hook, load;  ///< machine's frame
  double slew_rad = 0, luff_rad = 0, rope_mm = 0, rope_n = 0, swing_rad = 0;
  double margin_mm = 0, least_foot_n = 0, lean_rad = 0;
};

struct LiftRun {
  std::string why_not;  ///< not run, or not to the end; empty = run
  bool tipped = false, set_down = false;
  std::vector<LiftPhase> phases;
  double most_swing_rad = 0, least_margin_mm = 0, least_foot_n = 0, most_lean_rad = 0;
  double start_swing_rad = 0;     ///< most while it slews, until the input is taken away
  double slew_swing_rad = 0;      ///< most while it slews and after
  double standing_margin_mm = 0;  ///< with the load hanging still, before it slews
  double overrun_rad = 0;         ///< of the slewing when its input was taken away as the closed form says
  double swing_moment_nmm = 0;    ///< most that slewing and swinging takes of what holds it upright
  balance::Vec3 put_down;         ///< where the load touched, machine's frame
  std::vector<LiftSample> samples;
  double time_s = 0;
  std::uint64_t steps = 0, state_hash = 0;
};

struct LiftTrial {
  std::string why_not;  ///< nothing to lift, or outside the chart
  std::string state, posture;
  bool hoists = false, slews = false;
  double load_g = 0, rated_g = 0, tipping_g = 0;  ///< payload; what the chart says at the edge
  double start_radius_mm = 0, edge_radius_mm = 0, slew_rad = 0, rope_mm = 0;
  double input = 1, ramp_s = 0;
  balance::Vec3 place;                   ///< where it should be set down, machine's frame
  std::vector<balance::Point2> polygon;  ///< it tips over
  LiftRun run;
  std::vector<Beside> figures;  ///< "start_swing", "swing", "standing_margin", "swing_moment", "set_down"
  std::vector<std::string> doubts, left_out;
};

[[nodiscard]] LiftTrial try_lift(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                 const assessment::Assessment& assessed, const LiftWish& wish,
                                 const base::RunControl& control = {});

}  // namespace trial
