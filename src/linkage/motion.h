// How a mechanism moves in one position: rates per unit of an input, mechanical advantage, transmission angle, and the
// turning points of an output along a sweep.
//
// Rates follow from the loop equations differentiated: J dy/dv = -dF/dv. Mechanical advantage = effort out / effort in
// without friction = rate in / rate out (power balance). Transmission angle: between the line along which the coupler
// pushes and the line square to the motion of the driven joint; 90 deg best, 0 at a dead point.
// Source: Norton, Design of Machinery, ch. 4 and 6; Alt, after whom the transmission angle is measured (from memory).
#pragma once

#include <span>
#include <vector>

#include "linkage/assembly.h"

namespace linkage {

struct Motion {
  bool moves = true;  ///< false: dead point of this input, the rates are infinite
  std::vector<BodyPose> poses;
  std::vector<Loops::BodyRate> bodies;  ///< per unit of the input
  std::vector<double> joints;           ///< rate of every joint's value
  /// Velocity of a point of a body.
  [[nodiscard]] Vec2 velocity(int body, Vec2 at) const;
};

/// Poses and rates while one input moves at 1 rad/s or 1 mm/s, the others held.
[[nodiscard]] Motion motion(const Loops& loops, const Position& position, int input);
[[nodiscard]] std::vector<BodyPose> poses(const Loops& loops, const Position& position);
[[nodiscard]] double joint_value(const Loops& loops, const Position& position, int joint);

/// rate in / rate of the output joint; infinite where the output stands still.
[[nodiscard]] double mechanical_advantage(const Motion& motion, int output_joint);

/// 0 .. pi/2 rad. The coupler is held by `from` and `to` (pins); the driven body by `to` and `output`, a pin or slider.
[[nodiscard]] double transmission_angle_rad(const Loops& loops, const Position& position, int from, int to, int output);

/// Where an output joint turns back along a sweep (its dead points: limits of its travel, infinite mechanical
/// advantage).
struct TurningPoint {
  double input = 0;   ///< value of the moving input
  double output = 0;  ///< value of the output joint, an extreme
  Position position;
};
/// Found between the samples of the sweep by the sign of the rate, refined to rounding; two of them within one step are
/// missed, so sweep in steps finer than that.
[[nodiscard]] std::vector<TurningPoint> turning_points(const Loops& loops, const Sweep& sweep, int input,
                                                       int output_joint);

}  // namespace linkage
