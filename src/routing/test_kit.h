// Kits made from tooth counts, for tests and benchmarks: invented stock, real geometry (centre distance m (z1 + z2) /
// 2).
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "routing/problem.h"

namespace routing::test_kit {

struct Teeth {
  int teeth = 0;
  int count = 4;
  int width_hp = 1;
};

/// Spur pairs of every two classes whose distance the lattice offers within `max_misfit_mm`.
inline Kit spur_kit(const std::vector<Teeth>& teeth, double max_misfit_mm = 0.1, double module_mm = 1,
                    double pitch_mm = 8) {
  Kit kit;
  kit.pitch_mm = pitch_mm;
  kit.addendum_mm = module_mm;
  kit.axle_radius_mm = 2.4;
  kit.bush_radius_mm = 3.7;
  for (const Teeth& t : teeth) {
    Wheel w;
    w.name = std::to_string(t.teeth);
    w.id = static_cast<int>(kit.wheels.size());
    w.teeth = t.teeth;
    w.pitch_radius_mm = module_mm * t.teeth / 2;
    w.outer_radius_mm = w.pitch_radius_mm + module_mm;
    w.face_mm = t.width_hp * pitch_mm / 2 - 0.2;
    w.width_hp = t.width_hp;
    w.count = t.count;
    kit.wheels.push_back(w);
  }
  for (int a = 0; a < static_cast<int>(teeth.size()); ++a) {
    for (int b = 0; b < static_cast<int>(teeth.size()); ++b) {
      const int za = teeth[static_cast<std::size_t>(a)].teeth, zb = teeth[static_cast<std::size_t>(b)].teeth;
      const double wanted = module_mm * (za + zb) / 2;
      Pair p{a, b, PairType::spur, base::Rational(-za, zb), {}};
      for (const lattice::Offset& o : lattice::offsets_near(wanted, max_misfit_mm, pitch_mm))
        p.offsets.push_back(
            {o.dx_hp, o.dz_hp, static_cast<int>(std::lround(1000 * std::fabs(o.distance_mm - wanted)))});
      if (!p.offsets.empty()) kit.pairs.push_back(std::move(p));
    }
  }
  for (int length = 2; length <= 16; ++length) kit.axles.push_back({length, length, 20});
  return kit;
}

/// A motor of length x width x height pitches whose shaft leaves its face in the middle.
inline Terminal motor(Axis axis, Point3 face, int direction, int length_p = 5, int width_p = 3, int height_p = 3) {
  Terminal t;
  t.axis = axis;
  t.face = face;
  t.direction = direction;
  t.name = "motor";
  const Cross c = lattice::across(axis, face);
  const int f = face.at(axis), back = f - direction * 2 * length_p;
  t.solids.push_back({lattice::point(axis, {c.u_hp - width_p, c.v_hp - height_p}, std::min(f, back)),
                      lattice::point(axis, {c.u_hp + width_p, c.v_hp + height_p}, std::max(f, back))});
  return t;
}

}  // namespace routing::test_kit
