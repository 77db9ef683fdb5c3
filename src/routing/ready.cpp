#include "routing/ready.h"

#include <cmath>
#include <limits>
#include <numeric>
#include <set>

#include "base/check.h"
#include "routing/fill.h"
#include "routing/layout.h"
#include "routing/right_angle.h"
#include "routing/standing.h"

namespace routing {

Router::Ready::Ready(Problem p, std::shared_ptr<const Ground> known)
    : problem(std::move(p)),
      shared_ground(known != nullptr && known->serves(problem) ? std::move(known)
                                                               : std::make_shared<const Ground>(problem)),
      ground(*shared_ground) {
  const Problem& q = problem;
  KW_CHECK(q.most_stages >= 0 && q.most_stages <= kMostStages, "most_stages out of range");
  KW_CHECK(!q.outputs.empty() && q.outputs.size() <= kMostOutputs, "one to four outputs");
  for (const Output& o : q.outputs) {
    KW_CHECK(base::Rational(0) < o.low && o.low <= o.high, "an output's ratio window is upside down");
    for (const Place& place : o.places) KW_CHECK(place.ring < static_cast<int>(q.kit.wheels.size()), "no such ring");
  }
  for (const Axis a : lattice::kAxes) {
    const std::vector<int>& w = q.walls.along(a);
    for (std::size_t i = 1; i < w.size(); ++i)
      KW_CHECK(w[i] >= w[i - 1] + 3, "walls stand at least three half-pitches apart");
  }
  for (const Output& o : q.outputs) {
    std::vector<std::uint8_t>& places = stands.emplace_back();
    for (const Place& place : o.places) places.push_back(stands_there(q, place) ? 1 : 0);
    if (blocked < 0 && !places.empty() &&
        std::none_of(places.begin(), places.end(), [](std::uint8_t s) { return s != 0; }))
      blocked = static_cast<int>(stands.size()) - 1;
  }
  for (const Place& place : q.outputs.front().places) body_hull.push_back(bodies_hull(place));
  find_input_lines();
  passing_outputs_.resize(q.outputs.front().places.size() * q.kit.pairs.size());
  passing_held_.resize(q.outputs.front().places.size() * q.kit.pairs.size());
  output_slots_.resize(q.outputs.front().places.size() * q.kit.wheels.size());

  for (std::size_t i = 0; i < q.kit.pairs.size(); ++i) {
    const Pair& pair = q.kit.pairs[i];
    KW_CHECK(!(pair.ratio == base::Rational(0)), "a pair without a ratio");
    log_ratio.push_back(std::log(std::fabs(pair.ratio.value())));
    any_right_angle = any_right_angle || !parallel(pair.type);
    for (const PairOffset& o : pair.offsets) most_step = std::max(most_step, o.dx_hp);
  }
  any_right_angle = any_right_angle && q.most_right_angles > 0;
  if (!log_ratio.empty()) {
    least_log = *std::min_element(log_ratio.begin(), log_ratio.end());
    most_log = *std::max_element(log_ratio.begin(), log_ratio.end());
  }
  const auto each_step = [&](const auto& use) {
    for (std::size_t i = 0; i < q.kit.pairs.size(); ++i) {
      if (q.kit.pairs[i].type != PairType::spur) continue;
      for (const Step& s : ground.steps[i])
        use(displacement(s.du_hp, s.dv_hp), Closing{static_cast<int>(i), s.misfit_um});
    }
  };
  // Counted, summed up, then put in place: there are many displacements with few each.
  closing_from.assign(displacement(most_step, most_step) + 2, 0);
  each_step([&](std::size_t at, const Closing&) { ++closing_from[at + 1]; });
  std::partial_sum(closing_from.begin(), closing_from.end(), closing_from.begin());
  closing.resize(closing_from.back());
  std::vector<std::size_t> next = closing_from;
  each_step([&](std::size_t at, const Closing& c) { closing[next[at]++] = c; });
  const auto least_axle = [&](int need_hp) {
    std::int64_t least = std::numeric_limits<std::int64_t>::max();
    for (const AxleStock& axle : q.kit.axles)
      if (2 * axle.length_p >= need_hp) least = std::min(least, axle_cost(axle));
    return least == std::numeric_limits<std::int64_t>::max() ? 0 : least;
  };
  shortest_axle = least_axle(0);
  int longest_hp = -1;
  for (const AxleStock& axle : q.kit.axles) longest_hp = std::max(longest_hp, 2 * axle.length_p);
  while (static_cast<int>(axle_from.size()) <= longest_hp)
    axle_from.push_back(least_axle(static_cast<int>(axle_from.size())));
  const base::SharedVector<AxleStock>& axles = q.kit.axles;
  const auto first_joined = static_cast<std::size_t>(
      std::find_if(axles.begin(), axles.end(), [](const AxleStock& a) { return a.joined(); }) - axles.begin());
  AxleRanges from{std::pair<std::size_t, std::size_t>{0, first_joined}, {first_joined, axles.size()}};
  for (int need_hp = 0; need_hp <= longest_hp; ++need_hp) {
    for (auto& [first, last] : from)
      while (first < last && 2 * axles[first].length_p < need_hp) ++first;
    axles_from.push_back(from);
  }
  for (const Axis a : lattice::kAxes) {
    const std::vector<int>& walls = q.walls.along(a);
    int nearest = 0;
    for (std::size_t i = 1; i < walls.size(); ++i)
      nearest = i == 1 ? walls[i] - walls[i - 1] : std::min(nearest, walls[i] - walls[i - 1]);
    spanning_axle[static_cast<std::size_t>(lattice::index(a))] = least_axle(nearest + 2);
  }
  find_reach();
}

void Router::Ready::find_input_lines() {
  const Problem& q = problem;
  for (const Axis a : lattice::kAxes)
    input_line_at[static_cast<std::size_t>(lattice::index(a))].assign(static_cast<std::size_t>(plane(a).points()), -1);
  /// Slots before the faces of an input's motors.
  const auto before = [&](const Input& in) {
    KW_CHECK(!in.motors.empty(), "an input needs a motor");
    const Plane& on = plane(in.motors.front().axis);
    if (on.slots() > Slots::kMost) return Slots::all();
    Slots out = Slots::of(0, 0);
    for (const Terminal& motor : in.motors) {
      const int face = motor.face.at(motor.axis) - on.first_slot();
      for (int s = motor.direction > 0 ? std::max(0, face) : 0; s < (motor.direction > 0 ? on.slots() : face); ++s)
        out.add(s);
    }
    return out;
  };
  const auto offer = [&](Axis axis, Cross at, const Slots& outgoing, const std::vector<Terminal>& motors) {
    const Plane& on = plane(axis);
    if (!on.contains(at)) return;  // outside the box no shaft leads to it
    int& line = input_line_at[static_cast<std::size_t>(lattice::index(axis))][static_cast<std::size_t>(on.index(at))];
    if (line < 0) {
      line = static_cast<int>(input_lines.size());
      input_lines.push_back({{axis, at}, Slots::of(0, 0)});
      goals.push_back({axis, at});
    }
    Slots& all = input_lines[static_cast<std::size_t>(line)].outgoing;
    all = all | outgoing;
    InputLine& here = input_lines[static_cast<std::size_t>(line)];
    if (motors.size() > 1) {
      here.paired = true;
    } else if (motors.front().direction > 0) {
      here.lowest_up = std::min(here.lowest_up, motors.front().face.at(axis));
    } else {
      here.highest_down = std::max(here.highest_down, motors.front().face.at(axis));
    }
  };
  for (const Input& in : q.inputs) {
    const Slots outgoing = before(in);
    const Terminal& t = in.motors.front();
    const Cross at = lattice::across(t.axis, t.face);
    for (const Terminal& other : in.motors)
      KW_CHECK(other.axis == t.axis && lattice::across(t.axis, other.face) == at,
               "the motors of an input stand on one line");
    offer(t.axis, at, outgoing, in.motors);
  }
  for (const InputField& field : q.input_fields) {
    const Slots outgoing = before(field.at_origin);
    KW_CHECK(field.free.size() == static_cast<std::size_t>(field.lines()), "a field knows of each line");
    for (const Terminal& t : field.at_origin.motors)
      KW_CHECK(t.axis == field.axis() && lattice::across(t.axis, t.face) == Cross{}, "a field stands on the origin");
    int i = 0;
    for (int u = 0; u < field.columns; ++u)
      for (int v = 0; v < field.rows; ++v, ++i)
        if (field.free[static_cast<std::size_t>(i)] != 0)
          offer(field.axis(), {field.low.u_hp + u, field.low.v_hp + v}, outgoing, field.at_origin.motors);
  }
  line_inputs_.resize(input_lines.size());
}

const Router::Ready::LineInputs& Router::Ready::inputs_of(const InputLine& line) const {
  return line_inputs_.at(static_cast<std::size_t>(&line - input_lines.data()), [&] {
    LineInputs made;
    const auto add = [&](int number, Input input) {
      made.numbers.push_back(number);
      made.inputs.push_back(std::move(input));
    };
    const auto [axis, at] = line.line;
    int number = 0;
    for (const Input& in : problem.inputs) {
      const Terminal& t = in.motors.front();
      if (t.axis == axis && lattice::across(axis, t.face) == at) add(number, in);
      ++number;
    }
    for (const InputField& field : problem.input_fields) {
      if (field.axis() == axis) {
        if (const int own = field.number_of(at); own >= 0) add(number + own, field.on(at));
      }
      number += field.lines();
    }
    if (problem.outputs.size() == 1)
      made.clear = std::make_unique<std::atomic<std::uint8_t>[]>(problem.outputs.front().places.size() *
                                                                 made.inputs.size());  // zeros
    made.holding = std::make_unique<LazyList<LineInputs::Holding>>();
    int widest_hp = 0;
    for (const Wheel& w : problem.kit.wheels) widest_hp = std::max(widest_hp, w.width_hp);
    made.holding->resize(static_cast<std::size_t>(widest_hp) + 1);
    for (const Input& in : made.inputs) {
      for (const Terminal& t : in.motors) {
        for (const Box3& b : t.solids) {
          if (!made.hull) made.hull = b;
          for (const Axis a : lattice::kAxes) {
            made.hull->low.set(a, std::min(made.hull->low.at(a), b.low.at(a)));
            made.hull->high.set(a, std::max(made.hull->high.at(a), b.high.at(a)));
          }
        }
      }
    }
    if (made.inputs.size() <= 64) {
      const Plane& on = plane(axis);
      const auto past = static_cast<std::size_t>(on.slots()) + 1;
      made.up_by.assign(past, 0);
      made.down_from.assign(past, 0);
      for (std::size_t k = 0; k < made.inputs.size(); ++k) {
        int up = 0, down = on.slots();
        for (const Terminal& t : made.inputs[k].motors) {
          const int face = t.face.at(axis) - on.first_slot();
          if (t.direction > 0) {
            up = std::max(up, face);
          } else {
            down = std::min(down, face);
          }
        }
        for (int c = up; c <= on.slots(); ++c) made.up_by[static_cast<std::size_t>(c)] |= std::uint64_t{1} << k;
        for (int c = 0; c <= down; ++c) made.down_from[static_cast<std::size_t>(c)] |= std::uint64_t{1} << k;
      }
    }
    return made;
  });
}

std::vector<int> Router::Ready::passing(int place, const Pair& pair, Axis axis, Cross at) const {
  const Wheel& driver = problem.kit.wheels[static_cast<std::size_t>(pair.driver)];
  const Wheel& driven = problem.kit.wheels[static_cast<std::size_t>(pair.driven)];
  std::vector<int> out;
  for (int t = problem.box.low.at(axis); t <= problem.box.high.at(axis); ++t)
    if (has_side(place, pair.type, driven, driver, axis, at, t)) out.push_back(t);
  return out;
}

const std::vector<int>& Router::Ready::passing_output(int place, int pair) const {
  const Place& at = problem.outputs.front().places[static_cast<std::size_t>(place)];
  return passing_outputs_.at(
      static_cast<std::size_t>(place) * problem.kit.pairs.size() + static_cast<std::size_t>(pair),
      [&] { return passing(place, problem.kit.pairs[static_cast<std::size_t>(pair)], at.axis, at.at); });
}

const std::vector<int>& Router::Ready::passing_held(int place, int number, Filler& filler) const {
  return passing_held_.at(
      static_cast<std::size_t>(place) * problem.kit.pairs.size() + static_cast<std::size_t>(number), [&] {
        const Place& at = problem.outputs.front().places[static_cast<std::size_t>(place)];
        const Pair& pair = problem.kit.pairs[static_cast<std::size_t>(number)];
        const Wheel& driver = problem.kit.wheels[static_cast<std::size_t>(pair.driver)];
        const Wheel& driven = problem.kit.wheels[static_cast<std::size_t>(pair.driven)];
        std::vector<int> out;
        for (const int t : passing_output(place, number)) {
          const auto held = [&](int side) {
            const auto along = right_angle_interval(problem.kit, pair.type, driven, driver, t, side);
            return stands_clear(place, driven, at.axis, at.at, along) &&
                   filler.holds_output(place, pair.driven, along.first, along.second);
          };
          if (held(1) || (pair.type != PairType::worm && held(-1))) out.push_back(t);
        }
        return out;
      });
}

const Slots& Router::Ready::output_slots(int place, int wheel, Filler& filler) const {
  return output_slots_.at(static_cast<std::size_t>(place) * problem.kit.wheels.size() + static_cast<std::size_t>(wheel),
                          [&] {
                            const Place& at = problem.outputs.front().places[static_cast<std::size_t>(place)];
                            const Plane& on = plane(at.axis);
                            Slots out = free_slots(place, wheel, at.axis, at.at);
                            if (on.slots() > Slots::kMost) return out;
                            const int width_hp = problem.kit.wheels[static_cast<std::size_t>(wheel)].width_hp;
                            for (int s = 0; s < on.slots(); ++s) {
                              const int from_hp = on.first_slot() + s;
                              if (out.has(s) && !filler.holds_output(place, wheel, from_hp, from_hp + width_hp))
                                out.remove(s);
                            }
                            return out;
                          });
}

Slots Router::Ready::input_slots(const InputLine& line, int wheel, Filler& filler) const {
  const LineInputs& inputs = inputs_of(line);
  const auto [axis, at] = line.line;
  const Plane& on = plane(axis);
  if (inputs.inputs.size() > 64 || on.slots() > Slots::kMost) return Slots::all();
  const int width_hp = problem.kit.wheels[static_cast<std::size_t>(wheel)].width_hp;
  return inputs.holding
      ->at(static_cast<std::size_t>(width_hp),
           [&, axis = axis, at = at] {
             const std::vector<int>& walls = problem.walls.along(axis);
             LineInputs::Holding made;
             made.at.assign(static_cast<std::size_t>(on.slots()), 0);
             for (int s = 0; s + width_hp <= on.slots(); ++s) {
               const int from_hp = on.first_slot() + s, to_hp = from_hp + width_hp;
               const bool in_wall =
                   std::any_of(walls.begin(), walls.end(), [&](int w) { return w - 1 < to_hp && w + 1 > from_hp; });
               if (in_wall || !line.outgoing.has(s)) continue;
               const std::uint64_t holding = filler.holding_inputs(inputs, axis, at, wheel, from_hp, to_hp);
               made.at[static_cast<std::size_t>(s)] = holding;
               if (holding != 0) made.any.add(s);
             }
             return made;
           })
      .any;
}

void Router::Ready::make_products() const {
  std::call_once(products_made, [&] {
    const std::set<double> one(log_ratio.begin(), log_ratio.end());
    products.push_back({0.0});
    for (int m = 1; m <= std::min(kListedMeshes, problem.most_stages); ++m) {
      std::vector<double> next = products.back();
      next.reserve(products.back().size() * (one.size() + 1));
      for (const double x : products.back())
        for (const double y : one) next.push_back(x + y);
      std::sort(next.begin(), next.end());
      // Equal products differ by rounding only.
      next.erase(std::unique(next.begin(), next.end(), [](double x, double y) { return std::fabs(x - y) < 1e-12; }),
                 next.end());
      products.push_back(std::move(next));
    }
  });
}

namespace {

/// Points of a plane as bits, row by row, so that a displacement moves a whole row at once.
class Rows {
 public:
  Rows(const std::vector<std::uint8_t>& points, std::size_t columns)
      : columns_(columns), words_((columns + 63) / 64), rows_(columns == 0 ? 0 : points.size() / columns) {
    bits_.assign(rows_ * words_, 0);
    for (std::size_t i = 0; i < rows_ * columns; ++i)
      if (points[i] != 0) bits_[i / columns * words_ + i % columns / 64] |= std::uint64_t{1} << (i % columns % 64);
  }
  [[nodiscard]] int rows() const { return static_cast<int>(rows_); }
  [[nodiscard]] bool empty(int row) const {
    const std::uint64_t* const at = &bits_[static_cast<std::size_t>(row) * words_];
    return std::all_of(at, at + words_, [](std::uint64_t w) { return w == 0; });
  }
  /// Adds a row of `from`, moved by du columns; what leaves the plane is dropped.
  void add(int row, const Rows& from, int from_row, int du) {
    std::uint64_t* const to = &bits_[static_cast<std::size_t>(row) * words_];
    const std::uint64_t* const source = &from.bits_[static_cast<std::size_t>(from_row) * words_];
    const auto n = static_cast<std::size_t>(std::abs(du)), skip = n / 64, by = n % 64;
    for (std::size_t w = skip; w < words_; ++w) {
      if (du >= 0) {
        const std::size_t s = w - skip;
        to[w] |= source[s] << by | (by > 0 && s > 0 ? source[s - 1] >> (64 - by) : 0);
      } else {
        const std::size_t s = w;  // the word that lands at w - skip
        to[w - skip] |= source[s] >> by | (by > 0 && s + 1 < words_ ? source[s + 1] << (64 - by) : 0);
      }
    }
  }
  void add_to(std::vector<std::uint8_t>& points) const {
    for (std::size_t i = 0; i < rows_ * columns_; ++i)
      if ((bits_[i / columns_ * words_ + i % columns_ / 64] >> (i % columns_ % 64) & 1U) != 0) points[i] = 1;
  }

