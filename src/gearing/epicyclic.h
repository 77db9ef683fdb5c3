// Epicyclic trains: Willis's equation, planetary sets, differentials. Speeds are exact rationals in any one unit.
// e = basic ratio = (w_last - w_arm) / (w_first - w_arm): the ratio of the train with the arm held, signed.
#pragma once

#include "base/rational.h"

namespace gearing {

[[nodiscard]] base::Rational last_speed(base::Rational e, base::Rational first, base::Rational arm);
/// e must not be 0.
[[nodiscard]] base::Rational first_speed(base::Rational e, base::Rational last, base::Rational arm);
/// e must not be 1 (first and last would then turn alike whatever the arm does).
[[nodiscard]] base::Rational arm_speed(base::Rational e, base::Rational first, base::Rational last);

/// Sun, planets on an arm, internal ring.
struct Planetary {
  int sun = 0, planet = 0, ring = 0;

  [[nodiscard]] base::Rational basic_ratio() const;  ///< sun first, ring last: -sun / ring
  [[nodiscard]] bool coaxial() const { return ring == sun + 2 * planet; }
  /// Equally spaced planets go in when (sun + ring) divides by their number.
  [[nodiscard]] bool planets_fit(int planets) const { return planets > 0 && (sun + ring) % planets == 0; }
  /// Absolute speed of a planet.
  [[nodiscard]] base::Rational planet_speed(base::Rational sun_speed, base::Rational arm) const;
};
enum class Member { sun, arm, ring };
/// Output speed / input speed with one member held; all three different.
[[nodiscard]] base::Rational planetary_ratio(const Planetary& set, Member input, Member output, Member held);

/// Torques on sun, arm and ring that balance without losses, for a torque on the sun: they sum to zero.
struct PlanetaryTorques {
  double sun_nmm = 0, arm_nmm = 0, ring_nmm = 0;
};
[[nodiscard]] PlanetaryTorques planetary_torques(const Planetary& set, double sun_torque_nmm);

/// Open differential (e = -1): its cage turns at the mean of its half shafts.
[[nodiscard]] base::Rational differential_cage_speed(base::Rational left, base::Rational right);

}  // namespace gearing
