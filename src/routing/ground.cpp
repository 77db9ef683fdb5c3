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

bool clash_across(const Round& a, const Box3& b, double h, double clearance_mm) {
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
  low_ = lattice::across(axis, p.box.low);
  high_ = lattice::across(axis, p.box.high);
  columns_ = high_.u_hp - low_.u_hp + 1;
  rows_ = high_.v_hp - low_.v_hp + 1;
  first_ = p.box.low.at(axis);
  slots_ = p.box.high.at(axis) - first_;
  KW_CHECK(columns_ > 0 && rows_ > 0 && slots_ > 0, "routing box is empty");
  words_ = (static_cast<std::size_t>(slots_) + 63) / 64;
  const std::vector<int>& walls = p.walls.along(axis);

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
  if (words_ == 1) {
    find_free<1>(p, walls);
  } else if (words_ == 2) {
    find_free<2>(p, walls);
  } else {
    find_free<0>(p, walls);
  }
  find_bearings(p, walls);
  if (walls.size() <= 64) {
    wall_room_.assign(n, 0);
    for (std::size_t w = 0; w < walls.size(); ++w)
      for (std::size_t i = 0; i < n; ++i)
        wall_room_[i] |= std::uint64_t{bearing_[w * n + i] != 0} << static_cast<unsigned>(w);
  }
  if (slots_ > Slots::kMost) return;
  // Which slots can be held, for every set of walls that a point has room in. Only walls in the box have room, and so
  // few of them stand among kMost slots that a word numbers them.
  std::vector<std::size_t> inside;
  for (std::size_t w = 0; w < walls.size(); ++w)
    if (walls[w] - 1 >= first_ && walls[w] + 1 <= first_ + slots_) inside.push_back(w);
  KW_CHECK(inside.size() <= 64, "walls stand at least three half-pitches apart");
  std::map<std::uint64_t, std::uint32_t> known;
  held_at_.reserve(n);
  std::uint64_t last_room = 0;
  for (std::size_t i = 0; i < n; ++i) {
    std::uint64_t room = 0;
    for (std::size_t k = 0; k < inside.size(); ++k)
      room |= std::uint64_t{bearing_[inside[k] * n + i] != 0} << static_cast<unsigned>(k);
    if (i > 0 && room == last_room) {
      held_at_.push_back(held_at_.back());
      continue;
    }
    last_room = room;
    const auto [it, fresh] = known.emplace(room, static_cast<std::uint32_t>(held_.size()));
    held_at_.push_back(it->second);
    if (!fresh) continue;
    Slots held = Slots::of(0, 0);
    for (int s = 0; s < slots_; ++s) {
      int below = 0, above = 0;
      for (std::size_t k = 0; k < inside.size(); ++k) {
        if ((room >> static_cast<unsigned>(k) & 1U) == 0) continue;
        below += walls[inside[k]] + 1 <= first_ + s ? 1 : 0;
        above += walls[inside[k]] - 1 >= first_ + s + 1 ? 1 : 0;
      }
      if ((below > 0 && above > 0) || below > 1 || above > 1) held.add(s);
    }
    held_.push_back(held);
  }
}

