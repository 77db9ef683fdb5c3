// The moment a boom's weight and payload exert about its luff pivot, worst over everything that may move meanwhile.
//
// Tree of bodies below the pivot, each joint anywhere in its own range, and the bodies above the pivot pitched anywhere
// in theirs (a second stage's gravity turns with the first). A joint's pose touches only its own subtree, so the
// extremes of children add up and are searched one by one:
//   M_b(a) = g a.s_b + sum over children c of [ W_c a.(p_c - p_b) + extreme over q of M_c(a J_c(q)) ]
// a = horizontal direction (forward) seen from the body's frame, s_b = sum of mass x (centre - pivot), W_c = weight
// below c's joint, J_c(q) = its rotation. For a joint without further joints below, M_c is P cos q + Q sin q, so its
// extreme is closed form; other joints are sampled every 3 degrees at most (error below 0.04 %, 1 - cos 1.5 deg).
// N, mm, g, rad; moments positive when the weight lowers the front.
#pragma once

#include <array>
#include <vector>

#include "base/triple.h"
#include "brief/brief.h"
#include "functions/luff/wants.h"

namespace functions::luff {

/// Angles the bodies above the pivot may pitch to, in all: sum of the ranges of their pitch joints. Slew joints above
/// the pivot do not matter on level ground.
[[nodiscard]] std::array<double, 2> parent_range_rad(const brief::Brief& brief, int body);

/// Extremes over all postures at equally spaced angles of the travel.
struct Extremes {
  std::vector<double> most_nmm, least_nmm;
  std::vector<double> most_parent_rad;  ///< parent's pitch at which the most occurs
  double weight_n = 0;                  ///< of everything below the pivot, payload included
};

/// For the lowest, nominal and highest factor on estimated masses. Between them the most is convex and the least
/// concave in the factor, so straight interpolation errs on the safe side.
struct MomentTable {
  std::vector<double> angle_rad;
  std::array<double, 3> factor{};
  std::array<Extremes, 3> at;
  bool any_estimate = false;  ///< a body below the pivot has an estimated mass

  [[nodiscard]] std::size_t size() const { return angle_rad.size(); }
  /// Most and least at angle `i` and the weight, with a given factor.
  struct Row {
    double most_nmm = 0, least_nmm = 0;
  };
  [[nodiscard]] Row row(std::size_t i, double mass_factor) const;
  [[nodiscard]] double weight_n(double mass_factor) const;
};

/// `samples` >= 2 equally spaced angles over the travel of `wants`, both ends included.
[[nodiscard]] MomentTable load_moments(const brief::Brief& brief, const Wants& wants, int samples);

}  // namespace functions::luff
