#include "linkage/statics.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/check.h"
#include "linkage/small_lu.h"

namespace linkage {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
// Friction settles in a handful of rounds or not at all (a Coulomb paradox); the cap is far beyond the first.
constexpr int kMostRounds = 100;
constexpr double kSettled = 1e-13;
// Pivot below this share of the mechanism's size: a dead point.
constexpr double kSingular = 1e-13;

std::size_t no(int index) {
  return static_cast<std::size_t>(index);
}

/// The carrier of a gear pair and its two gears; problems() has made sure that they exist.
struct Mesh {
  Vec2 pitch_point, tangent, apart;  ///< where; direction of T on gear b; direction in which b is pushed away
  int gear_a = 0, gear_b = 0;
};
Mesh mesh_of(const Mechanism& m, const Gear& gear, std::span<const BodyPose> poses) {
  const Joint& p = m.joints[no(gear.pin_a)];
  const Joint& q = m.joints[no(gear.pin_b)];
  const int carrier = p.a == q.a || p.a == q.b ? p.a : p.b;
  Mesh out;
  out.gear_a = carrier == p.a ? p.b : p.a;
  out.gear_b = carrier == q.a ? q.b : q.a;
  const Vec2 a = poses[no(p.b)].world(p.at_b), b = poses[no(q.b)].world(q.at_b);
  // Pitch circles roll: turn_a x (P - A) = turn_b x (P - B).
  const double k = gear.ratio;
  out.pitch_point = {(a.x_mm - k * b.x_mm) / (1 - k), (a.z_mm - k * b.z_mm) / (1 - k)};
  const double distance = std::hypot(b.x_mm - a.x_mm, b.z_mm - a.z_mm);
  const Vec2 along = {(b.x_mm - a.x_mm) / distance, (b.z_mm - a.z_mm) / distance};
  out.tangent = {-along.z_mm, along.x_mm};
  // Every externally toothed gear is pushed towards its own centre, its partner the other way.
  const bool from_a = k < 0 || std::fabs(k) < 1;
  Vec2 apart = from_a ? Vec2{out.pitch_point.x_mm - a.x_mm, out.pitch_point.z_mm - a.z_mm}
                      : Vec2{b.x_mm - out.pitch_point.x_mm, b.z_mm - out.pitch_point.z_mm};
  const double size = std::hypot(apart.x_mm, apart.z_mm);
  out.apart = {apart.x_mm / size, apart.z_mm / size};
  return out;
}

double sign_of(double v) {
  return v > 0 ? 1 : v < 0 ? -1 : 0;
}

}  // namespace

double load_power(const Motion& motion, std::span<const Load> loads) {
  double power = 0;
  for (const Load& load : loads) {
    const Vec2 v = motion.velocity(load.body, load.at);
    power += load.force.x_n * v.x_mm + load.force.z_n * v.z_mm + load.moment_nmm * motion.bodies[no(load.body)].turn;
  }
  return power;
}

std::vector<double> virtual_work(const Loops& loops, const Position& position, std::span<const Load> loads) {
  std::vector<double> out;
  for (int k = 0; k < loops.inputs(); ++k) {
    const Motion m = motion(loops, position, k);
    out.push_back(m.moves ? -load_power(m, loads) : std::numeric_limits<double>::quiet_NaN());
  }
  return out;
}

Statics::Statics(const Loops& loops) : loops_(loops) {
  const auto& m = loops.mechanism();
  const std::size_t n = 3 * (m.bodies.size() - 1);
  KW_CHECK(2 * m.joints.size() + m.gears.size() + m.inputs.size() == n, "the mechanism is statically indeterminate");
  poses_.resize(m.bodies.size());
  base_matrix_.resize(n * n);
  base_right_.resize(n);
  matrix_.resize(n * n);
  unknown_.resize(n);
  previous_.resize(n);
  pivot_.resize(n);
  sense_.resize(m.joints.size());
  contact_.resize(m.joints.size());
  axis_.resize(m.joints.size());
  out_.effort.resize(m.inputs.size());
  out_.joints.resize(m.joints.size());
  out_.tooth_n.resize(m.gears.size());
}

