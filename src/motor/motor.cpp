#include "motor/motor.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/text.h"

namespace motor {
namespace {

constexpr double kMilli = 1e-3;  // N mm to N m
// Catalogue figures are rounded; up to this excess of k_t over k_e is taken as rounding, not as a fault.
constexpr double kConversionSlack = 1.02;

double total_resistance(const Constants& motor, const Feed& feed) {
  return motor.resistance_ohm + feed.resistance_ohm;
}

Operation state(const Constants& motor, const Feed& feed, double current_a, double speed_rad_s, double torque_nmm) {
  Operation out;
  out.turns = speed_rad_s > 0;
  out.speed_rad_s = speed_rad_s;
  out.torque_nmm = torque_nmm;
  out.current_a = current_a;
  out.terminal_voltage_v = motor.resistance_ohm * current_a + motor.emf_v_s * speed_rad_s;
  out.shaft_power_w = torque_nmm * kMilli * speed_rad_s;
  out.terminal_power_w = out.terminal_voltage_v * current_a;
  out.copper_loss_w = motor.resistance_ohm * current_a * current_a;
  out.current_limited = current_a >= feed.current_limit_a;
  if (out.shaft_power_w > 0 && out.terminal_power_w > 0) out.efficiency = out.shaft_power_w / out.terminal_power_w;
  return out;
}

struct Stall {
  double current_a, torque_nmm;
  bool limited;
};

Stall stall_of(const Constants& motor, const Feed& feed) {
  const double winding_a = feed.voltage_v / total_resistance(motor, feed);
  const bool limited = feed.current_limit_a < winding_a;
  const double current_a = limited ? feed.current_limit_a : winding_a;
  return {current_a, std::max(0.0, motor.torque_nmm_per_a * (current_a - motor.no_load_current_a)), limited};
}

}  // namespace

Ratings ratings(double nominal_voltage_v, double stall_torque_nmm, double no_load_speed_rpm, double no_load_current_ma,
                double stall_current_ma) {
  return {nominal_voltage_v, stall_torque_nmm, no_load_speed_rpm * std::numbers::pi / 30, no_load_current_ma * 1e-3,
          stall_current_ma * 1e-3};
}

Ratings ratings(const stock::Motor& part) {
  return ratings(part.nominal_voltage_v, part.stall_torque_nmm.value.nominal, part.no_load_speed_rpm.value.nominal,
                 part.no_load_current_ma.value.nominal, part.stall_current_ma.value.nominal);
}

std::optional<std::string> fault(const Ratings& r) {
  if (!(r.nominal_voltage_v > 0)) return "the nominal voltage must be above 0 V";
  if (!(r.stall_torque_nmm > 0)) return "the stall torque must be above 0 N mm";
  if (!(r.no_load_speed_rad_s > 0)) return "the no-load speed must be above 0";
  if (!(r.no_load_current_a >= 0)) return "the no-load current must not be negative";
  if (!(r.stall_current_a > r.no_load_current_a)) return "the stall current must be above the no-load current";
  const Constants c = constants(r);
  if (c.torque_nmm_per_a * kMilli > c.emf_v_s * kConversionSlack) {
    const double excess = c.torque_nmm_per_a * kMilli / c.emf_v_s;
    return "the figures give out " + base::plain(excess, 3) +
           " times the power that goes into the rotor; the stall torque or the no-load speed is too high, or the stall "
           "current too low";
  }
  return std::nullopt;
}

Constants constants(const Ratings& r) {
  KW_CHECK(r.nominal_voltage_v > 0 && r.stall_torque_nmm > 0 && r.no_load_speed_rad_s > 0 && r.no_load_current_a >= 0 &&
               r.stall_current_a > r.no_load_current_a,
           "motor ratings are not those of a motor; see motor::fault");
  Constants c;
  c.resistance_ohm = r.nominal_voltage_v / r.stall_current_a;
  c.torque_nmm_per_a = r.stall_torque_nmm / (r.stall_current_a - r.no_load_current_a);
  c.emf_v_s = (r.nominal_voltage_v - c.resistance_ohm * r.no_load_current_a) / r.no_load_speed_rad_s;
  c.no_load_current_a = r.no_load_current_a;
  c.nominal_voltage_v = r.nominal_voltage_v;
  return c;
}

Ratings ratings(const Constants& c, double voltage_v) {
  Ratings r;
  r.nominal_voltage_v = voltage_v;
  r.stall_current_a = voltage_v / c.resistance_ohm;
  r.no_load_current_a = c.no_load_current_a;
  r.stall_torque_nmm = std::max(0.0, c.torque_nmm_per_a * (r.stall_current_a - c.no_load_current_a));
  r.no_load_speed_rad_s = std::max(0.0, (voltage_v - c.resistance_ohm * c.no_load_current_a) / c.emf_v_s);
  return r;
}

Operation operate(const Constants& motor, const Feed& feed, double torque_nmm) {
  const Stall stall = stall_of(motor, feed);
  const double current_a = motor.no_load_current_a + torque_nmm / motor.torque_nmm_per_a;
  const double speed_rad_s = (feed.voltage_v - total_resistance(motor, feed) * current_a) / motor.emf_v_s;
  const bool runs = speed_rad_s > 0 && current_a <= feed.current_limit_a;
  Operation out = runs ? state(motor, feed, current_a, speed_rad_s, torque_nmm)
                       : state(motor, feed, stall.current_a, 0, stall.torque_nmm);
  if (!runs) out.current_limited = stall.limited;
  if (torque_nmm > 0) {
    out.stall_share = stall.torque_nmm > 0 ? torque_nmm / stall.torque_nmm : std::numeric_limits<double>::infinity();
  }
  return out;
}

Operation at_speed(const Constants& motor, const Feed& feed, double speed_rad_s) {
  const double free_a = (feed.voltage_v - motor.emf_v_s * speed_rad_s) / total_resistance(motor, feed);
  const double current_a = std::min(free_a, feed.current_limit_a);
  double torque_nmm = motor.torque_nmm_per_a * (current_a - motor.no_load_current_a);
  if (speed_rad_s <= 0) torque_nmm = std::max(0.0, torque_nmm);  // friction at rest only resists
  Operation out = state(motor, feed, current_a, speed_rad_s, torque_nmm);
  const Stall stall = stall_of(motor, feed);
  if (torque_nmm > 0 && stall.torque_nmm > 0) out.stall_share = torque_nmm / stall.torque_nmm;
  return out;
}

Line line(const Constants& motor, const Feed& feed) {
  const double resistance = total_resistance(motor, feed);
  const Stall stall = stall_of(motor, feed);
  Line out;
  out.stall_torque_nmm = stall.torque_nmm;
  out.stall_current_a = stall.current_a;
  out.current_limited = stall.limited;
  const double free_stall_a = feed.voltage_v / resistance;
  if (free_stall_a <= motor.no_load_current_a || feed.current_limit_a <= motor.no_load_current_a) return out;
  out.no_load_speed_rad_s = (feed.voltage_v - resistance * motor.no_load_current_a) / motor.emf_v_s;

  const double half_nmm = motor.torque_nmm_per_a * (free_stall_a - motor.no_load_current_a) / 2;
  out.max_power_torque_nmm = std::min(half_nmm, stall.torque_nmm);
  out.max_power_w = operate(motor, feed, out.max_power_torque_nmm).shaft_power_w;

  // Shaft power over E I: (k_t/k_e) (I - I0)(E - R I)/(E I), largest at I = sqrt(I0 Is).
  const double best_a = std::min(std::sqrt(motor.no_load_current_a * free_stall_a), feed.current_limit_a);
  const double conversion = motor.torque_nmm_per_a * kMilli / motor.emf_v_s;
  out.best_efficiency_current_a = best_a;
  out.best_efficiency_torque_nmm = motor.torque_nmm_per_a * (best_a - motor.no_load_current_a);
  out.best_efficiency = best_a > 0 ? conversion * (best_a - motor.no_load_current_a) *
                                         (feed.voltage_v - resistance * best_a) / (feed.voltage_v * best_a)
                                   : conversion;
  return out;
}

double voltage_for(const Constants& motor, double torque_nmm, double speed_rad_s) {
  return motor.resistance_ohm * (motor.no_load_current_a + torque_nmm / motor.torque_nmm_per_a) +
         motor.emf_v_s * speed_rad_s;
}

double idle_holding_torque_nmm(const Constants& motor) {
  return motor.torque_nmm_per_a * motor.no_load_current_a;
}

double shorted_creep_speed_rad_s(const Constants& motor, double torque_nmm) {
  const double excess_nmm = std::fabs(torque_nmm) - idle_holding_torque_nmm(motor);
  if (excess_nmm <= 0) return 0;
  return excess_nmm / motor.torque_nmm_per_a * motor.resistance_ohm / motor.emf_v_s;
}

}  // namespace motor
