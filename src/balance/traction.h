// Vehicles on the ground: climbing, turning, steps, steering. Closed forms; N, mm, N mm, rad.
#pragma once

namespace balance {

enum class Driven { all, rear, front };

/// A two-axle vehicle standing nose uphill; tracked vehicles count as Driven::all.
struct Stance {
  double wheelbase_mm = 0;      ///< L
  double ahead_of_rear_mm = 0;  ///< b, centre of gravity ahead of the rear axle
  double height_mm = 0;         ///< h
};
/// Steepest slope by adhesion, tan a: all mu; rear (mu L - (mu + c) b)/(L - (mu + c) h);
/// front ((mu + c) b - c L)/(L + (mu + c) h), c rolling resistance of the undriven axle (a driven wheel's own is a
/// torque, not a ground force). pi/2 for rear drive when (mu + c) h >= L. Tipping is not looked at; see
/// backward_tip_slope_rad.
[[nodiscard]] double adhesion_slope_rad(const Stance& stance, Driven driven, double friction,
                                        double rolling_resistance = 0);
/// Slope at which it falls over backwards, atan(b/h).
[[nodiscard]] double backward_tip_slope_rad(const Stance& stance);
/// Force along the ground to climb at steady speed: W (sin a + c cos a).
[[nodiscard]] double tractive_effort_n(double weight_n, double slope_rad, double rolling_resistance);
/// Steepest slope a force can climb by effort alone; solves the above for a. 0 when it cannot even roll.
[[nodiscard]] double effort_slope_rad(double force_n, double weight_n, double rolling_resistance);
/// Largest force the ground takes: mu W cos a.
[[nodiscard]] double adhesion_limit_n(double weight_on_driven_n, double slope_rad, double friction);

/// Turning on the spot with two tracks or rigid rows of wheels. J. Y. Wong, Theory of Ground Vehicles, ch. 6.
struct SkidSteer {
  double weight_n = 0;
  double contact_length_mm = 0;   ///< l
  double tread_mm = 0;            ///< B, between the track centres
  double turn_friction = 0;       ///< mu_t, sideways
  double rolling_resistance = 0;  ///< f_r
};
struct SkidTurn {
  double resisting_moment_nmm = 0;  ///< mu_t W l/4 (even ground pressure)
  double outer_force_n = 0;         ///< f_r W/2 + M/B
  double inner_force_n = 0;         ///< f_r W/2 - M/B, negative = braking
  double needed_friction = 0;       ///< largest |force| over half the weight: what the ground must give lengthwise
};
[[nodiscard]] SkidTurn skid_turn(const SkidSteer& vehicle);
/// Length of an even contact with the same moment as n equal contacts spread evenly over `span_mm` (first to last).
[[nodiscard]] double skid_contact_length_mm(int contacts_a_side, double span_mm);

/// p = W/(2 b l), kPa.
[[nodiscard]] double ground_pressure_kpa(double weight_n, double track_width_mm, double contact_length_mm);

/// Horizontal pull at the axle that lifts a wheel over a step: W sqrt(2 r h - h^2)/(r - h); infinite for h >= r.
[[nodiscard]] double step_pull_n(double weight_n, double radius_mm, double step_mm);
/// Highest step a driven, pushed-along wheel climbs when its own contact friction must hold it there:
/// r (1 - cos(atan mu)). Safe side: no help from the other wheels.
[[nodiscard]] double friction_step_mm(double radius_mm, double friction);

/// Outer wheel's angle: cot(outer) = cot(inner) + track/wheelbase.
[[nodiscard]] double ackermann_outer_rad(double inner_rad, double track_mm, double wheelbase_mm);
/// Radius of the rear axle's middle.
[[nodiscard]] double turning_radius_mm(double inner_rad, double track_mm, double wheelbase_mm);

/// Static stability factor t/(2 h) and the slope it tips at.
[[nodiscard]] double static_stability_factor(double track_mm, double height_mm);
/// Stars of the road-vehicle rollover rating for a chance of rolling over in a single-vehicle crash: 5 below 10 %, then
/// one less for every 10 % up to 1 above 40 % (NHTSA). Background for readers who know road cars; says nothing of a
/// model.
[[nodiscard]] int rollover_stars(double chance);

}  // namespace balance
