// Machines made by hand, for the tests.
#pragma once

#include <limits>

#include "simulation/run.h"

namespace simulation::fixture {

inline motor::Constants geared() {
  return motor::constants(motor::ratings(9, 120, 380, 90, 1300));
}

/// One motor that stays cold, endless, torque `plus` and `minus` at its shaft.
inline DriveModel drive(const char* name, double plus_nmm, double minus_nmm) {
  DriveModel d;
  d.name = name;
  d.drive.at = {0};
  d.drive.per_rad = {1};
  d.drive.plus_nmm = {plus_nmm};
  d.drive.minus_nmm = {minus_nmm};
  d.drive.plus_free_nmm = {0};
  d.drive.minus_free_nmm = {0};
  d.drive.plus = "up";
  d.drive.minus = "down";
  d.motor = geared();
  d.thermal = {10, 10, 1e12, 1e12, 80};  // stays cold: heat is a matter of its own
  d.inertia_nmm_s2 = kMotorTimeConstant_s * d.motor.torque_nmm_per_a * d.motor.emf_v_s / d.motor.resistance_ohm;
  return d;
}

inline HubModel hub(double volts, double ohms, double capacity_ah = 1e6) {
  HubModel h;
  h.name = "hub 1";
  h.cells = {stock::Chemistry::li_ion, 2, volts, ohms, capacity_ah};
  return h;
}

/// Inputs by drive name, held from each time on.
inline Script script(std::vector<std::string> names, std::vector<std::pair<double, std::vector<double>>> rows) {
  Script out;
  out.inputs = std::move(names);
  for (auto& [time_s, input] : rows) out.steps.push_back({time_s, input, {}});
  return out;
}

}  // namespace simulation::fixture
