// The second half of a filling: with every wheel in its slots, how each shaft is held.
#include <algorithm>
#include <bit>
#include <climits>

#include "base/check.h"
#include "routing/fill.h"

namespace routing {

Round Filler::axle_of(int s) const {
  const Hold& hold = hold_[static_cast<std::size_t>(s)];
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  return {shaft.axis,
          shaft.at,
          static_cast<double>(hold.solid_low),
          static_cast<double>(hold.solid_high),
          problem_.kit.axle_radius_mm,
          0};
}

/// Of a shaft whose axle is chosen: with what sticks out.
Round Filler::whole_axle_of(int s) const {
  const Hold& hold = hold_[static_cast<std::size_t>(s)];
  const Ends& ends = ends_[static_cast<std::size_t>(s)];
  Round axle = axle_of(s);
  axle.from_hp = std::min(axle.from_hp, static_cast<double>(ends.up != nullptr ? hold.solid_low : hold.from));
  axle.to_hp = std::max(axle.to_hp, static_cast<double>(ends.down != nullptr ? hold.solid_high : hold.to));
  return axle;
}

Round Filler::joiner_of(int s) const {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  return joiner_round(problem_.kit, shaft.axis, shaft.at, hold_[static_cast<std::size_t>(s)].joint);
}

Round Filler::bush_of(int s, int i) const {
  const Hold& hold = hold_[static_cast<std::size_t>(s)];
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  const double low = hold.bush[static_cast<std::size_t>(i)];
  return {shaft.axis, shaft.at, low, low + problem_.kit.bush_hp, problem_.kit.bush_radius_mm, 0};
}

/// Makes the plans of a shaft those for its wheels' slots: the ways it can be held whatever else stands. They go with
/// these slots (the input's with its motor too), so while these stay the plans do.
void Filler::look_at(int x) {
  const auto s = static_cast<std::size_t>(x);
  const int wheels = n_on_shaft_[s];
  const auto from = [&](int i) { return i < wheels ? stand_[on_shaft_[s][static_cast<std::size_t>(i)]].from : 0.0; };
  Planned& known = planned_[s];
  const bool lasting = !explain_ && x != sketch_->input_shaft && wheels <= 2;
  if (lasting && known.sketch == sketch_number_ && known.first == from(0) && known.second == from(1)) return;
  known.sketch = lasting ? sketch_number_ : 0;
  known.first = from(0);
  known.second = from(1);
  known.load = load_among_walls(x, load_of(x));
  known.tried = known.load.faced ? 0 : static_cast<int>(kSupports.size());
  n_plans_[s] = 0;
}

/// Adds the next way that a shaft can be held; false: there is none.
bool Filler::plan_next(int x) {
  const auto s = static_cast<std::size_t>(x);
  Planned& known = planned_[s];
  while (known.tried < static_cast<int>(kSupports.size())) {
    const Support support = kSupports[static_cast<std::size_t>(known.tried++)];
    Hold& hold = plans_[s][static_cast<std::size_t>(n_plans_[s])];
    if (!plan(x, support, known.load, hold) || !(explain_ || room_for(x, hold))) continue;
    ++n_plans_[s];
    return true;
  }
  return false;
}

/// All ways that a shaft can be held beside what stands at less than `allowed`, and what they cost at least.
bool Filler::plan_all_ways(int x, std::int64_t allowed) {
  look_at(x);
  while (plan_next(x)) {
  }
  unsigned& open = open_plans_[static_cast<std::size_t>(x)];
  open = 0;
  std::int64_t least = INT64_MAX;
  for (int n = 0; n < n_plans_[static_cast<std::size_t>(x)]; ++n) {
    const Hold& hold = plans_[static_cast<std::size_t>(x)][static_cast<std::size_t>(n)];
    if (!explain_ && (hold.least >= allowed || !clear_of_standing(x, hold))) continue;
    open |= 1U << static_cast<unsigned>(n);
    least = std::min(least, hold.least);
  }
  least_of_[static_cast<std::size_t>(x)] = least;
  return open != 0;
}

/// Whether a shaft can be held beside what stands, however.
bool Filler::some_way(int x) {
  if (explain_) return plan_all_ways(x);
  look_at(x);
  for (int n = 0;; ++n) {
    if (n == n_plans_[static_cast<std::size_t>(x)] && !plan_next(x)) return false;
    if (clear_of_standing(x, plans_[static_cast<std::size_t>(x)][static_cast<std::size_t>(n)])) return true;
  }
}

bool Filler::all_placed(int x) const {
  const auto s = static_cast<std::size_t>(x);
  return std::all_of(on_shaft_[s].begin(), on_shaft_[s].begin() + n_on_shaft_[s],
                     [&](std::uint8_t w) { return stand_[w].placed; });
}

/// Whether a terminal's body keeps clear of keep-outs, wheels, attachments and the bodies before it.
bool Filler::body_apart(std::size_t b) const {
  const Box3& body = *bodies_[b];
  for (const Box3& k : problem_.keep_outs)
    if (k.overlaps(body)) return false;
  for (std::size_t c = 0; c < b; ++c)
    if (body_shaft_[b] != body_shaft_[c] && body.overlaps(*bodies_[c])) return false;
  return true;
}

bool Filler::input_apart(std::size_t k, std::size_t first_body) {
  if (problem_.outputs.size() == 1 && sketch_->shafts[static_cast<std::size_t>(sketch_->input_shaft)].output < 0)
    return ready_.clear_input(sketch_->place.front(), *line_inputs_, k);
  Apart& known = input_apart_[k];
  if (known.sketch != sketch_number_) {
    known = {sketch_number_, true};
    for (std::size_t b = first_body; known.yes && b < bodies_.size(); ++b) known.yes = body_apart(b);
  }
  return known.yes;
}

bool Filler::body_free(std::size_t b) const {
  const Box3& body = *bodies_[b];
  for (int w = 0; w < sketch_->n_wheels; ++w)
    if (clash(round_of(w), body, h_, clear_)) return false;
  return std::none_of(attachments_.begin(), attachments_.end(),
                      [&](const Round& a) { return clash(a, body, h_, clear_); });
}

/// Puts an input's motors at the ends of its shaft, which has `own` ones besides; false: an end is taken twice.
bool Filler::seat(const Input& input, const Ends& own) {
  Ends& ends = ends_[static_cast<std::size_t>(sketch_->input_shaft)];
  ends = own;
  bool ok = true;
  for (const Terminal& t : input.motors) {
    const Terminal*& end = t.direction > 0 ? ends.up : ends.down;
    ok = ok && end == nullptr;
    end = &t;
  }
  return ok;
}

/// Whether some input could hold its shaft, whose wheels all stand, if nothing else were there.
bool Filler::input_held() {
  const int s = sketch_->input_shaft;
  const Ends own = ends_[static_cast<std::size_t>(s)];
  const Span load = load_of(s);
  const std::uint64_t facing = may_face(load);
  bool held = false;
  for (std::size_t k = 0; k < inputs_->size() && !held; ++k) {
    const Input& input = (*inputs_)[k];
    held = (k >= 64 || (facing >> k & 1U) != 0) && before_load(input, load) && seat(input, own) && some_way(s);
  }
  ends_[static_cast<std::size_t>(s)] = own;
  return held;
}

bool Filler::alike(const Ends& a, const Ends& b) {
  const auto same = [](const Terminal* x, const Terminal* y) {
    return (x == nullptr) == (y == nullptr) && (x == nullptr || (x->face == y->face && x->insert_hp == y->insert_hp));
  };
  return same(a.up, b.up) && same(a.down, b.down);
}

bool Filler::hold_all() {
  if (obstacle_ == Obstacle::slots) obstacle_ = Obstacle::bearings;
  const int s = sketch_->input_shaft;
  const Ends own = ends_[static_cast<std::size_t>(s)];
  const std::size_t bodies = bodies_.size();
  // The outputs' bodies stand whatever the input.
  if (!outputs_apart_) {
    outputs_apart_ = true;
    for (std::size_t b = 0; *outputs_apart_ && b < bodies; ++b) outputs_apart_ = body_apart(b);
  }
  if (!*outputs_apart_) return false;
  // Without explain_ wheels keep clear of bodies when they are placed, and what stands in every case is known.
  const bool clear = !explain_ && problem_.outputs.size() == 1;
  for (std::size_t b = 0; !clear && b < bodies; ++b)
    if (!body_free(b)) return false;
  bool stop = false, held = false;
  for (int x = 0; x < sketch_->n_shafts && one_way_; ++x)
    open_plans_[static_cast<std::size_t>(x)] = asked_plans_[static_cast<std::size_t>(x)] = 0;
  Ends planned;  // whose plans stand: motors that only lie otherwise at one face hold the shaft alike
  const Span load = load_of(s);
  const std::uint64_t facing = may_face(load);
  for (std::size_t k = 0; k < inputs_->size(); ++k) {
    if (k < 64 && ((facing & (explain_ ? ~std::uint64_t{0} : alive_)) >> k & 1U) == 0) continue;
    const Input& input = (*inputs_)[k];
    if (!before_load(input, load)) continue;
    const Ends& ends = ends_[static_cast<std::size_t>(s)];
    bool ok = seat(input, own);
    for (const Terminal& t : input.motors) {
      for (const Box3& b : t.solids) {
        bodies_.push_back(&b);
        body_shaft_.push_back(s);
      }
    }
    ok = ok && input_apart(k, bodies);
    const bool clear_of_input =
        clear && inputs_->size() <= 64 && sketch_->shafts[static_cast<std::size_t>(s)].output < 0;
    for (std::size_t b = bodies; ok && !clear_of_input && b < bodies_.size(); ++b) ok = body_free(b);
    // Two bodies on one shaft that face each other must not overlap either.
    if (ok && ends.up != nullptr && ends.down != nullptr) {
      ok = ends.up->face.at(ends.up->axis) <= ends.down->face.at(ends.down->axis);
      for (const Box3& a : ends.up->solids)
        for (const Box3& b : ends.down->solids) ok = ok && !a.overlaps(b);
    }
    if (ok) {
      input_ = line_inputs_->numbers[k];
      if ((planned.up == nullptr && planned.down == nullptr) || !alike(planned, ends)) {
        held = plan_all_ways(s);
        planned = ends;
      }
      if (held) {
        rest_least_[static_cast<std::size_t>(sketch_->n_shafts)] = 0;
        for (int x = sketch_->n_shafts - 1; x >= 0; --x)
          rest_least_[static_cast<std::size_t>(x)] =
              rest_least_[static_cast<std::size_t>(x + 1)] + least_of_[static_cast<std::size_t>(x)];
        stop = hold_shaft(0, base_cost_ + envelope_least_);
      }
    }
    bodies_.resize(bodies);
    body_shaft_.resize(bodies);
    if (stop) break;
  }
  ends_[static_cast<std::size_t>(s)] = own;
  return stop;
}

bool Filler::hold_shaft(int s, std::int64_t cost) {
  ++steps_;
  if ((found_ || bounded_) && cost + rest_least_[static_cast<std::size_t>(s)] >= best_) return false;
  if (s == sketch_->n_shafts) {
    if (obstacle_ == Obstacle::bearings) obstacle_ = Obstacle::axles;
    cost = base_cost_;
    for (int i = 0; i < s; ++i) cost += hold_[static_cast<std::size_t>(i)].cost;
    return axles_at_least() && choose_axle(0, cost, core_envelope());
  }
  // Of the shafts but the input's one way was enough so far.
  const bool more = one_way_ && s != sketch_->input_shaft;
  if (more) look_at(s);
  const bool beside_wheels = !explain_ && (more || s == sketch_->input_shaft);
  for (int n = 0; n < n_plans_[static_cast<std::size_t>(s)] || (more && plan_next(s)); ++n) {
    const Hold& plan = plans_[static_cast<std::size_t>(s)][static_cast<std::size_t>(n)];
    const unsigned bit = 1U << static_cast<unsigned>(n);
    unsigned &open = open_plans_[static_cast<std::size_t>(s)], &asked = asked_plans_[static_cast<std::size_t>(s)];
    if (more && (asked & bit) == 0) {
      asked |= bit;
      if (clear_of_standing(s, plan)) open |= bit;
    }
    if ((open & bit) == 0) continue;
    if ((found_ || bounded_) && cost + plan.least + rest_least_[static_cast<std::size_t>(s + 1)] >= best_) continue;
    hold_[static_cast<std::size_t>(s)] = plan;
    if (hold_free(s, hold_[static_cast<std::size_t>(s)], beside_wheels) && hold_shaft(s + 1, cost + plan.least))
      return true;
  }
  return false;
}

/// Those of the first 64 inputs that before_load() may hold of.
std::uint64_t Filler::may_face(Span load) const {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(sketch_->input_shaft)];
  const int first = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))].first_slot();
  return load.low > load.high ? ~std::uint64_t{0} : line_inputs_->facing(load.low - first, load.high - first);
}

