// Steering trapezoids on the lattice: two arms that are mirror images, a track rod from the stock, and how far the
// wheels then stand from rolling about one centre.
//
// Plan view: kingpins a distance w apart; each arm ends at (in, back) from its kingpin, `in` towards the middle of the
// vehicle, `back` against the direction of travel (negative: ahead of the axle). Straight ahead the rod is w - 2 in
// long. Both wheels roll without scrub when (Ackermann)
//   cot(outer) - cot(inner) = w/wheelbase
// Source: Ackermann condition: Norton, Design of Machinery; Shigley & Uicker, Theory of Machines (from memory).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "lattice/lattice.h"
#include "linkage/bars.h"

namespace linkage {

/// Angle the outer wheel should have, for 0 < inner < pi.
[[nodiscard]] double ackermann_outer_rad(double inner_rad, double kingpins_mm, double wheelbase_mm);

struct Trapezoid {
  double kingpins_mm = 0;
  double in_mm = 0, back_mm = 0;
};
/// Angle of the outer wheel when the inner one is turned, on the branch of straight ahead. Empty where the rod does not
/// reach or has gone over its dead point.
[[nodiscard]] std::optional<double> outer_angle_rad(const Trapezoid& trapezoid, double inner_rad);
/// Lesser of the acute angles between the rod and either arm: either wheel may be the one that is pulled along.
[[nodiscard]] std::optional<double> transmission_angle_rad(const Trapezoid& trapezoid, double inner_rad);

struct SteeringTask {
  double pitch_mm = 0;
  int kingpins_hp = 0;
  double wheelbase_mm = 0;
  double inner_rad = 0;               ///< largest angle of the inner wheel
  std::vector<lattice::Point2> arms;  ///< x = in, z = back, half-pitches
  std::vector<Bar> bars;              ///< for the rod
  double min_transmission_rad = 0;    ///< at both ends of the rod
  double max_error_rad = 0;           ///< of the outer wheel against Ackermann
  int samples = 32;
  int keep = 10;
};
enum class SteeringUnfit { rod, closes, transmission, error };
struct SteeringChoice {
  lattice::Point2 arm;
  int rod_p = 0;
  int bar = -1;
  double error_rad = 0;         ///< largest, over the samples
  double outer_rad = 0;         ///< at the largest inner angle
  double transmission_rad = 0;  ///< least
};
struct SteeringMisfit {
  SteeringUnfit reason = SteeringUnfit::rod;
  std::int64_t count = 0;
  double shortfall_deg = 0;
  SteeringChoice nearest;
};
struct Steerings {
  std::vector<SteeringChoice> best;  ///< least error first; distinct arms
  std::int64_t examined = 0, feasible = 0;
  std::vector<SteeringMisfit> misfits;
  std::string covered;
};
/// Every arm of the list. KW_CHECK: pitch, kingpins, wheelbase, inner angle positive, inner angle below 90 deg.
[[nodiscard]] Steerings find_steering(const SteeringTask& task);
[[nodiscard]] std::string text(const SteeringMisfit& misfit);

}  // namespace linkage
