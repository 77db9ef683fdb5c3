#include "trial/working.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "candidate/running.h"
#include "trial/body_text.h"
#include "trial/drive_model.h"
#include "trial/feet.h"

namespace trial {
namespace {

using balance::Body;
using balance::Joint;
using balance::Vec3;

constexpr double kM = 1e-3;
constexpr double kViolation_m = 1e-3;
constexpr double kDrum_m = 1;  ///< of rope between drum and hook point
constexpr double kTiny_kg = 1e-4;

/// Inertia of the motors' turning parts at the driven joint.
double armature(const Mover& m) {
  const double per = per_motor_rad(m, (m.low + m.high) / 2);
  return m.how.motors * m.how.rotor_nmm_s2 * 1e-3 / (per * per);
}

struct Mounts {
  double base_x = 0, base_z = 0, rod_x = 0, rod_z = 0;
  [[nodiscard]] double length() const { return std::hypot(rod_x - base_x, rod_z - base_z); }
};
Mounts mounts_at(const MotionRig& rig, double rad) {
  const double c = std::cos(rad), s = std::sin(rad);
  return {rig.base_x_mm, rig.base_z_mm, rig.rod_x_mm * c - rig.rod_z_mm * s, rig.rod_x_mm * s + rig.rod_z_mm * c};
}

const Mover* mover_of(const WorkRig& rig, int body) {
  for (const Mover& m : rig.movers)
    if (m.type != Mover::Type::rope && m.body == body) return &m;
  return nullptr;
}

std::vector<Body> posed(const WorkRig& rig) {
  std::vector<Body> out;
  for (std::size_t b = 0; b < rig.machine.bodies.size(); ++b) {
    Body body = rig.machine.bodies[b].weighed.body;
    (body.joint == Joint::slides ? body.travel_mm : body.angle_rad) = body.joint == Joint::fixed ? 0 : rig.joint[b];
    out.push_back(body);
  }
  return out;
}

/// Of what hangs on a body about its joint, kg m^2. A screw's pin and the spring of the give act on the frame between
/// them: a lighter one would make the pin soft, as the engine's constraints give in proportion to how lightly what they
/// hold moves. It counts while a screw speeds up only, beside its motor's turning parts.
double hanging_inertia(const WorkRig& rig, std::size_t root) {
  const std::vector<Body> bodies = posed(rig);
  const std::vector<balance::Pose> poses = balance::poses(bodies);
  double out = 1e-5;
  for (std::size_t b = root; b < bodies.size(); ++b) {
    int up = static_cast<int>(b);
    while (up > static_cast<int>(root)) up = bodies[static_cast<std::size_t>(up)].parent;
    if (up != static_cast<int>(root)) continue;
    const Vec3 r = poses[b].apply(bodies[b].centre) - poses[root].t;
    out += bodies[b].mass_g * kM * (r.x_mm * r.x_mm + r.z_mm * r.z_mm) * kM * kM;
  }
  return out;
}

/// Bodies that hang on `parent`, nested, each with the screw that moves it beside it.
std::string bodies_on(const WorkRig& rig, int parent) {
  std::string out;
  for (std::size_t b = 0; b < rig.machine.bodies.size(); ++b) {
    const balance::LiftingBody& body = rig.machine.bodies[b];
    const Body& own = body.weighed.body;
    if (own.parent != parent) continue;
    const double set = rig.joint[b];
    const Mover* m = own.joint == Joint::turns ? mover_of(rig, static_cast<int>(b)) : nullptr;
    out += open_frame(fmt::format("frame{}", b), own, set);
    if (m != nullptr) {
      const bool ring = m->type == Mover::Type::ring;
      out += fmt::format(
          "<joint name=\"joint{}\" axis=\"{:.12g} {:.12g} {:.12g}\" armature=\"{:.9g}\" "
          "frictionloss=\"1e-6\"/>\n",
          b, own.axis.x_mm, own.axis.y_mm, own.axis.z_mm, ring ? armature(*m) : hanging_inertia(rig, b));
    }
    out += fmt::format("<inertial pos=\"0 0 0\" mass=\"{}\" diaginertia=\"1e-7 1e-7 1e-7\"/>\n", kTiny_kg);
    out += fmt::format("<body name=\"body{}\">\n", b) + give_joint(body, set) + inertial_text(own, rig.gyration_mm);
    if (static_cast<int>(b) == rig.machine.hook_body && rig.load_g > 0) {
      out += fmt::format("<site name=\"hook\" pos=\"{}\"/><site name=\"drum0\" pos=\"{}\"/>\n",
                         place_text(rig.machine.hook), place_text(rig.machine.hook));
      double drum_kg = 1;
      for (const Mover& x : rig.movers)
        if (x.type == Mover::Type::rope) drum_kg = armature(x);
      out += fmt::format(
          "<body name=\"drum\" pos=\"{}\"><joint name=\"drum\" type=\"slide\" axis=\"0 1 0\" armature=\"{:.9g}\" "
          "frictionloss=\"1e-6\"/><inertial pos=\"0 0 0\" mass=\"1e-7\" diaginertia=\"1e-10 1e-10 1e-10\"/>"
          "<site name=\"drum1\"/></body>\n",
          place_text(rig.machine.hook + Vec3{0, kDrum_m / kM, 0}), drum_kg);
    }
    out += bodies_on(rig, static_cast<int>(b)) + "</body></body>\n";
    if (m != nullptr && m->type == Mover::Type::screw) {
      const Mounts at = mounts_at(m->how, set);
      const double lies = std::atan2(at.rod_z - at.base_z, at.rod_x - at.base_x);
      out += fmt::format(
          "<body name=\"barrel{0}\" pos=\"{1}\" quat=\"{2}\"><joint axis=\"0 -1 0\" armature=\"1e-5\"/><inertial "
          "pos=\"0 0 0\" mass=\"1e-4\" diaginertia=\"1e-7 1e-7 1e-7\"/>\n<body name=\"rod{0}\" pos=\"{3:.9g} 0 0\">"
          "<joint name=\"rod{0}\" type=\"slide\" axis=\"1 0 0\" armature=\"{4:.9g}\" frictionloss=\"1e-6\"/><inertial "
          "pos=\"0 0 0\" mass=\"1e-4\" diaginertia=\"1e-8 1e-8 1e-8\"/></body></body>\n",
          b, place_text(own.origin + Vec3{at.base_x, 0, at.base_z}), quat_text({0, -1, 0}, lies), at.length() * kM,
          armature(*m));
    }
  }
  return out;
}

constexpr double kGroundHalf_m = 4;
constexpr double kTyre_kg = 0.001, kBeam_kg = 0.002;
constexpr double kKingpin_nm_rad = 2, kKingpinDamping = 0.02, kKingpinInertia = 2e-4;

/// Torque, damping and turning parts of one driven wheel, of all those that share the pull.
DriveShaft wheel_share(const DriveRig& rig, double step_ms) {
  DriveOptions how;
  how.step_ms = step_ms;
  DriveShaft out = shaft_of(rig, how);
  int driven = 0;
  for (const balance::SideWheel& w : rig.vehicle.wheels) driven += w.driven ? 2 : 0;
  const double share = 1.0 / std::max(driven, 1);
  out.torque_nm *= share;
  out.damping_nms *= share;
  out.inertia_kgm2 = std::max(out.inertia_kgm2 * share, 1.5 * out.damping_nms * step_ms * 1e-3);
  return out;
}

std::string tiny() {
  return "<inertial pos=\"0 0 0\" mass=\"1e-5\" diaginertia=\"1e-9 1e-9 1e-9\"/>\n";
}

/// Names of one side, so that both have their own.
std::string of_side(std::string text, const char* side) {
  for (const char* kind : {"\"belt", "\"tyre"})
    for (std::size_t at = 0; (at = text.find(kind, at)) != std::string::npos; at += 6) text.insert(at + 5, side);
  return text;
}

std::string wheel(const Gear& gear, std::size_t i, const char* side, balance::SidePoint from, double y_mm,
                  double friction, const DriveShaft& share) {
  const balance::SideView& v = gear.rig.vehicle;
  const balance::SideWheel& w = v.wheels[i];
  const bool steered = std::any_of(gear.steered_x_mm.begin(), gear.steered_x_mm.end(),
                                   [&](double x) { return std::fabs(x - w.axle.x_mm) < 1; });
  const double drag_nm = v.rolling_resistance * v.weight_n / (2.0 * static_cast<double>(v.wheels.size()));
  std::string out = fmt::format("<body name=\"axis{}{}\" pos=\"{:.9g} {:.9g} {:.9g}\">\n", i, side,
                                (w.axle.x_mm - from.x_mm) * kM, y_mm * kM, (w.axle.z_mm - from.z_mm) * kM);
  if (steered)
    out += fmt::format("<joint name=\"king{}{}\" axis=\"0 0 1\" stiffness=\"{}\" damping=\"{}\" armature=\"{}\"/>\n", i,
                       side, kKingpin_nm_rad, kKingpinDamping, kKingpinInertia);
  out += tiny();
  out += fmt::format(
      "<body><joint name=\"axle{}{}\" axis=\"0 1 0\" armature=\"{:.9g}\" damping=\"{:.9g}\" "
      "frictionloss=\"{:.9g}\"/>\n",
      i, side, kWheelInertia + (w.driven ? share.inertia_kgm2 : 0), w.driven ? share.damping_nms : 0,
      w.driven ? 0 : drag_nm * w.radius_mm * kM);
  const double inertia = kTyre_kg * w.radius_mm * w.radius_mm * kM * kM / 4;
  out += fmt::format("<inertial pos=\"0 0 0\" mass=\"{}\" diaginertia=\"{:.9g} {:.9g} {:.9g}\"/>\n", kTyre_kg, inertia,
                     inertia, inertia);
  return out + of_side(ball(fmt::format("tyre{}", i), {}, w.radius_mm, friction), side) + "</body></body>\n";
}

/// Both sides of what it drives on, for the inside of the base.
std::string gear_description(const Gear& gear, double friction, double step_ms) {
  const balance::SideView& v = gear.rig.vehicle;
  const DriveShaft share = v.belt ? DriveShaft{} : wheel_share(gear.rig, step_ms);
  std::string out;
  for (std::size_t i = 0; i + 1 < v.underside.size(); ++i) {
    const balance::SidePoint a = v.underside[i], b = v.underside[i + 1];
    if (std::hypot(b.x_mm - a.x_mm, b.z_mm - a.z_mm) < 1e-6) continue;
    out += slab(fmt::format("under{}", i).c_str(), b, a, 2, 0.3 * gear.rig.gauge_mm * kM, friction);
  }
  for (const double sense : {1.0, -1.0}) {
    const char* side = sense > 0 ? "l" : "r";
    const double y_mm = sense * gear.rig.gauge_mm / 2;
    if (v.belt) {
      out += fmt::format("<body name=\"side{}\" pos=\"0 {:.9g} 0\">", side, y_mm * kM) + tiny();
      for (std::size_t i = 0; i + 1 < v.wheels.size(); ++i)
        out += of_side(belt_between(i, v.wheels[i], v.wheels[i + 1], friction), side);
      out += "</body>\n";
      continue;
    }
    for (std::size_t k = 0; k < v.rockers.size(); ++k) {
      const balance::SideRocker& r = v.rockers[k];
      out += fmt::format(
          "<body pos=\"{:.9g} {:.9g} {:.9g}\"><joint name=\"pin{}{}\" axis=\"0 -1 0\" range=\"-{:.9g} {:.9g}\" "
          "limited=\"true\" damping=\"{:.9g}\" armature=\"{:.9g}\"/><inertial pos=\"0 0 0\" mass=\"{}\" "
          "diaginertia=\"1e-6 1e-6 1e-6\"/>\n",
          r.pivot.x_mm * kM, y_mm * kM, r.pivot.z_mm * kM, k, side, r.most_rad, r.most_rad, kRockerDamping,
          kRockerInertia, kBeam_kg);
      for (std::size_t i = 0; i < v.wheels.size(); ++i)
        if (v.wheels[i].rocker == static_cast<int>(k)) out += wheel(gear, i, side, r.pivot, 0, friction, share);
      out += "</body>\n";
    }
    for (std::size_t i = 0; i < v.wheels.size(); ++i)
      if (v.wheels[i].rocker < 0) out += wheel(gear, i, side, {}, y_mm, friction, share);
  }
  return out;
}

std::string ground_description(const Gear& gear, double friction) {
  balance::GroundLine line = gear.ground;
  line.insert(line.begin(), {line.front().x_mm - gear.beyond_mm, line.front().z_mm});
  line.push_back({line.back().x_mm + gear.beyond_mm, line.back().z_mm});
  double low_mm = 0, high_mm = 0;
  for (const balance::SidePoint& p : line) low_mm = std::min(low_mm, p.z_mm), high_mm = std::max(high_mm, p.z_mm);
  std::string out;
  int slabs = 0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    if (line[i + 1].x_mm - line[i].x_mm < 1e-9) continue;
    out += slab(fmt::format("ground{}", slabs++).c_str(), line[i], line[i + 1], kDeep_mm + high_mm - low_mm,
                kGroundHalf_m, friction);
  }
  const std::string kGeom = "<geom ";
  for (std::size_t at = 0; (at = out.find(kGeom, at)) != std::string::npos; at += 20)
    out.replace(at, kGeom.size(), "<geom contype=\"1\" ");
  return out;
}

std::string description_of(const WorkRig& rig, const WorkOptions& options) {
  const balance::LiftingMachine& machine = rig.machine;
  double proud_mm = 0;
  if (!rig.gear)
    for (const balance::Support& s : machine.states[static_cast<std::size_t>(rig.state)].supports)
      proud_mm = std::max(proud_mm, s.proud_mm);
  const std::string ground = rig.gear && !rig.gear->ground.empty()
                                 ? ground_description(*rig.gear, options.friction)
                                 : std::string("<geom name=\"ground\" type=\"plane\" size=\"5 5 1\" contype=\"1\"/>\n");
  const double tilt = machine.slope.angle_rad, down = machine.slope.downhill_rad, g = balance::kGravity;
  std::string out = fmt::format(
      "<mujoco><compiler angle=\"radian\"/><option timestep=\"{:.9g}\" gravity=\"{:.12g} {:.12g} {:.12g}\" "
      "integrator=\"implicit\" cone=\"elliptic\" impratio=\"10\" iterations=\"60\" tolerance=\"1e-12\"/>\n<size "
      "njmax=\"600\" nconmax=\"150\"/>\n<default><geom condim=\"3\" solref=\"0.004 1\" solimp=\"0.95 0.99 0.0005\" "
      "friction=\"{:.9g} 0 0\" contype=\"0\" conaffinity=\"1\"/><joint solreffriction=\"0.004 1\" "
      "solimpfriction=\"0.999 0.999 0.001\"/></default>\n<worldbody>{}<body name=\"base\" pos=\"{:.9g} 0 {:.9g}\">"
      "<freejoint/>\n<inertial pos=\"0 0 0.02\" mass=\"1e-4\" diaginertia=\"1e-6 1e-6 1e-6\"/>\n",
      options.step_ms * 1e-3, g * std::sin(tilt) * std::cos(down), g * std::sin(tilt) * std::sin(down),
      -g * std::cos(tilt), options.friction, ground, rig.gear ? rig.gear->start_mm * kM : 0, proud_mm * kM);
  out += rig.gear ? gear_description(*rig.gear, options.friction, options.step_ms)
                  : feet_description(machine.states[static_cast<std::size_t>(rig.state)]);
  out += bodies_on(rig, -1) + "</body>\n";
  if (rig.load_g > 0) {
    const std::vector<Body> at = posed(rig);
    const Vec3 hook = balance::poses(at)[static_cast<std::size_t>(machine.hook_body)].apply(machine.hook);
    out += fmt::format(
        "<body name=\"load\" pos=\"{}\"><joint name=\"load\" type=\"slide\" axis=\"1 0 0\"/><joint type=\"slide\" "
        "axis=\"0 1 0\"/><joint type=\"slide\" axis=\"0 0 1\"/><inertial pos=\"0 0 0\" mass=\"{:.9g}\" "
        "diaginertia=\"1e-6 1e-6 1e-6\"/><geom name=\"load\" type=\"sphere\" size=\"{:.9g}\" conaffinity=\"{}\"/><site "
        "name=\"sling\"/></body>\n",
        place_text(hook + Vec3{rig.gear ? rig.gear->start_mm : 0, 0, proud_mm - rig.rope_mm}), rig.load_g * kM,
        rig.load_r_mm * kM, rig.load_floats ? 0 : 1);
  }
  out += "</worldbody>\n";
  std::string equal;
  for (const Mover& m : rig.movers) {
    if (m.type != Mover::Type::screw) continue;
    equal += fmt::format(
        "<connect body1=\"rod{0}\" body2=\"frame{0}\" anchor=\"0 0 0\" solref=\"0.004 1\" solimp=\"0.999 0.9999 "
        "0.0001\"/>\n",
        m.body);
  }
  if (rig.load_g > 0)
    out += fmt::format(
        "<tendon><spatial name=\"rope\" limited=\"true\" range=\"0 {:.9g}\" solreflimit=\"0.004 1\" "
        "solimplimit=\"0.99 0.999 0.0005\"><site site=\"drum0\"/><site site=\"drum1\"/><pulley divisor=\"1\"/><site "
        "site=\"hook\"/><site site=\"sling\"/></spatial></tendon>\n",
        kDrum_m + rig.rope_mm * kM);
  if (!equal.empty()) out += "<equality>" + equal + "</equality>\n";
  return out + "</mujoco>\n";
}

}  // namespace

