// Steps the machine through time: motor currents and speeds, positions, voltage, heat, charge, energy.
//
// Per drive, counted in the sense of its motion (v >= 0, u the input that way, n motors):
//   J v' = k_t (I - I0) - T_L(q)      I = (u U - k_e v)/R      U = E - r sum n u I  over the drives that draw
// A mean of the chopped voltage feeds the motor; what it does not draw circulates and does not come back to the cells;
// no input shorts it. T_L comes from the drive's tables: train and load, opposing or helping. Winding inductance is
// left out (a tenth of a millisecond against tens of the rotor). Implicit midpoint rule: unconditionally stable, second
// order, and the energies below add up exactly but for stops and starts. Heat and charge follow in blocks of 0.1 s with
// exact steps.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "simulation/machine.h"
#include "simulation/script.h"

namespace simulation {

struct Sample {
  double time_s = 0;
  std::vector<double> input, current_a, speed_rad_s, position, winding_k;  ///< per drive; current of one motor, the
                                                                           ///< mean where they sit in several hubs
  std::vector<double> voltage_v, hub_current_a, depth;                     ///< per hub
  double others_share = 0;  ///< current of all that are not for looks, over their stall currents
  double tipping_deg = 0;   ///< NaN when nobody asked
};

/// Joule, all drives and hubs together.
struct Energy {
  double source = 0;  ///< out of the cells' e.m.f.
  double supply = 0;  ///< lost in their resistance
  double copper = 0;
  double motor_friction = 0;  ///< and the gears inside the motors
  double train = 0;
  double load = 0;     ///< done on the loads, friction of theirs included; a lowered load gives some back
  double stops = 0;    ///< killed by running into an end
  double kinetic = 0;  ///< still there at the end
  [[nodiscard]] double sum() const { return supply + copper + motor_friction + train + load + stops + kinetic; }
  /// |source - sum| / largest of what flowed.
  [[nodiscard]] double error() const;
};

struct Event {
  double time_s = 0;
  std::string text;  ///< "winch: at its upper end", "hub 1: cut out"
};

/// What the handset makes of a control before the motor gets it.
struct Handling {
  double ramp_s = 0;      ///< from rest to full; 0 = at once
  double limit = 1;       ///< share of the full input that a control at its end gives
  double soft_zone = 0;   ///< travel before an end over which the input is taken back, in the drive's unit; 0 = none
  double soft_input = 1;  ///< share that is left at the end
};

/// A function that must not run now.
struct Interlock {
  enum class Rule { not_together, not_while_away, not_before_there };
  Rule rule = Rule::not_together;
  std::size_t other = 0;     ///< function that runs, or whose place counts
  std::size_t function = 0;  ///< function held at rest
  std::string text;          ///< told when it first holds something back
};

struct Options {
  double step_s = 1e-3;
  double sample_s = 0;  ///< 0 = at most 1200 rows
  /// Input of ornamental drives from the current of all others: (time step, currents over stall) -> input; empty =
  /// as in the script.
  std::function<double(double dt_s, double others_share)> engine;
  std::vector<Handling> handling;     ///< per drive; empty = the controls go straight to the motors
  std::vector<Interlock> interlocks;  ///< of two that must not run together the one that runs already stays
  /// Tipping margin in degrees for positions and shares of the load per drive; asked at every sample.
  std::function<double(const std::vector<double>& position, const std::vector<double>& load_share)> tipping;
};

struct Outcome {
  std::vector<std::string> drives, hubs;
  std::vector<Sample> samples;
  Energy energy;
  std::vector<Event> events;
  std::int64_t steps = 0;
  std::int64_t unsettled = 0;  ///< steps in which the motors' regimes kept changing: their currents are then rough
  std::vector<double> moved;   ///< per drive: sum of the travel both ways
  /// Over every step, not only those told as samples: a start lasts less than the time between two rows.
  std::vector<double> most_current_a, most_speed_rad_s;  ///< per drive, of its motor
  std::vector<double> least_voltage_v, most_hub_current_a;
};

/// Inputs of the script by name: a drive's own name before its function's.
[[nodiscard]] Outcome run(const Machine& machine, const Script& script, const std::vector<std::string>& function_ids,
                          const Options& options = {});

}  // namespace simulation
