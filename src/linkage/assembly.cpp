#include "linkage/assembly.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/text.h"
#include "linkage/small_lu.h"

namespace linkage {
namespace {

// Closed: the loops' gaps against the mechanism's size. Newton is quadratic, so the step from here lands at rounding.
constexpr double kClosed = 1e-12;
// Largest turn of any angle in one Newton step: a quarter of what parts two branches that are well apart.
constexpr double kMostTurn_rad = 0.4;
// A pivot below this share of the size is a dead point: the position then moves a million times the input.
constexpr double kSingular = 1e-13;

std::size_t no(int index) {
  return static_cast<std::size_t>(index);
}

}  // namespace

BodyPose drawn(Vec2 at, double angle_rad) {
  return {at, angle_rad, std::cos(angle_rad), std::sin(angle_rad)};
}

Position read(const Loops& loops, std::span<const BodyPose> drawing) {
  KW_CHECK(static_cast<int>(drawing.size()) == loops.bodies(), "one pose per body");
  Coordinates at;
  at.value = loops.measure(drawing);
  Position out;
  for (int i = 0; i < loops.unknowns(); ++i) out.free.push_back(at.value[no(loops.coordinate_of(i))]);
  for (const int joint : loops.mechanism().inputs) out.input.push_back(loops.joint_value(joint, at));
  return out;
}

Solver::Solver(const Loops& loops) : loops_(loops) {
  const std::size_t n = no(loops.unknowns());
  trial_.resize(n);
  residual_.resize(n);
  jacobian_.resize(n * n);
  by_input_.resize(n * no(loops.inputs()));
  pivot_.resize(n);
}

int Solver::factor() {
  return lu_factor(jacobian_, pivot_, trial_.size(), kSingular * loops_.size_mm());
}

bool Solver::close(Position& position) {
  const std::size_t n = trial_.size();
  std::copy(position.free.begin(), position.free.end(), trial_.begin());
  const double tolerance_mm = kClosed * loops_.size_mm();
  for (int i = 0; i < kNewtonCap; ++i) {
    loops_.expand(trial_, position.input, at_);
    loops_.evaluate(at_, residual_, jacobian_, {});
    ++evaluations_;
    double gap_mm = 0;
    for (const double r : residual_) gap_mm = std::max(gap_mm, std::fabs(r));
    if (!(gap_mm < std::numeric_limits<double>::infinity())) return false;
    if (gap_mm <= tolerance_mm) {
      std::copy(trial_.begin(), trial_.end(), position.free.begin());
      return true;
    }
    if (factor() == 0) return false;
    lu_solve(jacobian_, pivot_, n, residual_);
    double largest = 0;
    for (std::size_t k = 0; k < n; ++k) {
      const double limit = loops_.is_travel(static_cast<int>(k)) ? kMostTurn_rad * loops_.size_mm() : kMostTurn_rad;
      largest = std::max(largest, std::fabs(residual_[k]) / limit);
    }
    const double share = largest > 1 ? 1 / largest : 1;
    for (std::size_t k = 0; k < n; ++k) trial_[k] -= share * residual_[k];
  }
  return false;
}

bool Solver::rates(const Position& position, int input, std::span<double> free_rates) {
  const std::size_t n = trial_.size(), inputs = no(loops_.inputs());
  loops_.expand(position.free, position.input, at_);
  loops_.evaluate(at_, residual_, jacobian_, by_input_);
  if (factor() == 0) return false;
  for (std::size_t r = 0; r < n; ++r) free_rates[r] = -by_input_[r * inputs + no(input)];
  lu_solve(jacobian_, pivot_, n, free_rates);
  return true;
}

int Solver::orientation(const Position& position) {
  loops_.expand(position.free, position.input, at_);
  loops_.evaluate(at_, residual_, jacobian_, {});
  return factor();
}

Sweep sweep(const Loops& loops, const Position& start, int input, double to, int steps) {
  KW_CHECK(steps >= 1, "a sweep needs at least one step");
  KW_CHECK(input >= 0 && input < loops.inputs(), "no such input");
  Solver solver(loops);
  const std::size_t n = no(loops.unknowns()), moving = no(input);
  Position here = start;
  KW_CHECK(solver.close(here), "the sweep starts where the mechanism does not close");
  const double from = start.input[moving];
  // Steps are halved until the way is followed; below this the sweep has come to its end.
  const double least = 1e-11 * std::max(1.0, std::fabs(to - from));
  const int orientation = solver.orientation(here);
  Sweep out;
  out.value.push_back(from);
  out.positions.push_back(here);
  std::vector<double> rate(n);
  Position next;
  for (int k = 1; k <= steps; ++k) {
    const double goal = k == steps ? to : from + k * (to - from) / steps;
    double step = goal - here.input[moving];
    while (here.input[moving] != goal) {
      const double left = goal - here.input[moving];
      if (std::fabs(step) > std::fabs(left)) step = left;
      const bool last = step == left;
      next = here;
      next.input[moving] = last ? goal : here.input[moving] + step;
      bool follows = orientation != 0 && solver.rates(here, input, rate);
      double bend = 0;
      if (follows) {
        for (std::size_t i = 0; i < n; ++i) next.free[i] += step * rate[i];
        const Position predicted = next;
        follows = solver.close(next) && solver.orientation(next) == orientation;
        // Where the correction is of the size of the step itself, another branch may be nearer than ours.
        for (std::size_t i = 0; follows && i < n; ++i) {
          const double scale = loops.is_travel(static_cast<int>(i)) ? loops.size_mm() : 1;
          bend = std::max(bend, std::fabs(next.free[i] - predicted.free[i]) / scale);
        }
        follows = follows && bend < kMostTurn_rad / 2;
      }
      if (follows) {
        here = next;
        if (bend < kMostTurn_rad / 16) step *= 2;
        continue;
      }
      step /= 2;
      if (std::fabs(step) < least) {
        out.arrives = false;
        out.stop_value = here.input[moving];
        const bool turn = loops.mechanism().joints[no(loops.mechanism().inputs[moving])].kind == Joint::Kind::pin;
        out.text = "does not close beyond " + (turn ? base::plain(out.stop_value * 180 / std::numbers::pi, 6) + " deg"
                                                    : base::plain(out.stop_value, 6) + " mm");
        return out;
      }
    }
    out.value.push_back(goal);
    out.positions.push_back(here);
  }
  return out;
}

}  // namespace linkage
