#include "routing/ground.h"

#include <algorithm>
#include <map>

#include "base/check.h"

namespace routing {
namespace {

/// Distance of a point from an interval.
double beyond(double x, double low, double high) {
  return x < low ? low - x : x > high ? x - high : 0;
}

/// A cylinder in millimetres along one axis.
bool cross_at_right_angle(const Round& a, const Round& b, double h, double clearance_mm) {
  // Along the common normal n both are slabs of half-width sqrt(r^2 - d^2), d = how far the other's line lies beyond
  // the own end.
  const Axis n = lattice::other(a.axis, b.axis);
  const auto coordinate = [](const Round& r, Axis axis) {
    return axis == lattice::u_axis(r.axis) ? r.at.u_hp : r.at.v_hp;
  };
  const double ra = a.radius_mm + clearance_mm / 2, rb = b.radius_mm + clearance_mm / 2;
  const double da = h * beyond(coordinate(b, a.axis), a.from_hp, a.to_hp);
  const double db = h * beyond(coordinate(a, b.axis), b.from_hp, b.to_hp);
  if (da >= rb - kTouchMm || db >= ra - kTouchMm) return false;
  const double apart = h * std::abs(coordinate(a, n) - coordinate(b, n));
  return apart < std::sqrt(rb * rb - da * da) + std::sqrt(ra * ra - db * db) - kTouchMm;
}

}  // namespace

bool clash(const Round& a, const Round& b, double h, double clearance_mm) {
  if (a.axis != b.axis) return cross_at_right_angle(a, b, h, clearance_mm);
  if (std::min(a.to_hp, b.to_hp) - std::max(a.from_hp, b.from_hp) <= kTouchMm / h) return false;
  const double du = h * (a.at.u_hp - b.at.u_hp), dv = h * (a.at.v_hp - b.at.v_hp);
  const double apart = a.radius_mm + b.radius_mm + clearance_mm - kTouchMm;
  if (du * du + dv * dv >= apart * apart) return false;
  if (a.open_mm > 0 || b.open_mm > 0) {
    const double distance = std::sqrt(du * du + dv * dv);
    if (a.open_mm > 0 && distance + b.radius_mm + clearance_mm <= a.open_mm + kTouchMm) return false;
    if (b.open_mm > 0 && distance + a.radius_mm + clearance_mm <= b.open_mm + kTouchMm) return false;
  }
  return true;
}

bool clash(const Round& a, const Box3& b, double h, double clearance_mm) {
  if (std::min(a.to_hp, static_cast<double>(b.high.at(a.axis))) -
          std::max(a.from_hp, static_cast<double>(b.low.at(a.axis))) <=
      kTouchMm / h)
    return false;
  const Axis u = lattice::u_axis(a.axis), v = lattice::v_axis(a.axis);
  const double du = h * beyond(a.at.u_hp, b.low.at(u), b.high.at(u)),
               dv = h * beyond(a.at.v_hp, b.low.at(v), b.high.at(v));
  const double apart = a.radius_mm + clearance_mm - kTouchMm;
  if (du * du + dv * dv >= apart * apart) return false;
  if (a.open_mm > 0) {
    // Inside an annulus: the farthest corner.
    const double fu = std::max(std::abs(a.at.u_hp - b.low.at(u)), std::abs(a.at.u_hp - b.high.at(u)));
    const double fv = std::max(std::abs(a.at.v_hp - b.low.at(v)), std::abs(a.at.v_hp - b.high.at(v)));
    if (h * std::hypot(fu, fv) + clearance_mm <= a.open_mm + kTouchMm) return false;
  }
  return true;
}

Box3 hull(const Round& a, double h) {
  constexpr double kSlack = 1e-7;  // hp; keeps an exact whole number where it is
  const int r = static_cast<int>(std::ceil(a.radius_mm / h - kSlack));
  return {lattice::point(a.axis, {a.at.u_hp - r, a.at.v_hp - r}, static_cast<int>(std::floor(a.from_hp + kSlack))),
          lattice::point(a.axis, {a.at.u_hp + r, a.at.v_hp + r}, static_cast<int>(std::ceil(a.to_hp - kSlack)))};
}

int least_squared_hp(double distance_mm, double h) {
  const double r = std::max(0.0, (distance_mm - kTouchMm) / h);
  return static_cast<int>(std::ceil(r * r - 1e-12));
}

Plane::Plane(const Problem& p, Axis axis) : axis_(axis) {
  const Axis u = lattice::u_axis(axis), v = lattice::v_axis(axis);
  low_ = lattice::across(axis, p.box.low);
  high_ = lattice::across(axis, p.box.high);
  columns_ = high_.u_hp - low_.u_hp + 1;
  rows_ = high_.v_hp - low_.v_hp + 1;
  first_ = p.box.low.at(axis);
  slots_ = p.box.high.at(axis) - first_;
  KW_CHECK(columns_ > 0 && rows_ > 0 && slots_ > 0, "routing box is empty");
  words_ = (static_cast<std::size_t>(slots_) + 63) / 64;
  const double h = p.kit.half_pitch_mm();
  const std::vector<int>& walls = p.walls.along(axis);

  // Free slots of a cylinder of this radius at a point: inside the box, out of keep-outs.
  std::vector<std::uint8_t> free(static_cast<std::size_t>(slots_));
  const auto find_free = [&](Cross c, double radius_mm) {
    std::fill(free.begin(), free.end(), std::uint8_t{0});
    const double edge =
        h * std::min({c.u_hp - low_.u_hp, high_.u_hp - c.u_hp, c.v_hp - low_.v_hp, high_.v_hp - c.v_hp});
    if (edge < radius_mm - kTouchMm) return;
    std::fill(free.begin(), free.end(), std::uint8_t{1});
    for (const Box3& k : p.keep_outs) {
      const double du = beyond(c.u_hp, k.low.at(u), k.high.at(u)), dv = beyond(c.v_hp, k.low.at(v), k.high.at(v));
      if (h * std::hypot(du, dv) >= radius_mm + p.kit.clearance_mm - kTouchMm) continue;
      for (int s = std::max(0, k.low.at(axis) - first_); s < std::min(slots_, k.high.at(axis) - first_); ++s)
        free[static_cast<std::size_t>(s)] = 0;
    }
  };
  std::vector<std::uint8_t> wall(static_cast<std::size_t>(slots_), 0);
  for (const int w : walls)
    for (int s = std::max(0, w - 1 - first_); s < std::min(slots_, w + 1 - first_); ++s)
      wall[static_cast<std::size_t>(s)] = 1;
  // Beyond the outermost walls, when no wheel may stand there.
  if (!p.wheels_outside && !walls.empty()) {
    for (int s = 0; s < slots_; ++s)
      if (s + first_ < walls.front() || s + first_ >= walls.back()) wall[static_cast<std::size_t>(s)] = 1;
  }
  const auto set_bits = [&](std::vector<std::uint64_t>& bits, std::size_t row) {
    for (int s = 0; s < slots_; ++s)
      if (free[static_cast<std::size_t>(s)] != 0)
        bits[row * words_ + static_cast<std::size_t>(s) / 64] |= std::uint64_t{1} << (static_cast<unsigned>(s) % 64);
  };

  for (int hp = first_; hp <= first_ + slots_; ++hp) {
    int below = -1, above = static_cast<int>(walls.size());
    for (int i = 0; i < static_cast<int>(walls.size()); ++i) {
      if (walls[static_cast<std::size_t>(i)] + 1 <= hp) below = i;
      if (walls[static_cast<std::size_t>(i)] - 1 >= hp && above == static_cast<int>(walls.size())) above = i;
    }
    below_.push_back(below);
    above_.push_back(above);
  }

  const std::size_t n = points_();
  wheel_bits_.assign(p.kit.wheels.size() * n * words_, 0);
  wheel_any_.assign(p.kit.wheels.size() * n, 0);
  axle_bits_.assign(n * words_, 0);
  bush_bits_.assign(n * words_, 0);
  bearing_.assign(walls.size() * n, 0);
  for (std::size_t i = 0; i < n; ++i) {
    const Cross c = at(static_cast<int>(i));
    for (std::size_t w = 0; w < p.kit.wheels.size(); ++w) {
      const Wheel& wheel = p.kit.wheels[w];
      if (wheel.ring) continue;
      find_free(c, wheel.outer_radius_mm);
      for (int s = 0; s < slots_; ++s) {
        for (int k = s; k < s + wheel.width_hp; ++k)
          if (k >= slots_ || free[static_cast<std::size_t>(k)] == 0 || wall[static_cast<std::size_t>(k)] != 0) {
            free[static_cast<std::size_t>(s)] = 0;
            break;
          }
      }
      set_bits(wheel_bits_, w * n + i);
      wheel_any_[w * n + i] = std::any_of(free.begin(), free.end(), [](std::uint8_t f) { return f != 0; }) ? 1 : 0;
    }
    find_free(c, p.kit.axle_radius_mm);
    set_bits(axle_bits_, i);
    find_free(c, p.kit.bush_radius_mm);
    set_bits(bush_bits_, i);
    for (std::size_t w = 0; w < walls.size(); ++w) {
      const Box3 block = bearing_block(axis, c, walls[w]);
      bearing_[w * n + i] = block.inside(p.box) && std::none_of(p.keep_outs.begin(), p.keep_outs.end(),
                                                                [&](const Box3& k) { return k.overlaps(block); })
                                ? 1
                                : 0;
    }
  }
  if (slots_ > Slots::kMost) return;
  // Which slots can be held, for every set of walls that a point has room in.
  std::map<std::vector<bool>, std::uint32_t> known;
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<bool> room;
    for (std::size_t w = 0; w < walls.size(); ++w) room.push_back(bearing_[w * n + i] != 0);
    const auto [it, fresh] = known.emplace(room, static_cast<std::uint32_t>(held_.size()));
    held_at_.push_back(it->second);
    if (!fresh) continue;
    Slots held = Slots::of(0, 0);
    for (int s = 0; s < slots_; ++s) {
      int below = 0, above = 0;
      for (std::size_t w = 0; w < walls.size(); ++w) {
        if (!room[w]) continue;
        below += walls[w] + 1 <= first_ + s ? 1 : 0;
        above += walls[w] - 1 >= first_ + s + 1 ? 1 : 0;
      }
      if ((below > 0 && above > 0) || below > 1 || above > 1) held.add(s);
    }
    held_.push_back(held);
  }
}

