// DC motors as the linear torque-speed-current model: what a motor does at a load and a feed.
//
//   U = R I + k_e w          terminal voltage, winding resistance, current, back e.m.f.
//   T = k_t (I - I0)         shaft torque; I0 = no-load current (friction inside, taken as constant)
// so that speed falls linearly with torque between no load and stall. k_t and k_e are kept apart because catalogue data
// of a motor with its own gears do not give equal ones. Units: V, A, ohm, N mm, rad/s, W, K.
// Source: any textbook on d.c. machines; Portescap catalogue, "Examples of DC coreless motor calculations", p. 224.
#pragma once

#include <limits>
#include <optional>
#include <string>

#include "stock/part.h"  // Motor: the catalogue's figures

namespace motor {

/// Figures at nominal voltage, as a catalogue or a bench test gives them.
struct Ratings {
  double nominal_voltage_v = 0;
  double stall_torque_nmm = 0;
  double no_load_speed_rad_s = 0;
  double no_load_current_a = 0;
  double stall_current_a = 0;
};

/// What the model works with.
struct Constants {
  double resistance_ohm = 0;     ///< R
  double torque_nmm_per_a = 0;   ///< k_t
  double emf_v_s = 0;            ///< k_e, V per rad/s
  double no_load_current_a = 0;  ///< I0
  double nominal_voltage_v = 0;  ///< for information
};

/// What one motor is fed from: a voltage source with a resistance in series, and a limit of its port.
struct Feed {
  double voltage_v = 0;       ///< open circuit
  double resistance_ohm = 0;  ///< seen by this motor; n equal motors on one supply each see n times its own
  double current_limit_a = std::numeric_limits<double>::infinity();
};

/// A state on the line.
struct Operation {
  bool turns = false;            ///< false: stalled, torque_nmm is then all it gives
  bool current_limited = false;  ///< at stall: the port's limit, not the winding, sets the torque
  double speed_rad_s = 0;
  double torque_nmm = 0;  ///< at the shaft
  double current_a = 0;
  double terminal_voltage_v = 0;
  double shaft_power_w = 0;     ///< negative when the load drives the motor
  double terminal_power_w = 0;  ///< drawn from the feed's terminals
  double copper_loss_w = 0;     ///< R I^2 in the winding
  double efficiency = 0;        ///< shaft over terminal power; 0 unless both are positive
  double stall_share = 0;       ///< asked torque / stall torque at this feed
};

/// The ends and the best points of the line at a feed.
struct Line {
  double no_load_speed_rad_s = 0;
  double stall_torque_nmm = 0;  ///< after the current limit
  double stall_current_a = 0;   ///< after the current limit
  bool current_limited = false;
  double max_power_w = 0;  ///< largest shaft power
  double max_power_torque_nmm = 0;
  double best_efficiency = 0;  ///< at the motor's terminals with feed resistance 0, else including it
  double best_efficiency_current_a = 0;
  double best_efficiency_torque_nmm = 0;
};

/// Catalogue units (rpm, mA) to ratings.
[[nodiscard]] Ratings ratings(double nominal_voltage_v, double stall_torque_nmm, double no_load_speed_rpm,
                              double no_load_current_ma, double stall_current_ma);
/// The nominal figures of a part. For draws take the figures one by one and use the function above.
[[nodiscard]] Ratings ratings(const stock::Motor& part);

/// What is wrong with the figures, in words (not positive, no-load current at or above stall current, shaft power
/// created from nothing: k_t > k_e by more than 2 %); empty when they make a motor.
[[nodiscard]] std::optional<std::string> fault(const Ratings& ratings);

/// R = U/Is, k_t = Ts/(Is - I0), k_e = (U - R I0)/n0. KW_CHECK: positive figures, I0 < Is.
[[nodiscard]] Constants constants(const Ratings& ratings);
/// The way back: ratings of the model at a voltage (its nominal one by default).
[[nodiscard]] Ratings ratings(const Constants& constants, double voltage_v);

/// Speed, current and losses when the shaft must give `torque_nmm` (negative: the load drives the motor).
[[nodiscard]] Operation operate(const Constants& motor, const Feed& feed, double torque_nmm);
/// State at a given speed >= 0; the current limit caps the torque.
[[nodiscard]] Operation at_speed(const Constants& motor, const Feed& feed, double speed_rad_s);
[[nodiscard]] Line line(const Constants& motor, const Feed& feed);

/// Voltage needed at the terminals to give a torque at a speed: U = R I + k_e w with I = I0 + T/k_t.
[[nodiscard]] double voltage_for(const Constants& motor, double torque_nmm, double speed_rad_s);

/// Torque a passive motor resists with before it creeps: its own friction, k_t I0.
[[nodiscard]] double idle_holding_torque_nmm(const Constants& motor);
/// Speed a load creeps down at with the terminals shorted: (|T| - k_t I0) R/(k_t k_e), 0 when friction holds it.
[[nodiscard]] double shorted_creep_speed_rad_s(const Constants& motor, double torque_nmm);

}  // namespace motor