Working::Working(const WorkRig& rig, const WorkOptions& options)
    : rig_(rig), dt_s_(options.step_ms * 1e-3), engine_(description_of(rig, options)) {
  if (!engine_.fault().empty()) return;
  const mjModel& m = engine_.model();
  for (int g = 0; g < m.ngeom; ++g) {
    const std::string name = mj_id2name(&m, mjOBJ_GEOM, g);
    int number = -1;
    if (name == "load") number = -2;
    const bool belt = name.starts_with("belt"), tyre = name.starts_with("tyre");
    belt_.push_back(!belt ? 0 : name[4] == 'l' ? 1 : -1);
    under_.push_back(name.starts_with("under") ? 1 : 0);
    if (name.starts_with("foot") || belt || tyre) {
      number = static_cast<int>(foot_n_.size());
      foot_n_.push_back(0);
    }
    foot_.push_back(number);
  }
  base_ = engine_.id(mjOBJ_BODY, "base");
  hook_ = engine_.id(mjOBJ_SITE, "hook");
  if (rig_.load_g > 0) {
    load_body_ = engine_.id(mjOBJ_BODY, "load");
    load_at_ = m.jnt_qposadr[engine_.id(mjOBJ_JOINT, "load")];
    load_dof_ = m.jnt_dofadr[engine_.id(mjOBJ_JOINT, "load")];
  }
  for (const Mover& x : rig_.movers) {
    Driven d;
    const auto joint = [&](const std::string& name) { return engine_.id(mjOBJ_JOINT, name); };
    if (x.type == Mover::Type::rope) {
      const int j = joint("drum");
      d.dof = d.joint_dof = j < 0 ? -1 : m.jnt_dofadr[j];
      d.at = j < 0 ? -1 : m.jnt_qposadr[j];
    } else {
      const int j = joint(fmt::format("joint{}", x.body));
      d.joint_dof = m.jnt_dofadr[j];
      d.at = m.jnt_qposadr[j];
      d.dof = d.joint_dof;
      d.start = rig_.joint[static_cast<std::size_t>(x.body)];
      if (x.type == Mover::Type::screw) {
        d.dof = m.jnt_dofadr[joint(fmt::format("rod{}", x.body))];
        d.sense = mounts_at(x.how, x.high).length() > mounts_at(x.how, x.low).length() ? 1 : -1;
      }
    }
    driven_.push_back(d);
  }
  rope_start_mm_ = rig_.rope_mm;
  if (!rig_.gear) return;
  const DriveRig& gear = rig_.gear->rig;
  if (gear.vehicle.belt) return;
  shaft_ = wheel_share(gear, options.step_ms);
  for (const char* side : {"l", "r"}) {
    for (std::size_t k = 0; k < gear.vehicle.rockers.size() && *side == 'l'; ++k)
      pins_.push_back(m.jnt_qposadr[engine_.id(mjOBJ_JOINT, fmt::format("pin{}{}", k, side))]);
    for (std::size_t i = 0; i < gear.vehicle.wheels.size(); ++i) {
      const balance::SideWheel& w = gear.vehicle.wheels[i];
      Tyre tyre;
      tyre.dof = m.jnt_dofadr[engine_.id(mjOBJ_JOINT, fmt::format("axle{}{}", i, side))];
      tyre.left = *side == 'l';
      tyre.driven = w.driven;
      tyre.radius_m = w.radius_mm * kM;
      if (w.rocker >= 0 && !gear.vehicle.rockers[static_cast<std::size_t>(w.rocker)].drive_on_rocker)
        tyre.pin_dof = m.jnt_dofadr[engine_.id(mjOBJ_JOINT, fmt::format("pin{}{}", w.rocker, side))];
      tyres_.push_back(tyre);
      const int king = engine_.id(mjOBJ_JOINT, fmt::format("king{}{}", i, side));
      if (king >= 0) kingpins_.push_back({m.jnt_qposadr[king], w.axle.x_mm, (tyre.left ? 0.5 : -0.5) * gear.gauge_mm});
    }
  }
}