/// Most motors of a line face away from the load or stand in it; plan() would refuse them after more work.
bool Filler::before_load(const Input& input, Span load) {
  return load.low > load.high || std::all_of(input.motors.begin(), input.motors.end(), [&](const Terminal& t) {
           const int face = t.face.at(t.axis);
           return t.direction > 0 ? load.low >= face : load.high <= face;
         });
}

/// Hull of a shaft's wheels and attachments; upside down when it carries none.
Filler::Span Filler::load_of(int s) const {
  Span load{INT_MAX, INT_MIN};
  for (int i = 0; i < n_on_shaft_[static_cast<std::size_t>(s)]; ++i) {
    const std::size_t w = on_shaft_[static_cast<std::size_t>(s)][static_cast<std::size_t>(i)];
    load.low = std::min(load.low, stand_[w].low);
    load.high = std::max(load.high, stand_[w].high);
  }
  for (std::size_t a = 0; a < attachments_.size(); ++a) {
    if (attachment_shaft_[a] != s) continue;
    load.low = std::min(load.low, slot_floor(attachments_[a].from_hp));
    load.high = std::max(load.high, slot_ceil(attachments_[a].to_hp));
  }
  return load;
}

Filler::Load Filler::load_among_walls(int s, Span load) const {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  const std::vector<int>& walls = problem_.walls.along(shaft.axis);
  const Ends& ends = ends_[static_cast<std::size_t>(s)];
  const auto face = [&](const Terminal* t) { return t->face.at(shaft.axis); };
  Load out;
  out.low = load.low;
  out.high = load.high;
  if (out.low > out.high)
    out.low = out.high = ends.up != nullptr ? face(ends.up) : ends.down != nullptr ? face(ends.down) : 0;
  out.faced = (ends.up == nullptr || out.low >= face(ends.up)) && (ends.down == nullptr || out.high <= face(ends.down));
  if (!out.faced) return out;
  const Plane& plane = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))];
  out.below = plane.wall_below(out.low);
  out.above = plane.wall_above(out.high);
  // Of faces, which may lie outside the box.
  const auto first_above = [&](int hp) {
    if (plane.spans(hp)) return plane.wall_above(hp);
    return static_cast<int>(std::find_if(walls.begin(), walls.end(), [&](int w) { return w - 1 >= hp; }) -
                            walls.begin());
  };
  const auto last_below = [&](int hp) {
    if (plane.spans(hp)) return plane.wall_below(hp);
    return static_cast<int>(std::find_if(walls.begin(), walls.end(), [&](int w) { return w + 1 > hp; }) -
                            walls.begin()) -
           1;
  };
  if (ends.up != nullptr) out.from_up = first_above(face(ends.up));
  if (ends.down != nullptr) out.to_down = last_below(face(ends.down));
  return out;
}

