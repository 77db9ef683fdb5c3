// Where the hook can stand: luffing angle for a radius. The hook moves on a circle about the luffing axis, so its place
// is  p = a + b cos + c sin  of the angle; three poses give a, b, c.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "balance/lifting_machine.h"

namespace balance {
namespace {

// A circle's distance from a line in space has at most four turning points a turn; these intervals part them.
constexpr int kIntervals = 180;
constexpr int kHalvings = 60;

template <class F>
double root(double low, double high, const F& f) {
  const bool rises = f(low) < 0;
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = (low + high) / 2;
    ((f(middle) < 0) == rises ? low : high) = middle;
  }
  return (low + high) / 2;
}

Vec3 on(const std::array<Vec3, 3>& s, double angle) {
  return s[0] + std::cos(angle) * s[1] + std::sin(angle) * s[2];
}
double radius(const std::array<Vec3, 3>& s, double angle) {
  const Vec3 p = on(s, angle);
  return std::hypot(p.x_mm, p.y_mm);
}

/// Ends of the range and the turning points of the radius between them.
std::vector<double> breaks(const std::array<Vec3, 3>& s, double low, double high) {
  const auto slope = [&](double angle) {  // of the radius squared, halved
    const Vec3 p = on(s, angle), d = std::cos(angle) * s[2] - std::sin(angle) * s[1];
    return p.x_mm * d.x_mm + p.y_mm * d.y_mm;
  };
  std::vector<double> out{low};
  for (int i = 0; i < kIntervals && high > low; ++i) {
    const double a = low + (high - low) * i / kIntervals, b = low + (high - low) * (i + 1) / kIntervals;
    if ((slope(a) < 0) != (slope(b) < 0)) out.push_back(root(a, b, slope));
  }
  if (high > low) out.push_back(high);
  return out;
}

}  // namespace

Lifter::Swing Lifter::swing(int posture) {
  Vec3 at[3];
  for (int k = 0; k < 3; ++k) {
    set(0, posture, 0, k * std::numbers::pi / 2);
    evaluate();
    at[k] = hook_ - (machine_.slew_body >= 0 ? pose_[static_cast<std::size_t>(machine_.slew_body)].t : Vec3{});
  }
  const Vec3 middle = 0.5 * (at[0] + at[2]);
  return {middle, 0.5 * (at[0] - at[2]), at[1] - middle};
}

Lifter::Reach Lifter::reach(int posture, double radius_mm) {
  const Swing s = swing(posture);
  const std::vector<double> at = breaks(s, machine_.luff_low_rad, machine_.luff_high_rad);
  const double slack = 1e-9 * std::max(1.0, radius_mm);
  const auto off = [&](double angle) { return radius(s, angle) - radius_mm; };
  Reach best;
  const auto take = [&](double angle) {
    if (best.reached && on(s, angle).z_mm <= on(s, best.luff_rad).z_mm) return;
    best = {true, angle};
  };
  for (std::size_t i = 0; i < at.size(); ++i) {
    if (std::fabs(off(at[i])) <= slack) take(at[i]);
    if (i + 1 < at.size() && (off(at[i]) < 0) != (off(at[i + 1]) < 0)) take(root(at[i], at[i + 1], off));
  }
  return best;
}

std::pair<double, double> Lifter::radius_range_mm(int posture) {
  const Swing s = swing(posture);
  double least = radius(s, machine_.luff_low_rad), most = least;
  for (const double angle : breaks(s, machine_.luff_low_rad, machine_.luff_high_rad)) {
    least = std::min(least, radius(s, angle));
    most = std::max(most, radius(s, angle));
  }
  return {least, most};
}

}  // namespace balance