std::string Working::fault_at_start() {
  if (!engine_.fault().empty()) return engine_.fault();
  const double violation_m = engine_.violation();
  const mjData& d = engine_.data();
  const int b = base_;
  up_[0] = d.xmat[9 * b + 2], up_[1] = d.xmat[9 * b + 5], up_[2] = d.xmat[9 * b + 8];
  if (hook_ >= 0) hook_before_ = hook();
  if (violation_m <= kViolation_m) return engine_.fault();
  return fmt::format("the model starts with a contact or a pin {:.2f} mm off: nothing it says could be trusted",
                     violation_m / kM);
}

double Working::position(std::size_t mover) const {
  const Driven& d = driven_[mover];
  if (d.at < 0) return 0;
  const double q = engine_.data().qpos[d.at];
  return rig_.movers[mover].type == Mover::Type::rope ? q / kM : d.start + q;
}

double Working::speed(std::size_t mover) const {
  const Driven& d = driven_[mover];
  if (d.joint_dof < 0) return 0;
  const double v = engine_.data().qvel[d.joint_dof];
  return rig_.movers[mover].type == Mover::Type::rope ? v / kM : v;
}

Vec3 Working::hook() const {
  const mjtNum* p = engine_.data().site_xpos + 3 * hook_;
  return {p[0] / kM, p[1] / kM, p[2] / kM};
}
Vec3 Working::load() const {
  const mjtNum* p = engine_.data().xpos + 3 * load_body_;
  return {p[0] / kM, p[1] / kM, p[2] / kM};
}
Vec3 Working::base() const {
  const mjtNum* p = engine_.data().xpos + 3 * base_;
  return {p[0] / kM, p[1] / kM, p[2] / kM};
}
double Working::rope_mm() const {
  for (std::size_t i = 0; i < rig_.movers.size(); ++i)
    if (rig_.movers[i].type == Mover::Type::rope) return rope_start_mm_ - position(i);
  return rope_start_mm_;
}

