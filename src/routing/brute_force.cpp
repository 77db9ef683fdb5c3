#include "routing/brute_force.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "routing/checker.h"
#include "routing/checker_parts.h"

namespace routing::test {
namespace {

using base::Rational;

template <class List>
auto& item(List& list, int i) {
  return list[static_cast<std::size_t>(i)];
}

/// Whether two lines can carry the wheels of a pair, slots apart.
bool lines_mesh(const Pair& pair, Axis a_axis, Cross a_at, Axis b_axis, Cross b_at) {
  const auto offered = [&](int dx, int dz) {
    return std::any_of(pair.offsets.begin(), pair.offsets.end(),
                       [&](const PairOffset& o) { return o.dx_hp == dx && o.dz_hp == dz; });
  };
  if (parallel(pair.type)) {
    if (a_axis != b_axis) return false;
    const int du = std::abs(a_at.u_hp - b_at.u_hp), dv = std::abs(a_at.v_hp - b_at.v_hp);
    return offered(std::max(du, dv), std::min(du, dv));
  }
  if (a_axis == b_axis) return false;
  const Axis third = lattice::other(a_axis, b_axis);
  const int apart = std::abs(lattice::point(a_axis, a_at, 0).at(third) - lattice::point(b_axis, b_at, 0).at(third));
  return pair.type == PairType::worm ? offered(apart, 0) : apart == 0;
}

/// A shaft held in one way on one axle.
struct Option {
  PlacedShaft shaft;
  std::vector<Solid> solids;
  std::int64_t cost = 0;  ///< what figures_of() counts for it, envelope apart, its overhung wheels included
};

class Enumerator {
 public:
  explicit Enumerator(const Problem& p) : p_(p), half_(p.kit.half_pitch_mm()), box_(block(p.box, half_)) {}

  BruteResult run() {
    for (std::size_t i = 0; i < p_.inputs.size(); ++i) {
      std::vector<int> places;
      choose_places(static_cast<int>(i), places);
    }
    return std::move(result_);
  }

 private:
  void choose_places(int input, std::vector<int>& places) {
    if (places.size() < p_.outputs.size()) {
      for (std::size_t k = 0; k < p_.outputs[places.size()].places.size(); ++k) {
        places.push_back(static_cast<int>(k));
        choose_places(input, places);
        places.pop_back();
      }
      return;
    }
    l_ = Layout{};
    l_.input = input;
    l_.place = places;
    l_.ratios.resize(places.size());
    l_.idlers.resize(places.size());
    const Terminal& motor = item(p_.inputs, input).motors[0];
    l_.shafts.push_back(new_shaft(motor.axis, lattice::across(motor.axis, motor.face)));
    l_.shafts[0].input = true;
    steps_ = {{Rational{1}, 0, 0, 0, -1}};
    output(0);
  }

  static PlacedShaft new_shaft(Axis axis, Cross at) {
    PlacedShaft s;
    s.axis = axis;
    s.at = at;
    s.axle = 0;
    return s;
  }

  /// How one comes to a shaft from the input.
  struct Step {
    Rational ratio;
    int meshes, idlers, angles;
    int driven;  ///< the wheel that is driven on it
  };

  // ---- Level 1: pairs and lines -------------------------------------------------------------------------------------

  void output(std::size_t o) {
    if (o == p_.outputs.size()) {
      settle();
      return;
    }
    const Place& place = place_of(o);
    if (place.ring < 0 && place.axis == l_.shafts[0].axis && place.at == l_.shafts[0].at && l_.shafts[0].output < 0) {
      l_.shafts[0].output = static_cast<int>(o);
      l_.ratios[o] = Rational{1};
      l_.idlers[o] = 0;
      if (right_speed(o, steps_[0])) output(o + 1);
      l_.shafts[0].output = -1;
    }
    for (int s = 0; s < static_cast<int>(o == 0 ? 1 : l_.shafts.size()); ++s) extend(o, s);
  }

  [[nodiscard]] const Place& place_of(std::size_t o) const {
    return p_.outputs[o].places[static_cast<std::size_t>(l_.place[o])];
  }