/// How the shaft would be held, whatever else is there; false: not so.
bool Filler::plan(int s, Support support, const Load& load, Hold& hold) const {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  const std::vector<int>& walls = problem_.walls.along(shaft.axis);
  const Ends& ends = ends_[static_cast<std::size_t>(s)];
  const int g0 = load.low, g1 = load.high, below = load.below, above = load.above;
  const auto face = [&](const Terminal* t) { return t->face.at(shaft.axis); };
  const Plane& plane = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))];
  const int n_walls = static_cast<int>(walls.size());
  int first = 0, last = -1;  // walls taken
  if (ends.up != nullptr && ends.down != nullptr) {
    if (support != Support::straddled) return false;
    first = load.from_up;
    last = load.to_down;
  } else if (ends.up != nullptr || ends.down != nullptr) {
    const bool up = ends.up != nullptr;
    if (support == Support::straddled) {
      // Every wall from the face to the one beyond the load, those inside the load's hull too.
      if (up ? above == n_walls : below < 0) return false;
      first = up ? load.from_up : below;
      last = up ? above : load.to_down;
    } else {
      // Walls between the face and the far end of the load.
      if (support != (up ? Support::overhung_high : Support::overhung_low)) return false;
      first = up ? load.from_up : plane.wall_above(g0);
      last = up ? plane.wall_below(g1) : load.to_down;
      if (last < first) return false;
    }
  } else if (support == Support::straddled) {
    if (below < 0 || above == n_walls) return false;
    first = below;
    last = above;
  } else {
    // Overhung: the walls between its wheels, and beside them as many as make two.
    const int beside = std::max(0, 2 - (above - below - 1));
    if (support == Support::overhung_high) {
      if (below + 1 < beside) return false;
      first = below + 1 - beside;
      last = above - 1;
    } else {
      if (beside == 0 || n_walls - above < beside) return false;
      first = below + 1;
      last = above - 1 + beside;
    }
  }

  // Core of the axle.
  const int n = std::max(0, last - first + 1);
  int low = g0, high = g1;
  if (n > 0) {
    low = std::min(low, walls[static_cast<std::size_t>(first)] - 1);
    high = std::max(high, walls[static_cast<std::size_t>(last)] + 1);
  }
  hold.solid_low = low;
  hold.solid_high = high;
  if (ends.up != nullptr) {
    hold.solid_low = face(ends.up);
    low = hold.solid_low - ends.up->insert_hp;
  }
  if (ends.down != nullptr) {
    hold.solid_high = face(ends.down);
    high = hold.solid_high + ends.down->insert_hp;
  }
  hold.core_low = low;
  hold.core_high = high;
  // Most fail here: bearings and the axle outside of terminals fit in the box and out of keep-outs, or do not.
  if (!explain_ &&
      !(plane.bearings_fit(shaft.at, first, last) && plane.axle_fits_along(shaft.at, hold.solid_low, hold.solid_high)))
    return false;
  hold.support = support;
  hold.n_bearings = n;
  hold.n_bushes = 0;
  hold.bearing = walls.data() + first;
  hold.first_wall = first;

  // Bushes where nothing of the shaft touches the inner face.
  const auto taken = [&](int slot) {
    for (int i = 0; i < n_on_shaft_[static_cast<std::size_t>(s)]; ++i) {
      const Stand& stand = stand_[on_shaft_[static_cast<std::size_t>(s)][static_cast<std::size_t>(i)]];
      if (stand.low <= slot && slot < stand.high) return true;
    }
    for (std::size_t a = 0; a < attachments_.size(); ++a)
      if (attachment_shaft_[a] == s && overlap(attachments_[a].from_hp, attachments_[a].to_hp, slot, slot + 1))
        return true;
    return false;
  };
  const int bush_hp = problem_.kit.bush_hp;
  const auto bush_in = [&](int slot) {
    for (int i = 0; i < hold.n_bushes; ++i) {
      const int low_hp = hold.bush[static_cast<std::size_t>(i)];
      if (low_hp <= slot && slot < low_hp + bush_hp) return true;
    }
    return false;
  };
  // `slot` at the face; the bush that would fill it begins at `low_hp`.
  const auto stop_at = [&](int slot, int low_hp) {
    if (ends.up != nullptr && low_hp < face(ends.up)) return taken(slot);
    if (ends.down != nullptr && low_hp + bush_hp > face(ends.down)) return taken(slot);
    if (taken(slot) || bush_in(slot)) return true;
    for (int k = low_hp; bush_hp > 1 && k < low_hp + bush_hp; ++k)
      if (taken(k) || bush_in(k)) return false;
    if (bush_hp > 1 &&
        std::any_of(walls.begin(), walls.end(), [&](int w) { return overlap(w - 1, w + 1, low_hp, low_hp + bush_hp); }))
      return false;
    hold.bush[static_cast<std::size_t>(hold.n_bushes++)] = low_hp;
    return true;
  };
  if (!(ends.up != nullptr && ends.down != nullptr)) {
    const int low_face = hold.bearing[0] + 1, high_face = hold.bearing[n - 1] - 1;
    if (ends.up == nullptr && !stop_at(low_face, low_face)) return false;
    if (ends.down == nullptr && !stop_at(high_face - 1, high_face - bush_hp)) return false;
    if (hold.n_bushes == 2 && hold.bush[0] > hold.bush[1]) std::swap(hold.bush[0], hold.bush[1]);
  }

  // Cost: bearings, bushes, wheels that are not held on both sides; then the shortest axle.
  hold.cost = Weights::bearing * n + Weights::part * hold.n_bushes;
  for (int i = 0; i < n_on_shaft_[static_cast<std::size_t>(s)]; ++i) {
    const std::size_t w = on_shaft_[static_cast<std::size_t>(s)][static_cast<std::size_t>(i)];
    const Stand& stand = stand_[w];
    const bool low_held = ends.up != nullptr || hold.bearing[0] + 1 <= stand.from + kSlotSlack;
    const bool high_held = ends.down != nullptr || (n > 0 && hold.bearing[n - 1] - 1 >= stand.to - kSlotSlack);
    if (low_held && high_held) continue;
    hold.cost += first_type_[w] == PairType::bevel || first_type_[w] == PairType::crown ? Weights::overhung_angle
                                                                                        : Weights::overhung;
  }
  const int need = high - low;
  if (need < static_cast<int>(ready_.axle_from.size())) {
    hold.least = hold.cost + ready_.axle_from[static_cast<std::size_t>(std::max(0, need))];
    return true;
  }
  hold.least = hold.cost + Weights::axle_pitch * ((need + 1) / 2);  // fails later, with its name
  return true;
}

