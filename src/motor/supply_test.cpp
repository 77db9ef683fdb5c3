// Covers packs and shared supplies: published sag figures, and the exact share against bisection on the voltage.
#include "motor/supply.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/triple.h"

using motor::PortLoad;
using motor::Supply;

TEST(Supply, SixCellsSagAsComputedByHand) {
  // BATT-07, recomputed: U = n (E - I r); 1e-6.
  const Supply pack = motor::pack(6, 1.5, 0.15);
  EXPECT_NEAR(voltage_under(pack, 1.2), 7.920, 1e-6);
  EXPECT_NEAR(short_circuit_current_a(pack), 10.0, 1e-6);
  EXPECT_NEAR(greatest_load_power_w(pack), 22.5, 1e-6);
  EXPECT_NEAR(voltage_under(pack, 5) * 5, 22.5, 1e-6);  // at half the open voltage
}

TEST(Supply, EqualMotorsSeeTheSupplyAsManyTimesItsResistance) {
  const auto m = constants(motor::ratings(9, 120, 380, 90, 1300));
  const Supply pack = motor::pack(6, 1.5, 0.15);
  for (int n = 1; n <= 4; ++n) {
    const auto one = operate(m, feed_of_equal(pack, n, 0.2), 35);
    const double total_a = n * one.current_a + 0.2;
    EXPECT_NEAR(one.terminal_voltage_v, voltage_under(pack, total_a), 1e-12);
    const auto together = share_supply(pack, std::vector<PortLoad>(static_cast<std::size_t>(n), PortLoad{m, 35}));
    EXPECT_NEAR(together.motors.front().speed_rad_s, operate(m, feed_of_equal(pack, n), 35).speed_rad_s, 1e-9);
  }
}

TEST(Supply, ShareOfUnequalMotorsMatchesBisectionOnThePortVoltage) {
  for (std::uint64_t round = 0; round < 300; ++round) {
    const auto draw = [&](std::uint64_t stream) { return base::uniform_draw(7, stream, round); };
    Supply pack = motor::pack(6, 1.5, 0.05 + 0.5 * draw(0));
    if (draw(1) < 0.5) pack.port_current_limit_a = 0.4 + draw(2);
    std::vector<PortLoad> loads;
    for (std::uint64_t i = 0; i < 1 + round % 4; ++i) {
      const auto m = constants(motor::ratings(9, 40 + 100 * draw(10 + i), 380, 60, 700 + 800 * draw(20 + i)));
      loads.push_back({m, 150 * draw(30 + i) - 10});
    }
    const auto current = [&](double voltage) {
      double sum = 0;
      for (const PortLoad& l : loads) {
        const double asked = l.motor.no_load_current_a + l.torque_nmm / l.motor.torque_nmm_per_a;
        sum += std::min({asked, voltage / l.motor.resistance_ohm, pack.port_current_limit_a});
      }
      return sum;
    };
    double low = 0, high = 2 * pack.open_voltage_v;
    for (int i = 0; i < 200; ++i) {
      const double middle = (low + high) / 2;
      (voltage_under(pack, current(middle)) > middle ? low : high) = middle;
    }
    const auto state = share_supply(pack, loads);
    EXPECT_NEAR(state.voltage_v, low, 1e-9) << round;
    EXPECT_NEAR(state.current_a, current(low), 1e-9) << round;
  }
}

TEST(Supply, SaysWhenTheHubWillCutOff) {
  const auto m = constants(motor::ratings(9, 120, 380, 90, 1300));
  Supply pack = motor::pack(6, 1.5, 0.15);
  pack.current_limit_a = 1.5;
  EXPECT_FALSE(share_supply(pack, std::vector<PortLoad>(2, {m, 50})).over_total_limit);
  EXPECT_TRUE(share_supply(pack, std::vector<PortLoad>(3, {m, 50})).over_total_limit);
}
