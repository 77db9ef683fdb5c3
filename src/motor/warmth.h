// Heat of a motor in two masses, winding and housing, and of a hub's cut-out; for sequences of loads.
//
//   C1 dx/dt = P (1 + a x) - (x - y)/R1        x winding, y housing, K over air
//   C2 dy/dt = (x - y)/R1 - y/R2               P = R I^2 of the cold winding, a = 0.0039 1/K
// Linear, so a step with constant current is exact. In the end x = P (R1 + R2)/(1 - a P (R1 + R2)), thermal.h with the
// sum of both resistances. Source: two-resistance model of makers' motor guides (Portescap blog, July 2021).
// The cut-out of a hub is a thermal replica of one mass: z' = ((I/I_hold)^2 - z)/tau, off at z = 1, so that from cold
//   t = tau ln(I^2 / (I^2 - I_hold^2))         IEC 60255-149, cold curve
#pragma once

namespace motor {

struct Thermal {
  double winding_k_per_w = 0;  ///< R1, winding to housing
  double housing_k_per_w = 0;  ///< R2, housing to air
  double winding_j_per_k = 0;  ///< C1
  double housing_j_per_k = 0;  ///< C2
  double limit_k = 0;          ///< rise of the winding at which it is hurt or its protection opens
  [[nodiscard]] double total_k_per_w() const { return winding_k_per_w + housing_k_per_w; }
};

/// From mass and outer surface alone: a tenth of the mass is copper, heat leaves the housing at 12 W/m2K (still air,
/// convection and radiation), the winding sits 10 K/W at 60 g inside it, and 80 K are allowed (class A insulation, IEC
/// 60085, in a warm room). Common practice; a motor nobody has measured.
[[nodiscard]] Thermal estimated_thermal(double mass_g, double surface_mm2);

struct Rise {
  double winding_k = 0, housing_k = 0;
};
/// After `time_s` with a constant current in a winding of `resistance_ohm` (cold). Exact.
[[nodiscard]] Rise warmed(const Thermal&, Rise before, double resistance_ohm, double current_a, double time_s);
/// The same for a given heat in the winding, whatever makes it.
[[nodiscard]] Rise warmed_by(const Thermal&, Rise before, double heat_w, double time_s);
/// From cold until the winding reaches the limit; infinite when it never does.
[[nodiscard]] double time_to_limit_s(const Thermal&, double resistance_ohm, double current_a);

struct CutOut {
  double hold_a = 0;            ///< carried for ever
  double time_constant_s = 20;  ///< of hubs' resetting fuses: common practice, no source
};
/// Heat z after a time at a current; off at 1.
[[nodiscard]] double cut_out_heat(const CutOut&, double before, double current_a, double time_s);
/// From cold; infinite up to hold_a.
[[nodiscard]] double cut_out_time_s(const CutOut&, double current_a);

}  // namespace motor