 private:
  std::size_t columns_, words_, rows_;
  std::vector<std::uint64_t> bits_;
};

/// Which coordinates along `n`, from the box's low side on, some of a plane's points have.
std::vector<std::uint8_t> levels_of(const Plane& p, const std::vector<std::uint8_t>& points, Axis n) {
  const auto columns = static_cast<std::size_t>(p.columns()), rows = columns == 0 ? 0 : points.size() / columns;
  const bool by_column = n == lattice::u_axis(p.axis());
  std::vector<std::uint8_t> out(by_column ? columns : rows, 0);
  for (std::size_t row = 0; row < rows; ++row) {
    const std::uint8_t* const at = points.data() + row * columns;
    if (by_column) {
      for (std::size_t c = 0; c < columns; ++c) out[c] = static_cast<std::uint8_t>(out[c] | at[c]);
    } else {
      out[row] = std::any_of(at, at + columns, [](std::uint8_t x) { return x != 0; }) ? 1 : 0;
    }
  }
  return out;
}

/// Adds all points of a plane that have such a coordinate.
void fill_levels(const Plane& p, const std::vector<std::uint8_t>& levels, Axis n, std::vector<std::uint8_t>& points) {
  const auto columns = static_cast<std::size_t>(p.columns()), rows = columns == 0 ? 0 : points.size() / columns;
  const bool by_column = n == lattice::u_axis(p.axis());
  for (std::size_t row = 0; row < rows; ++row) {
    std::uint8_t* const at = points.data() + row * columns;
    if (by_column) {
      for (std::size_t c = 0; c < columns; ++c) at[c] = static_cast<std::uint8_t>(at[c] | levels[c]);
    } else if (levels[row] != 0) {
      std::fill(at, at + columns, std::uint8_t{1});
    }
  }
}

}  // namespace

void Router::Ready::find_reach() {
  const Problem& q = problem;
  // Every displacement any parallel pair offers, by row.
  const int side = 2 * most_step + 1;
  std::vector<std::uint8_t> offered(static_cast<std::size_t>(side) * static_cast<std::size_t>(side), 0);
  std::vector<int> worm_offsets;
  for (std::size_t i = 0; i < q.kit.pairs.size(); ++i) {
    const Pair& pair = q.kit.pairs[i];
    if (parallel(pair.type)) {
      for (const Step& s : ground.steps[i])
        offered[static_cast<std::size_t>((s.dv_hp + most_step) * side + s.du_hp + most_step)] = 1;
    } else if (pair.type == PairType::worm) {
      for (const PairOffset& o : pair.offsets)
        if (o.dz_hp == 0) worm_offsets.insert(worm_offsets.end(), {o.dx_hp, -o.dx_hp});
    } else {
      worm_offsets.push_back(0);  // bevel, crown: the shafts meet
    }
  }
  std::sort(worm_offsets.begin(), worm_offsets.end());
  worm_offsets.erase(std::unique(worm_offsets.begin(), worm_offsets.end()), worm_offsets.end());
  std::vector<Cross> displacements;
  for (int dv = -most_step; dv <= most_step; ++dv)
    for (int du = -most_step; du <= most_step; ++du)
      if (offered[static_cast<std::size_t>((dv + most_step) * side + du + most_step)] != 0)
        displacements.push_back({du, dv});
  reach.resize(1);
  for (const Axis a : lattice::kAxes) {
    auto& bits = reach[0][static_cast<std::size_t>(lattice::index(a))];
    bits.assign(static_cast<std::size_t>(plane(a).points()), 0);
  }
  for (const Line& g : goals)
    if (plane(g.axis).points() > 0 && plane(g.axis).contains(g.at))
      reach[0][static_cast<std::size_t>(lattice::index(g.axis))][static_cast<std::size_t>(plane(g.axis).index(g.at))] =
          1;
  for (int m = 1; m <= q.most_stages; ++m) {
    auto next = reach.back();
    for (const Axis a : lattice::kAxes) {
      const auto& from = reach.back()[static_cast<std::size_t>(lattice::index(a))];
      auto& to = next[static_cast<std::size_t>(lattice::index(a))];
      const Plane& p = plane(a);
      const Rows before(from, static_cast<std::size_t>(p.columns()));
      Rows after = before;
      for (int row = 0; row < before.rows(); ++row) {
        if (before.empty(row)) continue;
        for (const Cross& d : displacements)
          if (row + d.v_hp >= 0 && row + d.v_hp < before.rows()) after.add(row + d.v_hp, before, row, d.u_hp);
      }
      after.add_to(to);
      if (!any_right_angle) continue;
      // A line of another axis meets (or passes at a worm's distance) whatever has its coordinate across both.
      for (const Axis b : lattice::kAxes) {
        if (b == a) continue;
        const Axis n = lattice::other(a, b);
        const int low = q.box.low.at(n), high = q.box.high.at(n);
        const std::vector<std::uint8_t> levels =
            levels_of(plane(b), reach.back()[static_cast<std::size_t>(lattice::index(b))], n);
        std::vector<std::uint8_t> met(levels.size(), 0);
        for (int level = low; level <= high; ++level)
          for (const int w : worm_offsets)
            if (level + w >= low && level + w <= high && levels[static_cast<std::size_t>(level + w - low)] != 0)
              met[static_cast<std::size_t>(level - low)] = 1;
        fill_levels(p, met, n, to);
      }
    }
    reach.push_back(std::move(next));
  }
}

}  // namespace routing
