#include "trial/motion.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "trial/engine.h"
#include "trial/movers.h"

namespace trial {
namespace {

constexpr double kM = 1e-3;
constexpr double kViolation_m = 1e-3;
constexpr double kMoves_mm_s = 1e-3;

std::string turn_quat(double rad) {  // nose up
  return fmt::format("{:.12g} 0 {:.12g} 0", std::cos(rad / 2), -std::sin(rad / 2));
}

struct Mounts {
  double base_x = 0, base_z = 0, rod_x = 0, rod_z = 0;  ///< mm, in the carrier's frame
  [[nodiscard]] double length() const { return std::hypot(rod_x - base_x, rod_z - base_z); }
};
Mounts mounts_at(const MotionRig& rig, double rad) {
  const double c = std::cos(rad), s = std::sin(rad);
  return {rig.base_x_mm, rig.base_z_mm, rig.rod_x_mm * c - rig.rod_z_mm * s, rig.rod_x_mm * s + rig.rod_z_mm * c};
}

std::string description_of(const MotionRig& rig, double step_ms) {
  const double g = balance::kGravity, pitch = rig.carrier_pitch_rad;
  const double per = per_motor_rad(rig);
  const double armature = rig.motors * rig.rotor_nmm_s2 * 1e-3 / (per * per);
  std::string out = fmt::format(
      "<mujoco><compiler angle=\"radian\"/><option timestep=\"{:.9g}\" gravity=\"{:.12g} 0 {:.12g}\" "
      "integrator=\"implicit\" jacobian=\"dense\" iterations=\"100\" tolerance=\"1e-12\"/>\n<size njmax=\"100\" "
      "nconmax=\"10\"/>\n<worldbody>\n",
      step_ms * 1e-3, -g * std::sin(pitch), -g * std::cos(pitch));
  out += rig.turns ? fmt::format(
                         "<body name=\"moved\" quat=\"{:.12g} 0 0 {:.12g}\">\n<joint name=\"joint\" axis=\"0 0 1\" "
                         "armature=\"{:.9g}\" frictionloss=\"1e-6\"/>\n",
                         std::cos(rig.from_rad / 2), std::sin(rig.from_rad / 2), armature)
                   : fmt::format(
                         "<body name=\"moved\" quat=\"{}\">\n<joint name=\"joint\" axis=\"0 -1 0\" "
                         "frictionloss=\"1e-6\"/>\n",
                         turn_quat(rig.from_rad));
  out += "<inertial pos=\"0 0 0\" mass=\"1e-4\" diaginertia=\"1e-8 1e-8 1e-8\"/>\n";
  for (const Lump& l : rig.lumps) {
    const double kg = std::max(l.mass_g, 1e-3) * 1e-3;
    const auto box = [&](double a, double b) { return std::max(kg * (a * a + b * b) / 12 * kM * kM, 1e-9); };
    out += fmt::format(
        "<body pos=\"{:.9g} {:.9g} {:.9g}\"><inertial pos=\"0 0 0\" mass=\"{:.9g}\" diaginertia=\"{:.9g} {:.9g} "
        "{:.9g}\"/></body>\n",
        l.at.x_mm * kM, l.at.y_mm * kM, l.at.z_mm * kM, kg, box(l.size.y_mm, l.size.z_mm),
        box(l.size.x_mm, l.size.z_mm), box(l.size.x_mm, l.size.y_mm));
  }
  out += "</body>\n";
  if (rig.lead_mm > 0) {
    const Mounts m = mounts_at(rig, rig.from_rad);
    out += fmt::format(
        "<body name=\"barrel\" pos=\"{:.9g} 0 {:.9g}\" quat=\"{}\"><joint name=\"swing\" axis=\"0 -1 0\" "
        "armature=\"1e-6\"/><inertial pos=\"0 0 0\" mass=\"1e-4\" diaginertia=\"1e-7 1e-7 1e-7\"/>\n"
        "<body name=\"rod\" pos=\"{:.9g} 0 0\"><joint name=\"rod\" type=\"slide\" axis=\"1 0 0\" armature=\"{:.9g}\" "
        "frictionloss=\"1e-6\"/><inertial pos=\"0 0 0\" mass=\"1e-4\" diaginertia=\"1e-8 1e-8 1e-8\"/></body></body>\n",
        m.base_x * kM, m.base_z * kM, turn_quat(std::atan2(m.rod_z - m.base_z, m.rod_x - m.base_x)), m.length() * kM,
        armature);
  }
  out += "</worldbody>\n";
  if (rig.lead_mm > 0)
    out +=
        "<equality><connect body1=\"rod\" body2=\"moved\" anchor=\"0 0 0\" solref=\"0.004 1\" solimp=\"0.999 0.9999 "
        "0.0001\"/></equality>\n";
  return out + "</mujoco>\n";
}

/// Force of the pin on a degree of freedom, as the step before found it.
double pin_force(const Engine& engine, int dof) {
  const mjData& d = engine.data();
  double out = 0;
  for (int row = 0; row < d.nefc; ++row)
    if (d.efc_type[row] == mjCNSTR_EQUALITY) out += d.efc_J[row * engine.model().nv + dof] * d.efc_force[row];
  return out;
}

}  // namespace

MotionRun move_joint(const MotionRig& rig, const MotionOptions& options) {
  MotionRun out;
  Engine engine(description_of(rig, options.step_ms));
  out.why_not = engine.fault();
  if (!out.why_not.empty()) return out;
  if (const double violation_m = engine.violation(); violation_m > kViolation_m) {
    out.why_not =
        fmt::format("the rod starts {:.2f} mm off its pin: nothing it says could be trusted", violation_m / kM);
    return out;
  }
  const mjModel& m = engine.model();
  mjData& d = engine.data();
  const bool screw = rig.lead_mm > 0;
  const auto dof_of = [&](const char* joint) { return m.jnt_dofadr[engine.id(mjOBJ_JOINT, joint)]; };
  const int joint_dof = dof_of("joint"), driven_dof = screw ? dof_of("rod") : joint_dof;
  const int joint_at = m.jnt_qposadr[engine.id(mjOBJ_JOINT, "joint")];
  const double way_rad = rig.to_rad - rig.from_rad;
  const double sense = screw ? (mounts_at(rig, rig.to_rad).length() > mounts_at(rig, rig.from_rad).length() ? 1 : -1)
                             : (way_rad > 0 ? 1 : -1);
  const double per = per_motor_rad(rig);
  double weight_n = 0;
  for (const Lump& l : rig.lumps) weight_n += l.mass_g * 1e-3 * balance::kGravity;
  const double ideal_nmm_per_n = rig.lead_mm / (2 * std::numbers::pi);
  while (d.time < options.most_time_s) {
    if (options.stop != nullptr && options.stop->load(std::memory_order_relaxed)) {
      out.why_not = "given up";
      return out;
    }
    const double speed = sense * d.qvel[driven_dof];
    const double motor_nmm = motor::at_speed(rig.motor, rig.feed, std::max(speed / per, 0.0)).torque_nmm;
    // All motors together at the driven joint: N of a rod, N m of a ring.
    const double effort = motor_nmm * 1e-3 * rig.motors * rig.efficiency / per;
    d.qfrc_applied[driven_dof] = sense * effort;
    if (screw) {
      const double against_n = -sense * pin_force(engine, driven_dof), force_n = std::fabs(against_n);
      out.most_force_n = std::max(out.most_force_n, force_n);
      const double share =
          against_n > 0 ? rig.raise_nmm_per_n / ideal_nmm_per_n - 1 : 1 + rig.lower_nmm_per_n / ideal_nmm_per_n;
      engine.set_friction(driven_dof, std::max(share, 0.0) * force_n);
      engine.set_friction(joint_dof, rig.pin_friction * rig.pin_radius_mm * kM * (2 * force_n + weight_n));
    } else {
      engine.set_friction(joint_dof, rig.friction_nmm * 1e-3 / rig.per_rad);
    }
    if (!engine.begin_step() || !engine.end_step()) break;
    if (d.qpos[joint_at] * (way_rad > 0 ? 1 : -1) >= std::fabs(way_rad)) {
      out.arrives = true;
      break;
    }
    if (d.time > 2 && sense * d.qvel[driven_dof] * (screw ? 1e3 : 1e2) < kMoves_mm_s) break;
  }
  out.why_not = engine.fault();
  out.time_s = d.time;
  out.steps = engine.steps();
  out.state_hash = engine.state_hash();
  return out;
}

}  // namespace trial