namespace {

/// Adds a unit force on `body` at a place, times `weight`, to a column: rows x, z, moment about the body's origin.
void add_force(std::span<double> matrix, std::size_t n, std::span<const BodyPose> poses, int body, std::size_t column,
               Vec2 place, Vec2 direction, double weight) {
  if (body == 0) return;
  const std::size_t row = 3 * (no(body) - 1);
  const Vec2 origin = poses[no(body)].at;
  const double rx = place.x_mm - origin.x_mm, rz = place.z_mm - origin.z_mm;
  matrix[row * n + column] += weight * direction.x_mm;
  matrix[(row + 1) * n + column] += weight * direction.z_mm;
  matrix[(row + 2) * n + column] += weight * (rx * direction.z_mm - rz * direction.x_mm);
}
void add_moment(std::span<double> matrix, std::size_t n, int body, std::size_t column, double weight) {
  if (body == 0) return;
  matrix[(3 * (no(body) - 1) + 2) * n + column] += weight;
}

}  // namespace

void Statics::prepare(const Coordinates& at, std::span<const Load> loads) {
  const auto& m = loops_.mechanism();
  const std::size_t n = unknown_.size();
  loops_.place(at, poses_);
  std::fill(base_matrix_.begin(), base_matrix_.end(), 0.0);
  std::fill(base_right_.begin(), base_right_.end(), 0.0);
  for (std::size_t j = 0; j < m.joints.size(); ++j) {
    const Joint& joint = m.joints[j];
    const std::size_t column = 2 * j;
    const Vec2 b = poses_[no(joint.b)].world(joint.at_b);
    contact_[j] = b;
    if (joint.kind == Joint::Kind::pin) {
      for (const int side : {0, 1}) {
        const int body = side == 0 ? joint.b : joint.a;
        add_force(base_matrix_, n, poses_, body, column, b, {1, 0}, side == 0 ? 1 : -1);
        add_force(base_matrix_, n, poses_, body, column + 1, b, {0, 1}, side == 0 ? 1 : -1);
      }
      continue;
    }
    axis_[j] = poses_[no(joint.a)].direction({std::cos(joint.axis_rad), std::sin(joint.axis_rad)});
    if (joint.guide_in_a) contact_[j] = poses_[no(joint.a)].world(joint.at_a);
    const Vec2 normal = {-axis_[j].z_mm, axis_[j].x_mm};
    add_force(base_matrix_, n, poses_, joint.b, column, contact_[j], normal, 1);
    add_force(base_matrix_, n, poses_, joint.a, column, contact_[j], normal, -1);
    add_moment(base_matrix_, n, joint.b, column + 1, 1);
    add_moment(base_matrix_, n, joint.a, column + 1, -1);
  }
  std::size_t column = 2 * m.joints.size();
  for (const Gear& gear : m.gears) {
    const Mesh mesh = mesh_of(m, gear, poses_);
    add_force(base_matrix_, n, poses_, mesh.gear_b, column, mesh.pitch_point, mesh.tangent, 1);
    add_force(base_matrix_, n, poses_, mesh.gear_a, column, mesh.pitch_point, mesh.tangent, -1);
    ++column;
  }
  for (const int input : m.inputs) {
    const Joint& joint = m.joints[no(input)];
    if (joint.kind == Joint::Kind::pin) {
      add_moment(base_matrix_, n, joint.b, column, 1);
      add_moment(base_matrix_, n, joint.a, column, -1);
    } else {
      add_force(base_matrix_, n, poses_, joint.b, column, contact_[no(input)], axis_[no(input)], 1);
      add_force(base_matrix_, n, poses_, joint.a, column, contact_[no(input)], axis_[no(input)], -1);
    }
    ++column;
  }
  for (const Load& load : loads) {
    if (load.body == 0) continue;
    const std::size_t row = 3 * (no(load.body) - 1);
    const Vec2 arm = poses_[no(load.body)].direction(load.at);
    base_right_[row] -= load.force.x_n;
    base_right_[row + 1] -= load.force.z_n;
    base_right_[row + 2] -= load.moment_nmm + arm.x_mm * load.force.z_n - arm.z_mm * load.force.x_n;
  }
}