double Working::swing_rad() const {
  const Vec3 way = load() - hook();
  const double tilt = rig_.machine.slope.angle_rad, down = rig_.machine.slope.downhill_rad;
  const Vec3 plumb{std::sin(tilt) * std::cos(down), std::sin(tilt) * std::sin(down), -std::cos(tilt)};
  const double length = std::sqrt(way.x_mm * way.x_mm + way.y_mm * way.y_mm + way.z_mm * way.z_mm);
  const double along = way.x_mm * plumb.x_mm + way.y_mm * plumb.y_mm + way.z_mm * plumb.z_mm;
  return length > 0 ? std::acos(std::clamp(along / length, -1.0, 1.0)) : 0;
}

double Working::lean_rad() const {
  const mjData& d = engine_.data();
  const double c = up_[0] * d.xmat[9 * base_ + 2] + up_[1] * d.xmat[9 * base_ + 5] + up_[2] * d.xmat[9 * base_ + 8];
  return std::acos(std::clamp(c, -1.0, 1.0));
}

void Working::set_load_g(double load_g) {
  if (load_body_ >= 0) engine_.set_mass(load_body_, std::max(load_g, 1.0) * kM);
}

/// What everything but motors and friction pushes a degree of freedom with, as the step before found it.
double Working::load_on(int dof) const {
  const mjData& d = engine_.data();
  const int nv = engine_.model().nv;
  double out = -d.qfrc_bias[dof];
  const bool sparse = mj_isSparse(&engine_.model()) != 0;
  for (int row = 0; row < d.nefc; ++row) {
    const int type = d.efc_type[row];
    if (type == mjCNSTR_FRICTION_DOF) continue;
    if (!sparse) {
      out += d.efc_J[row * nv + dof] * d.efc_force[row];
      continue;
    }
    for (int k = 0; k < d.efc_J_rownnz[row]; ++k)
      if (d.efc_J_colind[d.efc_J_rowadr[row] + k] == dof) out += d.efc_J[d.efc_J_rowadr[row] + k] * d.efc_force[row];
  }
  return out;
}

