// Loads of a rigid body on springs that only push. Internal to this folder.
//
// Springs take N_i = k_i max(0, u_i), u_i = a + b x_i + c y_i + h_i: the body's settling and tilts, and how far the
// ground (or a foot) stands proud of the common plane. Balance of force and moments is the minimum of the convex
// function 1/2 sum k_i max(0, u_i)^2 - W a  with coordinates measured from the line of gravity; with equal springs on a
// plane its minimum is also the least sum of squares of all push-only loads that balance (duality).
#pragma once

#include <span>
#include <vector>

#include "balance/support.h"

namespace balance {

struct SpringContact {
  Point2 at;
  double stiffness_n_per_mm = 1;
  double proud_mm = 0;
};
struct Settled {
  std::vector<double> load_n;
  double sink_mm = 0;               ///< at the line of gravity; negative: lifted
  double slope_x = 0, slope_y = 0;  ///< dz/dx and dz/dy of the body's plane
};
/// `at` must lie in the convex hull of `contacts`. Deterministic; relative error below 1e-8 of the weight.
[[nodiscard]] Settled settle(std::span<const SpringContact> contacts, Point2 at, double weight_n);

/// Equal springs on a plane.
[[nodiscard]] std::vector<double> share_between_springs(std::span<const Point2> contacts, Point2 at, double weight_n);

}  // namespace balance
