#include "routing/random_problem.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace routing::test {
namespace {

constexpr double kModuleMm = 1;

std::vector<PairOffset> offsets_of(double wanted_mm, double misfit_mm, double half_pitch_mm, bool straight_only) {
  std::vector<PairOffset> found;
  const int reach = static_cast<int>((wanted_mm + misfit_mm) / half_pitch_mm) + 1;
  for (int dx = 1; dx <= reach; ++dx) {
    for (int dz = 0; dz <= (straight_only ? 0 : dx); ++dz) {
      const double miss_mm = std::abs(std::hypot(dx, dz) * half_pitch_mm - wanted_mm);
      if (miss_mm <= misfit_mm) found.push_back({dx, dz, static_cast<int>(std::lround(miss_mm * 1000))});
    }
  }
  return found;
}

bool is_worm(const Wheel& w) {
  return w.teeth == 1;
}

/// Builds one problem; the members are filled in the order of run().
class Maker {
 public:
  Maker(std::uint64_t seed, const Sort& sort) : rng_(seed), sort_(sort) {}

  Problem run() {
    angled_ = rng_.chance(sort_.right_angle_percent);
    loose_ = rng_.chance(sort_.loose_percent);
    corner_idler_ = sort_.corner_idler_percent > 0 && rng_.chance(sort_.corner_idler_percent);
    angled_ = angled_ || corner_idler_;
    kit();
    space();
    input();
    const int outputs = rng_.chance(sort_.two_outputs_percent) ? 2 : 1;
    p_.most_stages = outputs == 2 || angled_ ? rng_.in(1, std::min(sort_.most_stages_wide, sort_.most_stages))
                                             : rng_.in(1, sort_.most_stages);
    p_.most_idlers = rng_.chance(sort_.idler_percent) ? rng_.in(1, 2) : 0;
    p_.wheels_outside = !rng_.chance(sort_.inside_percent);
    p_.most_right_angles = angled_ ? rng_.in(1, 2) : 1;
    if (corner_idler_) {
      p_.most_stages = 3;
      p_.most_idlers = p_.most_right_angles = 1;
    }
    for (int o = 0; o < outputs; ++o) output(o);
    if (rng_.chance(sort_.trains_percent)) trains();
    if (rng_.chance(sort_.keep_out_percent)) keep_outs();
    if (rng_.chance(sort_.full_bush_percent)) p_.kit.bush_hp = 2;
    return std::move(p_);
  }

 private:
  int pick(int size) { return rng_.in(0, size - 1); }
  template <class T>
  const T& any(const std::vector<T>& list) {
    return list[static_cast<std::size_t>(pick(static_cast<int>(list.size())))];
  }

  void kit() {
    Kit& k = p_.kit;
    k.pitch_mm = 8;
    k.addendum_mm = kModuleMm;
    k.axle_radius_mm = 2.4;
    k.bush_radius_mm = 3.7;
    k.clearance_mm = rng_.chance(50) ? 0.3 : 0.1 * rng_.in(0, 8);
    k.copies = rng_.chance(sort_.copies_percent) ? 2 : 1;
    std::vector<int> teeth{8, 12, 16, 20, 24, 28};
    const int sizes = rng_.in(2, angled_ ? 3 : 5);
    while (static_cast<int>(teeth.size()) > sizes) teeth.erase(teeth.begin() + pick(static_cast<int>(teeth.size())));
    for (int z : teeth) {
      k.wheels.push_back(
          spur_wheel(z, k.copies * (loose_ || rng_.chance(75) ? rng_.in(2, 3) : 1), rng_.chance(20) ? 2 : 1));
      bevels_.push_back(angled_ && rng_.chance(40));
    }
    if (angled_) add_angled();
    ringed_ = rng_.chance(sort_.ring_percent);
    if (ringed_) add_ring();
    const double misfit_mm = rng_.chance(50) ? 0.15 : 0.05 * rng_.in(0, 8);
    k.pairs = pairs_of(k, bevels_, misfit_mm);
    int length = rng_.in(2, 3);
    for (int n = loose_ ? 6 : rng_.chance(80) ? rng_.in(3, 5) : rng_.in(1, 2); n > 0; --n) {
      k.axles.push_back(
          {static_cast<int>(k.axles.size()), length, k.copies * (loose_ ? rng_.in(2, 4) : rng_.in(1, 4))});
      length += loose_ || rng_.chance(75) ? 1 : 2;
    }
    if (sort_.joiner_percent > 0 && rng_.chance(sort_.joiner_percent)) {
      k.axles = {};
      int length_p = rng_.in(1, 2);
      for (int n = rng_.in(2, 3); n > 0; --n, length_p += rng_.chance(30) ? 2 : 1)
        k.axles.push_back({static_cast<int>(k.axles.size()), length_p, k.copies * rng_.in(2, 6)});
      k.joiners = k.copies * rng_.in(1, 4);
      k.joiner_hp = rng_.chance(70) ? 2 : 4;
      join_axles(k);
    }
  }