  [[nodiscard]] bool right_speed(std::size_t o, const Step& step) const {
    const Output& out = p_.outputs[o];
    const Rational size = step.ratio.abs();
    if (size < out.low || size > out.high) return false;
    return out.sense == 0 || step.angles > 0 || (step.ratio > Rational{0}) == (out.sense > 0);
  }

  /// One mesh more from shaft `s`, by a new wheel on it or by one that is there.
  void extend(std::size_t o, int s) {
    if ((s > 0 && item(l_.shafts, s).output >= 0) || item(steps_, s).meshes >= p_.most_stages) return;
    for (int p = 0; p < static_cast<int>(p_.kit.pairs.size()); ++p) {
      const Pair& pair = item(p_.kit.pairs, p);
      const int wheels = static_cast<int>(l_.wheels.size());
      drive(o, s, p, -1);
      for (int w = 0; w < wheels; ++w) {
        if (item(l_.wheels, w).shaft == s && item(l_.wheels, w).wheel == pair.driver && parallel(pair.type) &&
            only_parallel(w))
          drive(o, s, p, w);
      }
    }
  }

  [[nodiscard]] bool only_parallel(int wheel) const {
    return std::all_of(l_.meshes.begin(), l_.meshes.end(), [&](const PlacedMesh& m) {
      return (m.driver != wheel && m.driven != wheel) || parallel(item(p_.kit.pairs, m.pair).type);
    });
  }

  [[nodiscard]] bool in_stock(int kind) const {
    const auto used =
        std::count_if(l_.wheels.begin(), l_.wheels.end(), [&](const PlacedWheel& w) { return w.wheel == kind; });
    return (used + 1) * p_.kit.copies <= item(p_.kit.wheels, kind).count;
  }

  void drive(std::size_t o, int s, int p, int wheel) {
    const Pair& pair = item(p_.kit.pairs, p);
    const bool fresh = wheel < 0;
    Step step = item(steps_, s);
    step.ratio = step.ratio * pair.ratio;
    ++step.meshes;
    step.angles += parallel(pair.type) ? 0 : 1;
    step.idlers += !fresh && wheel == step.driven ? 1 : 0;
    if (step.idlers > p_.most_idlers || step.angles > p_.most_right_angles) return;
    const Axis axis = item(l_.shafts, s).axis;
    const Cross at = item(l_.shafts, s).at;
    if (fresh) {
      if (!in_stock(pair.driver)) return;
      wheel = add_wheel(pair.driver, s, axis, at);
    }
    if (in_stock(pair.driven)) {
      if (item(p_.kit.wheels, pair.driven).ring) {
        end_at_ring(o, p, wheel, step);
      } else {
        end_at_shaft(o, p, wheel, step);
        if (step.meshes < p_.most_stages) go_on(o, p, wheel, step);
      }
    }
    if (fresh) l_.wheels.pop_back();
  }

  int add_wheel(int kind, int shaft, Axis axis, Cross at) {
    PlacedWheel w;
    w.wheel = kind;
    w.shaft = shaft;
    w.axis = axis;
    w.at = at;
    l_.wheels.push_back(w);
    return static_cast<int>(l_.wheels.size()) - 1;
  }

  void end_at_ring(std::size_t o, int p, int driver, Step step) {
    const Place& place = place_of(o);
    const PlacedWheel a = item(l_.wheels, driver);
    if (place.ring != item(p_.kit.pairs, p).driven || !right_speed(o, step) ||
        !lines_mesh(item(p_.kit.pairs, p), a.axis, a.at, place.axis, place.at))
      return;
    const int ring = add_wheel(place.ring, -1, place.axis, place.at);
    item(l_.wheels, ring).from_hp = place.ring_from_hp;
    item(l_.wheels, ring).to_hp = place.ring_from_hp + item(p_.kit.wheels, place.ring).width_hp;
    l_.meshes.push_back({p, driver, ring, misfit_um(p, driver, ring)});
    l_.ratios[o] = step.ratio;
    l_.idlers[o] = step.idlers;
    output(o + 1);
    l_.meshes.pop_back();
    l_.wheels.pop_back();
  }

