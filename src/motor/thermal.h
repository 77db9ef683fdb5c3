// Heat of the winding: final temperature, and time until a cut-out, with the copper's resistance rising.
//   R(T) = R_ref (1 + a (T - T_ref)), a = 0.0039 1/K, T_ref = 22 C
//   dT_end = R_ref I^2 Rth / (1 - a R_ref I^2 Rth)         (no end when the denominator is <= 0)
//   tau d(dT)/dt = R_ref I^2 Rth (1 + a dT) - dT           one thermal mass, ambient at T_ref
// Source: copper data of makers' motor guides (two-resistance model, Portescap blog, July 2021); MOTOR-06.
#pragma once

namespace motor {

inline constexpr double kCopperPerKelvin = 0.0039;
inline constexpr double kReferenceCelsius = 22;

[[nodiscard]] double resistance_at(double resistance_ref_ohm, double celsius);
/// Final rise over ambient at a steady current; infinite when the rising resistance runs away.
[[nodiscard]] double winding_rise_k(double resistance_ref_ohm, double current_a, double thermal_k_per_w);
/// Seconds from cold until the rise reaches `limit_k`; infinite when it never does.
[[nodiscard]] double time_to_rise_s(double resistance_ref_ohm, double current_a, double thermal_k_per_w,
                                    double time_constant_s, double limit_k);

}  // namespace motor