void Working::push(std::size_t i, double input) {
  const Mover& x = rig_.movers[i];
  Driven& drive = driven_[i];
  if (drive.dof < 0) return;
  mjData& d = engine_.data();
  const double here = position(i);
  const double per = per_motor_rad(x, x.type == Mover::Type::rope ? x.low + here : here);
  const double v = drive.sense * d.qvel[drive.dof];  // towards plus
  const double load = moved_ ? drive.sense * load_on(drive.dof) : 0;
  const Push p = push_of(x.how, input, v / per);
  drive.current_a = p.current_a;
  double effort = p.torque_nmm * 1e-3 / per;
  const double lost = 1 - x.how.efficiency;
  // Motors that push lose in the train; motors that brake are helped by what it loses.
  const bool brakes = effort * v < 0;
  effort *= brakes ? 1 + lost : 1 - lost;
  double friction =
      x.how.motors * x.how.motor.torque_nmm_per_a * x.how.motor.no_load_current_a * 1e-3 / per * (1 - lost);
  const double way = input != 0 ? (input > 0 ? 1 : -1) : (v > 0 ? 1 : -1);
  const bool helps = load * way > 0;
  if (x.type == Mover::Type::ring) {
    friction += x.how.friction_nmm * 1e-3 / x.how.per_rad;
  } else {
    const bool screw = x.type == Mover::Type::screw;
    const double ideal = screw ? x.how.lead_mm / (2 * std::numbers::pi) : x.how.per_rad;
    const double share = helps ? 1 + x.how.lower_nmm_per_n / ideal : x.how.raise_nmm_per_n / ideal - 1;
    friction += std::max(share, 0.0) * std::fabs(load);
    if (screw)
      engine_.set_friction(drive.joint_dof, x.how.pin_friction * x.how.pin_radius_mm * kM * 2 * std::fabs(load));
  }
  // A train that locks lets no load through; at rest it takes all of it.
  if (!(x.drive.backward_efficiency > 0) && helps) friction += std::fabs(load);
  engine_.set_friction(drive.dof, friction);
  d.qfrc_applied[drive.dof] = drive.sense * effort;
}

