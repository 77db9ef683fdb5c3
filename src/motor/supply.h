// Cells with internal resistance feeding several motors: sag, limits of ports and hub, who stalls first.
//   U = n (E - I r)   n cells in series, e.m.f. E, resistance r each
// Units V, A, ohm, W. Source: any text on circuits; the pack is linear, so capacity and cell chemistry stay outside.
#pragma once

#include <limits>
#include <span>
#include <vector>

#include "motor/motor.h"

namespace motor {

struct Supply {
  double open_voltage_v = 0;
  double resistance_ohm = 0;
  double current_limit_a = std::numeric_limits<double>::infinity();       ///< all ports together
  double port_current_limit_a = std::numeric_limits<double>::infinity();  ///< each port
};

[[nodiscard]] Supply pack(int cells, double emf_v, double cell_resistance_ohm);
/// Nominal figures of a hub part (mA converted).
[[nodiscard]] Supply supply(const stock::Hub& part);

[[nodiscard]] double voltage_under(const Supply& supply, double current_a);
[[nodiscard]] double short_circuit_current_a(const Supply& supply);
/// Largest power a load can draw, E^2/(4 r) at half the open voltage; infinite for r = 0.
[[nodiscard]] double greatest_load_power_w(const Supply& supply);

/// What each of `motors` equal, equally loaded motors sees while others draw `other_current_a`: E - r I_other behind
/// n r; the hub's limit is shared equally.
[[nodiscard]] Feed feed_of_equal(const Supply& supply, int motors, double other_current_a = 0);

/// One motor on the supply and what its shaft must give.
struct PortLoad {
  Constants motor;
  double torque_nmm = 0;
};
struct HubState {
  double voltage_v = 0;           ///< at the ports
  double current_a = 0;           ///< all ports together
  bool over_total_limit = false;  ///< the sum of the currents exceeds the hub's limit: it will cut off
  std::vector<Operation> motors;  ///< as given
};
/// Unequal motors together. Total current is non-decreasing in the port voltage and the sagging supply is decreasing,
/// so the state is unique; solved exactly on the piecewise linear current. Nothing is shed at the total limit, only
/// told.
[[nodiscard]] HubState share_supply(const Supply& supply, std::span<const PortLoad> loads);

}  // namespace motor
