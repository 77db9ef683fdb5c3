#include "gearing/epicyclic.h"

#include "base/check.h"

namespace gearing {

using base::Rational;

Rational last_speed(Rational e, Rational first, Rational arm) {
  return e * (first - arm) + arm;
}

Rational first_speed(Rational e, Rational last, Rational arm) {
  return (last - arm) / e + arm;
}

Rational arm_speed(Rational e, Rational first, Rational last) {
  KW_CHECK(e != Rational(1), "basic ratio 1 leaves the arm free");
  return (last - e * first) / (Rational(1) - e);
}

Rational Planetary::basic_ratio() const {
  return Rational(-sun, ring);
}

Rational Planetary::planet_speed(Rational sun_speed, Rational arm) const {
  return last_speed(Rational(-sun, planet), sun_speed, arm);
}

Rational planetary_ratio(const Planetary& set, Member input, Member output, Member held) {
  KW_CHECK(input != output && output != held && held != input, "three different members");
  // Input at speed 1, held at 0: the third follows from Willis's equation.
  const Rational e = set.basic_ratio();
  const auto speed = [&](Member m) { return Rational(m == input ? 1 : 0); };
  switch (output) {
    case Member::sun:
      return first_speed(e, speed(Member::ring), speed(Member::arm));
    case Member::arm:
      return arm_speed(e, speed(Member::sun), speed(Member::ring));
    case Member::ring:
      return last_speed(e, speed(Member::sun), speed(Member::arm));
  }
  KW_CHECK(false, "member");
}

PlanetaryTorques planetary_torques(const Planetary& set, double sun_torque_nmm) {
  // With the arm held, sun power in equals ring power out: M_ring = -M_sun / e; the arm takes the rest.
  PlanetaryTorques t;
  t.sun_nmm = sun_torque_nmm;
  t.ring_nmm = sun_torque_nmm * set.ring / set.sun;
  t.arm_nmm = -(t.sun_nmm + t.ring_nmm);
  return t;
}

Rational differential_cage_speed(Rational left, Rational right) {
  return arm_speed(Rational(-1), left, right);
}

}  // namespace gearing
