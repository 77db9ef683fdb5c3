#include "motor/warmth.h"

#include <cmath>
#include <limits>

#include "base/check.h"
#include "motor/thermal.h"

namespace motor {
namespace {

constexpr double kCopperShare = 0.1;
constexpr double kCopper_j_g_k = 0.385;
constexpr double kPlastics_j_g_k = 0.9;  // of steel, magnets and plastic together
constexpr double kStillAir_w_mm2_k = 12e-6;
constexpr double kInside_k_g_w = 600;  // 10 K/W at 60 g, larger motors less
constexpr double kAllowed_k = 80;

/// Exact step of v' = M v + b over `t`: v = e^{Mt} (v0 - v_end) + v_end with M v_end = -b, written with (e^{Mt} - I)
/// M^{-1} so that it also holds where M has no inverse.
Rise stepped(double m11, double m12, double m21, double m22, double b1, Rise v, double t) {
  // Eigenvalues are real: m12 and m21 have the same sign.
  const double half = (m11 + m22) / 2, d = (m11 - m22) / 2;
  const double root = std::sqrt(d * d + m12 * m21);
  const double l1 = half + root, l2 = half - root;
  // f(M) = p I + q M for f(l) = e^{lt} and f(l) = (e^{lt} - 1)/l.
  const auto grow = [&](double l) { return std::exp(l * t); };
  const auto gain = [&](double l) { return std::fabs(l * t) < 1e-12 ? t : std::expm1(l * t) / l; };
  const auto apply = [&](double f1, double f2, double x, double y) {
    const double q = root > 0 ? (f1 - f2) / (l1 - l2) : 0;
    const double p = f1 - q * l1;
    return Rise{p * x + q * (m11 * x + m12 * y), p * y + q * (m21 * x + m22 * y)};
  };
  const Rise free = apply(grow(l1), grow(l2), v.winding_k, v.housing_k);
  const Rise driven = apply(gain(l1), gain(l2), b1, 0);
  return {free.winding_k + driven.winding_k, free.housing_k + driven.housing_k};
}

Rise step_with(const Thermal& th, Rise before, double cold_w, double growth_per_k, double time_s) {
  const double g1 = 1 / th.winding_k_per_w, g2 = 1 / th.housing_k_per_w;
  return stepped((cold_w * growth_per_k - g1) / th.winding_j_per_k, g1 / th.winding_j_per_k, g1 / th.housing_j_per_k,
                 -(g1 + g2) / th.housing_j_per_k, cold_w / th.winding_j_per_k, before, time_s);
}

}  // namespace

Thermal estimated_thermal(double mass_g, double surface_mm2) {
  KW_CHECK(mass_g > 0 && surface_mm2 > 0, "a motor has a mass and a surface");
  Thermal out;
  out.winding_j_per_k = kCopperShare * mass_g * kCopper_j_g_k;
  out.housing_j_per_k = (1 - kCopperShare) * mass_g * kPlastics_j_g_k;
  out.winding_k_per_w = kInside_k_g_w / mass_g;
  out.housing_k_per_w = 1 / (kStillAir_w_mm2_k * surface_mm2);
  out.limit_k = kAllowed_k;
  return out;
}

Rise warmed(const Thermal& thermal, Rise before, double resistance_ohm, double current_a, double time_s) {
  return step_with(thermal, before, resistance_ohm * current_a * current_a, kCopperPerKelvin, time_s);
}

Rise warmed_by(const Thermal& thermal, Rise before, double heat_w, double time_s) {
  return step_with(thermal, before, heat_w, 0, time_s);
}

double time_to_limit_s(const Thermal& thermal, double resistance_ohm, double current_a) {
  const double end_k = winding_rise_k(resistance_ohm, current_a, thermal.total_k_per_w());
  if (end_k <= thermal.limit_k) return std::numeric_limits<double>::infinity();
  const auto rise = [&](double t) { return warmed(thermal, {}, resistance_ohm, current_a, t).winding_k; };
  double high = 1;
  while (rise(high) < thermal.limit_k) high *= 2;
  double low = 0;
  for (int i = 0; i < 80; ++i) {
    const double middle = (low + high) / 2;
    (rise(middle) < thermal.limit_k ? low : high) = middle;
  }
  return high;
}

double cut_out_heat(const CutOut& cut_out, double before, double current_a, double time_s) {
  const double end = current_a * current_a / (cut_out.hold_a * cut_out.hold_a);
  return end + (before - end) * std::exp(-time_s / cut_out.time_constant_s);
}

double cut_out_time_s(const CutOut& cut_out, double current_a) {
  const double square = current_a * current_a, hold = cut_out.hold_a * cut_out.hold_a;
  if (square <= hold) return std::numeric_limits<double>::infinity();
  return cut_out.time_constant_s * std::log(square / (square - hold));
}

}  // namespace motor
