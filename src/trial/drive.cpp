#include "trial/drive.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "balance/mass.h"
#include "trial/engine.h"
#include "trial/trial.h"

namespace trial {
namespace {

constexpr double kM = 1e-3;
constexpr double kSettle_s = 0.4, kSpeedUp_s = 0.3;
constexpr double kTipped_rad = 60 * 0.017453292519943295;
constexpr double kStuckFor_s = 1.5, kStuck_mm = 2;
constexpr double kSlidBack_mm = 60;
constexpr double kViolation_m = 1e-3;

enum class Role { ground, belt, tyre, underside };

Role role_of(const mjModel& m, int geom) {
  const std::string name = mj_id2name(&m, mjOBJ_GEOM, geom);
  if (name.starts_with("belt")) return Role::belt;
  if (name.starts_with("tyre")) return Role::tyre;
  return name.starts_with("under") ? Role::underside : Role::ground;
}

/// What one instant's contacts say.
struct Touch {
  int contacts = 0;
  bool underside = false;
  double belt_pull_n = 0;
  double friction_in_use = 0;
};

class Drive {
 public:
  Drive(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options)
      : rig_(rig),
        ground_(ground),
        options_(options),
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

  DriveRun run();

 private:
  [[nodiscard]] int address(const std::string& joint) const {
    return engine_.model().jnt_qposadr[engine_.id(mjOBJ_JOINT, joint)];
  }
  /// Moves the belt's surface in the friction rows, which hold  aref = -b (speed of slip) - ...: the slip counts from
  /// the moving surface. Between begin_step and end_step.
  void move_belt();
  [[nodiscard]] Touch touch() const;
  /// Pull and speed of the drive for the step to come.
  void drive_on(double time_s, double dt_s);
  void sample(DriveRun& out, const Touch& t) const;
  /// What holds it: a drive near its stall is too weak, one that still turns slips.
  [[nodiscard]] balance::Stop friction_or_pull() const {
    return rig_.pull_n > 0 && speed_m_s_ < 0.1 * rig_.speed_mm_s * kM ? balance::Stop::pull : balance::Stop::friction;
  }

