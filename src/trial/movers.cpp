#include "trial/movers.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "brief/body_tree.h"
#include "candidate/running.h"
#include "linkage/screw.h"
#include "motor/supply.h"
#include "simulation/machine.h"

namespace trial {

using candidate::Candidate;
using candidate::Drive;
using Role = candidate::Shape::Role;

void add_motors(const brief::Brief& brief, const Drive& d, MotionRig& rig) {
  const brief::Sample usual = brief.parameters.nominal();
  rig.motor = candidate::motor_constants(d, brief, usual);
  motor::Supply supply;
  supply.open_voltage_v = brief.supply.voltage_v * usual[brief::Parameter::supply_voltage_factor];
  supply.resistance_ohm = brief.supply.resistance_ohm;
  if (brief.supply.port_current_ma > 0) supply.port_current_limit_a = brief.supply.port_current_ma / 1000;
  rig.feed = motor::feed_of_equal(supply, d.motors);
  rig.motors = d.motors;
  rig.ratio = d.ratio;
  rig.efficiency = d.forward_efficiency;
  rig.rotor_nmm_s2 =
      simulation::kMotorTimeConstant_s * rig.motor.torque_nmm_per_a * rig.motor.emf_v_s / rig.motor.resistance_ohm;
}

bool add_screw(const brief::Brief& brief, const Candidate& c, const Drive& d, MotionRig& rig) {
  const stock::Actuator* part = nullptr;
  for (const candidate::Need& need : c.demand.needs)
    for (const stock::ClassId id : need.accepts)
      if (const auto* a = std::get_if<stock::Actuator>(&brief.catalogue->at(id).data)) part = a;
  const auto shape = [&](Role role) {
    const auto at = std::find_if(c.shapes.begin(), c.shapes.end(), [&](const auto& s) { return s.role == role; });
    return at == c.shapes.end() ? nullptr : &*at;
  };
  const candidate::Shape *pivot = shape(Role::pivot), *rod = shape(Role::actuator);
  if (part == nullptr || pivot == nullptr || rod == nullptr || d.at.size() < 2) return false;
  const brief::Sample usual = brief.parameters.nominal();
  const linkage::Screw screw =
      linkage::screw_of(*part, part->thread_friction.value.nominal * usual[brief::Parameter::screw_friction_factor]);
  rig.lead_mm = part->lead_mm;
  rig.raise_nmm_per_n = linkage::raise_torque_nmm(screw, 1);
  rig.lower_nmm_per_n = linkage::lower_torque_nmm(screw, 1);
  rig.pin_friction = usual[brief::Parameter::pin_friction];
  rig.pin_radius_mm = brief.system().axle.width_mm / 2;
  rig.base_x_mm = rod->x1_mm - pivot->x1_mm;
  rig.base_z_mm = rod->z1_mm - pivot->z1_mm;
  // The drawing shows the middle of the travel.
  const double shown_rad = (d.at.front() + d.at.back()) / 2;
  const double x_mm = rod->x2_mm - pivot->x1_mm, z_mm = rod->z2_mm - pivot->z1_mm;
  rig.rod_x_mm = x_mm * std::cos(shown_rad) + z_mm * std::sin(shown_rad);
  rig.rod_z_mm = z_mm * std::cos(shown_rad) - x_mm * std::sin(shown_rad);
  return true;
}

std::vector<Mover> movers_of(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                             std::vector<std::string>& left_out) {
  std::vector<Mover> out;
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    const Candidate* c = chosen[f].candidate;
    if (c == nullptr) continue;
    for (const Drive& d : c->drives) {
      Mover m;
      m.name = d.name.empty() ? chosen[f].function->id : chosen[f].function->id + " " + d.name;
      m.function = f;
      m.drive = d;
      m.body = d.body;
      const auto leave = [&](const char* why) { left_out.push_back(fmt::format("\"{}\": {}", m.name, why)); };
      add_motors(brief, d, m.how);
      if (d.use == Drive::Use::slew && d.body >= 0) {
        const brief::Joint& joint = brief.bodies[static_cast<std::size_t>(d.body)].joint;
        m.type = Mover::Type::ring;
        m.how.turns = true;
        m.how.per_rad = candidate::travel_per_rad(d, d.at.empty() ? 0 : d.at.front());
        m.how.friction_nmm = candidate::torque_nmm(d, d.at.empty() ? 0 : d.at.front(), true, 1) * d.outputs;
        m.low = joint.low_rad;
        m.high = joint.high_rad;
      } else if (d.use == Drive::Use::raise && d.body >= 0 && !d.endless) {
        m.type = Mover::Type::screw;
        if (!add_screw(brief, *c, d, m.how)) {
          leave("its screw is not drawn");
          continue;
        }
        m.low = d.at.front();
        m.high = d.at.back();
      } else if (d.use == Drive::Use::hoist && !d.endless && !c->payloads.empty()) {
        m.type = Mover::Type::rope;
        m.body = c->payloads.front().body;
        // The pull that the design reckons with, sheaves and standing friction included, over the weight that hangs.
        const double middle = (d.at.front() + d.at.back()) / 2;
        const double weight_n = balance::weight_n(c->payloads.front().mass_g + c->tare_g) / d.outputs;
        m.how.per_rad = candidate::travel_per_rad(d, middle);
        m.how.raise_nmm_per_n = candidate::torque_nmm(d, middle, true, 1) / weight_n;
        m.how.lower_nmm_per_n = candidate::torque_nmm(d, middle, false, 1) / weight_n;
        m.low = d.at.front();
        m.high = d.at.back();
      } else {
        continue;
      }
      const auto other =
          std::find_if(out.begin(), out.end(), [&](const Mover& x) { return x.type == m.type && x.body == m.body; });
      if (other != out.end()) {
        leave("another drive moves the same joint");
        continue;
      }
      out.push_back(std::move(m));
    }
  }
  return out;
}

double per_motor_rad(const MotionRig& rig) {
  return rig.lead_mm > 0 ? rig.lead_mm * 1e-3 / (2 * std::numbers::pi) * rig.ratio : rig.per_rad * rig.ratio;
}

double per_motor_rad(const Mover& mover, double at) {
  if (mover.type != Mover::Type::rope) return per_motor_rad(mover.how);
  return candidate::travel_per_rad(mover.drive, at) * 1e-3 * mover.how.ratio;
}

Push push_of(const MotionRig& rig, double input, double speed_rad_s) {
  const motor::Constants& m = rig.motor;
  const double u = std::fabs(input), sense = input < 0 ? -1 : 1, speed = sense * speed_rad_s;
  // Behind the cells' resistance while it draws: U = E - n r u I.
  double current_a =
      (u * rig.feed.voltage_v - m.emf_v_s * speed) / (m.resistance_ohm + u * u * rig.feed.resistance_ohm);
  if (current_a < 0) current_a = (u * rig.feed.voltage_v - m.emf_v_s * speed) / m.resistance_ohm;
  if (u > 0 && current_a > 0) current_a = std::min(current_a, rig.feed.current_limit_a / u);
  return {sense * current_a * m.torque_nmm_per_a * rig.motors, current_a};
}

}  // namespace trial
