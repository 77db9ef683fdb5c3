#include "linkage/four_bar.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace linkage {
namespace {

constexpr double kPi = std::numbers::pi;
// Straight or folded exactly: rounding may not open the linkage.
constexpr double kRounding = 1e-12;

/// Half-angle solution of A cos(t) + B sin(t) = C: tan(t/2) = (B -+ root)/(A + C).
std::optional<double> angle_from(double a, double b, double c, double sign) {
  const double square = a * a + b * b - c * c;
  const double scale = a * a + b * b;
  if (square < -kRounding * scale) return std::nullopt;
  const double root = std::sqrt(std::max(0.0, square));
  // atan2 of both parts instead of the quotient: A + C may vanish.
  return std::atan2(b, a) + sign * std::atan2(root, c);
}

double folded(double angle_rad) {
  const double r = std::remainder(angle_rad, 2 * kPi);
  return r <= -kPi ? kPi : r;
}

}  // namespace

Freudenstein freudenstein(const FourBar& bar) {
  const double a = bar.crank_mm, b = bar.coupler_mm, c = bar.rocker_mm, d = bar.ground_mm;
  return {d / a, d / c, (a * a - b * b + c * c + d * d) / (2 * a * c)};
}

std::optional<FourBarAngles> closure(const FourBar& bar, double crank_rad, Closure which) {
  const Freudenstein k = freudenstein(bar);
  // cos(crank - rocker) - K1 cos(rocker) = K3 - K2 cos(crank), linear in the rocker's cosine and sine.
  const double cosine = std::cos(crank_rad), sine = std::sin(crank_rad);
  const auto rocker = angle_from(cosine - k.k1, sine, k.k3 - k.k2 * cosine, which == Closure::open ? -1 : 1);
  if (!rocker) return std::nullopt;
  const double x = bar.ground_mm + bar.rocker_mm * std::cos(*rocker) - bar.crank_mm * cosine;
  const double z = bar.rocker_mm * std::sin(*rocker) - bar.crank_mm * sine;
  return FourBarAngles{std::atan2(z, x), folded(*rocker)};
}

FourBarAngles rates(const FourBar& bar, double crank_rad, const FourBarAngles& at) {
  const double s = std::sin(at.coupler_rad - at.rocker_rad);
  return {bar.crank_mm * std::sin(at.rocker_rad - crank_rad) / (bar.coupler_mm * s),
          bar.crank_mm * std::sin(at.coupler_rad - crank_rad) / (bar.rocker_mm * s)};
}

double transmission_angle_rad(const FourBarAngles& at) {
  const double d = std::fabs(std::remainder(at.coupler_rad - at.rocker_rad, kPi));
  return std::min(d, kPi - d);
}

std::optional<double> least_transmission_angle_rad(const FourBar& bar) {
  double least = kPi / 2;
  for (const double reach : {bar.ground_mm - bar.crank_mm, bar.ground_mm + bar.crank_mm}) {
    const double b = bar.coupler_mm, c = bar.rocker_mm;
    const double cosine = (b * b + c * c - reach * reach) / (2 * b * c);
    if (std::fabs(cosine) > 1 + kRounding) return std::nullopt;
    const double angle = std::acos(std::clamp(cosine, -1.0, 1.0));
    least = std::min({least, angle, kPi - angle});
  }
  return least;
}

Grashof grashof(const FourBar& bar) {
  std::array<double, 4> by_size = {bar.ground_mm, bar.crank_mm, bar.coupler_mm, bar.rocker_mm};
  std::sort(by_size.begin(), by_size.end());
  const double outer = by_size[0] + by_size[3], inner = by_size[1] + by_size[2];
  if (std::fabs(outer - inner) <= kRounding * inner) return Grashof::change_point;
  if (outer > inner) return Grashof::triple_rocker;
  const double shortest = by_size[0];
  if (bar.ground_mm == shortest) return Grashof::double_crank;
  if (bar.crank_mm == shortest) return Grashof::crank_rocker;
  if (bar.rocker_mm == shortest) return Grashof::rocker_crank;
  return Grashof::double_rocker;
}

std::optional<SliderCrankPosition> closure(const SliderCrank& bar, double crank_rad, Closure which) {
  const double sine = (bar.crank_mm * std::sin(crank_rad) - bar.offset_mm) / bar.coupler_mm;
  if (std::fabs(sine) > 1 + kRounding) return std::nullopt;
  const double first = std::asin(std::clamp(sine, -1.0, 1.0));
  const double coupler = which == Closure::crossed ? first : folded(kPi - first);
  return SliderCrankPosition{coupler, bar.crank_mm * std::cos(crank_rad) - bar.coupler_mm * std::cos(coupler)};
}

}  // namespace linkage
