#include "functions/steer/tyre.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"

namespace functions::steer {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kDirections = 256;

/// Mean distance of the points of a circle of radius a from a point at distance e of its centre.
double circle_mean(double a, double e) {
  double sum = 0;
  for (int i = 0; i < kDirections; ++i) {
    const double f = 2 * kPi * (i + 0.5) / kDirections;
    sum += std::sqrt(a * a + e * e - 2 * a * e * std::cos(f));
  }
  return sum / kDirections;
}

}  // namespace

double mean_distance_mm(double r, double e) {
  KW_CHECK(r > 0 && e >= 0, "a patch has a size");
  if (e <= r) {
    double sum = 0;
    for (int i = 0; i < kDirections; ++i) {
      const double f = 2 * kPi * (i + 0.5) / kDirections;
      const double s = std::sin(f);
      const double far = -e * std::cos(f) + std::sqrt(std::max(0.0, r * r - e * e * s * s));
      sum += far * far * far;
    }
    return sum / kDirections * 2 * kPi / (3 * kPi * r * r);
  }
  // Simpson over the radius of the disc's circles.
  constexpr int kCircles = 64;
  double sum = 0;
  for (int i = 0; i <= kCircles; ++i) {
    const double a = r * i / kCircles;
    const double weight = i == 0 || i == kCircles ? 1 : i % 2 == 1 ? 4 : 2;
    sum += weight * 2 * a * circle_mean(a, e);
  }
  return sum * r / (3.0 * kCircles) / (r * r);
}

double standing_moment_nmm(const Contact& c) {
  if (c.rolls) return c.load_n * (c.friction * 2 / 3 * c.patch_radius_mm + c.rolling * c.offset_mm);
  return c.friction * c.load_n * mean_distance_mm(c.patch_radius_mm, c.offset_mm);
}

double shoulder_moment_nmm(double load_n, double friction, double inner_mm, double outer_mm) {
  KW_CHECK(outer_mm > inner_mm && inner_mm >= 0, "a shoulder has a width");
  return 2.0 / 3 * friction * load_n * (std::pow(outer_mm, 3) - std::pow(inner_mm, 3)) /
         (outer_mm * outer_mm - inner_mm * inner_mm);
}

double kerb_circle_mm(double inner_rad, double outer_rad, double base_mm, double kingpins_mm, double offset_mm,
                      double tyre_width_mm) {
  const double cot = (1 / std::tan(inner_rad) + 1 / std::tan(outer_rad)) / 2;
  return 2 * (std::hypot(base_mm, base_mm * cot + kingpins_mm / 2) + offset_mm + tyre_width_mm / 2);
}

}  // namespace functions::steer
