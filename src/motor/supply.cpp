#include "motor/supply.h"

#include <algorithm>
#include <numeric>

#include "base/check.h"

namespace motor {

Supply pack(int cells, double emf_v, double cell_resistance_ohm) {
  KW_CHECK(cells > 0 && emf_v > 0 && cell_resistance_ohm >= 0, "a pack needs cells with a voltage");
  Supply out;
  out.open_voltage_v = cells * emf_v;
  out.resistance_ohm = cells * cell_resistance_ohm;
  return out;
}

Supply supply(const stock::Hub& part) {
  Supply out;
  out.open_voltage_v = part.voltage_v;
  out.resistance_ohm = part.internal_resistance_ohm.value.nominal;
  if (part.total_current_ma > 0) out.current_limit_a = part.total_current_ma * 1e-3;
  if (part.port_current_ma > 0) out.port_current_limit_a = part.port_current_ma * 1e-3;
  return out;
}

double voltage_under(const Supply& supply, double current_a) {
  return supply.open_voltage_v - supply.resistance_ohm * current_a;
}

double short_circuit_current_a(const Supply& supply) {
  return supply.open_voltage_v / supply.resistance_ohm;
}

double greatest_load_power_w(const Supply& supply) {
  return supply.open_voltage_v * supply.open_voltage_v / (4 * supply.resistance_ohm);
}

Feed feed_of_equal(const Supply& supply, int motors, double other_current_a) {
  KW_CHECK(motors > 0, "at least one motor");
  Feed feed;
  feed.voltage_v = std::max(0.0, voltage_under(supply, other_current_a));
  feed.resistance_ohm = motors * supply.resistance_ohm;
  const double left_a = std::max(0.0, supply.current_limit_a - other_current_a);
  feed.current_limit_a = std::min(supply.port_current_limit_a, left_a / motors);
  return feed;
}

HubState share_supply(const Supply& supply, std::span<const PortLoad> loads) {
  // Each motor takes I = min(cap, U/R): cap = what its torque asks for (or the port's limit), U/R once it stalls. It
  // takes its cap from the port voltage R cap upwards.
  const std::size_t n = loads.size();
  std::vector<double> cap_a(n), full_at_v(n);
  for (std::size_t i = 0; i < n; ++i) {
    const Constants& m = loads[i].motor;
    cap_a[i] = std::min(m.no_load_current_a + loads[i].torque_nmm / m.torque_nmm_per_a, supply.port_current_limit_a);
    full_at_v[i] = m.resistance_ohm * cap_a[i];
  }
  std::vector<std::size_t> order(n);
  std::iota(order.begin(), order.end(), std::size_t{0});
  // Not stable_sort, which takes memory each time: this runs many thousand times for a few motors.
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return full_at_v[a] != full_at_v[b] ? full_at_v[a] < full_at_v[b] : a < b;
  });

  double capped_a = std::accumulate(cap_a.begin(), cap_a.end(), 0.0);
  double conductance = 0;
  double voltage_v = 0;
  for (std::size_t capped = n + 1; capped-- > 0;) {
    voltage_v = (supply.open_voltage_v - supply.resistance_ohm * capped_a) / (1 + supply.resistance_ohm * conductance);
    if (capped == 0 || voltage_v >= full_at_v[order[capped - 1]]) break;
    const std::size_t stalls = order[capped - 1];
    capped_a -= cap_a[stalls];
    conductance += 1 / loads[stalls].motor.resistance_ohm;
  }

  HubState out;
  out.voltage_v = voltage_v;
  out.motors.reserve(n);
  for (const PortLoad& load : loads) {
    out.motors.push_back(operate(load.motor, Feed{voltage_v, 0, supply.port_current_limit_a}, load.torque_nmm));
    out.current_a += out.motors.back().current_a;
  }
  out.over_total_limit = out.current_a > supply.current_limit_a;
  return out;
}

}  // namespace motor
