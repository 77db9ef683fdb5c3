#include "drivetrain/drivetrain.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/check.h"

namespace drivetrain {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kMilli = 1e-3;  // N mm rad/s to W

void check(const Drive& drive) {
  KW_CHECK(drive.train.ratio > 0, "a train's ratio is its magnitude");
  KW_CHECK(drive.train.forward_efficiency > 0 && drive.train.forward_efficiency <= 1, "forward efficiency in (0, 1]");
  KW_CHECK(drive.train.backward_efficiency <= 1, "backward efficiency at most 1");
  KW_CHECK(drive.motors >= 1, "at least one motor");
}

/// Torque asked of each motor when `net_nmm` (friction included) acts against the output's motion.
double motor_torque_nmm(const Drive& drive, double net_nmm) {
  const Train& t = drive.train;
  const double one_nmm = net_nmm * t.ratio / drive.motors;
  return net_nmm >= 0 ? one_nmm / t.forward_efficiency : one_nmm * t.backward_efficiency;
}

}  // namespace

Train in_series(const Train& first, const Train& second) {
  Train out;
  out.ratio = first.ratio * second.ratio;
  out.forward_efficiency = first.forward_efficiency * second.forward_efficiency;
  // Below zero the second train needs a push at its input even while the load helps: the first then drives forward.
  out.backward_efficiency = second.backward_efficiency < 0 ? second.backward_efficiency / first.forward_efficiency
                                                           : second.backward_efficiency * first.backward_efficiency;
  return out;
}

Train linear_stage(double mm_per_rad, double forward_efficiency, double backward_efficiency) {
  return {mm_per_rad, forward_efficiency, backward_efficiency};
}

double friction_of(const Load& load) {
  return load.friction_nmm + load.friction_share * std::fabs(load.torque_nmm);
}

std::string_view name_of(HeldBy by) {
  switch (by) {
    case HeldBy::no_load:
      return "no load";
    case HeldBy::output_friction:
      return "friction at the output";
    case HeldBy::self_locking:
      return "self-locking train";
    case HeldBy::motor_friction:
      return "friction of the motor";
    case HeldBy::nothing:
      return "nothing";
  }
  return "";
}

double stall_load_nmm(const Drive& drive, const Load& load) {
  check(drive);
  const double motor_nmm = motor::line(drive.motor, drive.feed).stall_torque_nmm * drive.motors;
  const double output_nmm = motor_nmm * drive.train.forward_efficiency / drive.train.ratio;
  return std::max(0.0, (output_nmm - load.friction_nmm) / (1 + load.friction_share));
}

Point operate(const Drive& drive, const Load& load) {
  check(drive);
  const double friction_nmm = friction_of(load);
  const double net_nmm = load.torque_nmm + friction_nmm;
  Point out;
  out.motor_torque_nmm = motor_torque_nmm(drive, net_nmm);
  out.motor = motor::operate(drive.motor, drive.feed, out.motor_torque_nmm);
  out.moves = out.motor.turns;
  out.load_drives = net_nmm < 0;
  out.motor_stall_share = out.motor.stall_share;
  out.stall_load_nmm = stall_load_nmm(drive, load);
  out.output_speed_rad_s = out.motor.speed_rad_s * drive.train.ratio;
  out.output_power_w = load.torque_nmm * kMilli * out.output_speed_rad_s;
  out.current_a = out.motor.current_a * drive.motors;

  const double n = drive.motors;
  const double shaft_w = out.moves ? out.motor.shaft_power_w * n : 0;
  out.losses.supply_w = n * (drive.feed.voltage_v - out.motor.terminal_voltage_v) * out.motor.current_a;
  out.losses.copper_w = n * out.motor.copper_loss_w;
  out.losses.motor_friction_w = n * (out.motor.terminal_power_w - out.motor.copper_loss_w) - shaft_w;
  out.losses.output_friction_w = friction_nmm * kMilli * out.output_speed_rad_s;
  out.losses.train_w = shaft_w - net_nmm * kMilli * out.output_speed_rad_s;
  return out;
}

Hold hold(const Drive& drive, const Load& load) {
  check(drive);
  Hold out;
  const double torque_nmm = std::fabs(load.torque_nmm);
  const double friction_nmm = friction_of(load);
  if (torque_nmm == 0) return {HeldBy::no_load, kInfinity, 0};
  if (friction_nmm >= torque_nmm) return {HeldBy::output_friction, friction_nmm / torque_nmm, 0};
  if (drive.train.backward_efficiency <= 0) return {HeldBy::self_locking, kInfinity, 0};

  const double backward = drive.train.ratio * drive.train.backward_efficiency / drive.motors;
  const double motor_nmm = motor::idle_holding_torque_nmm(drive.motor);
  out.margin = (friction_nmm + motor_nmm / backward) / torque_nmm;
  out.by = out.margin >= 1 ? HeldBy::motor_friction : HeldBy::nothing;
  if (out.by == HeldBy::nothing) {
    const double shaft_nmm = (torque_nmm - friction_nmm) * backward;
    out.creep_speed_rad_s = motor::shorted_creep_speed_rad_s(drive.motor, shaft_nmm) * drive.train.ratio;
  }
  return out;
}

RatioRange ratios_reaching(const Drive& drive, const Load& load, double speed_rad_s) {
  check(drive);
  KW_CHECK(speed_rad_s >= 0, "a wanted speed is a magnitude");
  const motor::Line line = motor::line(drive.motor, drive.feed);
  RatioRange out;
  if (line.no_load_speed_rad_s <= 0) return out;
  const double net_nmm = load.torque_nmm + friction_of(load);
  if (net_nmm <= 0) {
    out.any = true;
    out.low = speed_rad_s / line.no_load_speed_rad_s;
    out.high = out.fastest = out.fastest_speed_rad_s = kInfinity;
    return out;
  }
  // Output speed = r (n0 - k r), k = speed lost per ratio; the current limit cuts at r_cap.
  const double per_ratio_nmm = net_nmm / (drive.train.forward_efficiency * drive.motors);
  const double drop = (drive.motor.resistance_ohm + drive.feed.resistance_ohm) /
                      (drive.motor.torque_nmm_per_a * drive.motor.emf_v_s) * per_ratio_nmm;
  const double n0 = line.no_load_speed_rad_s;
  const double cap = line.stall_torque_nmm / per_ratio_nmm;
  out.fastest = std::min(n0 / (2 * drop), cap);
  out.fastest_speed_rad_s = out.fastest * (n0 - drop * out.fastest);
  const double discriminant = n0 * n0 - 4 * drop * speed_rad_s;
  if (out.fastest_speed_rad_s < speed_rad_s || discriminant < 0) return out;
  const double root = std::sqrt(discriminant);
  out.any = true;
  out.low = 2 * speed_rad_s / (n0 + root);  // the form that keeps its digits for small speeds
  out.high = std::min((n0 + root) / (2 * drop), cap);
  return out;
}

}  // namespace drivetrain
