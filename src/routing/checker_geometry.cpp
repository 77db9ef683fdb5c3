#include "routing/checker_geometry.h"

#include <fmt/format.h>

#include <cmath>

namespace routing {
namespace {

using lattice::Axis;

std::size_t at(Axis a) {
  return static_cast<std::size_t>(lattice::index(a));
}

/// A rectangle against the section of a cylinder, both in the plane across its axis: nearest and farthest point.
struct Reach {
  double nearest_mm, farthest_mm;
};
Reach reach(double du_near, double dv_near, double du_far, double dv_far) {
  return {std::hypot(du_near, dv_near), std::hypot(du_far, dv_far)};
}

/// Whether something that spans `r` as seen from the cylinder's line enters its material grown by `grow_mm`.
bool enters(const Cylinder& c, Reach r, double grow_mm) {
  if (r.nearest_mm >= c.radius_mm + grow_mm - kTouchMm) return false;
  return c.open_mm <= 0 || r.farthest_mm > c.open_mm - grow_mm + kTouchMm;
}

bool clash_parallel(const Cylinder& a, const Cylinder& b, double clearance_mm) {
  if (!a.along_mm.overlaps(b.along_mm)) return false;
  const std::size_t u = at(lattice::u_axis(a.axis)), v = at(lattice::v_axis(a.axis));
  const double d = std::hypot(a.centre_mm[u] - b.centre_mm[u], a.centre_mm[v] - b.centre_mm[v]);
  if (d >= a.radius_mm + b.radius_mm + clearance_mm - kTouchMm) return false;
  if (a.open_mm > 0 && d + b.radius_mm + clearance_mm <= a.open_mm + kTouchMm) return false;
  return b.open_mm <= 0 || d + a.radius_mm + clearance_mm > b.open_mm + kTouchMm;
}

/// `b` stands at a right angle to `a`. Within the slice of `a`, `b` is at its widest a rectangle across a's axis: its
/// length along its own axis, and 2 sqrt(r_b^2 - d^2) along the third, d the distance of its line from the slice.
bool clash_at_right_angle(const Cylinder& a, const Cylinder& b, double clearance_mm) {
  const double grow_mm = clearance_mm / 2;
  const std::size_t along_a = at(a.axis), along_b = at(b.axis), third = at(lattice::other(a.axis, b.axis));
  const double d = a.along_mm.distance(b.centre_mm[along_a]);
  const double r_b = b.radius_mm + grow_mm;
  if (d >= r_b - kTouchMm) return false;
  const double half = std::sqrt(r_b * r_b - d * d);
  const double apart = std::abs(a.centre_mm[third] - b.centre_mm[third]);
  const double y_a = a.centre_mm[along_b];
  return enters(a, reach(b.along_mm.distance(y_a), std::max(0.0, apart - half), b.along_mm.farthest(y_a), apart + half),
                grow_mm);
}

bool clash_with(const Cylinder& c, const Block& b, double clearance_mm) {
  if (!c.along_mm.overlaps(b.mm[at(c.axis)])) return false;
  const std::size_t u = at(lattice::u_axis(c.axis)), v = at(lattice::v_axis(c.axis));
  return enters(c,
                reach(b.mm[u].distance(c.centre_mm[u]), b.mm[v].distance(c.centre_mm[v]),
                      b.mm[u].farthest(c.centre_mm[u]), b.mm[v].farthest(c.centre_mm[v])),
                clearance_mm);
}

bool clash_with(const Cylinder& a, const Cylinder& b, double clearance_mm) {
  if (a.axis == b.axis) return clash_parallel(a, b, clearance_mm);
  // Exact when at most one of them is open: the slice of the open one is cut by the other's rectangle. Two open rings
  // count as clashing when neither way of looking clears them; linked rings do not occur.
  return clash_at_right_angle(a, b, clearance_mm) && (b.open_mm <= 0 || clash_at_right_angle(b, a, clearance_mm));
}

}  // namespace

Cylinder cylinder(Axis axis, lattice::Cross where, double from_hp, double to_hp, double radius_mm, double half_pitch_mm,
                  double open_mm) {
  Cylinder c;
  c.axis = axis;
  c.centre_mm[at(lattice::u_axis(axis))] = where.u_hp * half_pitch_mm;
  c.centre_mm[at(lattice::v_axis(axis))] = where.v_hp * half_pitch_mm;
  c.along_mm = {from_hp * half_pitch_mm, to_hp * half_pitch_mm};
  c.radius_mm = radius_mm;
  c.open_mm = open_mm;
  return c;
}

Block block(const lattice::Box3& box, double half_pitch_mm) {
  Block b;
  for (Axis a : lattice::kAxes) b.mm[at(a)] = {box.low.at(a) * half_pitch_mm, box.high.at(a) * half_pitch_mm};
  return b;
}

Block bounds(const Shape& shape) {
  if (const Block* b = std::get_if<Block>(&shape)) return *b;
  const Cylinder& c = std::get<Cylinder>(shape);
  Block b;
  for (Axis a : lattice::kAxes)
    b.mm[at(a)] =
        a == c.axis ? c.along_mm : Interval{c.centre_mm[at(a)] - c.radius_mm, c.centre_mm[at(a)] + c.radius_mm};
  return b;
}

bool inside(const Block& inner, const Block& outer) {
  return inner.mm[0].within(outer.mm[0]) && inner.mm[1].within(outer.mm[1]) && inner.mm[2].within(outer.mm[2]);
}

bool clash(const Shape& a, const Shape& b, double clearance_mm) {
  const Cylinder *ca = std::get_if<Cylinder>(&a), *cb = std::get_if<Cylinder>(&b);
  if (ca && cb) return clash_with(*ca, *cb, clearance_mm);
  if (ca) return clash_with(*ca, std::get<Block>(b), clearance_mm);
  if (cb) return clash_with(*cb, std::get<Block>(a), clearance_mm);
  const Block &ba = std::get<Block>(a), &bb = std::get<Block>(b);
  return ba.mm[0].overlaps(bb.mm[0]) && ba.mm[1].overlaps(bb.mm[1]) && ba.mm[2].overlaps(bb.mm[2]);
}

Shape mirrored(const Shape& shape, Axis axis, double plane_mm) {
  const auto flip = [plane_mm](Interval i) { return Interval{2 * plane_mm - i.high, 2 * plane_mm - i.low}; };
  if (const Block* b = std::get_if<Block>(&shape)) {
    Block m = *b;
    m.mm[at(axis)] = flip(m.mm[at(axis)]);
    return m;
  }
  Cylinder m = std::get<Cylinder>(shape);
  if (m.axis == axis) {
    m.along_mm = flip(m.along_mm);
  } else {
    m.centre_mm[at(axis)] = 2 * plane_mm - m.centre_mm[at(axis)];
  }
  return m;
}

std::string place_text(const Shape& shape) {
  const Block b = bounds(shape);
  return fmt::format("x {:.3g}..{:.3g}, y {:.3g}..{:.3g}, z {:.3g}..{:.3g} mm", b.mm[0].low, b.mm[0].high, b.mm[1].low,
                     b.mm[1].high, b.mm[2].low, b.mm[2].high);
}

}  // namespace routing
