#include "motor/thermal.h"

#include <cmath>
#include <limits>

namespace motor {

double resistance_at(double resistance_ref_ohm, double celsius) {
  return resistance_ref_ohm * (1 + kCopperPerKelvin * (celsius - kReferenceCelsius));
}

double winding_rise_k(double resistance_ref_ohm, double current_a, double thermal_k_per_w) {
  const double cold_rise_k = resistance_ref_ohm * current_a * current_a * thermal_k_per_w;
  const double denominator = 1 - kCopperPerKelvin * cold_rise_k;
  return denominator > 0 ? cold_rise_k / denominator : std::numeric_limits<double>::infinity();
}

double time_to_rise_s(double resistance_ref_ohm, double current_a, double thermal_k_per_w, double time_constant_s,
                      double limit_k) {
  if (limit_k <= 0) return 0;
  // d/dt = (cold + (a cold - 1) x)/tau, a linear law with rate g = (1 - a cold)/tau of either sign.
  const double cold_rise_k = resistance_ref_ohm * current_a * current_a * thermal_k_per_w;
  const double damping = 1 - kCopperPerKelvin * cold_rise_k;
  if (cold_rise_k <= 0) return std::numeric_limits<double>::infinity();
  const double reached = damping * limit_k / cold_rise_k;  // share of the final rise; negative when it runs away
  if (reached >= 1) return std::numeric_limits<double>::infinity();
  if (std::fabs(damping) < 1e-12) return time_constant_s * limit_k / cold_rise_k;
  return -time_constant_s / damping * std::log1p(-reached);
}

}  // namespace motor