  template <class Then>
  void on_new_shaft(int p, int driver, Step step, Axis axis, Cross at, Then then) {
    const PlacedWheel a = item(l_.wheels, driver);
    const Pair& pair = item(p_.kit.pairs, p);
    if (!lines_mesh(pair, a.axis, a.at, axis, at)) return;
    const int shaft = static_cast<int>(l_.shafts.size());
    l_.shafts.push_back(new_shaft(axis, at));
    const int driven = add_wheel(pair.driven, shaft, axis, at);
    l_.meshes.push_back({p, driver, driven, misfit_um(p, driver, driven)});
    step.driven = driven;
    steps_.push_back(step);
    then(shaft);
    steps_.pop_back();
    l_.meshes.pop_back();
    l_.wheels.pop_back();
    l_.shafts.pop_back();
  }

  void end_at_shaft(std::size_t o, int p, int driver, const Step& step) {
    const Place& place = place_of(o);
    if (place.ring >= 0 || !right_speed(o, step)) return;
    on_new_shaft(p, driver, step, place.axis, place.at, [&](int shaft) {
      item(l_.shafts, shaft).output = static_cast<int>(o);
      l_.ratios[o] = step.ratio;
      l_.idlers[o] = step.idlers;
      output(o + 1);
    });
  }

  /// A shaft on the way: any line of the box.
  void go_on(std::size_t o, int p, int driver, const Step& step) {
    for (Axis axis : lattice::kAxes) {
      const Axis ua = lattice::u_axis(axis), va = lattice::v_axis(axis);
      for (int u = p_.box.low.at(ua); u <= p_.box.high.at(ua); ++u) {
        for (int v = p_.box.low.at(va); v <= p_.box.high.at(va); ++v)
          on_new_shaft(p, driver, step, axis, {u, v}, [&](int shaft) { extend(o, shaft); });
      }
    }
  }

  [[nodiscard]] int misfit_um(int p, int driver, int driven) const {
    const Pair& pair = item(p_.kit.pairs, p);
    const PlacedWheel &a = item(l_.wheels, driver), &b = item(l_.wheels, driven);
    const double ra = mesh_radius_mm(item(p_.kit.wheels, a.wheel), pair.type);
    const double rb = mesh_radius_mm(item(p_.kit.wheels, b.wheel), pair.type);
    if (parallel(pair.type)) {
      const double mm = std::hypot(a.at.u_hp - b.at.u_hp, a.at.v_hp - b.at.v_hp) * half_;
      return static_cast<int>(
          std::lround(1000 * std::abs(mm - (pair.type == PairType::ring_inner ? rb - ra : ra + rb))));
    }
    if (pair.type != PairType::worm) return 0;
    const Axis third = lattice::other(a.axis, b.axis);
    const int apart = lattice::point(a.axis, a.at, 0).at(third) - lattice::point(b.axis, b.at, 0).at(third);
    return static_cast<int>(std::lround(1000 * std::abs(std::abs(apart) * half_ - ra - rb)));
  }

  // ---- Level 2: slots, supports, axles ------------------------------------------------------------------------------

  void settle() {
    if (!check_structure(p_, l_).empty()) return;
    ++result_.structures;
    key_ = geometry_of(p_, l_);
    used_ = terminals_of(p_, l_);
    fixed_ = fixed_solids(p_, l_);
    for (std::size_t i = 0; i < fixed_.size(); ++i) {
      if (fixed_[i].in_box && !inside(*fixed_[i].in_box, box_)) return;
      for (std::size_t j = 0; j < i; ++j) {
        if (apart_needed(fixed_[i], fixed_[j])) return;
      }
    }
    last_wheel_.assign(l_.shafts.size(), -1);
    for (std::size_t w = 0; w < l_.wheels.size(); ++w) {
      if (l_.wheels[w].shaft >= 0) item(last_wheel_, l_.wheels[w].shaft) = static_cast<int>(w);
    }
    base_cost_ = 0;
    for (const PlacedMesh& m : l_.meshes) base_cost_ += Weights::misfit_um * m.misfit_um;
    for (const PlacedWheel& w : l_.wheels) base_cost_ += w.shaft >= 0 ? Weights::part : 0;
    wheels_.clear();
    options_.assign(l_.shafts.size(), {});
    place_wheel(0);
  }

  [[nodiscard]] bool apart_needed(const Solid& a, const Solid& b) const {
    return solids_clash(p_, l_.meshes, used_, a, b);
  }