  void add_angled() {
    const int what = rng_.in(0, 3);
    Wheel w;
    w.count = p_.kit.copies * rng_.in(1, 2);
    if (what == 0) {  // a pair of bevels that mesh with nothing else, slim as bevels are
      w = spur_wheel(rng_.chance(50) ? 12 : 20, 2 * p_.kit.copies);
      w.name = "bevel " + std::to_string(w.teeth);
      w.face_mm = 3.2;
      bevels_.push_back(true);
    } else if (what == 1) {
      w = spur_wheel(24, w.count);
      w.name = "crown 24";
      w.sided = true;
      w.face_mm = 4.6;
      w.width_hp = 2;
      bevels_.push_back(false);
    } else {
      w.name = "worm";
      w.teeth = 1;
      w.pitch_radius_mm = 4;
      w.outer_radius_mm = 5;
      w.face_mm = 15;
      w.width_hp = 4;
      bevels_.push_back(false);
    }
    p_.kit.wheels.push_back(w);
  }

  void add_ring() {
    Wheel w = spur_wheel(4 * rng_.in(5, 8), p_.kit.copies);
    w.name = "ring " + std::to_string(w.teeth);
    w.ring = true;
    if (rng_.chance(50)) {  // teeth inside: they end at the tip radius, the body lies outside
      w.open_radius_mm = w.pitch_radius_mm - kModuleMm;
      w.outer_radius_mm = w.pitch_radius_mm + 3;
    } else if (rng_.chance(50)) {
      w.open_radius_mm = w.pitch_radius_mm - 3;
    }
    p_.kit.wheels.push_back(w);
    bevels_.push_back(false);
  }

  static std::vector<int> planes(Random& rng, int length_hp, int count, int wider) {
    std::vector<int> at;
    int w = rng.in(1, 2) + wider;
    for (; count > 0 && w + 1 + wider <= length_hp; --count) {
      at.push_back(w);
      w += rng.in(3, wider > 0 || rng.chance(50) ? 6 : 4) + wider;
    }
    return at;
  }

  void space() {
    axis_ = rng_.chance(70) ? Axis::y : any(std::vector<Axis>(lattice::kAxes.begin(), lattice::kAxes.end()));
    const int length = rng_.in(9, 14), more = loose_ ? 2 : 0;  // hp
    p_.box.low = {rng_.in(-2, 2), rng_.in(-2, 2), rng_.in(-2, 2)};
    size_.set(axis_, length);
    size_.set(lattice::u_axis(axis_), 2 * rng_.in(4, 6) + rng_.in(0, 2) + more);
    size_.set(lattice::v_axis(axis_), 2 * rng_.in(3, 5) + rng_.in(0, 2) + more);
    for (Axis a : lattice::kAxes)
      if (corner_idler_) size_.set(a, size_.at(a) + 3);
    for (Axis a : lattice::kAxes) p_.box.high.set(a, p_.box.low.at(a) + size_.at(a));
    walls(axis_, rng_.in(2, 4));
    if (angled_) {
      const bool first = rng_.chance(70);
      walls(first ? lattice::u_axis(axis_) : lattice::v_axis(axis_), rng_.in(2, 3), true);
      if (rng_.chance(20)) walls(first ? lattice::v_axis(axis_) : lattice::u_axis(axis_), 2, true);
    }
  }

  void walls(Axis a, int count, bool close = false) {
    std::vector<int>& at = p_.walls.at_hp[static_cast<std::size_t>(lattice::index(a))];
    const bool from_high = close && rng_.chance(50);
    for (int w : planes(rng_, size_.at(a), count, close ? 0 : loose_ ? 1 : 0))
      at.push_back(from_high ? p_.box.high.at(a) - w : p_.box.low.at(a) + w);
    std::sort(at.begin(), at.end());
  }

  /// A point of the box that a shaft along `axis` can stand on, mostly with room for wheels round it.
  Cross line(Axis axis) {
    const Axis u = lattice::u_axis(axis), v = lattice::v_axis(axis);
    const int edge = rng_.chance(80) ? 3 : 1;
    return {rng_.in(p_.box.low.at(u) + edge, p_.box.high.at(u) - edge),
            rng_.in(p_.box.low.at(v) + edge, p_.box.high.at(v) - edge)};
  }

