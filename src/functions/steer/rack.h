// Rack-and-pinion steering in plan: a bar with a rack that slides across the machine, a tie rod from either end of it
// to the steering arm on its side.
//
// Frame as in rods.h: x forward, y to the left, origin in the middle of the axle. The bar's end holes stand at
// (line, +-e) straight ahead and move by the shift s to the left. With the left arm's end A(d) at the wheel's angle d:
//   |A(d) - (line, e + s)| = L          s(d) = A_y - e -+ sqrt(L^2 - (A_x - line)^2)
// The right side is its mirror image: s = -s(-d_right). L is what the lattice gives straight ahead; the tie rods of the
// stock are whole pitches, and what they differ by is told as toe.
// Force by power, Coulomb friction in the six pins, in the bar's guide (mu times what the tie rods push across it and
// the teeth push apart) and in the mesh:
//   F_i (h_i w_i - mu r (|W_i - w_i| + w_i)) = M w_i          R v = sum F_i (|t_i| v + mu r |W_i|) + mu_g (...) v
// h lever, w turn of the wheel, W turn of the tie rod, t its share along the bar, v = ds. Source: Norton, Design of
// Machinery, chs 4 and 6 (position, virtual work); Shigley ch. 13 (tooth forces). N, mm, rad.
#pragma once

#include <optional>
#include <vector>

#include "functions/steer/rods.h"
#include "stock/part.h"

namespace functions::steer {

struct Rack {
  lattice::Point2 arm;     ///< x = in, z = back, half-pitches
  lattice::Point2 pinion;  ///< its axis, x forward, z = 0, half-pitches from the axle's middle
  int side = 1;            ///< the pinion stands ahead of the bar (+1) or behind it (-1)
  int half_bar_hp = 0;     ///< e: half the distance of the bar's end holes
  int tie_p = 0;
  double radius_mm = 0;  ///< of the pinion's pitch circle
  stock::ClassId wheel{}, rack{};
  int racks = 1;  ///< in line
  friend bool operator==(const Rack&, const Rack&) = default;
};
/// Bar's holes beyond the rack's pitch line, pitches (invented; the rack lies on its bar).
inline constexpr double kRackOnBar_p = 0.5;
[[nodiscard]] double line_mm(const Rack&, const Axle&);
/// Tie rod that the lattice asks for straight ahead, mm.
[[nodiscard]] double tie_mm(const Rack&, const Axle&);

struct RackSpot {
  double left_rad = 0, right_rad = 0, shift_mm = 0;
  double left_mm = 0, right_mm = 0;          ///< levers of the tie rods about their kingpins
  double left_t = 0, right_t = 0;            ///< share of either tie rod along the bar, absolute
  double left_per_mm = 0, right_per_mm = 0;  ///< turn of either wheel per shift, absolute
  double left_tie = 0, right_tie = 0;        ///< turn of either tie rod per shift
  double left_w = 0, right_w = 0;            ///< signed turn of either wheel per shift
};
/// Empty where a tie rod does not reach, or the other wheel does not follow.
[[nodiscard]] std::optional<RackSpot> rack_spot(const Rack&, const Axle&, double left_rad);

struct RackTravel {
  std::vector<RackSpot> spots;  ///< kPositions, from the right stop to the left stop
  double travel_mm = 0;         ///< of the bar, stop to stop
  double error_rad = 0;         ///< outer wheel against Ackermann, largest
  double outer_rad = 0;
  double transmission_rad = 0;  ///< least angle of a tie rod with an arm
  double most_per_mm = 0;
};
/// Empty where the tie rods do not reach or fall short of their least angles (kLeastTransmission_deg).
[[nodiscard]] std::optional<RackTravel> rack_travel(const Rack&, const Axle&);

struct RackEffort {
  double left_n = 0, right_n = 0;  ///< in the tie rods
  double rack_n = 0;               ///< along the bar
  double pinion_nmm = 0;
};
/// Against `moment_nmm` at either kingpin. Infinite where friction jams.
[[nodiscard]] RackEffort rack_effort(const Rack&, const RackSpot&, double moment_nmm, const PinFriction&);
/// The same positions as the drive's shaft sees them: the pinion for the crank.
[[nodiscard]] Travel seen_by_pinion(const Rack&, const RackTravel&);

}  // namespace functions::steer