  [[nodiscard]] bool stands(const Solid& s, const std::vector<Solid>& among) const {
    return std::none_of(among.begin(), among.end(), [&](const Solid& o) { return apart_needed(s, o); });
  }

  /// Both ends of every place where a wheel of the layout may stand on its shaft.
  [[nodiscard]] std::vector<Span> spans_of(int wheel) const {
    const PlacedWheel& w = item(l_.wheels, wheel);
    const Wheel& kind = item(p_.kit.wheels, w.wheel);
    if (w.shaft < 0) return {{w.from_hp, w.to_hp}};
    std::vector<Span> spans;
    for (const PlacedMesh& m : l_.meshes) {
      const Pair& pair = item(p_.kit.pairs, m.pair);
      if ((m.driver != wheel && m.driven != wheel) || parallel(pair.type)) continue;
      const PlacedWheel& mate = item(l_.wheels, m.driver == wheel ? m.driven : m.driver);
      const double x = lattice::point(mate.axis, mate.at, 0).at(w.axis), face = kind.face_mm / half_;
      const double radius = item(p_.kit.wheels, mate.wheel).pitch_radius_mm / half_;
      const double near = radius - p_.kit.addendum_mm / half_;
      if (pair.type == PairType::worm) return {{x - face / 2, x + face / 2}};
      if (pair.type == PairType::crown && kind.sided) return {{x + near, x + near + face}, {x - near - face, x - near}};
      return {{x + radius - face / 2, x + radius + face / 2}, {x - radius - face / 2, x - radius + face / 2}};
    }
    for (int k = p_.box.low.at(w.axis); k + kind.width_hp <= p_.box.high.at(w.axis); ++k)
      spans.push_back({k + 0.0, k + 0.0 + kind.width_hp});
    return spans;
  }

  void place_wheel(int number) {
    if (number == static_cast<int>(l_.wheels.size())) {
      held_everywhere();
      return;
    }
    for (const Span& span : spans_of(number)) {
      if (bound() >= best_cost()) return;
      PlacedWheel& w = item(l_.wheels, number);
      w.from_hp = span.from_hp;
      w.to_hp = span.to_hp;
      const std::vector<int>& walls = p_.walls.along(w.axis);
      if (std::any_of(walls.begin(), walls.end(), [&](int wall) { return overlaps(span, {wall - 1.0, wall + 1.0}); }))
        continue;
      const Solid solid = wheel_solid(p_, w, number);
      if (!inside(*solid.in_box, box_) || !stands(solid, fixed_) || !stands(solid, wheels_) || !meshes_stand(number))
        continue;
      wheels_.push_back(solid);
      if (w.shaft < 0 || item(last_wheel_, w.shaft) != number || some_option(w.shaft)) place_wheel(number + 1);
      wheels_.pop_back();
    }
  }

  /// The meshes of a wheel with those placed before it.
  [[nodiscard]] bool meshes_stand(int number) const {
    const PlacedWheel& w = item(l_.wheels, number);
    for (const PlacedMesh& m : l_.meshes) {
      if ((m.driver == number || m.driven == number) && parallel(item(p_.kit.pairs, m.pair).type) &&
          beyond_walls(p_, w.axis, {w.from_hp, w.to_hp}))
        return false;
      if (std::max(m.driver, m.driven) == number &&
          !mesh_fault(p_, item(l_.wheels, m.driver), item(l_.wheels, m.driven), m).empty())
        return false;
    }
    return true;
  }

  /// Cost of the cheapest layout in hand with the lines and pairs at hand.
  [[nodiscard]] std::int64_t best_cost() const {
    const auto known = result_.least_cost.find(key_);
    return known == result_.least_cost.end() ? INT64_MAX : known->second;
  }

  /// What the wheels placed so far cost at least, with an axle a shaft and the space they span.
  [[nodiscard]] std::int64_t bound() const {
    std::int64_t cost = base_cost_ + static_cast<std::int64_t>(l_.shafts.size()) *
                                         (Weights::part + Weights::axle_pitch * p_.kit.axles.front().length_p);
    if (wheels_.empty()) return cost;
    for (std::size_t a = 0; a < 3; ++a) {
      double low = 1e9, high = -1e9;
      for (const Solid& w : wheels_) {
        low = std::min(low, w.in_box->mm[a].low);
        high = std::max(high, w.in_box->mm[a].high);
      }
      cost += Weights::envelope_hp * static_cast<std::int64_t>((high - low) / half_);
    }
    return cost;
  }