  Terminal terminal(Axis axis, Cross at, int face, int direction, std::string name) {
    Terminal t;
    t.axis = axis;
    t.face = lattice::point(axis, at, face);
    t.direction = direction;
    t.insert_hp = rng_.in(1, 3);
    t.name = std::move(name);
    Box3 body;
    const int half = rng_.chance(60) ? 1 : 2, deep = rng_.in(3, 5);
    for (Axis a : lattice::kAxes) {
      const int c = t.face.at(a);
      body.low.set(a, a != axis ? c - half : direction > 0 ? c - deep : c);
      body.high.set(a, a != axis ? c + half : direction > 0 ? c : c + deep);
    }
    t.solids.push_back(body);
    return t;
  }

  void input() {
    const int count = rng_.chance(15) ? 2 : 1;
    for (int i = 0; i < count; ++i) {
      const bool up = rng_.chance(60);
      const int low = p_.box.low.at(axis_), high = p_.box.high.at(axis_);
      const Cross at = line(axis_);
      Input in;
      const int inset = loose_ || rng_.chance(70) ? 0 : rng_.in(-1, 3);
      if (rng_.chance(sort_.two_motors_percent)) {
        in.motors.push_back(terminal(axis_, at, low + inset, 1, "motor low"));
        in.motors.push_back(terminal(axis_, at, high, -1, "motor high"));
      } else {
        in.motors.push_back(terminal(axis_, at, up ? low + inset : high - inset, up ? 1 : -1, "motor"));
      }
      p_.inputs.push_back(std::move(in));
    }
  }

  /// Where a walk of meshes from the input may end, and its ratio.
  struct End {
    Axis axis;
    Cross at;
    base::Rational ratio{1};
    int ring = -1;
    std::vector<int> pairs;
    bool fits = true;  ///< the wheels met on the way lie in the box, seen along their shafts
  };

  [[nodiscard]] bool fits(Axis axis, Cross at, const Wheel& w) const {
    const double half = p_.kit.half_pitch_mm();
    const Axis u = lattice::u_axis(axis), v = lattice::v_axis(axis);
    return at.u_hp * half - w.outer_radius_mm >= p_.box.low.at(u) * half &&
           at.u_hp * half + w.outer_radius_mm <= p_.box.high.at(u) * half &&
           at.v_hp * half - w.outer_radius_mm >= p_.box.low.at(v) * half &&
           at.v_hp * half + w.outer_radius_mm <= p_.box.high.at(v) * half;
  }

  [[nodiscard]] const Pair& pair_at(int i) const { return p_.kit.pairs[static_cast<std::size_t>(i)]; }

  /// A pair that drives a ring, if there is one.
  int to_ring(int number) {
    for (int tries = 0; tries < 40 && !p_.kit.wheels[static_cast<std::size_t>(pair_at(number).driven)].ring; ++tries)
      number = pick(static_cast<int>(p_.kit.pairs.size()));
    return number;
  }

  /// The pair that two with an idler between them stand for; -1: none.
  [[nodiscard]] int compound(int first, int second) const {
    const Pair &a = pair_at(first), &b = pair_at(second);
    if (a.driven != b.driver || !parallel(a.type) || !parallel(b.type)) return -1;
    for (int i = 0; i < static_cast<int>(p_.kit.pairs.size()); ++i) {
      if (pair_at(i).driver == a.driver && pair_at(i).driven == b.driven && pair_at(i).type == b.type) return i;
    }
    return -1;
  }