/// Whether its bearings and its axle outside of terminals fit in the box and out of keep-outs.
bool Filler::room_for_core(const SketchShaft& shaft, const Hold& hold) const {
  const Plane& plane = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))];
  for (int i = 0; i < hold.n_bearings; ++i)
    if (!plane.bearing_fits(shaft.at, hold.first_wall + i)) return false;
  return plane.axle_fits_along(shaft.at, hold.solid_low, hold.solid_high);
}

/// Box round bearings, bushes and the axle outside of terminals.
Filler::Extent Filler::extent_of(int s, const Hold& hold) const {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  int low = hold.solid_low, high = hold.solid_high;
  if (hold.n_bearings > 0) {
    low = std::min(low, hold.bearing[0] - 1);
    high = std::max(high, hold.bearing[hold.n_bearings - 1] + 1);
  }
  for (int i = 0; i < hold.n_bushes; ++i) {
    low = std::min(low, hold.bush[static_cast<std::size_t>(i)]);
    high = std::max(high, hold.bush[static_cast<std::size_t>(i)] + problem_.kit.bush_hp);
  }
  const double half_hp = std::max({1.0, problem_.kit.bush_radius_mm / h_, problem_.kit.axle_radius_mm / h_});
  return extent_of(shaft.axis, shaft.at, half_hp, low, high);
}

