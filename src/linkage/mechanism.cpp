#include "linkage/mechanism.h"

#include <cmath>
#include <numbers>

#include "base/check.h"

namespace linkage {

int Mechanism::add_body(std::string name) {
  bodies.push_back(std::move(name));
  return static_cast<int>(bodies.size()) - 1;
}

int Mechanism::add_pin(int a, Vec2 at_a, int b, Vec2 at_b, std::string name) {
  Joint joint;
  joint.a = a;
  joint.b = b;
  joint.at_a = at_a;
  joint.at_b = at_b;
  joint.name = std::move(name);
  joints.push_back(std::move(joint));
  return static_cast<int>(joints.size()) - 1;
}

int Mechanism::add_slider(int a, Vec2 at_a, int b, Vec2 at_b, double axis_rad, double turn_rad, std::string name) {
  const int at = add_pin(a, at_a, b, at_b, std::move(name));
  Joint& joint = joints.back();
  joint.kind = Joint::Kind::slider;
  joint.axis_rad = axis_rad;
  joint.turn_rad = turn_rad;
  return at;
}

int Mechanism::add_gear(int pin_a, int pin_b, double ratio, double phase_rad, double pressure_angle_rad) {
  gears.push_back({pin_a, pin_b, ratio, phase_rad, pressure_angle_rad, ""});
  return static_cast<int>(gears.size()) - 1;
}

int Mechanism::drive(int joint) {
  inputs.push_back(joint);
  return static_cast<int>(inputs.size()) - 1;
}

Mechanism::Actuator Mechanism::add_actuator(int a, Vec2 at_a, int b, Vec2 at_b, const std::string& name) {
  Actuator out;
  out.barrel = add_body(name + " barrel");
  out.rod = add_body(name + " rod");
  // Barrel and rod carry their pin at their origin and lie along x.
  out.base_pin = add_pin(a, at_a, out.barrel, {}, name + " base pin");
  out.travel = add_slider(out.barrel, {}, out.rod, {}, 0, 0, name);
  out.rod_pin = add_pin(out.rod, {}, b, at_b, name + " rod pin");
  out.input = drive(out.travel);
  return out;
}

Vec2 at_hole(lattice::Point2 hole, double pitch_mm) {
  return {hole.x_hp * pitch_mm / 2, hole.z_hp * pitch_mm / 2};
}

Mobility mobility(const Mechanism& mechanism) {
  Mobility m;
  m.links = static_cast<int>(mechanism.bodies.size());
  m.full_joints = static_cast<int>(mechanism.joints.size());
  m.half_joints = static_cast<int>(mechanism.gears.size());
  m.value = 3 * (m.links - 1) - 2 * m.full_joints - m.half_joints;
  return m;
}

}  // namespace linkage
