// What the supply does over the working cycle: currents, sag, run time, what stalls first, heat.
#pragma once

#include <string>
#include <vector>

#include "base/triple.h"

namespace assessment {

/// One function in one phase of the working cycle.
struct DutyRun {
  std::string function;
  double current_ma = 0;   ///< all its motors
  double speed_share = 0;  ///< speed / speed it would have alone on fresh cells; 0 = stalled
  double stall_share = 0;  ///< torque asked / stall torque there; above 1 = stalled
};

struct DutyPhasePower {
  std::string id;
  double time_s = 0;
  std::vector<DutyRun> runs;
  std::vector<double> hub_current_ma, hub_voltage_v;  ///< per hub, cells half empty
  bool over_limit = false;                            ///< a hub would switch off
};

/// Two functions that must not run together.
struct Exclusion {
  std::string first, second;
  std::string why;  ///< "hub 1 would switch off", "\"boom\" stalls"
  double value = 0, limit = 0;
  std::string unit;
};

/// A motor's heat at its load.
struct Warmth {
  std::string function, motor;
  double end_rise_k = 0;       ///< winding over air after running the cycle for ever; infinite when it runs away
  double steady_rise_k = 0;    ///< the same running without a pause at its load
  double cut_out_min = 0;      ///< until the limit, running without a pause; infinite when never
  double stall_cut_out_s = 0;  ///< until the limit when held fast from cold
};

struct DutyPower {
  bool judged = false;
  bool is_default = false;  ///< nobody told a working cycle
  std::vector<DutyPhasePower> phases;
  double cycle_s = 0;
  double mean_current_ma = 0;                       ///< over the cycle, all hubs
  std::string cells;                                ///< "6 alkaline cells"
  double fresh_voltage_v = 0, empty_voltage_v = 0;  ///< of the hub lowest under its own mean current
  base::Triple run_time_min;                        ///< until the cells are empty or the first function stalls
  bool run_time_open = false;     ///< it runs longer than was looked at; then the run time is a lower bound
  std::string ends_by;            ///< "cells empty", "\"winch\" stalls"
  std::string stalls_first;       ///< function that stalls first as the cells empty
  double stalls_first_depth = 0;  ///< share of the charge used when it does; above 1 = never
  std::vector<Exclusion> exclusions;
  std::vector<Warmth> warmth;  ///< one per motor kind and function
};

}  // namespace assessment