  End walk(int stages) {
    const Terminal& motor = any(p_.inputs).motors[0];
    End e;
    e.axis = motor.axis;
    e.at = lattice::across(motor.axis, motor.face);
    int last = -1;
    const int corner = corner_idler_ && rng_.chance(50) ? 0 : 2;
    for (int i = 0; i < stages && e.ring < 0 && !p_.kit.pairs.empty(); ++i) {
      int number = pick(static_cast<int>(p_.kit.pairs.size()));
      const auto another = [&] {
        return corner_idler_ ? (i == corner) == parallel(pair_at(number).type) : parallel(pair_at(number).type);
      };
      for (int tries = 0; tries < (corner_idler_ ? 30 : 4) && angled_ && another(); ++tries)
        number = pick(static_cast<int>(p_.kit.pairs.size()));
      if (rng_.chance(ringed_ ? 70 : 0) && i + 1 == stages) number = to_ring(number);
      const bool idler = last >= 0 && p_.most_idlers > 0 && rng_.chance(60) && (!corner_idler_ || i != corner);
      for (int tries = 0; idler && tries < 30 && pair_at(number).driver != pair_at(last).driven; ++tries)
        number = pick(static_cast<int>(p_.kit.pairs.size()));
      const Pair& pair = pair_at(number);
      e.fits = e.fits && fits(e.axis, e.at, p_.kit.wheels[static_cast<std::size_t>(pair.driver)]);
      if (parallel(pair.type)) {
        const PairOffset& d = any(pair.offsets);
        const bool swap = rng_.chance(50);
        e.at.u_hp += (rng_.chance(50) ? 1 : -1) * (swap ? d.dz_hp : d.dx_hp);
        e.at.v_hp += (rng_.chance(50) ? 1 : -1) * (swap ? d.dx_hp : d.dz_hp);
      } else {
        const int along = rng_.in(p_.box.low.at(e.axis) + 1, p_.box.high.at(e.axis) - 1);
        Point3 x = lattice::point(e.axis, e.at, along);
        const Axis next = rng_.chance(50) ? lattice::u_axis(e.axis) : lattice::v_axis(e.axis);
        const Axis third = lattice::other(e.axis, next);
        if (pair.type == PairType::worm)
          x.set(third, x.at(third) + (rng_.chance(50) ? 1 : -1) * any(pair.offsets).dx_hp);
        e.axis = next;
        e.at = lattice::across(next, x);
      }
      e.fits = e.fits && fits(e.axis, e.at, p_.kit.wheels[static_cast<std::size_t>(pair.driven)]);
      e.ratio = e.ratio * pair.ratio;
      const int whole = idler ? compound(last, number) : -1;
      if (whole >= 0) {
        e.pairs.back() = last = whole;
      } else {
        e.pairs.push_back(last = number);
      }
      if (pair.type == PairType::ring_outer || pair.type == PairType::ring_inner) e.ring = pair.driven;
    }
    return e;
  }

  Place place_at(const End& e) {
    Place place;
    place.axis = e.axis;
    place.at = e.at;
    const int low = p_.box.low.at(e.axis), high = p_.box.high.at(e.axis);
    if (e.ring >= 0) {
      place.ring = e.ring;
      const std::vector<int>& walls = p_.walls.along(e.axis);
      for (int tries = 0; tries < 4; ++tries) {  // mostly out of the walls
        place.ring_from_hp = rng_.in(low, high - 1);
        if (std::none_of(walls.begin(), walls.end(),
                         [&](int w) { return w - 1 <= place.ring_from_hp && place.ring_from_hp < w + 1; }))
          break;
      }
      return place;
    }
    if (rng_.chance(sort_.output_terminal_percent)) {
      const bool up = rng_.chance(50);
      place.terminal = terminal(e.axis, e.at, up ? low : high, up ? 1 : -1, "actuator");
      if (rng_.chance(sort_.far_terminal_percent))
        place.far_terminal = terminal(e.axis, e.at, up ? high : low, up ? -1 : 1, "far actuator");
    } else if (rng_.chance(loose_ ? 25 : 50)) {
      place.attachments.push_back(attachment(e.axis, low, high));
      if (rng_.chance(15)) place.attachments.push_back(attachment(e.axis, low, high));
    }
    return place;
  }

  /// Out of the walls if that comes about.
  Attachment attachment(Axis axis, int low, int high) {
    Attachment a;
    a.name = "sprocket";
    a.radius_mm = rng_.chance(80) ? rng_.in(3, 6) : rng_.in(7, 11);
    for (int tries = 0; tries < 6; ++tries) {
      a.from_hp = rng_.in(low, high - 1);
      a.to_hp = std::min(high, a.from_hp + (rng_.chance(70) ? 1 : 2));
      const std::vector<int>& walls = p_.walls.along(axis);
      if (std::none_of(walls.begin(), walls.end(), [&](int w) { return w - 1 < a.to_hp && a.from_hp < w + 1; })) break;
    }
    return a;
  }

  void output(int number) {
    Output out;
    out.name = "output " + std::to_string(number);
    base::Rational ratio{1};
    const int places = rng_.chance(20) ? 2 : 1;
    for (int i = 0; i < places; ++i) {
      const auto stages = [&] { return corner_idler_ ? 3 : rng_.in(1, p_.most_stages); };
      End e = walk(!corner_idler_ && rng_.chance(6) ? 0 : stages());
      for (int tries = 0; tries < 80 && !e.fits; ++tries) e = walk(stages());
      if (rng_.chance(5)) e.at = line(e.axis);
      out.places.push_back(place_at(e));
      if (i == 0) ratio = e.ratio;
      if (number == 0) walks_.push_back(e.pairs);
    }
    const int spread = loose_ ? rng_.in(20, 80) : rng_.chance(50) ? 0 : rng_.in(1, 60);
    out.low = ratio.abs() * base::Rational(100 - spread, 100);
    out.high = ratio.abs() * base::Rational(100 + spread, 100);
    if (rng_.chance(loose_ ? 10 : 30)) out.sense = rng_.chance(70) == (ratio > base::Rational{0}) ? 1 : -1;
    p_.outputs.push_back(std::move(out));
  }

