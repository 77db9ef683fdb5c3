// Motors, trains and hubs as the time simulation steps them: plain numbers, so that tests can make them by hand.
//
// Each drive is a motor (of several alike) with its train on a table of loads along its travel. Speeds and inputs are
// positive towards the drive's plus. Units N mm, rad/s, A, V, ohm, s; inertia N mm s^2 (= kg m^2 x 1000).
#pragma once

#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "candidate/running.h"

namespace simulation {

/// Motors of a drive on one hub.
struct Plug {
  std::size_t hub = 0;
  int motors = 1;
  double port_limit_a = 0;  ///< 0 = none
};

struct DriveModel {
  std::string name;          ///< "winch", "travel left"
  std::size_t function = 0;  ///< index into Brief::functions
  bool looks_only = false;
  std::size_t hub = 0;
  candidate::Drive drive;  ///< motors, train, loads along the travel
  motor::Constants motor;
  motor::Thermal thermal;
  double inertia_nmm_s2 = 0;    ///< at each motor's shaft: rotor and its share of what it moves
  double port_limit_a = 0;      ///< 0 = none
  std::vector<Plug> elsewhere;  ///< those of the drive's motors that sit in other hubs than `hub`
  double load_share = 1;
  bool soft_ends = true;  ///< the input is taken away at the ends of the travel
};

struct HubModel {
  std::string name;
  motor::Cells cells;
  motor::CutOut cut_out;  ///< hold_a 0 = none
  double depth = 0;       ///< at the start
};

struct Machine {
  std::vector<DriveModel> drives;
  std::vector<HubModel> hubs;
};

/// Mechanical time constant of a geared motor by itself, R J/(k_t k_e): gives the rotor's inertia, which no list of
/// parts tells. Common practice, no source.
inline constexpr double kMotorTimeConstant_s = 0.05;

/// The chosen drives on the hubs they are plugged into, cells used to `depth`.
[[nodiscard]] Machine machine_of(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                 const std::vector<assessment::PortUse>& ports, double depth = 0);

}  // namespace simulation
