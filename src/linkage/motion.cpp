#include "linkage/motion.h"

#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"

namespace linkage {
namespace {

std::size_t no(int index) {
  return static_cast<std::size_t>(index);
}

Vec2 minus(Vec2 p, Vec2 q) {
  return {p.x_mm - q.x_mm, p.z_mm - q.z_mm};
}

Vec2 place_of(const Loops& loops, const std::vector<BodyPose>& poses, int joint) {
  const Joint& j = loops.mechanism().joints[no(joint)];
  return poses[no(j.b)].world(j.at_b);
}

}  // namespace

Vec2 Motion::velocity(int body, Vec2 at) const {
  return bodies[no(body)].of(poses[no(body)].direction(at));
}

Motion motion(const Loops& loops, const Position& position, int input) {
  KW_CHECK(input >= 0 && input < loops.inputs(), "no such input");
  Motion out;
  Coordinates at;
  loops.expand(position.free, position.input, at);
  out.poses.resize(no(loops.bodies()));
  loops.place(at, out.poses);
  Solver solver(loops);
  std::vector<double> free_rates(no(loops.unknowns())), rates;
  out.moves = solver.rates(position, input, free_rates);
  if (!out.moves) return out;
  loops.expand_rates(free_rates, input, rates);
  out.bodies.resize(no(loops.bodies()));
  loops.move(at, out.poses, rates, out.bodies);
  for (std::size_t j = 0; j < loops.mechanism().joints.size(); ++j) {
    out.joints.push_back(loops.joint_rate(static_cast<int>(j), rates));
  }
  return out;
}

std::vector<BodyPose> poses(const Loops& loops, const Position& position) {
  Coordinates at;
  loops.expand(position.free, position.input, at);
  std::vector<BodyPose> out(no(loops.bodies()));
  loops.place(at, out);
  return out;
}

double joint_value(const Loops& loops, const Position& position, int joint) {
  Coordinates at;
  loops.expand(position.free, position.input, at);
  return loops.joint_value(joint, at);
}

double mechanical_advantage(const Motion& motion, int output_joint) {
  if (!motion.moves) return 0;
  const double rate = motion.joints[no(output_joint)];
  return rate == 0 ? std::numeric_limits<double>::infinity() : 1 / rate;
}

double transmission_angle_rad(const Loops& loops, const Position& position, int from, int to, int output) {
  const auto at = poses(loops, position);
  const Vec2 end = place_of(loops, at, to);
  const Vec2 push = minus(end, place_of(loops, at, from));
  const Joint& out = loops.mechanism().joints[no(output)];
  Vec2 square;  // square to the motion of `to`
  if (out.kind == Joint::Kind::pin) {
    square = minus(end, place_of(loops, at, output));
  } else {
    const Vec2 axis = at[no(out.a)].direction({std::cos(out.axis_rad), std::sin(out.axis_rad)});
    square = {-axis.z_mm, axis.x_mm};
  }
  const double cross = push.x_mm * square.z_mm - push.z_mm * square.x_mm;
  const double dot = push.x_mm * square.x_mm + push.z_mm * square.z_mm;
  return std::atan2(std::fabs(cross), std::fabs(dot));
}

std::vector<TurningPoint> turning_points(const Loops& loops, const Sweep& sweep, int input, int output_joint) {
  std::vector<TurningPoint> out;
  Solver solver(loops);
  std::vector<double> free_rates(no(loops.unknowns())), rates;
  const auto rate_at = [&](const Position& p) {
    if (!solver.rates(p, input, free_rates)) return std::numeric_limits<double>::quiet_NaN();
    loops.expand_rates(free_rates, input, rates);
    return loops.joint_rate(output_joint, rates);
  };
  const auto add = [&](const Position& p) {
    out.push_back({p.input[no(input)], joint_value(loops, p, output_joint), p});
  };
  double before = std::numeric_limits<double>::quiet_NaN();
  for (std::size_t k = 0; k < sweep.positions.size(); ++k) {
    const double here = rate_at(sweep.positions[k]);
    if (here == 0) {
      add(sweep.positions[k]);
    } else if (k > 0 && before * here < 0) {
      // Bisection: some 50 halvings, each closing from the lower end; as exact as the rate itself.
      Position low = sweep.positions[k - 1], high = sweep.positions[k];
      for (int i = 0; i < 60; ++i) {
        Position middle = low;
        middle.input[no(input)] = (low.input[no(input)] + high.input[no(input)]) / 2;
        for (std::size_t f = 0; f < middle.free.size(); ++f) middle.free[f] = (low.free[f] + high.free[f]) / 2;
        if (middle.input[no(input)] == low.input[no(input)] || middle.input[no(input)] == high.input[no(input)]) break;
        if (!solver.close(middle)) break;
        (rate_at(middle) * before > 0 ? low : high) = middle;
      }
      add(high);
    }
    before = here;
  }
  return out;
}

}  // namespace linkage