void Working::drive(double left, double right, double steer_rad) {
  side_[0] = std::clamp(left, -1.0, 1.0);
  side_[1] = std::clamp(right, -1.0, 1.0);
  steer_rad_ = steer_rad;
  // Every steered wheel stands square to the line to the point that all roll about (Ackermann).
  for (const Kingpin& k : kingpins_) {
    double angle = 0;
    if (std::fabs(steer_rad) > 1e-6) {
      const double base_mm = k.x_mm - rig_.gear->turn_about_x_mm;
      const double inner_mm = std::fabs(base_mm) / std::tan(std::fabs(steer_rad)) + rig_.gear->rig.gauge_mm / 2;
      const double centre_mm = steer_rad > 0 ? inner_mm : -inner_mm;  // left of the middle
      angle = std::atan(base_mm / (centre_mm - k.y_mm));
    }
    engine_.set_rest(k.at, angle);
  }
}

Working::Place Working::place() const {
  const mjData& d = engine_.data();
  const mjtNum* r = d.xmat + 9 * base_;
  const Vec3 at = base();
  return {at.x_mm,
          at.y_mm,
          at.z_mm,
          std::atan2(r[3], r[0]),
          std::asin(std::clamp(r[6], -1.0, 1.0)),
          std::atan2(r[7], r[8])};
}

