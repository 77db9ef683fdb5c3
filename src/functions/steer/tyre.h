// What it takes to turn a wheel about its kingpin while the machine stands, and the circle it then drives in.
// Closed forms and one integral; N, mm, N mm, rad.
#pragma once

namespace functions::steer {

/// Mean distance of the points of a disc of radius r from a point at distance e from its centre:
///   1/(pi r^2) integral of rho dA = 1/(3 pi r^2) integral over the directions of rho_far^3 (- rho_near^3 outside).
/// Inside the disc the integrand is smooth and periodic and the sum converges geometrically; outside it is taken as the
/// ring integral over the disc's own circles. e = 0: 2/3 r; e = r: 32 r/(9 pi).
[[nodiscard]] double mean_distance_mm(double radius_mm, double offset_mm);

/// Moment about the kingpin that turns a standing wheel: Coulomb friction under an even pressure N/(pi r^2) on a round
/// contact patch.
///   free to roll: the wheel rolls round the kingpin and only drills about its own middle, M = 2/3 mu N r + f N e
///   locked:       every point slides on a circle about the kingpin, M = mu N mean_distance(r, e)
/// mu friction of tyre and floor, N load, r radius of the patch, e kingpin to tyre middle, f rolling resistance.
/// Source: disc (thrust face) friction under even pressure, Shigley, Mechanical Engineering Design, ch. 16 (from
/// memory); the textbooks' estimate for locked wheels, mu N sqrt(r^2/2 + e^2), Taborek, Mechanics of Vehicles, 1957
/// (from memory), is the root mean square in place of the mean and never less.
struct Contact {
  double load_n = 0;
  double friction = 0;
  double rolling = 0;
  double patch_radius_mm = 0;
  double offset_mm = 0;
  bool rolls = true;
};
[[nodiscard]] double standing_moment_nmm(const Contact& contact);

/// Friction of the shoulder on which the kingpin carries the wheel's load: 2/3 mu N (R^3 - r^3)/(R^2 - r^2), even
/// pressure between the radii r and R.
[[nodiscard]] double shoulder_moment_nmm(double load_n, double friction, double inner_mm, double outer_mm);

/// Diameter of the circle that the outer edge of the outer tyre draws, the centre taken half-way between the two that
/// the steered wheels point at: cot m = (cot inner + cot outer)/2 at the middle of the axle,
///   D = 2 (hypot(L, L cot m + w/2) + e + b/2)
/// L distance from the axle to the line on which the centre lies, w between kingpins, e kingpin to tyre middle, b tyre
/// width. With Ackermann's condition hypot(...) = L/sin(outer). Source: Reimpell, Stoll, Betzler, The Automotive
/// Chassis, ch. 3 (from memory).
[[nodiscard]] double kerb_circle_mm(double inner_rad, double outer_rad, double base_mm, double kingpins_mm,
                                    double offset_mm, double tyre_width_mm);

}  // namespace functions::steer