/// One linear system; friction and tooth separation linearised at previous_.
bool Statics::solve(bool with_friction) {
  const auto& m = loops_.mechanism();
  const std::size_t n = unknown_.size();
  std::copy(base_matrix_.begin(), base_matrix_.end(), matrix_.begin());
  std::copy(base_right_.begin(), base_right_.end(), unknown_.begin());
  if (with_friction) {
    for (std::size_t j = 0; j < m.joints.size(); ++j) {
      const Joint& joint = m.joints[j];
      if (joint.friction == 0 || sense_[j] == 0) continue;
      const std::size_t column = 2 * j;
      if (joint.kind == Joint::Kind::pin) {
        const double size = std::hypot(previous_[column], previous_[column + 1]);
        if (size == 0) continue;
        const double moment = -sense_[j] * joint.friction * joint.radius_mm;
        for (const int k : {0, 1}) {
          const double part = moment * previous_[column + no(k)] / size;
          add_moment(matrix_, n, joint.b, column + no(k), part);
          add_moment(matrix_, n, joint.a, column + no(k), -part);
        }
        continue;
      }
      // N at the ends of the guide: N/2 + C/L and N/2 - C/L.
      double by_force = sign_of(previous_[column]), by_couple = 0;
      if (joint.guide_mm > 0) {
        const double half = previous_[column] / 2, couple = previous_[column + 1] / joint.guide_mm;
        const double first = sign_of(half + couple), second = sign_of(half - couple);
        by_force = (first + second) / 2;
        by_couple = (first - second) / joint.guide_mm;
      }
      const double factor = -sense_[j] * joint.friction;
      for (const int side : {0, 1}) {
        const int body = side == 0 ? joint.b : joint.a;
        const double weight = side == 0 ? factor : -factor;
        add_force(matrix_, n, poses_, body, column, contact_[j], axis_[j], weight * by_force);
        add_force(matrix_, n, poses_, body, column + 1, contact_[j], axis_[j], weight * by_couple);
      }
    }
  }
  for (std::size_t g = 0; g < m.gears.size(); ++g) {
    const std::size_t column = 2 * m.joints.size() + g;
    const double apart = std::tan(m.gears[g].pressure_angle_rad) * sign_of(previous_[column]);
    if (apart == 0) continue;
    const Mesh mesh = mesh_of(m, m.gears[g], poses_);
    add_force(matrix_, n, poses_, mesh.gear_b, column, mesh.pitch_point, mesh.apart, apart);
    add_force(matrix_, n, poses_, mesh.gear_a, column, mesh.pitch_point, mesh.apart, -apart);
  }
  // Force rows are of order 1; the least pivot at a dead point is a lost lever arm against the size.
  if (lu_factor(matrix_, pivot_, n, kSingular) == 0) return false;
  lu_solve(matrix_, pivot_, n, unknown_);
  return true;
}

void Statics::collect() {
  const auto& m = loops_.mechanism();
  for (std::size_t j = 0; j < m.joints.size(); ++j) {
    const Joint& joint = m.joints[j];
    const double u = unknown_[2 * j], v = unknown_[2 * j + 1];
    Reaction& r = out_.joints[j];
    if (joint.kind == Joint::Kind::pin) {
      r.friction = -sense_[j] * joint.friction * joint.radius_mm * std::hypot(u, v);
      r.force = {u, v};
      r.moment_nmm = r.friction;
    } else {
      const double ends = joint.guide_mm > 0
                              ? std::fabs(u / 2 + v / joint.guide_mm) + std::fabs(u / 2 - v / joint.guide_mm)
                              : std::fabs(u);
      r.friction = -sense_[j] * joint.friction * ends;
      r.force = {-u * axis_[j].z_mm + r.friction * axis_[j].x_mm, u * axis_[j].x_mm + r.friction * axis_[j].z_mm};
      r.moment_nmm = v;
    }
  }
  const std::size_t first = 2 * m.joints.size();
  for (std::size_t g = 0; g < m.gears.size(); ++g) out_.tooth_n[g] = unknown_[first + g];
  for (std::size_t k = 0; k < m.inputs.size(); ++k) out_.effort[k] = unknown_[first + m.gears.size() + k];
}