double Working::side_mm_s(bool left) const {
  if (rig_.gear && rig_.gear->rig.vehicle.belt) return belt_m_s_[left ? 0 : 1] / kM;
  double sum = 0;
  int count = 0;
  for (const Tyre& t : tyres_)
    if (t.driven && t.left == left) sum += engine_.data().qvel[t.dof] * t.radius_m, ++count;
  return count > 0 ? sum / count / kM : 0;
}

std::vector<double> Working::rocker_rad() const {
  std::vector<double> out;
  for (const int pin : pins_) out.push_back(engine_.data().qpos[pin]);
  return out;
}

void Working::push_gear() {
  const DriveRig& gear = rig_.gear->rig;
  mjData& d = engine_.data();
  pull_n_ = 0;
  if (!gear.vehicle.belt) {
    for (const Tyre& t : tyres_)
      if (t.pin_dof >= 0) d.qfrc_applied[t.pin_dof] = 0;
    for (const Tyre& t : tyres_) {
      if (!t.driven) continue;
      const double torque = side_[t.left ? 0 : 1] * shaft_.torque_nm;
      d.qfrc_applied[t.dof] = torque;
      const double net = torque - shaft_.damping_nms * d.qvel[t.dof];
      pull_n_ += net / t.radius_m;
      // The beam does not take it: what the wheel's joint puts on it is put on the hull.
      if (t.pin_dof >= 0) d.qfrc_applied[t.pin_dof] -= net;
    }
    return;
  }
  const double free_m_s = gear.speed_mm_s * kM,
               pull_n = (gear.pull_n > 0 ? gear.pull_n : 10 * gear.vehicle.weight_n) / 2;
  const double mass_kg = gear.vehicle.weight_n / balance::kGravity / 2;
  for (int s = 0; s < 2; ++s) {
    const double constant = mass_kg * belt_m_s_[s] / dt_s_ + side_[s] * pull_n - belt_pull_n_[s];
    belt_m_s_[s] = constant / (mass_kg / dt_s_ + pull_n / free_m_s);
    pull_n_ += belt_pull_n_[s];
  }
}

/// A belt's surface moves: the slip that friction rows hold counts from it (see driven.h).
void Working::move_belts() {
  mjData& d = engine_.data();
  const mjtNum* r = d.xmat + 9 * base_;
  const double y[3] = {r[1], r[4], r[7]};  // the hull's left
  for (int i = 0; i < d.ncon; ++i) {
    const mjContact& c = d.contact[i];
    if (c.efc_address < 0) continue;
    const int first = belt_[static_cast<std::size_t>(c.geom1)], second = belt_[static_cast<std::size_t>(c.geom2)];
    if (first == 0 && second == 0) continue;
    const double side = first != 0 ? -1 : 1, speed = belt_m_s_[(first != 0 ? first : second) > 0 ? 0 : 1];
    const double n[3] = {side * c.frame[0], side * c.frame[1], side * c.frame[2]};
    const double u[3] = {speed * (n[1] * y[2] - n[2] * y[1]), speed * (n[2] * y[0] - n[0] * y[2]),
                         speed * (n[0] * y[1] - n[1] * y[0])};
    for (int k = 1; k < 3; ++k) {
      const int row = c.efc_address + k;
      const mjtNum* t = c.frame + 3 * k;
      d.efc_aref[row] -= d.efc_KBIP[4 * row + 1] * side * (u[0] * t[0] + u[1] * t[1] + u[2] * t[2]);
    }
  }
}