  bool some_option(int shaft) {
    item(options_, shaft) = options_of(shaft);
    return !item(options_, shaft).empty();
  }

  /// Ways to hold a shaft, along the axis only; the same for all shafts with the same terminals and load.
  const std::vector<PlacedShaft>& ways(const ShaftLoad& load) {
    std::string key = fmt::format("{}", lattice::letter(load.axis));
    for (const Terminal* t : load.terminals) key += fmt::format(" T{}", static_cast<const void*>(t));
    std::vector<Span> items = load.items;
    std::sort(items.begin(), items.end(), [](Span a, Span b) { return a.from_hp < b.from_hp; });
    for (const Span& i : items) key += fmt::format(" {:.9f} {:.9f}", i.from_hp, i.to_hp);
    const auto known = ways_.find(key);
    if (known != ways_.end()) return known->second;
    std::vector<PlacedShaft>& list = ways_[key];
    for (Support support : {Support::straddled, Support::overhung_low, Support::overhung_high}) {
      const Holding held = holding(p_, load, support);
      if (!held.fault.empty()) continue;
      for (std::size_t axle = 0; axle < p_.kit.axles.size(); ++axle) {
        const int length = 2 * p_.kit.axles[axle].length_p;
        for (int from = std::min(p_.box.low.at(load.axis), held.reach_from_hp); from <= held.reach_from_hp; ++from) {
          if (!axle_fault(p_, load.axis, held, from, from + length).empty()) continue;
          PlacedShaft s;
          s.axis = load.axis;
          s.axle = static_cast<int>(axle);
          s.from_hp = from;
          s.to_hp = from + length;
          s.bearings_hp = held.bearings_hp;
          s.bushes_hp = held.bushes_hp;
          s.support = support;
          s.motors = static_cast<int>(load.terminals.size());
          list.push_back(std::move(s));
        }
      }
    }
    return list;
  }

  std::vector<Option> options_of(int number) {
    const ShaftLoad load = load_of(p_, l_, number);
    std::vector<Option> list;
    for (PlacedShaft s : ways(load)) {
      const PlacedShaft& line = item(l_.shafts, number);
      s.at = line.at;
      s.input = line.input;
      s.output = line.output;
      Option option;
      option.solids = shaft_solids(p_, s, number, load.terminals);
      const bool free = std::all_of(option.solids.begin(), option.solids.end(), [&](const Solid& solid) {
        return (!solid.in_box || inside(*solid.in_box, box_)) && stands(solid, fixed_) && stands(solid, wheels_);
      });
      if (!free) continue;
      option.cost = Weights::part * (1 + static_cast<std::int64_t>(s.bushes_hp.size())) +
                    Weights::bearing * static_cast<std::int64_t>(s.bearings_hp.size()) +
                    Weights::axle_pitch * item(p_.kit.axles, s.axle).length_p +
                    (item(p_.kit.axles, s.axle).joined() ? 2 * Weights::part : 0);
      option.shaft = std::move(s);
      list.push_back(std::move(option));
    }
    std::stable_sort(list.begin(), list.end(), [](const Option& a, const Option& b) { return a.cost < b.cost; });
    return list;
  }

  /// All wheels stand: options once more against all of them, then every combination.
  void held_everywhere() {
    for (std::size_t s = 0; s < l_.shafts.size(); ++s) {
      if (!some_option(static_cast<int>(s))) return;
    }
    chosen_.clear();
    combine(0, bound() - static_cast<std::int64_t>(l_.shafts.size()) *
                             (Weights::part + Weights::axle_pitch * p_.kit.axles.front().length_p));
  }

  void combine(std::size_t shaft, std::int64_t cost) {
    if (cost >= best_cost()) return;
    if (shaft == l_.shafts.size()) {
      approve();
      return;
    }
    for (const Option& option : options_[shaft]) {
      if (cost + option.cost >= best_cost()) return;  // the rest is dearer still
      chosen_.push_back(&option);
      const bool enough = stock_serves();
      chosen_.pop_back();
      if (!enough) continue;
      const bool free = std::all_of(option.solids.begin(), option.solids.end(), [&](const Solid& s) {
        return std::all_of(chosen_.begin(), chosen_.end(), [&](const Option* o) { return stands(s, o->solids); });
      });
      if (!free) continue;
      chosen_.push_back(&option);
      combine(shaft + 1, cost + option.cost);
      chosen_.pop_back();
    }
  }

