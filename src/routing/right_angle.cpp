#include "routing/right_angle.h"

#include <algorithm>

#include "routing/fill.h"
#include "routing/ground.h"

namespace routing {

std::pair<double, double> right_angle_interval(const Kit& kit, PairType type, const Wheel& wheel, const Wheel& other,
                                               int meet, int side) {
  double low = 0, high = 0;
  if (type == PairType::worm) {
    low = -wheel.face_mm / 2;
    high = wheel.face_mm / 2;
  } else if (wheel.sided && type == PairType::crown) {
    low = other.pitch_radius_mm - kit.addendum_mm;
    high = low + wheel.face_mm;
  } else {
    low = other.pitch_radius_mm - wheel.face_mm / 2;
    high = other.pitch_radius_mm + wheel.face_mm / 2;
  }
  if (side < 0) std::swap(low = -low, high = -high);
  const double h = kit.half_pitch_mm();
  return {meet + low / h, meet + high / h};
}

bool stands_alone(const Problem& p, const Wheel& wheel, Axis axis, Cross at, std::pair<double, double> along_hp) {
  const auto [from, to] = along_hp;
  for (const int wall : p.walls.along(axis))
    if (overlap(from, to, wall - 1, wall + 1)) return false;
  if (from < p.box.low.at(axis) - kSlotSlack || to > p.box.high.at(axis) + kSlotSlack) return false;
  const double h = p.kit.half_pitch_mm();
  const Cross low = lattice::across(axis, p.box.low), high = lattice::across(axis, p.box.high);
  const int edge_hp = std::min({at.u_hp - low.u_hp, high.u_hp - at.u_hp, at.v_hp - low.v_hp, high.v_hp - at.v_hp});
  if (wheel.outer_radius_mm > h * edge_hp + kTouchMm) return false;
  const Round solid{axis, at, from, to, wheel.outer_radius_mm, wheel.open_radius_mm};
  return std::none_of(p.keep_outs.begin(), p.keep_outs.end(),
                      [&](const Box3& k) { return clash(solid, k, h, p.kit.clearance_mm); });
}

}  // namespace routing
