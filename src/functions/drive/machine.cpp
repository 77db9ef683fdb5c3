#include <algorithm>
#include <cmath>
#include <limits>

#include "candidate/running.h"
#include "drivetrain/drivetrain.h"
#include "functions/drive/drive.h"
#include "motor/supply.h"
#include "structure/torsion.h"

namespace functions::drive {

using brief::Parameter;

Machine machine(const Powertrain& p, const brief::Brief& brief, const brief::Sample& sample) {
  const auto& part = std::get<stock::Motor>(brief.catalogue->at(p.motor).data);
  Machine m;
  m.motor = candidate::motor_constants(part, sample);
  motor::Supply supply;
  supply.open_voltage_v = brief.supply.voltage_v * sample[Parameter::supply_voltage_factor];
  supply.resistance_ohm = brief.supply.resistance_ohm;
  if (brief.supply.port_current_ma > 0) supply.port_current_limit_a = brief.supply.port_current_ma / 1000;
  m.feed = motor::feed_of_equal(supply, p.motors);
  m.motors = p.motors;
  m.meshes.spur = sample[Parameter::spur_efficiency];
  m.meshes.bevel = sample[Parameter::bevel_efficiency];
  m.meshes.crown = sample[Parameter::crown_efficiency];
  m.meshes.ring = sample[Parameter::ring_efficiency];
  m.meshes.worm_friction = sample[Parameter::worm_friction];
  m.meshes.bearing_loss = sample[Parameter::bearing_loss];
  m.teeth.stress_mpa = sample[Parameter::tooth_stress_mpa];
  m.teeth.bevel_support = sample[Parameter::bevel_support];
  m.teeth.crown_support = sample[Parameter::crown_support];
  m.axle_shear_stress_mpa = sample[Parameter::axle_shear_stress_mpa];
  m.ratio = 1;
  for (const gearing::Stage& stage : p.train.stages) m.ratio *= std::fabs(stage.ratio.value());
  m.forward = gearing::forward_efficiency(p.train, m.meshes);
  m.backward = gearing::backward_efficiency(p.train, m.meshes);
  return m;
}

namespace {

drivetrain::Drive as_drive(const Machine& m) {
  return {m.motor, m.feed, {m.ratio, m.forward, m.backward}, m.motors};
}

}  // namespace

double stall_torque_nmm(const Machine& m) {
  return motor::line(m.motor, m.feed).stall_torque_nmm * m.motors / m.ratio * m.forward;
}

double stepped_current_ma(double current_ma) {
  return std::ceil(current_ma / kCurrentStepMa - 1e-9) * kCurrentStepMa;
}

double stepped_current_ma(double current_ma, int drives) {
  return stepped_current_ma(current_ma / drives) * drives;
}

QuickState quick_state(const Machine& m, double load_nmm) {
  const double motor_nmm =
      (load_nmm >= 0 ? load_nmm * m.ratio / m.forward : load_nmm * m.ratio * m.backward) / m.motors;
  const motor::Operation op = motor::operate(m.motor, m.feed, motor_nmm);
  return {op.turns ? op.speed_rad_s * m.ratio : 0.0, std::fabs(op.current_a) * 1000 * m.motors};
}

SpeedLine speed_line(const Machine& machine) {
  SpeedLine line;
  line.stall_nmm = stall_torque_nmm(machine);
  line.no_load_rad_s = quick_state(machine, 0).speed_rad_s;
  if (line.stall_nmm > 0)
    line.slope = (line.no_load_rad_s - quick_state(machine, line.stall_nmm / 2).speed_rad_s) / (line.stall_nmm / 2);
  return line;
}

State state(const Powertrain& p, const Machine& m, const stock::KitSystem& system, double load_nmm) {
  State s;
  const drivetrain::Drive drive = as_drive(m);
  const drivetrain::Load load{load_nmm, 0, 0};
  const drivetrain::Point point = drivetrain::operate(drive, load);
  s.speed_rad_s = point.moves ? point.output_speed_rad_s : 0;
  s.stall_torque_nmm = stall_torque_nmm(m);
  s.current_ma = point.current_a * 1000;
  const gearing::TrainLoad loads = gearing::torque_at_stages(p.train, load_nmm, m.meshes, m.teeth);
  s.tooth_margin = loads.worst_tooth_margin;
  s.weakest_stage = loads.weakest;
  const double limit_nmm = gearing::tooth_torque_limit_nmm(p.train, m.meshes, m.teeth);
  s.stall_tooth_margin = s.stall_torque_nmm > 0 ? limit_nmm / s.stall_torque_nmm : limit_nmm;
  double most_nmm = loads.input_torque_nmm;
  // A turntable has no axle: the torque after its mesh stresses the ring, not a shaft.
  const int axles = p.train.ends_on_ring() ? loads.stages : loads.stages + 1;
  for (int i = 0; i < axles; ++i) {
    // An idler hands the motion on at its own rim: its axle is not twisted.
    if (p.train.over_idler(static_cast<std::size_t>(i))) continue;
    most_nmm = std::max(most_nmm, loads.shaft_torque_nmm[static_cast<std::size_t>(i)]);
  }
  s.axle_margin = structure::torsion_margin(structure::section_of(system.axle), most_nmm, m.axle_shear_stress_mpa);
  const drivetrain::Hold hold = drivetrain::hold(drive, load);
  s.self_locking = hold.by == drivetrain::HeldBy::self_locking || m.backward <= 0;
  s.hold_margin = s.self_locking ? std::numeric_limits<double>::infinity() : hold.margin;
  return s;
}

}  // namespace functions::drive
