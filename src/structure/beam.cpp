#include "structure/beam.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"

namespace structure {

double second_moment_mm4(const Section& s) {
  const double w = s.width_mm, t = s.thick_mm;
  switch (s.form) {
    case Form::round:
      return std::numbers::pi * std::pow(w, 4) / 64;
    case Form::rectangle:
      return t * w * w * w / 12;
    case Form::cross:
      return (t * w * w * w + (w - t) * t * t * t) / 12;
  }
  return 0;
}

double cantilever_deflection_mm(double force_n, double length_mm, double x_mm, double e_mpa, double i_mm4) {
  return force_n * x_mm * x_mm * (3 * length_mm - x_mm) / (6 * e_mpa * i_mm4);
}

double cantilever_tip_mm(double force_n, double length_mm, double e_mpa, double i_mm4) {
  return force_n * length_mm * length_mm * length_mm / (3 * e_mpa * i_mm4);
}

double cantilever_tip_slope_rad(double force_n, double length_mm, double e_mpa, double i_mm4) {
  return force_n * length_mm * length_mm / (2 * e_mpa * i_mm4);
}

double cantilever_uniform_tip_mm(double load_n_per_mm, double length_mm, double e_mpa, double i_mm4) {
  return load_n_per_mm * std::pow(length_mm, 4) / (8 * e_mpa * i_mm4);
}

Deflection simple_beam_point(double force_n, double length_mm, double a_mm, double e_mpa, double i_mm4) {
  KW_CHECK(a_mm >= 0 && a_mm <= length_mm, "the load stands off the beam");
  // b = distance to the nearer support; the maximum lies in the longer part, sqrt((L^2 - b^2)/3) from its end.
  const double b = std::min(a_mm, length_mm - a_mm);
  const double square = length_mm * length_mm - b * b;
  Deflection out;
  out.at_mm = length_mm - std::sqrt(square / 3);
  out.value_mm = force_n * b * std::pow(square, 1.5) / (9 * std::numbers::sqrt3 * length_mm * e_mpa * i_mm4);
  return out;
}

double simple_beam_uniform_mm(double load_n_per_mm, double length_mm, double e_mpa, double i_mm4) {
  return 5 * load_n_per_mm * std::pow(length_mm, 4) / (384 * e_mpa * i_mm4);
}

double euler_load_n(double length_mm, double e_mpa, double i_mm4, double length_factor) {
  const double effective_mm = length_factor * length_mm;
  return std::numbers::pi * std::numbers::pi * e_mpa * i_mm4 / (effective_mm * effective_mm);
}

}  // namespace structure
