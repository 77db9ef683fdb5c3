#include "trial/driven.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "balance/mass.h"

namespace trial {
namespace {

constexpr double kM = 1e-3;
constexpr double kSpeedUp_s = 0.3;  // of a belt whose pull is not known
constexpr double kViolation_m = 1e-3;

Driven::Role role_of(const mjModel& m, int geom) {
  const std::string name = mj_id2name(&m, mjOBJ_GEOM, geom);
  if (name.starts_with("belt")) return Driven::Role::belt;
  if (name.starts_with("tyre")) return Driven::Role::tyre;
  return name.starts_with("under") ? Driven::Role::underside : Driven::Role::ground;
}

}  // namespace

Driven::Driven(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options)
    : rig_(rig),
      dt_s_(options.step_ms * 1e-3),
      engine_(description_of(rig, ground, options, start_mm_)),
      shaft_(shaft_of(rig, options)) {
  if (!engine_.fault().empty()) return;
  const mjModel& m = engine_.model();
  for (int g = 0; g < m.ngeom; ++g) role_.push_back(role_of(m, g));
  along_ = address("along");
  up_ = address("up");
  pitch_ = address("pitch");
  if (!rig.vehicle.belt) {
    for (std::size_t k = 0; k < rig.vehicle.rockers.size(); ++k) pin_.push_back(address(fmt::format("pin{}", k)));
    motor_ = engine_.id(mjOBJ_ACTUATOR, "motor");
    if (motor_ >= 0) shaft_dof_ = m.jnt_dofadr[engine_.id(mjOBJ_JOINT, "shaft")];
  }
}

int Driven::address(const std::string& joint) const {
  return engine_.model().jnt_qposadr[engine_.id(mjOBJ_JOINT, joint)];
}

std::string Driven::fault_at_start() {
  if (!engine_.fault().empty()) return engine_.fault();
  const double violation_m = engine_.violation();
  if (violation_m <= kViolation_m) return engine_.fault();
  return fmt::format("the model starts with a contact {:.2f} mm deep: nothing it says could be trusted",
                     violation_m / kM);
}

double Driven::x_mm() const {
  return start_mm_ + engine_.data().qpos[along_] / kM;
}

bool Driven::step(double throttle) {
  drive_on(throttle);
  if (!engine_.begin_step()) return false;
  if (rig_.vehicle.belt) move_belt();
  if (!engine_.end_step()) return false;
  touch_ = touched();
  return true;
}

void Driven::move_belt() {
  mjData& d = engine_.data();
  for (int i = 0; i < d.ncon; ++i) {
    const mjContact& c = d.contact[i];
    if (c.efc_address < 0) continue;
    const bool first = role_[static_cast<std::size_t>(c.geom1)] == Role::belt;
    if (!first && role_[static_cast<std::size_t>(c.geom2)] != Role::belt) continue;
    const double side = first ? -1 : 1;  // the frame's normal points from the first to the second
    const double nx = side * c.frame[0], nz = side * c.frame[2];
    const double ux = -nz * speed_m_s_, uz = nx * speed_m_s_;  // of the belt's surface against the hull
    for (int k = 1; k < 3; ++k) {
      const int row = c.efc_address + k;
      d.efc_aref[row] -= d.efc_KBIP[4 * row + 1] * side * (ux * c.frame[3 * k] + uz * c.frame[3 * k + 2]);
    }
  }
}

Driven::Touch Driven::touched() const {
  const mjData& d = engine_.data();
  Touch out;
  for (int i = 0; i < d.ncon; ++i) {
    const mjContact& c = d.contact[i];
    if (c.efc_address < 0) continue;
    const Role a = role_[static_cast<std::size_t>(c.geom1)], b = role_[static_cast<std::size_t>(c.geom2)];
    if (a != Role::ground && b != Role::ground) continue;
    mjtNum force[6];
    mj_contactForce(&engine_.model(), &d, i, force);
    if (!(force[0] > 1e-6)) continue;
    ++out.contacts;
    const Role role = a == Role::ground ? b : a;
    if (role == Role::underside) out.underside = true;
    out.friction_in_use = std::max(out.friction_in_use, std::hypot(force[1], force[2]) / force[0]);
    if (role != Role::belt) continue;
    const double side = a == Role::belt ? -1 : 1;
    const double nx = side * c.frame[0], nz = side * c.frame[2];
    // Force on the belt is side x force in the frame's tangents; it pulls against the surface's own way.
    const double fx = side * (force[1] * c.frame[3] + force[2] * c.frame[6]);
    const double fz = side * (force[1] * c.frame[5] + force[2] * c.frame[8]);
    out.belt_pull_n += fx * nz - fz * nx;
  }
  return out;
}

void Driven::drive_on(double throttle) {
  mjData& d = engine_.data();
  const double free_m_s = rig_.speed_mm_s * kM;
  const bool on = d.time >= kSettle_s;
  if (motor_ >= 0) {  // wheels: the shaft's damping is the fall of its torque
    d.ctrl[motor_] = throttle * shaft_.torque_nm;
    speed_m_s_ = d.qvel[shaft_dof_] * shaft_.radius_m;
    pull_n_ = (d.ctrl[motor_] - shaft_.damping_nms * d.qvel[shaft_dof_]) / shaft_.radius_m;
    return;
  }
  pull_n_ = touch_.belt_pull_n;
  if (!(rig_.pull_n > 0)) {
    const double most_m_s = free_m_s * dt_s_ / kSpeedUp_s;
    if (on) speed_m_s_ += std::clamp(throttle * free_m_s - speed_m_s_, -most_m_s, most_m_s);
    return;
  }
  // m dv/dt = pull (throttle - v/free) - what the ground takes, implicit in v where that is known. The mass stands for
  // the motors' turning parts seen at the ground: about the vehicle's own (a guess; it counts while speeding up only).
  const double mass_kg = rig_.vehicle.weight_n / balance::kGravity, fall = rig_.pull_n / free_m_s;
  const double constant = mass_kg * speed_m_s_ / dt_s_ + throttle * rig_.pull_n - touch_.belt_pull_n;
  speed_m_s_ = on ? constant / (mass_kg / dt_s_ + fall) : 0;
}

DriveSample Driven::sample() const {
  const mjData& d = engine_.data();
  DriveSample s;
  s.time_s = d.time;
  s.x_mm = x_mm();
  s.z_mm = d.qpos[up_] / kM;
  s.pitch_rad = d.qpos[pitch_];
  for (const int pin : pin_) s.rocker_rad.push_back(d.qpos[pin]);
  s.speed_mm_s = speed_m_s_ / kM;
  s.pull_n = pull_n_;
  s.contacts = touch_.contacts;
  s.underside = touch_.underside;
  s.friction_in_use = touch_.friction_in_use;
  return s;
}

}  // namespace trial