  const DriveRig& rig_;
  const balance::GroundLine& ground_;
  const DriveOptions& options_;
  double start_mm_ = 0;
  Engine engine_;
  std::vector<Role> role_;
  std::vector<int> pin_;
  DriveShaft shaft_;
  int motor_ = -1, shaft_dof_ = -1;
  int along_ = 0, up_ = 0, pitch_ = 0;
  double speed_m_s_ = 0, pull_n_ = 0;  ///< of the drive at the ground
  double belt_pull_n_ = 0;             ///< of the step before
};

void Drive::move_belt() {
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

Touch Drive::touch() const {
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

void Drive::drive_on(double time_s, double dt_s) {
  mjData& d = engine_.data();
  const double free_m_s = rig_.speed_mm_s * kM;
  const bool on = time_s >= kSettle_s;
  if (motor_ >= 0) {  // wheels: the shaft's damping is the fall of its torque
    d.ctrl[motor_] = shaft_.torque_nm;
    speed_m_s_ = d.qvel[shaft_dof_] * shaft_.radius_m;
    pull_n_ = (d.ctrl[motor_] - shaft_.damping_nms * d.qvel[shaft_dof_]) / shaft_.radius_m;
    return;
  }
  pull_n_ = belt_pull_n_;
  if (!(rig_.pull_n > 0)) {
    speed_m_s_ = std::clamp((time_s - kSettle_s) / kSpeedUp_s, 0.0, 1.0) * free_m_s;
    return;
  }
  // m dv/dt = pull (1 - v/free) - what the ground takes, implicit in v where that is known. The mass stands for the
  // motors' turning parts seen at the ground: about the vehicle's own (a guess; it counts while speeding up only).
  const double mass_kg = rig_.vehicle.weight_n / balance::kGravity, fall = rig_.pull_n / free_m_s;
  const double constant = mass_kg * speed_m_s_ / dt_s + rig_.pull_n - belt_pull_n_;
  speed_m_s_ = on ? constant / (mass_kg / dt_s + fall) : 0;
}

void Drive::sample(DriveRun& out, const Touch& t) const {
  const mjData& d = engine_.data();
  DriveSample s;
  s.time_s = d.time;
  s.x_mm = start_mm_ + d.qpos[along_] / kM;
  s.z_mm = d.qpos[up_] / kM;
  s.pitch_rad = d.qpos[pitch_];
  for (const int pin : pin_) s.rocker_rad.push_back(d.qpos[pin]);
  s.speed_mm_s = speed_m_s_ / kM;
  s.pull_n = pull_n_;
  s.contacts = t.contacts;
  s.underside = t.underside;
  s.friction_in_use = t.friction_in_use;
  out.samples.push_back(std::move(s));
}

DriveRun Drive::run() {
  DriveRun out;
  if (!engine_.fault().empty()) {
    out.why_not = engine_.fault();
    return out;
  }
  const double violation_m = engine_.violation();
  if (violation_m > kViolation_m) {
    out.why_not = fmt::format("the model starts with a contact {:.2f} mm deep: nothing it says could be trusted",
                              violation_m / kM);
    return out;
  }
  const Extent extent = extent_of(rig_.vehicle);
  const double end_mm = ground_.back().x_mm - extent.rear_mm + 5;
  const double way_s = (end_mm - start_mm_) / rig_.speed_mm_s;
  const double most_s = options_.most_time_s > 0 ? options_.most_time_s : (rig_.pull_n > 0 ? 15 : 4) * way_s + 5;
  const double dt_s = options_.step_ms * 1e-3;
  double next_sample_s = 0, mark_mm = start_mm_, mark_s = 0, last_underside_s = -1;
  const auto finish = [&](End end, balance::Stop stop) {
    out.end = end;
    out.stop = stop;
  };
  out.end = End::out_of_time;
  const mjData& d = engine_.data();
  while (d.time < most_s) {
    drive_on(d.time, dt_s);
    if (!engine_.begin_step()) break;
    if (rig_.vehicle.belt) move_belt();
    if (!engine_.end_step()) break;
    const Touch t = touch();
    belt_pull_n_ = t.belt_pull_n;
    if (d.time > kSettle_s && t.underside) {
      out.underside = true;
      last_underside_s = d.time;
    }
    const double x_mm = start_mm_ + d.qpos[along_] / kM, pitch = d.qpos[pitch_];
    out.most_pitch_rad = std::max(out.most_pitch_rad, pitch);
    out.least_pitch_rad = std::min(out.least_pitch_rad, pitch);
    out.most_pull_n = std::max(out.most_pull_n, pull_n_);
    out.stopped_at_mm = x_mm + rig_.vehicle.centre.x_mm;
    if (options_.sample_ms > 0 && d.time >= next_sample_s) {
      sample(out, t);
      next_sample_s += options_.sample_ms * 1e-3;
    }
    if (x_mm < start_mm_ - kSlidBack_mm) {
      finish(End::stuck, friction_or_pull());
      break;
    }
    if (std::fabs(pitch) > kTipped_rad) {
      finish(End::tipped, balance::Stop::balance);
      break;
    }
    if (x_mm > end_mm) {
      finish(End::passed, balance::Stop::nothing);
      break;
    }
    if (d.time < kSettle_s + kSpeedUp_s) {
      mark_mm = x_mm;
      mark_s = d.time;
    } else if (d.time > mark_s + kStuckFor_s && x_mm > mark_mm + kStuck_mm) {
      mark_mm = x_mm;
      mark_s = d.time;
    } else if (d.time > mark_s + kStuckFor_s) {
      finish(End::stuck, last_underside_s > d.time - kStuckFor_s ? balance::Stop::clearance : friction_or_pull());
      break;
    }
  }
  if (!engine_.fault().empty()) {
    out.end = End::unstable;
    out.why_not = engine_.fault();
  }
  if (out.end == End::out_of_time)
    out.stop = last_underside_s > d.time - kStuckFor_s ? balance::Stop::clearance : friction_or_pull();
  if (out.end == End::passed && out.underside) out.stop = balance::Stop::clearance;
  out.time_s = d.time;
  out.steps = engine_.steps();
  out.state_hash = engine_.state_hash();
  return out;
}

}  // namespace

bool engine_present() {
  return true;
}

std::string engine_text() {
  return fmt::format("MuJoCo {}", mj_versionString());
}

std::string not_tried_because(const DriveRig& rig) {
  const std::string fault = balance::fault_of(rig.vehicle);
  if (!fault.empty()) return fault;
  if (rig.vehicle.belt && !rig.vehicle.rockers.empty())
    return "rocking pairs under a belt have no trial that can be trusted: only the closed form judges them";
  return "";
}

DriveRun drive(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options) {
  DriveRun out;
  out.why_not = not_tried_because(rig);
  return out.why_not.empty() ? Drive(rig, ground, options).run() : out;
}

}  // namespace trial
