// The problem made ready for the search: which wheel may stand where, as bits by slot, and how far apart solids must
// be, as whole squared distances. Inside of routing/.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>
#include <vector>

#include "routing/problem.h"

namespace routing {

/// Tolerance of every comparison of millimetres: far above rounding, far below what matters.
inline constexpr double kTouchMm = 1e-6;

/// A solid of revolution about an axis-parallel line. Along in hp, not always whole.
struct Round {
  Axis axis = Axis::y;
  Cross at;
  double from_hp = 0, to_hp = 0;
  double radius_mm = 0;
  double open_mm = 0;  ///< annulus: free inside
};

/// Whether two solids come nearer than the clearance. Parallel: only where their intervals overlap.
[[nodiscard]] bool clash(const Round& a, const Round& b, double half_pitch_mm, double clearance_mm);
[[nodiscard]] bool clash_across(const Round& a, const Box3& b, double half_pitch_mm, double clearance_mm);
[[nodiscard]] inline bool clash(const Round& a, const Box3& b, double half_pitch_mm, double clearance_mm) {
  // Most lie apart along the axis.
  if (std::min(a.to_hp, static_cast<double>(b.high.at(a.axis))) -
          std::max(a.from_hp, static_cast<double>(b.low.at(a.axis))) <=
      kTouchMm / half_pitch_mm)
    return false;
  return clash_across(a, b, half_pitch_mm, clearance_mm);
}
/// Bounding box, rounded outwards.
[[nodiscard]] Box3 hull(const Round& a, double half_pitch_mm);

/// The bearing block of a shaft in a wall.
[[nodiscard]] constexpr Box3 bearing_block(Axis axis, Cross at, int wall_hp) {
  return {lattice::point(axis, {at.u_hp - 1, at.v_hp - 1}, wall_hp - 1),
          lattice::point(axis, {at.u_hp + 1, at.v_hp + 1}, wall_hp + 1)};
}

/// The joiner round the place where two axles of a shaft meet.
[[nodiscard]] inline Round joiner_round(const Kit& kit, Axis axis, Cross at, int joint_hp) {
  return {axis, at, joint_hp - kit.joiner_hp / 2.0, joint_hp + kit.joiner_hp / 2.0, kit.bush_radius_mm, 0};
}

/// Oriented offset of a pair in the cross plane, from the driven wheel's shaft to the driver's.
struct Step {
  int du_hp = 0, dv_hp = 0;
  int misfit_um = 0;
};

/// A set of slots, by their number from the box's low side on. Boxes longer than it holds have no sets: all() then
/// stands for "not known", which cuts nothing.
class Slots {
 public:
  static constexpr int kMost = 128;
  [[nodiscard]] static Slots all() { return Slots{~std::uint64_t{0}, ~std::uint64_t{0}}; }
  [[nodiscard]] static Slots of(std::uint64_t low, std::uint64_t high) { return Slots{low, high}; }
  /// Those of [from, past), as far as a set reaches.
  [[nodiscard]] static Slots between(int from, int past) {
    from = std::max(from, 0);
    past = std::min(past, kMost);
    if (from >= past) return Slots{};
    const auto up_to = [](int n) { return n <= 0 ? 0 : n >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << n) - 1; };
    return Slots{up_to(past) & ~up_to(from), up_to(past - 64) & ~up_to(from - 64)};
  }
  void add(int slot) {
    if (slot >= 0 && slot < kMost) (slot < 64 ? low_ : high_) |= std::uint64_t{1} << (static_cast<unsigned>(slot) % 64);
  }
  [[nodiscard]] bool any() const { return (low_ | high_) != 0; }
  /// Beyond what a set can hold nothing is ruled out.
  [[nodiscard]] bool has(int slot) const {
    if (slot < 0 || slot >= kMost) return true;
    return ((slot < 64 ? low_ : high_) >> (static_cast<unsigned>(slot) % 64) & 1U) != 0;
  }
  void remove(int slot) {
    if (slot >= 0 && slot < kMost)
      (slot < 64 ? low_ : high_) &= ~(std::uint64_t{1} << (static_cast<unsigned>(slot) % 64));
  }
  friend Slots operator&(Slots a, Slots b) { return Slots{a.low_ & b.low_, a.high_ & b.high_}; }
  friend Slots operator|(Slots a, Slots b) { return Slots{a.low_ | b.low_, a.high_ | b.high_}; }
  /// Every slot of the set moved by each of low..high.
  [[nodiscard]] Slots spread(int low, int high) const {
    Slots out;
    for (int by = low; by <= high; ++by) out = out | moved(by);
    return out;
  }

