// Straight beams and struts in closed form: deflection of cantilevers and simply supported beams, Euler buckling.
// E modulus MPa, I second moment mm^4, loads N or N/mm, lengths mm; deflections positive in the load's direction.
// Euler-Bernoulli, small slopes. Source: Shigley Table A-9; Roark's Formulas for Stress and Strain.
#pragma once

#include "structure/torsion.h"  // Section

namespace structure {

/// About the axis the load bends; a rectangle stands with `width_mm` as its height.
[[nodiscard]] double second_moment_mm4(const Section& section);

/// w(x) of a cantilever with an end load: F x^2 (3 L - x)/(6 E I); x from the fixed end.
[[nodiscard]] double cantilever_deflection_mm(double force_n, double length_mm, double x_mm, double e_mpa,
                                              double i_mm4);
[[nodiscard]] double cantilever_tip_mm(double force_n, double length_mm, double e_mpa, double i_mm4);
[[nodiscard]] double cantilever_tip_slope_rad(double force_n, double length_mm, double e_mpa, double i_mm4);
/// Cantilever under uniform load, tip: q L^4/(8 E I).
[[nodiscard]] double cantilever_uniform_tip_mm(double load_n_per_mm, double length_mm, double e_mpa, double i_mm4);

struct Deflection {
  double value_mm = 0;
  double at_mm = 0;  ///< from the support nearer the load
};
/// Largest deflection of a simply supported beam, one load at `a_mm` from one end.
[[nodiscard]] Deflection simple_beam_point(double force_n, double length_mm, double a_mm, double e_mpa, double i_mm4);
[[nodiscard]] double simple_beam_uniform_mm(double load_n_per_mm, double length_mm, double e_mpa, double i_mm4);

/// pi^2 E I/(k L)^2; effective length factor k: 1 pinned both ends, 2 free end, 0.5 fixed both ends.
[[nodiscard]] double euler_load_n(double length_mm, double e_mpa, double i_mm4, double length_factor = 1);

}  // namespace structure
