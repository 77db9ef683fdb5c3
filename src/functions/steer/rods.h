// The rods of a steered axle in plan: crank, drag link, two steering arms, track rod; how they move and what they ask
// of the crank.
//
// Frame: x forward, y to the left, origin in the middle of the axle, straight ahead; angles counter-clockwise, so
// positive turns to the left. Kingpins at (0, +-w/2); the left arm ends at (-back, w/2 - in), the right one is its
// mirror image; the track rod joins both ends, the drag link the crank's end with the left arm's. All pivots are
// vertical. Source: four-bar relations, Norton, Design of Machinery, chs 4 and 6; friction of pins by power,
//   T w_crank = sum of the moments' power + sum over pins of mu r F |relative turn|
// with the forces along the rods, which is Coulomb's friction but for the shift of the rods' lines by mu r.
#pragma once

#include <optional>
#include <vector>

#include "lattice/lattice.h"
#include "linkage/actuator.h"  // Vec2, here x forward and z to the left
#include "linkage/steering.h"

namespace functions::steer {

struct Rods {
  lattice::Point2 arm;  ///< x = in, z = back, half-pitches
  int track_rod_p = 0;
  lattice::Point2 pivot;  ///< of the crank: x forward, z to the left, half-pitches from the axle's middle
  int crank_p = 0, drag_p = 0;
  int side = 1;  ///< crank's end to the left (+1) or right (-1) of the line crank pivot -> arm's end
  friend auto operator<=>(const Rods&, const Rods&) = default;
};

/// Positions from stop (right) to stop (left) that are looked at; equal steps of the left wheel. Time by the trapezoid
/// rule is within 0.1 % of the integral (tested).
inline constexpr int kPositions = 33;

/// Least angle between two links that hand a force on: below it small play and friction decide (common practice, no
/// source).
inline constexpr double kLeastTransmission_deg = 30;
inline constexpr double kLeastCrankAngle_deg = 20;

struct Spot {
  double left_rad = 0, right_rad = 0, crank_rad = 0;
  double left_rod_mm = 0, right_rod_mm = 0;  ///< lever of the track rod about either kingpin
  double arm_mm = 0, crank_mm = 0;           ///< lever of the drag link about the left kingpin and the crank's pivot
  double arm_rad = 0, crank_end_rad = 0;     ///< acute angle of the drag link with the left arm, with the crank
  double right_turn = 0, rod_turn = 0, drag_turn = 0, crank_turn = 0;  ///< rates, left wheel = 1
  double between = 0;  ///< cosine of the angle between the pulls of track rod and drag link on the left arm
};

struct Travel {
  std::vector<Spot> spots;
  double range_rad = 0;         ///< of the crank
  double error_rad = 0;         ///< outer wheel against Ackermann, largest
  double outer_rad = 0;         ///< at the largest inner angle
  double transmission_rad = 0;  ///< least of all links
  double most_rate = 0;         ///< greatest turn of either wheel per turn of the crank
};

/// In millimetres; the wheels turn until the inner one stands at `inner_rad`.
struct Axle {
  double pitch_mm = 8;
  int kingpins_hp = 0;
  double base_mm = 0;
  double inner_rad = 0;
  [[nodiscard]] linkage::Trapezoid trapezoid(const Rods& rods) const;
};

/// Empty where the rods do not close. No least angle is asked for.
[[nodiscard]] std::optional<Spot> spot_at(const Rods& rods, const Axle& axle, double left_rad);
/// Empty where the rods do not close, or a link falls short of its least angle on the way.
[[nodiscard]] std::optional<Travel> travel_of(const Rods& rods, const Axle& axle);

/// Where the ends are at a position of the travel: for drawings and clearances.
struct Ends {
  linkage::Vec2 left_kingpin, right_kingpin, left_arm, right_arm, pivot, crank;
};
[[nodiscard]] Ends ends_at(const Rods& rods, const Axle& axle, const Spot& spot);

struct PinFriction {
  double friction = 0;
  double radius_mm = 0;
  // Of a rack: its mesh with the pinion.
  double mesh_efficiency = 1;
  double pressure_rad = 0;
};
/// Forces and torque while the wheels are turned against `moment_nmm` at each kingpin. Turning back asks the same, as
/// every resistance changes its sign. Infinite where friction jams.
struct Effort {
  double track_rod_n = 0, drag_n = 0;
  double crank_nmm = 0;
};
[[nodiscard]] Effort effort_at(const Spot& spot, double moment_nmm, const PinFriction& pins);
[[nodiscard]] std::vector<double> crank_torques_nmm(const Travel& travel, double moment_nmm, const PinFriction& pins);
/// Part of the crank's travel that stands for each position (trapezoid rule); sums to range_rad.
[[nodiscard]] std::vector<double> shares_rad(const Travel& travel);

/// Shortest distance of two line segments.
[[nodiscard]] double distance_mm(linkage::Vec2 a, linkage::Vec2 b, linkage::Vec2 c, linkage::Vec2 d);

/// Play of the left wheel to either side while the crank stands: each rod may be `pin_mm` longer or shorter (half at
/// each end), the kingpin stands off by half its clearance. `right`: the other wheel, the track rod's play added.
[[nodiscard]] double wheel_play_rad(const Travel& travel, double pin_mm, double kingpin_mm, bool right);

}  // namespace functions::steer