/// Whether what holds the shaft fits in the box and out of keep-outs.
bool Filler::room_for(int s, const Hold& hold) const {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  const Plane& plane = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))];
  if (explain_ && !room_for_core(shaft, hold)) return false;  // without, plan() has asked
  for (int i = 0; i < hold.n_bushes; ++i)
    for (int k = 0; k < problem_.kit.bush_hp; ++k)
      if (!plane.bush_fits(shaft.at, hold.bush[static_cast<std::size_t>(i)] + k)) return false;
  return true;
}

/// Whether sets of slots and words of walls tell where along a line of this axis something stands.
bool Filler::by_slots(Axis axis) const {
  return ground_.plane[static_cast<std::size_t>(lattice::index(axis))].slots() <= Slots::kMost &&
         problem_.walls.along(axis).size() <= 64;
}

const Filler::InWay& Filler::in_way(int s) {
  InWay& out = in_way_[static_cast<std::size_t>(s)];
  if (in_way_known_[static_cast<std::size_t>(s)]) return out;
  in_way_known_[static_cast<std::size_t>(s)] = true;
  out = {};
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  const Axis u = lattice::u_axis(shaft.axis), v = lattice::v_axis(shaft.axis);
  const int first = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))].first_slot();
  const std::vector<int>& walls = problem_.walls.along(shaft.axis);
  const auto beyond = [](int x, int low, int high) { return x < low ? low - x : x > high ? x - high : 0; };
  for (std::size_t b = 0; b < output_bodies_; ++b) {
    const Box3& body = *bodies_[b];
    const int du = beyond(shaft.at.u_hp, body.low.at(u), body.high.at(u)),
              dv = beyond(shaft.at.v_hp, body.low.at(v), body.high.at(v));
    const int hp2 = lattice::squared_hp(du, dv), low = body.low.at(shaft.axis), high = body.high.at(shaft.axis);
    const Slots along = Slots::between(low - first, high - first);
    if (hp2 < axle_near_hp2_) {
      out.stick_out = out.stick_out | along;
      if (body_shaft_[b] != s) out.axle = out.axle | along;
    }
    if (hp2 < bush_near_hp2_) out.bush = out.bush | along;
    // A block reaches one half-pitch either side and may touch.
    if (du > 0 || dv > 0) continue;
    if (shaft.at.u_hp <= body.low.at(u) - 1 || shaft.at.u_hp >= body.high.at(u) + 1 ||
        shaft.at.v_hp <= body.low.at(v) - 1 || shaft.at.v_hp >= body.high.at(v) + 1)
      continue;
    for (std::size_t w = 0; w < walls.size(); ++w)
      if (walls[w] - 1 < high && walls[w] + 1 > low) out.walls |= std::uint64_t{1} << w;
  }
  out.any = out.walls != 0 || (out.axle | out.bush).any();
  return out;
}