  void trains() {
    for (const std::vector<int>& w : walks_) p_.trains.push_back(w);
    for (int n = rng_.in(0, 3); n > 0 && !p_.kit.pairs.empty(); --n) {
      std::vector<int> train;
      for (int i = rng_.in(1, p_.most_stages); i > 0; --i) train.push_back(pick(static_cast<int>(p_.kit.pairs.size())));
      p_.trains.push_back(std::move(train));
    }
  }

  void keep_outs() {
    for (int n = rng_.in(1, 2); n > 0; --n) {
      Box3 b;
      for (Axis a : lattice::kAxes) {
        const int from = rng_.in(p_.box.low.at(a) - 1, p_.box.high.at(a) - 1);
        b.low.set(a, from);
        b.high.set(a, from + rng_.in(1, 4));
      }
      p_.keep_outs.push_back(b);
    }
  }

  Random rng_;
  Sort sort_;
  Problem p_;
  Axis axis_ = Axis::y;
  Point3 size_;
  bool corner_idler_ = false;
  bool angled_ = false;
  bool ringed_ = false;
  bool loose_ = false;  ///< plenty of room, stock and play in the ratio
  std::vector<bool> bevels_;
  std::vector<std::vector<int>> walks_;
};

}  // namespace

Wheel spur_wheel(int teeth, int count, int width_hp, double half_pitch_mm) {
  Wheel w;
  w.name = std::to_string(teeth);
  w.teeth = teeth;
  w.pitch_radius_mm = kModuleMm * teeth / 2;
  w.outer_radius_mm = w.pitch_radius_mm + kModuleMm;
  w.width_hp = width_hp;
  w.face_mm = width_hp * half_pitch_mm;
  w.count = count;
  return w;
}

std::vector<Pair> pairs_of(const Kit& kit, const std::vector<bool>& bevels, double misfit_mm) {
  std::vector<Pair> pairs;
  const double half = kit.half_pitch_mm();
  for (std::size_t i = 0; i < kit.wheels.size(); ++i) {
    for (std::size_t j = 0; j < kit.wheels.size(); ++j) {
      const Wheel &a = kit.wheels[i], &b = kit.wheels[j];
      const auto add = [&](PairType type, int sign, std::vector<PairOffset> offsets) {
        if (!offsets.empty() || type == PairType::bevel || type == PairType::crown)
          pairs.push_back({static_cast<int>(i), static_cast<int>(j), type, base::Rational(sign * a.teeth, b.teeth),
                           std::move(offsets)});
      };
      const double sum_mm = a.pitch_radius_mm + b.pitch_radius_mm;
      const bool slim_a = a.name.rfind("bevel", 0) == 0, slim_b = b.name.rfind("bevel", 0) == 0;
      if (a.ring || is_worm(b)) continue;
      if (is_worm(a)) {
        if (!b.ring && !b.sided && !slim_b) add(PairType::worm, 1, offsets_of(sum_mm, misfit_mm, half, true));
      } else if (b.ring) {
        if (a.sided || slim_a) continue;
        if (b.open_radius_mm == b.pitch_radius_mm - kModuleMm) {
          if (b.pitch_radius_mm > a.pitch_radius_mm + 2)
            add(PairType::ring_inner, 1, offsets_of(b.pitch_radius_mm - a.pitch_radius_mm, misfit_mm, half, false));
        } else {
          add(PairType::ring_outer, -1, offsets_of(sum_mm, misfit_mm, half, false));
        }
      } else if (a.sided != b.sided) {
        if (!slim_a && !slim_b) add(PairType::crown, -1, {});
      } else if (!a.sided) {
        if (!slim_a && !slim_b) add(PairType::spur, -1, offsets_of(sum_mm, misfit_mm, half, false));
        if (bevels[i] && bevels[j] && slim_a == slim_b) add(PairType::bevel, -1, {});
      }
    }
  }
  return pairs;
}

Problem random_problem(std::uint64_t seed, const Sort& sort) {
  return Maker(seed, sort).run();
}

}  // namespace routing::test
