// Mechanisms that tests and benchmarks share: textbook linkages, an invented six-bar, and random mechanisms of any
// kind.
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <vector>

#include "base/triple.h"
#include "linkage/statics.h"

namespace linkage::fixture {

inline constexpr double kDeg = std::numbers::pi / 180;

/// Crank 40, coupler 120, rocker 80, ground 100 mm: Norton, Design of Machinery, Example 4-1. Joints: 0 crank pivot
/// (driven), 1 rocker pivot, 2 crank pin, 3 rocker pin. Bodies lie along x from their first pin.
inline Mechanism four_bar(double ground = 100, double crank = 40, double coupler = 120, double rocker = 80) {
  Mechanism m;
  const int a = m.add_body("crank"), b = m.add_body("coupler"), c = m.add_body("rocker");
  m.drive(m.add_pin(0, {}, a, {}, "crank pivot"));
  m.add_pin(0, {ground, 0}, c, {}, "rocker pivot");
  m.add_pin(a, {crank, 0}, b, {}, "crank pin");
  m.add_pin(b, {coupler, 0}, c, {rocker, 0}, "rocker pin");
  return m;
}

/// Joint 3 is the slider, its value the slider's x. Norton, Example 4-2.
inline Mechanism slider_crank(double crank, double coupler, double offset) {
  Mechanism m;
  const int a = m.add_body("crank"), b = m.add_body("coupler"), s = m.add_body("slider");
  m.drive(m.add_pin(0, {}, a, {}, "crank pivot"));
  m.add_pin(a, {crank, 0}, b, {}, "crank pin");
  m.add_pin(b, {coupler, 0}, s, {}, "slider pin");
  m.add_slider(0, {0, offset}, s, {}, 0, 0, "slide");
  return m;
}

/// An invented six-bar of Stephenson's third kind: a four-bar whose coupler carries a third pin, to which a dyad leads
/// from a third ground pivot; driven there, so that no part of it can be solved without the rest. Drawn closed with all
/// angles 0. Joint 0 is the input, joint 6 the output pivot.
inline Mechanism stephenson() {
  Mechanism m;
  const int lever = m.add_body("lever"), link = m.add_body("link"), plate = m.add_body("plate"),
            rocker = m.add_body("rocker"), leg = m.add_body("leg");
  m.drive(m.add_pin(0, {0, 0}, lever, {0, 0}, "lever pivot"));
  m.add_pin(lever, {12, 28}, link, {12, 28}, "lever pin");
  m.add_pin(link, {60, 44}, plate, {60, 44}, "link pin");
  m.add_pin(0, {40, -16}, rocker, {40, -16}, "rocker pivot");
  m.add_pin(rocker, {48, 24}, plate, {48, 24}, "rocker pin");
  m.add_pin(plate, {96, 32}, leg, {96, 32}, "leg pin");
  m.add_pin(0, {104, -8}, leg, {104, -8}, "leg pivot");
  return m;
}
inline std::vector<Load> stephenson_loads() {
  return {{5, {112, 40}, {-3, -14}, 0}, {3, {64, 36}, {0, -2.5}, 0}, {4, {44, 4}, {0, -1.2}, 30}};
}

/// A random mechanism that moves with as many inputs as it has, and a position of it a little off the drawn one.
struct Sample {
  Mechanism mechanism;
  std::vector<BodyPose> drawing;
  std::vector<Load> loads;
};

/// Grows from the frame: driven cranks, driven slides and screw actuators; dyads with pins and sliders; crossed groups
/// of four bodies that no dyad can solve; gear-coupled cranks. `seed` alone decides.
inline Sample random_mechanism(std::uint64_t seed) {
  Sample out;
  Mechanism& m = out.mechanism;
  std::uint64_t next = 0;
  const auto draw = [&](double low, double high) { return low + (high - low) * base::uniform_draw(77, seed, next++); };
  const auto pick = [&](int count) { return static_cast<int>(draw(0, count)); };
  out.drawing.push_back(drawn({}, 0));
  const auto place = [&] { return Vec2{draw(-100, 100), draw(-100, 100)}; };
  const auto local = [&](int body, Vec2 world) {
    const BodyPose& p = out.drawing[static_cast<std::size_t>(body)];
    const double x = world.x_mm - p.at.x_mm, z = world.z_mm - p.at.z_mm;
    return Vec2{p.cosine * x + p.sine * z, -p.sine * x + p.cosine * z};
  };
  const auto body = [&](const char* name) {
    out.drawing.push_back(drawn(place(), draw(-3, 3)));
    return m.add_body(name);
  };
  const auto pin = [&](int a, int b, Vec2 at) { return m.add_pin(a, local(a, at), b, local(b, at)); };
  const auto slide = [&](int a, int b, Vec2 at) {
    const double axis = draw(-3, 3), travel = draw(-40, 40);
    const BodyPose &p = out.drawing[static_cast<std::size_t>(a)], &q = out.drawing[static_cast<std::size_t>(b)];
    const double world = axis + p.angle_rad;
    return m.add_slider(a, local(a, {at.x_mm - travel * std::cos(world), at.z_mm - travel * std::sin(world)}), b,
                        local(b, at), axis, q.angle_rad - p.angle_rad);
  };
  const auto any = [&] { return pick(static_cast<int>(m.bodies.size())); };
  const auto moving = [&] { return 1 + pick(static_cast<int>(m.bodies.size()) - 1); };
  const int first = body("crank");
  m.drive(pick(4) == 0 ? slide(0, first, place()) : pin(0, first, place()));
  const int groups = 1 + pick(4);
  for (int g = 0; g < groups; ++g) {
    switch (pick(6)) {
      case 0:
      case 1: {  // dyad, one of its joints a slider half the time
        const int p = any(), q = moving(), a = body("dyad a"), b = body("dyad b");
        const int which = pick(6);
        which == 0 ? slide(p, a, place()) : pin(p, a, place());
        which == 1 ? slide(a, b, place()) : pin(a, b, place());
        which == 2 ? slide(q, b, place()) : pin(q, b, place());
        break;
      }
      case 2: {  // a body on a pin, held by a screw actuator
        const int p = any(), a = body("lever");
        pin(p, a, place());
        const int q = any();
        const Vec2 from = place(), to = place();
        m.add_actuator(q, local(q, from), a, local(a, to));
        const double angle = std::atan2(to.z_mm - from.z_mm, to.x_mm - from.x_mm);
        out.drawing.push_back(drawn(from, angle));
        out.drawing.push_back(drawn(to, angle));
        break;
      }
      case 3: {  // two cranks on one carrier, geared; the second is coupled to the first, which is driven
        const int carrier = any(), a = body("gear a"), b = body("gear b");
        const int pa = pin(carrier, a, place()), pb = pin(carrier, b, place());
        const double ratio = pick(2) == 0 ? -draw(0.4, 2.5) : draw(0.2, 0.8);
        const auto turn = [&](int gear) {
          return out.drawing[static_cast<std::size_t>(gear)].angle_rad -
                 out.drawing[static_cast<std::size_t>(carrier)].angle_rad;
        };
        m.add_gear(pa, pb, ratio, turn(b) - ratio * turn(a), pick(2) == 0 ? 0 : 20 * kDeg);
        m.drive(pa);
        break;
      }
      case 4: {  // geared five-bar: both cranks free, a dyad between them takes the freedom back, and one is driven
        const int carrier = any(), a = body("gear a"), b = body("gear b"), c = body("rod a"), d = body("rod b");
        const int pa = pin(carrier, a, place()), pb = pin(carrier, b, place());
        const auto turn = [&](int gear) {
          return out.drawing[static_cast<std::size_t>(gear)].angle_rad -
                 out.drawing[static_cast<std::size_t>(carrier)].angle_rad;
        };
        const double ratio = -draw(0.5, 2);
        m.add_gear(pa, pb, ratio, turn(b) - ratio * turn(a), 20 * kDeg);
        pin(a, c, place());
        pin(b, d, place());
        pin(c, d, place());
        m.drive(pa);
        break;
      }
      default: {  // triad: a three-pin plate on three legs, which no chain of dyads solves
        const int p = moving(), q = any(), r = any();
        const int plate = body("plate"), a = body("leg a"), b = body("leg b"), c = body("leg c");
        pin(p, a, place());
        pin(q, b, place());
        pin(r, c, place());
        pin(a, plate, place());
        pin(b, plate, place());
        pin(c, plate, place());
        break;
      }
    }
  }
  for (int k = 0; k < 3; ++k) {
    Load load;
    load.body = moving();
    load.at = {draw(-40, 40), draw(-40, 40)};
    load.force = {draw(-10, 10), draw(-10, 10)};
    load.moment_nmm = draw(-200, 200);
    out.loads.push_back(load);
  }
  return out;
}

}  // namespace linkage::fixture