/// Whether what holds the shaft keeps clear of the wheels that stand by now and of what stands in every case. What it
/// meets of these it would meet in whatever is placed besides.
bool Filler::clear_of_standing(int s, const Hold& hold) {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  if (!by_slots(shaft.axis)) {
    for (std::size_t b = 0; b < output_bodies_; ++b)
      if (meets_body(s, hold, b)) return false;
  } else if (const InWay& way = in_way(s); way.any) {
    const int first = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))].first_slot();
    if ((way.axle & Slots::between(hold.solid_low - first, hold.solid_high - first)).any()) return false;
    for (int i = 0; i < hold.n_bushes; ++i) {
      const int low = hold.bush[static_cast<std::size_t>(i)] - first;
      if ((way.bush & Slots::between(low, low + problem_.kit.bush_hp)).any()) return false;
    }
    if (hold.n_bearings > 0 && (way.walls >> hold.first_wall & ~std::uint64_t{0} >> (64 - hold.n_bearings)) != 0)
      return false;
  }
  const Round axle{shaft.axis,
                   shaft.at,
                   static_cast<double>(hold.solid_low),
                   static_cast<double>(hold.solid_high),
                   problem_.kit.axle_radius_mm,
                   0};
  const auto bush = [&](int i) {
    const double low = hold.bush[static_cast<std::size_t>(i)];
    return Round{shaft.axis, shaft.at, low, low + problem_.kit.bush_hp, problem_.kit.bush_radius_mm, 0};
  };
  const auto block = [&](int i) { return bearing_block(shaft.axis, shaft.at, hold.bearing[i]); };
  const auto meets = [&](const Round& r) {
    if (clash(axle, r, h_, clear_)) return true;
    for (int i = 0; i < hold.n_bushes; ++i)
      if (clash(bush(i), r, h_, clear_)) return true;
    for (int i = 0; i < hold.n_bearings; ++i)
      if (clash(r, block(i), h_, clear_)) return true;
    return false;
  };
  const Extent mine = extent_of(s, hold);
  for (int w = 0; w < sketch_->n_wheels; ++w) {
    const Stand& stand = stand_[static_cast<std::size_t>(w)];
    if (stand.placed && sketch_->wheels[static_cast<std::size_t>(w)].shaft != s &&
        !mine.apart(stand.extent, apart_hp_) && meets(stand.solid))
      return false;
  }
  for (std::size_t a = 0; a < attachments_.size(); ++a)
    if (attachment_shaft_[a] != s && meets(attachments_[a])) return false;
  return true;
}