/// Slots of wheels, axles and bushes at every point: inside the box, out of keep-outs, wheels out of walls.
/// `W`: words of a row where that is known; 0: words_.
template <std::size_t W>
void Plane::find_free(const Problem& p, const std::vector<int>& walls) {
  const std::size_t words = W > 0 ? W : words_;
  const Axis u = lattice::u_axis(axis_), v = lattice::v_axis(axis_);
  const double h = p.kit.half_pitch_mm();
  const auto low_hp = [&](int from_hp) { return std::clamp(from_hp - first_, 0, slots_); };
  const auto add = [&](std::vector<std::uint64_t>& mask, int from, int to) {
    for (int s = from; s < to; ++s)
      mask[static_cast<std::size_t>(s) / 64] |= std::uint64_t{1} << (static_cast<unsigned>(s) % 64);
  };
  // Slots that no wheel may take: walls and, when wheels must stay between them, beyond the outermost.
  std::vector<std::uint64_t> wall(words, 0);
  for (const int w : walls) add(wall, low_hp(w - 1), low_hp(w + 1));
  if (!p.wheels_outside && !walls.empty()) {
    add(wall, 0, low_hp(walls.front()));
    add(wall, low_hp(walls.back()), slots_);
  }
  // Slots past the box are taken, so that no width reaches into them.
  std::vector<std::uint64_t> past(words, 0);
  add(past, slots_, static_cast<int>(words) * 64);

  // One kind for each cylinder that differs; cylinders of one radius are near the same keep-outs.
  struct Cylinder {
    double radius_mm = 0;
    int near_hp2 = 0;  ///< a keep-out nearer than this squared distance takes its slots
    int width_hp = 0;  ///< 0: slot by slot, walls do not matter
    std::vector<std::uint64_t>* bits = nullptr;
    std::size_t row = 0;
    std::uint8_t* any = nullptr;
  };
  std::vector<Cylinder> kinds;
  const std::size_t n = points_();
  const auto kind = [&](double radius_mm, int width_hp, std::vector<std::uint64_t>& bits, std::size_t row,
                        std::uint8_t* any) {
    kinds.push_back({radius_mm, least_squared_hp(radius_mm + p.kit.clearance_mm, h), width_hp, &bits, row, any});
  };
  for (std::size_t w = 0; w < p.kit.wheels.size(); ++w) {
    const Wheel& wheel = p.kit.wheels[w];
    if (!wheel.ring) kind(wheel.outer_radius_mm, wheel.width_hp, wheel_bits_, w * n, wheel_any_.data() + w * n);
  }
  kind(p.kit.axle_radius_mm, 0, axle_bits_, 0, nullptr);
  kind(p.kit.bush_radius_mm, 0, bush_bits_, 0, nullptr);
  std::stable_sort(kinds.begin(), kinds.end(),
                   [](const Cylinder& a, const Cylinder& b) { return a.near_hp2 < b.near_hp2; });

  struct Keep {
    int low_u = 0, high_u = 0, low_v = 0, high_v = 0;
    std::vector<std::uint64_t> slots;
  };
  std::vector<Keep> keeps;
  for (const Box3& k : p.keep_outs) {
    const int from = low_hp(k.low.at(axis_)), to = low_hp(k.high.at(axis_));
    if (from >= to) continue;
    Keep keep{k.low.at(u), k.high.at(u), k.low.at(v), k.high.at(v), std::vector<std::uint64_t>(words, 0)};
    add(keep.slots, from, to);
    keeps.push_back(std::move(keep));
  }
  // Slots where a cylinder may start when `taken` are not free.
  std::vector<std::uint64_t> stuck(words);
  const auto free_in = [&](const Cylinder& cylinder, const std::vector<std::uint64_t>& taken, std::uint64_t* row) {
    for (std::size_t w = 0; w < words; ++w)
      stuck[w] = row[w] = taken[w] | (cylinder.width_hp > 0 ? wall[w] : std::uint64_t{0});
    // A wheel may start where none of its slots is taken; row gathers what may not.
    for (int k = 1; k < cylinder.width_hp; ++k) {
      for (std::size_t w = 0; w < words; ++w) {
        stuck[w] = (stuck[w] >> 1) | ((w + 1 < words ? stuck[w + 1] : ~std::uint64_t{0}) << 63);
        row[w] |= stuck[w];
      }
    }
    for (std::size_t w = 0; w < words; ++w) row[w] = ~row[w];
  };
  const auto set = [&](const Cylinder& cylinder, std::size_t point, const std::uint64_t* from) {
    std::uint64_t* row = cylinder.bits->data() + (cylinder.row + point) * words;
    std::uint64_t any = 0;
    for (std::size_t w = 0; w < words; ++w) any |= row[w] = from[w];
    if (cylinder.any != nullptr) cylinder.any[point] = any != 0 ? 1 : 0;
  };
  // Away from every keep-out a cylinder has the same slots everywhere; and points that are as near to the same
  // keep-outs as the one before have those of that one.
  std::vector<std::uint64_t> clear(kinds.size() * words), here(kinds.size() * words);
  for (std::size_t k = 0; k < kinds.size(); ++k) free_in(kinds[k], past, clear.data() + k * words);
  // By squared distance of a keep-out: the first cylinder that it is near to.
  const int most_hp2 = kinds.back().near_hp2;
  std::vector<std::uint32_t> first_near;
  for (std::uint32_t k = 0; static_cast<int>(first_near.size()) < most_hp2; first_near.push_back(k))
    while (kinds[k].near_hp2 <= static_cast<int>(first_near.size())) ++k;
  // By distance from the edge of the box: how many of the cylinders stay in it; the thickest come last.
  std::vector<std::size_t> inside;
  for (int edge = 0; edge <= std::min(columns_, rows_) / 2; ++edge) {
    std::size_t k = inside.empty() ? 0 : inside.back();
    while (k < kinds.size() && h * edge >= kinds[k].radius_mm - kTouchMm) ++k;
    inside.push_back(k);
  }
  const auto apart = [](int x, int low, int high) { return x < low ? low - x : x > high ? x - high : 0; };
  using Near = std::pair<std::uint32_t, const Keep*>;  // the first cylinder that is near
  std::vector<Near> near, before, sorted;
  std::vector<std::pair<int, const Keep*>> in_row;  // squared distance across
  std::vector<std::uint64_t> taken(words);
  std::size_t made = 0, next = 0;  // cylinders that `here` tells of, keep-outs in `taken`
  for (int dv = 0; dv < rows_; ++dv) {
    const int v_hp = low_.v_hp + dv;
    in_row.clear();
    for (const Keep& k : keeps) {
      const int away = apart(v_hp, k.low_v, k.high_v);
      if (away * away < most_hp2) in_row.emplace_back(away * away, &k);
    }
    for (int du = 0; du < columns_; ++du) {
      const std::size_t fitting =
          inside[static_cast<std::size_t>(std::min({du, columns_ - 1 - du, dv, rows_ - 1 - dv}))];
      const std::size_t point =
          static_cast<std::size_t>(dv) * static_cast<std::size_t>(columns_) + static_cast<std::size_t>(du);
      const int u_hp = low_.u_hp + du;
      near.clear();
      for (const auto& [across_hp2, k] : in_row) {
        const int away = apart(u_hp, k->low_u, k->high_u), hp2 = away * away + across_hp2;
        if (hp2 < most_hp2 && first_near[static_cast<std::size_t>(hp2)] < fitting)
          near.emplace_back(first_near[static_cast<std::size_t>(hp2)], k);
      }
      if (near.empty()) {
        for (std::size_t k = 0; k < fitting; ++k) set(kinds[k], point, clear.data() + k * words);
        continue;
      }
      if (near != before) {
        before = sorted = near;
        std::sort(sorted.begin(), sorted.end());
        taken = past;
        made = next = 0;
      }
      for (; made < fitting; ++made) {
        for (; next < sorted.size() && sorted[next].first <= made; ++next)
          for (std::size_t w = 0; w < words; ++w) taken[w] |= sorted[next].second->slots[w];
        free_in(kinds[made], taken, here.data() + made * words);
      }
      for (std::size_t k = 0; k < fitting; ++k) set(kinds[k], point, here.data() + k * words);
    }
  }
}

