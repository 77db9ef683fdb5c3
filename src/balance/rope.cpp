#include "balance/rope.h"

#include <cmath>

#include "base/check.h"

namespace balance {

double wrap_ratio(double friction, double wrap_rad) {
  return std::exp(friction * wrap_rad);
}

HoldRange wrap_hold_n(double load_n, double friction, double wrap_rad) {
  const double ratio = wrap_ratio(friction, wrap_rad);
  return {load_n / ratio, load_n * ratio};
}

double wrap_to_hold_rad(double load_n, double pull_n, double friction) {
  KW_CHECK(load_n > 0 && pull_n > 0 && friction > 0, "load, pull and friction are positive");
  return pull_n >= load_n ? 0 : std::log(load_n / pull_n) / friction;
}

PulleyPull pulley_parallel(double load_n, double pulley_radius_mm, double pin_radius_mm, double friction) {
  const double circle = friction * pin_radius_mm;
  KW_CHECK(pulley_radius_mm > circle, "the pulley locks on its pin");
  return {load_n * (pulley_radius_mm + circle) / (pulley_radius_mm - circle),
          load_n * (pulley_radius_mm - circle) / (pulley_radius_mm + circle)};
}

double pulley_raise_at_n(double load_n, double pulley_radius_mm, double pin_radius_mm, double friction,
                         double angle_rad) {
  // (P - W) R = mu r |P + W| with |P + W|^2 = P^2 + W^2 + 2 P W cos(angle); k = mu r/R, in units of W:
  // (1 - k^2) p^2 - 2 (1 + k^2 cos) p + (1 - k^2) = 0, the root above 1.
  const double k = friction * pin_radius_mm / pulley_radius_mm, kk = k * k;
  KW_CHECK(k < 1, "the pulley locks on its pin");
  const double half = (1 + kk * std::cos(angle_rad)) / (1 - kk);
  return load_n * (half + std::sqrt(half * half - 1));
}

double journal_torque_nmm(double force_n, double pin_radius_mm, double friction) {
  return friction * pin_radius_mm * force_n;
}

}  // namespace balance