 private:
  Slots() = default;
  Slots(std::uint64_t low, std::uint64_t high) : low_(low), high_(high) {}
  [[nodiscard]] Slots moved(int by) const {
    if (by == 0) return *this;
    const auto n = static_cast<unsigned>(by < 0 ? -by : by);
    if (by > 0) return Slots{low_ << n, (high_ << n) | (low_ >> (64 - n))};
    return Slots{(low_ >> n) | (high_ << (64 - n)), high_ >> n};
  }
  std::uint64_t low_ = 0, high_ = 0;
};

/// Points of one axis' cross plane inside the box, and what fits there.
class Plane {
 public:
  Plane() = default;
  Plane(const Problem&, Axis);
  [[nodiscard]] Axis axis() const { return axis_; }
  [[nodiscard]] bool contains(Cross c) const {
    return c.u_hp >= low_.u_hp && c.u_hp <= high_.u_hp && c.v_hp >= low_.v_hp && c.v_hp <= high_.v_hp;
  }
  [[nodiscard]] int points() const { return columns_ * rows_; }
  [[nodiscard]] int columns() const { return columns_; }
  [[nodiscard]] int index(Cross c) const { return (c.v_hp - low_.v_hp) * columns_ + (c.u_hp - low_.u_hp); }
  [[nodiscard]] Cross at(int i) const { return {low_.u_hp + i % columns_, low_.v_hp + i / columns_}; }
  [[nodiscard]] int slots() const { return slots_; }
  [[nodiscard]] int first_slot() const { return first_; }

  /// Number of the last wall wholly below a coordinate of the box, -1 = none; of the first wholly above, walls = none.
  [[nodiscard]] int wall_below(int hp) const {
    return below_[static_cast<std::size_t>(std::clamp(hp - first_, 0, slots_))];
  }
  [[nodiscard]] int wall_above(int hp) const {
    return above_[static_cast<std::size_t>(std::clamp(hp - first_, 0, slots_))];
  }
  [[nodiscard]] bool spans(int hp) const { return hp >= first_ && hp <= first_ + slots_; }

  /// Whether a wheel of this class may stand at the point from this coordinate on: box, walls and keep-outs.
  [[nodiscard]] bool wheel_fits(int wheel, Cross c, int from_hp) const {
    const int s = from_hp - first_;
    return s >= 0 && s < slots_ &&
           bit(wheel_bits_, static_cast<std::size_t>(wheel) * points_() + static_cast<std::size_t>(index(c)), s);
  }
  [[nodiscard]] bool wheel_fits_somewhere(int wheel, Cross c) const {
    return wheel_any_[static_cast<std::size_t>(wheel) * points_() + static_cast<std::size_t>(index(c))] != 0;
  }
  /// Where a wheel of this class may start at the point.
  [[nodiscard]] Slots wheel_slots(int wheel, Cross c) const {
    if (slots_ > Slots::kMost) return Slots::all();
    const std::size_t row = (static_cast<std::size_t>(wheel) * points_() + static_cast<std::size_t>(index(c))) * words_;
    return Slots::of(wheel_bits_[row], words_ > 1 ? wheel_bits_[row + 1] : 0);
  }
  /// Slots in which a load on a shaft here can be held by walls alone: one on each side, or two on one.
  [[nodiscard]] Slots held_slots(Cross c) const {
    return slots_ > Slots::kMost ? Slots::all() : held_[held_at_[static_cast<std::size_t>(index(c))]];
  }
  /// Axle or bush material in slot [k, k + 1].
  [[nodiscard]] bool axle_fits(Cross c, int slot_hp) const {
    const int s = slot_hp - first_;
    return s >= 0 && s < slots_ && bit(axle_bits_, static_cast<std::size_t>(index(c)), s);
  }
  /// The same in every slot of [from, past).
  [[nodiscard]] bool axle_fits_along(Cross c, int from_hp, int past_hp) const {
    const int from = from_hp - first_, past = past_hp - first_;
    if (from >= past) return true;
    if (from < 0 || past > slots_) return false;
    const std::uint64_t* const row = &axle_bits_[static_cast<std::size_t>(index(c)) * words_];
    for (int w = from / 64; w <= (past - 1) / 64; ++w) {
      std::uint64_t wanted = ~std::uint64_t{0};
      if (w == from / 64) wanted &= ~std::uint64_t{0} << (from % 64);
      if (w == (past - 1) / 64) wanted &= ~std::uint64_t{0} >> (63 - (past - 1) % 64);
      if ((row[w] & wanted) != wanted) return false;
    }
    return true;
  }
  [[nodiscard]] bool bush_fits(Cross c, int slot_hp) const {
    const int s = slot_hp - first_;
    return s >= 0 && s < slots_ && bit(bush_bits_, static_cast<std::size_t>(index(c)), s);
  }
  /// Bearings in all walls of [first, last].
  [[nodiscard]] bool bearings_fit(Cross c, int first, int last) const {
    if (first > last) return true;
    if (wall_room_.empty()) {
      for (int w = first; w <= last; ++w)
        if (!bearing_fits(c, w)) return false;
      return true;
    }
    const std::uint64_t wanted = ~std::uint64_t{0} >> (63 - (last - first)) << first;
    return (wall_room_[static_cast<std::size_t>(index(c))] & wanted) == wanted;
  }
  /// Bearing in the wall with this number.
  [[nodiscard]] bool bearing_fits(Cross c, int wall) const {
    return bearing_[static_cast<std::size_t>(wall) * points_() + static_cast<std::size_t>(index(c))] != 0;
  }