/// Where a wall has room for a bearing: its block inside the box and out of keep-outs.
void Plane::find_bearings(const Problem& p, const std::vector<int>& walls) {
  const Axis u = lattice::u_axis(axis_), v = lattice::v_axis(axis_);
  const std::size_t n = points_();
  for (std::size_t w = 0; w < walls.size(); ++w) {
    std::uint8_t* const room = bearing_.data() + w * n;
    const Box3 first = bearing_block(axis_, low_, walls[w]);
    if (first.low.at(axis_) < p.box.low.at(axis_) || first.high.at(axis_) > p.box.high.at(axis_)) continue;
    for (int dv = 1; dv < rows_ - 1; ++dv)
      for (int du = 1; du < columns_ - 1; ++du)
        room[static_cast<std::size_t>(index({low_.u_hp + du, low_.v_hp + dv}))] = 1;
    for (const Box3& k : p.keep_outs) {
      if (k.low.at(axis_) >= first.high.at(axis_) || k.high.at(axis_) <= first.low.at(axis_)) continue;
      // Blocks reach one half-pitch either side; those that only touch the keep-out stay.
      for (int cv = std::max(low_.v_hp, k.low.at(v)); cv <= std::min(high_.v_hp, k.high.at(v)); ++cv)
        for (int cu = std::max(low_.u_hp, k.low.at(u)); cu <= std::min(high_.u_hp, k.high.at(u)); ++cu)
          room[static_cast<std::size_t>(index({cu, cv}))] = 0;
    }
  }
}

namespace {

/// Axes that shafts may run along.
std::array<bool, 3> axes_of(const Problem& p) {
  const bool right_angles = p.most_right_angles > 0 && std::any_of(p.kit.pairs.begin(), p.kit.pairs.end(),
                                                                   [](const Pair& q) { return !parallel(q.type); });
  std::array<bool, 3> used{right_angles, right_angles, right_angles};
  for (const Output& o : p.outputs)
    for (const Place& place : o.places) used[static_cast<std::size_t>(lattice::index(place.axis))] = true;
  for (const Input& in : p.inputs)
    for (const Terminal& t : in.motors) used[static_cast<std::size_t>(lattice::index(t.axis))] = true;
  for (const InputField& field : p.input_fields) used[static_cast<std::size_t>(lattice::index(field.axis()))] = true;
  return used;
}

}  // namespace

bool Ground::serves(const Problem& p) const {
  KW_CHECK(
      box == p.box && walls.at_hp == p.walls.at_hp && keep_outs == p.keep_outs && wheels_outside == p.wheels_outside,
      "another room's ground");
  KW_CHECK(wheels == static_cast<int>(p.kit.wheels.size()) && steps.size() == p.kit.pairs.size(),
           "another kit's ground");
  const std::array<bool, 3> used = axes_of(p);
  return std::all_of(lattice::kAxes.begin(), lattice::kAxes.end(), [&](Axis a) {
    const auto i = static_cast<std::size_t>(lattice::index(a));
    return !used[i] || plane[i].points() > 0;
  });
}

Ground::Ground(const Problem& p)
    : half_pitch_mm(p.kit.half_pitch_mm()),
      wheels(static_cast<int>(p.kit.wheels.size())),
      box(p.box),
      walls(p.walls),
      wheels_outside(p.wheels_outside),
      keep_outs(p.keep_outs) {
  const std::array<bool, 3> used = axes_of(p);
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