Ground::Ground(const Problem& p) : half_pitch_mm(p.kit.half_pitch_mm()), wheels(static_cast<int>(p.kit.wheels.size())) {
  const bool right_angles = p.most_right_angles > 0 && std::any_of(p.kit.pairs.begin(), p.kit.pairs.end(),
                                                                   [](const Pair& q) { return !parallel(q.type); });
  std::array<bool, 3> used{right_angles, right_angles, right_angles};
  for (const Output& o : p.outputs)
    for (const Place& place : o.places) used[static_cast<std::size_t>(lattice::index(place.axis))] = true;
  for (const Input& in : p.inputs)
    for (const Terminal& t : in.motors) used[static_cast<std::size_t>(lattice::index(t.axis))] = true;
  for (const Axis a : lattice::kAxes)
    if (used[static_cast<std::size_t>(lattice::index(a))])
      plane[static_cast<std::size_t>(lattice::index(a))] = Plane(p, a);

  for (const Pair& pair : p.kit.pairs) {
    std::vector<Step> out;
    for (const PairOffset& o : pair.offsets) {
      for (const int su : {1, -1})
        for (const int sv : {1, -1})
          for (const bool swap : {false, true}) {
            const int du = su * (swap ? o.dz_hp : o.dx_hp), dv = sv * (swap ? o.dx_hp : o.dz_hp);
            if (std::none_of(out.begin(), out.end(), [&](const Step& s) { return s.du_hp == du && s.dv_hp == dv; }))
              out.push_back({du, dv, o.misfit_um});
          }
    }
    // By place, so that neighbours are tried together and the order does not depend on the offsets'.
    std::sort(out.begin(), out.end(),
              [](const Step& x, const Step& y) { return std::pair(x.dv_hp, x.du_hp) < std::pair(y.dv_hp, y.du_hp); });
    steps.push_back(std::move(out));
  }

  const double clear = p.kit.clearance_mm;
  const double axle = p.kit.axle_radius_mm, bush = p.kit.bush_radius_mm;
  for (const Wheel& a : p.kit.wheels) {
    for (const Wheel& b : p.kit.wheels)
      wheel_wheel.push_back(least_squared_hp(a.outer_radius_mm + b.outer_radius_mm + clear, half_pitch_mm));
    wheel_axle.push_back(least_squared_hp(a.outer_radius_mm + axle + clear, half_pitch_mm));
    wheel_bush.push_back(least_squared_hp(a.outer_radius_mm + bush + clear, half_pitch_mm));
  }
  axle_axle = least_squared_hp(2 * axle + clear, half_pitch_mm);
  axle_bush = least_squared_hp(axle + bush + clear, half_pitch_mm);
  bush_bush = least_squared_hp(2 * bush + clear, half_pitch_mm);
  for (const Axis a : lattice::kAxes) {
    const std::vector<int>& w = p.walls.along(a);
    between[static_cast<std::size_t>(lattice::index(a))] =
        w.size() == 2 && (!p.wheels_outside || (p.box.low.at(a) >= w[0] - 1 && p.box.high.at(a) <= w[1] + 1));
  }
}

}  // namespace routing