const Equilibrium& Statics::at_rest(const Coordinates& at, std::span<const Load> loads) {
  std::fill(sense_.begin(), sense_.end(), 0.0);
  std::fill(previous_.begin(), previous_.end(), 0.0);
  prepare(at, loads);
  out_.iterations = 1;
  out_.converged = true;
  out_.solved = solve(false);
  const auto& gears = loops_.mechanism().gears;
  const bool separates =
      std::any_of(gears.begin(), gears.end(), [](const Gear& g) { return g.pressure_angle_rad != 0; });
  if (out_.solved && separates) {  // the sense of each tooth force is known now, and does not depend on the separation
    previous_ = unknown_;
    ++out_.iterations;
    out_.solved = solve(false);
  }
  if (out_.solved) collect();
  return out_;
}

const Equilibrium& Statics::at_rest(const Position& position, std::span<const Load> loads) {
  loops_.expand(position.free, position.input, at_);
  return at_rest(at_, loads);
}

const Equilibrium& Statics::moving(const Position& position, std::span<const Load> loads, int input, int sense) {
  const Motion m = motion(loops_, position, input);
  at_rest(position, loads);
  if (!m.moves || !out_.solved) {
    out_.solved = false;
    return out_;
  }
  // A joint that hardly turns has no sense of its own: below this share of the input's rate it is taken to stand still.
  constexpr double kStill = 1e-12;
  for (std::size_t j = 0; j < sense_.size(); ++j) {
    sense_[j] = std::fabs(m.joints[j]) > kStill ? sense * sign_of(m.joints[j]) : 0;
  }
  previous_ = unknown_;
  out_.converged = false;
  for (int round = 0; round < kMostRounds && !out_.converged; ++round) {
    ++out_.iterations;
    out_.solved = solve(true);
    if (!out_.solved) return out_;
    double change = 0, size = 0;
    for (std::size_t i = 0; i < unknown_.size(); ++i) {
      change = std::max(change, std::fabs(unknown_[i] - previous_[i]));
      size = std::max(size, std::fabs(unknown_[i]));
    }
    out_.converged = change <= kSettled * size;
    previous_ = unknown_;
  }
  collect();
  return out_;
}

Holding holding(const Loops& loops, const Position& position, std::span<const Load> loads, int input) {
  Holding out;
  const Motion m = motion(loops, position, input);
  KW_CHECK(m.moves, "an input at its dead point holds anything");
  out.effort = -load_power(m, loads);
  if (out.effort == 0) {
    out.self_locking = true;
    return out;
  }
  Statics statics(loops);
  const int on = out.effort > 0 ? 1 : -1;
  const Equilibrium& forward = statics.moving(position, loads, input, on);
  const double push = forward.effort[no(input)];
  // Past the angle of jamming the linear solution turns over: no finite effort moves it on.
  const bool jams =
      !forward.solved || !forward.converged || !(push * on > 0) || std::fabs(push) < std::fabs(out.effort);
  out.push_on = jams ? on * kInfinity : push;
  out.efficiency = jams ? 0 : out.effort / push;
  const Equilibrium& back = statics.moving(position, loads, input, -on);
  out.let_back = back.effort[no(input)];
  out.self_locking = !back.solved || !back.converged || out.let_back * on <= 0;
  out.back_efficiency = out.let_back / out.effort;
  return out;
}

double screw_torque_nmm(const Screw& screw, double effort_n, int sense) {
  return effort_n * sense > 0 ? raise_torque_nmm(screw, std::fabs(effort_n))
                              : lower_torque_nmm(screw, std::fabs(effort_n));
}

}  // namespace linkage
