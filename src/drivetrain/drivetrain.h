// Motor + train + losses against a load: the operating point, what the output can give at most, and what holds it.
//
// Everything is counted in the direction of the wanted motion of the output, so ratios here are magnitudes: the sense
// of rotation is the train's business. Letters: r ratio = output speed / motor speed, e efficiency motor -> output, e_b
// efficiency output -> motor (zero or less: self-locking; then a helping load still needs the motor's push).
//   opposing load  T > 0:  T_motor = T r / e          helping load  T < 0:  T_motor = T r e_b
// where T already contains the friction at the output, which always opposes the motion. N mm, rad/s, W, A.
#pragma once

#include <string_view>
#include <vector>

#include "motor/motor.h"
#include "motor/supply.h"

namespace drivetrain {

/// A train as the operating point sees it.
struct Train {
  double ratio = 1;                ///< > 0, output speed / motor speed
  double forward_efficiency = 1;   ///< 0 < e <= 1
  double backward_efficiency = 1;  ///< e_b <= 1; <= 0 when it does not run backwards
};

/// Two trains one after the other; `second` is nearer to the output. A second train that locks makes the first one
/// push.
[[nodiscard]] Train in_series(const Train& first, const Train& second);
/// A screw or rack as the last stage: `mm_per_rad` of travel at its input (lead/2 pi). Its output is a line, so where
/// this header says torque_nmm and speed_rad_s of the output read N and mm/s; N mm/s is still a milliwatt.
[[nodiscard]] Train linear_stage(double mm_per_rad, double forward_efficiency, double backward_efficiency);

/// What acts on the output.
struct Load {
  double torque_nmm = 0;      ///< > 0 opposes the motion, < 0 helps it
  double friction_nmm = 0;    ///< constant friction, >= 0
  double friction_share = 0;  ///< friction per load torque (mu times radius over lever), >= 0
};
/// Friction torque of a load, always >= 0.
[[nodiscard]] double friction_of(const Load& load);

struct Drive {
  motor::Constants motor;
  motor::Feed feed;  ///< seen by each motor; motor::feed_of_equal makes it for several on one hub
  Train train;
  int motors = 1;  ///< equal motors geared to the same output
};

struct Losses {
  double supply_w = 0;  ///< in the feed's resistance
  double copper_w = 0;
  double motor_friction_w = 0;  ///< the rest inside the motor
  double train_w = 0;
  double output_friction_w = 0;
  [[nodiscard]] double sum_w() const { return supply_w + copper_w + motor_friction_w + train_w + output_friction_w; }
};

struct Point {
  bool moves = false;        ///< false: stalled
  bool load_drives = false;  ///< power flows from the load towards the motor
  double output_speed_rad_s = 0;
  double output_power_w = 0;     ///< into the load itself, friction not counted; negative when the load helps
  double motor_torque_nmm = 0;   ///< asked of each motor
  double motor_stall_share = 0;  ///< asked / stall torque at this feed; > 1 = stalled
  double current_a = 0;          ///< all motors together
  double stall_load_nmm = 0;     ///< largest opposing load torque (without its friction) the drive just moves
  motor::Operation motor;        ///< each motor
  Losses losses;                 ///< all motors together; source power = output power + losses
};

[[nodiscard]] Point operate(const Drive& drive, const Load& load);

/// Largest opposing load torque, not counting `load`'s friction, that the drive can just move; 0 when friction alone
/// stalls it. `load.torque_nmm` is not looked at.
[[nodiscard]] double stall_load_nmm(const Drive& drive, const Load& load);

/// What keeps a load from moving the output while the motor is off.
enum class HeldBy { no_load, output_friction, self_locking, motor_friction, nothing };
[[nodiscard]] std::string_view name_of(HeldBy by);

struct Hold {
  HeldBy by = HeldBy::nothing;
  double margin = 0;             ///< torque that holds / torque of the load; infinite for self_locking and no_load
  double creep_speed_rad_s = 0;  ///< of the output with the motor's terminals shorted; 0 when held
};
/// Whether a standing load torque (either sign: magnitude counts) back-drives the output. Friction at the output and in
/// the motor is counted, the motor gives nothing.
[[nodiscard]] Hold hold(const Drive& drive, const Load& load);

/// Ratios at which the output reaches at least `speed_rad_s` against an opposing load.
struct RatioRange {
  bool any = false;
  double low = 0, high = 0;  ///< both included
  double fastest = 0;        ///< the ratio that gives the highest speed, and that speed
  double fastest_speed_rad_s = 0;
};
/// Prunes train searches: the train's efficiency is taken as given whatever the ratio. Speed over ratio is
/// r (n0 - s T r/e) up to the current limit, a parabola, so the range is closed form. Load torque incl. friction > 0
/// or == 0 (then high is infinite).
[[nodiscard]] RatioRange ratios_reaching(const Drive& drive, const Load& load, double speed_rad_s);

}  // namespace drivetrain