/// Whether what holds a shaft meets a terminal's body; its own only with bearings and bushes.
bool Filler::meets_body(int s, const Hold& hold, std::size_t b) const {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  const Box3& body = *bodies_[b];
  const auto along = [&](int low, int high, double radius_mm) {
    return Round{shaft.axis, shaft.at, static_cast<double>(low), static_cast<double>(high), radius_mm, 0};
  };
  if (body_shaft_[b] != s &&
      clash(along(hold.solid_low, hold.solid_high, problem_.kit.axle_radius_mm), body, h_, clear_))
    return true;
  for (int i = 0; i < hold.n_bushes; ++i) {
    const int low = hold.bush[static_cast<std::size_t>(i)];
    if (clash(along(low, low + problem_.kit.bush_hp, problem_.kit.bush_radius_mm), body, h_, clear_)) return true;
  }
  for (int i = 0; i < hold.n_bearings; ++i)
    if (body.overlaps(bearing_block(shaft.axis, shaft.at, hold.bearing[i]))) return true;
  return false;
}

/// `beside_wheels`: clear_of_standing() has been asked since all of them stand.
bool Filler::hold_free(int s, const Hold& hold, bool beside_wheels) {
  if (explain_ && !room_for(s, hold)) return false;
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  const Round axle = axle_of(s);
  // Against wheels and attachments of other shafts.
  const auto meets_round = [&](const Round& r) {
    if (clash(axle, r, h_, clear_)) return true;
    for (int i = 0; i < hold.n_bushes; ++i)
      if (clash(bush_of(s, i), r, h_, clear_)) return true;
    for (int i = 0; i < hold.n_bearings; ++i)
      if (clash(r, bearing_block(shaft.axis, shaft.at, hold.bearing[i]), h_, clear_)) return true;
    return false;
  };
  const Extent mine = extent_of(s, hold);
  for (int w = 0; w < sketch_->n_wheels && !beside_wheels; ++w)
    if (sketch_->wheels[static_cast<std::size_t>(w)].shaft != s &&
        (explain_ || !mine.apart(stand_[static_cast<std::size_t>(w)].extent, apart_hp_)) && meets_round(round_of(w)))
      return false;
  // Without explain_ clear_of_standing() has asked of what stands whatever the input.
  for (std::size_t a = 0; explain_ && a < attachments_.size(); ++a)
    if (attachment_shaft_[a] != s && meets_round(attachments_[a])) return false;
  for (std::size_t b = explain_ ? 0 : output_bodies_; b < bodies_.size(); ++b)
    if (meets_body(s, hold, b)) return false;
  // Against the shafts that are held already.
  for (int x = 0; x < s; ++x) {
    const SketchShaft& theirs = sketch_->shafts[static_cast<std::size_t>(x)];
    const Hold& other = hold_[static_cast<std::size_t>(x)];
    if (!explain_ && mine.apart(extent_of(x, other), apart_hp_)) continue;
    if (meets_round(axle_of(x))) return false;
    for (int i = 0; i < other.n_bushes; ++i)
      if (meets_round(bush_of(x, i))) return false;
    for (int j = 0; j < other.n_bearings; ++j) {
      const Box3 block = bearing_block(theirs.axis, theirs.at, other.bearing[j]);
      if (clash(axle, block, h_, clear_)) return false;
      for (int i = 0; i < hold.n_bushes; ++i)
        if (clash(bush_of(s, i), block, h_, clear_)) return false;
      for (int i = 0; i < hold.n_bearings; ++i)
        if (block.overlaps(bearing_block(shaft.axis, shaft.at, hold.bearing[i]))) return false;
    }
  }
  return true;
}

}  // namespace routing