 private:
  template <std::size_t W>
  void find_free(const Problem&, const std::vector<int>& walls);
  void find_bearings(const Problem&, const std::vector<int>& walls);
  [[nodiscard]] std::size_t points_() const {
    return static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_);
  }
  [[nodiscard]] bool bit(const std::vector<std::uint64_t>& bits, std::size_t row, int s) const {
    return (bits[row * words_ + static_cast<std::size_t>(s) / 64] >> (static_cast<unsigned>(s) % 64) & 1U) != 0;
  }
  Axis axis_ = Axis::y;
  Cross low_{1, 1}, high_{0, 0};  ///< empty
  int columns_ = 0, rows_ = 0, first_ = 0, slots_ = 0;
  std::size_t words_ = 0;
  std::vector<std::uint64_t> wheel_bits_, axle_bits_, bush_bits_;
  std::vector<std::uint8_t> wheel_any_, bearing_;
  std::vector<std::uint64_t> wall_room_;  ///< [point]: bit w = a bearing fits in wall w; empty beyond 64 walls
  std::vector<int> below_, above_;
  std::vector<Slots> held_;  ///< one for each set of walls that a point has room for bearings in
  std::vector<std::uint32_t> held_at_;
};

/// Everything that does not change during a search.
struct Ground {
  explicit Ground(const Problem&);

  double half_pitch_mm = 4;
  std::array<Plane, 3> plane;
  std::vector<std::vector<Step>> steps;  ///< of each parallel pair: every orientation of every offset
  /// Least squared distances in hp of parallel shafts where the solids overlap along them.
  std::vector<int> wheel_wheel, wheel_axle, wheel_bush;
  int axle_axle = 0, axle_bush = 0, bush_bush = 0;
  int wheels = 0;
  Box3 box;                     ///< of the room, for serves()
  Walls walls;                  ///< the same
  bool wheels_outside = true;   ///< the same
  std::vector<Box3> keep_outs;  ///< the same
  /// Exactly two walls, and every parallel wheel stands between them: then every axle spans them.
  std::array<bool, 3> between{};

  /// Whether the planes that a problem in the same room needs are there. Another room is a fault of the caller.
  [[nodiscard]] bool serves(const Problem&) const;

  [[nodiscard]] int apart(int a, int b) const { return wheel_wheel[static_cast<std::size_t>(a * wheels + b)]; }
};

/// Least whole squared hp distance that is at least `distance_mm`.
[[nodiscard]] int least_squared_hp(double distance_mm, double half_pitch_mm);

}  // namespace routing