bool Working::step(std::span<const double> input) {
  mjData& d = engine_.data();
  for (std::size_t i = 0; i < driven_.size(); ++i) push(i, i < input.size() ? std::clamp(input[i], -1.0, 1.0) : 0);
  const bool drum =
      std::any_of(rig_.movers.begin(), rig_.movers.end(), [](const Mover& m) { return m.type == Mover::Type::rope; });
  if (rig_.load_g > 0 && !drum) engine_.set_friction(engine_.model().jnt_dofadr[engine_.id(mjOBJ_JOINT, "drum")], 1e3);
  if (rig_.gear) push_gear();
  if (!engine_.begin_step()) return false;
  if (rig_.gear && rig_.gear->rig.vehicle.belt) move_belts();
  if (load_dof_ >= 0) {
    const Vec3 now = hook(), went = (1 / dt_s_) * (now - hook_before_);
    hook_before_ = now;
    for (int k = 0; k < 2; ++k) {
      const double kg = engine_.model().body_mass[load_body_];
      const double omega = std::sqrt(balance::kGravity / std::max(rope_mm() * kM, 0.02));
      const double slip = d.qvel[load_dof_ + k] - (k == 0 ? went.x_mm : went.y_mm) * kM;
      d.qfrc_applied[load_dof_ + k] = steady_ ? -2 * kg * omega * slip : 0;
    }
  }
  if (!engine_.end_step()) return false;
  moved_ = true;
  touch();
  return true;
}

void Working::touch() {
  const mjData& d = engine_.data();
  std::fill(foot_n_.begin(), foot_n_.end(), 0);
  grounded_ = false;
  double mx = 0, my = 0;
  feet_ = {};
  belt_pull_n_[0] = belt_pull_n_[1] = 0;
  const mjtNum* own_frame = d.xmat + 9 * base_;
  const double left[3] = {own_frame[1], own_frame[4], own_frame[7]};
  for (int i = 0; i < d.ncon; ++i) {
    const mjContact& c = d.contact[i];
    if (c.efc_address < 0) continue;
    const int own = std::max(foot_[static_cast<std::size_t>(c.geom1)], foot_[static_cast<std::size_t>(c.geom2)]);
    const bool load =
        std::min(foot_[static_cast<std::size_t>(c.geom1)], foot_[static_cast<std::size_t>(c.geom2)]) == -2;
    mjtNum force[6];
    mj_contactForce(&engine_.model(), &d, i, force);
    if (load) {
      grounded_ = grounded_ || force[0] > 1e-6;
      continue;
    }
    const bool under = under_[static_cast<std::size_t>(c.geom1)] != 0 || under_[static_cast<std::size_t>(c.geom2)] != 0;
    if (own < 0 && !under) continue;
    if (!(force[0] > 1e-6)) continue;
    ++feet_.contacts;
    feet_.underside = feet_.underside || under;
    feet_.friction = std::max(feet_.friction, std::hypot(force[1], force[2]) / force[0]);
    if (own < 0) continue;
    const int belt = belt_[static_cast<std::size_t>(c.geom1)] + belt_[static_cast<std::size_t>(c.geom2)];
    if (belt != 0) {
      const double side = belt_[static_cast<std::size_t>(c.geom1)] != 0 ? -1 : 1;
      const double n[3] = {side * c.frame[0], side * c.frame[1], side * c.frame[2]};
      // Force on the belt is side x force in the frame's tangents; it pulls against the surface's own way.
      double f[3];
      for (int k = 0; k < 3; ++k) f[k] = side * (force[1] * c.frame[3 + k] + force[2] * c.frame[6 + k]);
      belt_pull_n_[belt > 0 ? 0 : 1] -= f[0] * (n[1] * left[2] - n[2] * left[1]) +
                                        f[1] * (n[2] * left[0] - n[0] * left[2]) +
                                        f[2] * (n[0] * left[1] - n[1] * left[0]);
    }
    foot_n_[static_cast<std::size_t>(own)] += force[0];
    feet_.sum_n += force[0];
    mx += force[0] * c.pos[0];
    my += force[0] * c.pos[1];
  }
  feet_.least_n = foot_n_.empty() ? 0 : *std::min_element(foot_n_.begin(), foot_n_.end());
  if (feet_.sum_n > 0) {
    const double x = mx / feet_.sum_n - d.xpos[3 * base_], y = my / feet_.sum_n - d.xpos[3 * base_ + 1];
    const mjtNum* r = d.xmat + 9 * base_;
    feet_.centre = {(r[0] * x + r[3] * y) / kM, (r[1] * x + r[4] * y) / kM};
  }
  rope_n_ = 0;
  for (int row = 0; row < d.nefc; ++row)
    if (d.efc_type[row] == mjCNSTR_LIMIT_TENDON) rope_n_ = d.efc_force[row];
}

}  // namespace trial
