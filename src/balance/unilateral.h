// Loads of a rigid body on equal springs that only push. Internal to this folder.
//
// Springs take N_i = max(0, u_i), u_i = a + b x_i + c y_i (the body's settling and tilts). Balance of force and moments
// is the minimum of the convex function  1/2 sum max(0, u_i)^2 - W a  with coordinates measured from the line of
// gravity; its minimum is also the least sum of squares of all push-only loads that balance (duality).
#pragma once

#include <span>
#include <vector>

#include "balance/support.h"

namespace balance {

/// `at` must lie in the convex hull of `contacts`. Deterministic; relative error below 1e-9 of the weight.
[[nodiscard]] std::vector<double> share_between_springs(std::span<const Point2> contacts, Point2 at, double weight_n);

}  // namespace balance