  /// Axles and joiners of the shafts chosen so far.
  [[nodiscard]] bool stock_serves() const {
    std::map<int, int> pieces;
    int joiners = 0;
    for (const Option* o : chosen_) {
      const AxleStock& axle = item(p_.kit.axles, o->shaft.axle);
      joiners += axle.joined() ? 1 : 0;
      if (axle.joined()) {
        ++pieces[axle.low_part];
        ++pieces[axle.high_part];
      } else {
        ++pieces[o->shaft.axle];
      }
    }
    return joiners * p_.kit.copies <= p_.kit.joiners && std::all_of(pieces.begin(), pieces.end(), [&](const auto& use) {
             return use.second * p_.kit.copies <= item(p_.kit.axles, use.first).count;
           });
  }

  void approve() {
    Layout whole = l_;
    for (std::size_t s = 0; s < whole.shafts.size(); ++s) whole.shafts[s] = chosen_[s]->shaft;
    for (PlacedWheel& w : whole.wheels) {
      if (w.shaft >= 0)
        w.overhung = !held_on_both_sides(load_of(p_, whole, w.shaft), item(whole.shafts, w.shaft).bearings_hp,
                                         {w.from_hp, w.to_hp});
    }
    const Figures f = figures_of(p_, whole);
    whole.cost = f.cost;
    whole.envelope = f.envelope;
    if (whole.cost >= best_cost() || !check(p_, whole).empty()) return;
    result_.least_cost[key_] = whole.cost;
    if (!result_.best || whole.cost < result_.best->cost) result_.best = std::move(whole);
  }

  const Problem& p_;
  double half_;
  Block box_;
  BruteResult result_;
  Layout l_;
  std::vector<Step> steps_;  ///< per shaft

  std::map<std::string, std::vector<PlacedShaft>> ways_;
  // of the structure at hand
  std::string key_;
  std::vector<UsedTerminal> used_;
  std::vector<Solid> fixed_, wheels_;
  std::vector<int> last_wheel_;
  std::int64_t base_cost_ = 0;
  std::vector<std::vector<Option>> options_;
  std::vector<const Option*> chosen_;
};

}  // namespace

std::string geometry_of(const Problem& problem, const Layout& l) {
  const auto line = [](Axis axis, Cross at) { return fmt::format("{}{},{}", lattice::letter(axis), at.u_hp, at.v_hp); };
  std::string text = fmt::format("in {}", line(l.shafts[0].axis, l.shafts[0].at));
  for (int place : l.place) text += fmt::format(" out{}", place);
  // Numbers of wheels and shafts in the order of the meshes, whatever the order they are stored in.
  std::map<int, std::size_t> shafts{{0, 0}}, wheels;
  const auto number = [](std::map<int, std::size_t>& known, int i) {
    return known.try_emplace(i, known.size()).first->second;
  };
  for (const PlacedMesh& m : l.meshes) {
    const PlacedWheel &a = item(l.wheels, m.driver), &b = item(l.wheels, m.driven);
    const std::size_t from = number(shafts, a.shaft), wheel_a = number(wheels, m.driver),
                      wheel_b = number(wheels, m.driven);
    text += fmt::format(" | s{} w{} {}:{}/{} w{} {}", from, wheel_a, item(problem.kit.wheels, a.wheel).name,
                        item(problem.kit.wheels, b.wheel).name, static_cast<int>(item(problem.kit.pairs, m.pair).type),
                        wheel_b, line(b.axis, b.at));
    if (b.shaft >= 0) text += fmt::format(" s{}", number(shafts, b.shaft));
  }
  for (std::size_t s = 0; s < l.shafts.size(); ++s) {
    if (l.shafts[s].output >= 0)
      text += fmt::format(" o{}=s{}", l.shafts[s].output, number(shafts, static_cast<int>(s)));
  }
  return text;
}

BruteResult enumerate(const Problem& problem) {
  return Enumerator(problem).run();
}

}  // namespace routing::test
