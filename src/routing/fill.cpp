// Order of decisions: every wheel's slots, mesh by mesh; then, in holding.cpp, which input and how each shaft is held;
// then, in axles.cpp, which axle and where. Each step is checked against everything already standing; the cost so far
// plus the least the rest can cost cuts.
#include "routing/fill.h"

#include <algorithm>
#include <bit>
#include <climits>

#include "routing/right_angle.h"

#include <fmt/format.h>

namespace routing {
namespace {

void grow(Box3& box, const Box3& b) {
  for (const Axis a : lattice::kAxes) {
    box.low.set(a, std::min(box.low.at(a), b.low.at(a)));
    box.high.set(a, std::max(box.high.at(a), b.high.at(a)));
  }
}

}  // namespace

Filler::Filler(const Router::Ready& ready, bool explain)
    : ready_(ready),
      problem_(ready.problem),
      ground_(ready.ground),
      h_(problem_.kit.half_pitch_mm()),
      clear_(problem_.kit.clearance_mm),
      apart_hp_(clear_ / h_ + kSlotSlack),
      explain_(explain),
      may_(kMostWheels, Slots::all()) {
  axle_used_.resize(problem_.kit.axles.size());
  axle_near_hp2_ = least_squared_hp(problem_.kit.axle_radius_mm + clear_, h_);
  bush_near_hp2_ = least_squared_hp(problem_.kit.bush_radius_mm + clear_, h_);
}

/// What of a wheel's solid does not go with its slots.
void Filler::begin_stand(int w) {
  const SketchWheel& s = sketch_->wheels[static_cast<std::size_t>(w)];
  const Wheel& wheel = problem_.kit.wheels[static_cast<std::size_t>(s.cls)];
  Stand& stand = stand_[static_cast<std::size_t>(w)];
  stand.placed = false;
  Round& r = stand.solid;
  if (s.shaft >= 0) {
    r.axis = sketch_->shafts[static_cast<std::size_t>(s.shaft)].axis;
    r.at = sketch_->shafts[static_cast<std::size_t>(s.shaft)].at;
  } else {
    const Place& place = problem_.outputs[static_cast<std::size_t>(s.output)]
                             .places[static_cast<std::size_t>(sketch_->place[static_cast<std::size_t>(s.output)])];
    r.axis = place.axis;
    r.at = place.at;
  }
  r.radius_mm = wheel.outer_radius_mm;
  r.open_mm = wheel.open_radius_mm;
  if (!explain_) stand.extent = extent_of(r.axis, r.at, r.radius_mm / h_, 0, 0);
}

void Filler::stand_at(int w, double from, double to) {
  Stand& stand = stand_[static_cast<std::size_t>(w)];
  stand.from = stand.solid.from_hp = from;
  stand.to = stand.solid.to_hp = to;
  stand.low = slot_floor(from);
  stand.high = slot_ceil(to);
  stand.placed = true;
  const auto along = static_cast<std::size_t>(lattice::index(stand.solid.axis));
  stand.extent.low[along] = from;
  stand.extent.high[along] = to;
}

Filler::Extent Filler::extent_of(Axis axis, Cross at, double half_across_hp, double from_hp, double to_hp) {
  Extent out;
  const auto u = static_cast<std::size_t>(lattice::index(lattice::u_axis(axis))),
             v = static_cast<std::size_t>(lattice::index(lattice::v_axis(axis))),
             a = static_cast<std::size_t>(lattice::index(axis));
  out.low[u] = at.u_hp - half_across_hp;
  out.high[u] = at.u_hp + half_across_hp;
  out.low[v] = at.v_hp - half_across_hp;
  out.high[v] = at.v_hp + half_across_hp;
  out.low[a] = from_hp;
  out.high[a] = to_hp;
  return out;
}

/// Slots of the sketch's wheels that their meshes leave open; false: a wheel has none.
bool Filler::narrow(const Slots* may_start) {
  std::copy(may_start, may_start + sketch_->n_wheels, may_.begin());
  for (int m = sketch_->n_meshes - 1; m >= 0; --m) {
    const SketchMesh& mesh = sketch_->meshes[static_cast<std::size_t>(m)];
    const Pair& pair = problem_.kit.pairs[static_cast<std::size_t>(mesh.pair)];
    if (!parallel(pair.type)) continue;
    // The narrower stands within the wider.
    const int wider = problem_.kit.wheels[static_cast<std::size_t>(pair.driver)].width_hp -
                      problem_.kit.wheels[static_cast<std::size_t>(pair.driven)].width_hp;
    Slots &driver = may_[static_cast<std::size_t>(mesh.driver)], &driven = may_[static_cast<std::size_t>(mesh.driven)];
    const Axis axis =
        sketch_->shafts[static_cast<std::size_t>(sketch_->wheels[static_cast<std::size_t>(mesh.driver)].shaft)].axis;
    if (ground_.plane[static_cast<std::size_t>(lattice::index(axis))].slots() > Slots::kMost) continue;
    driven = driven & driver.spread(std::min(0, wider), std::max(0, wider));
    if (!driver.any() || !driven.any()) return false;
  }
  return true;
}

/// What stands in every case, and what each shaft carries.
void Filler::set_up(const Sketch& sketch) {
  sketch_ = &sketch;
  attachments_.clear();
  attachment_shaft_.clear();
  bodies_.clear();
  body_shaft_.clear();
  ++sketch_number_;
  outputs_apart_.reset();
  for (int s = 0; s < sketch.n_shafts; ++s) {
    n_on_shaft_[static_cast<std::size_t>(s)] = 0;
    in_way_known_[static_cast<std::size_t>(s)] = false;
  }
  for (int w = 0; w < sketch.n_wheels; ++w) {
    begin_stand(w);
    meshes_with_[static_cast<std::size_t>(w)] = 0;
    const int s = sketch.wheels[static_cast<std::size_t>(w)].shaft;
    if (s >= 0)
      on_shaft_[static_cast<std::size_t>(s)][static_cast<std::size_t>(n_on_shaft_[static_cast<std::size_t>(s)]++)] =
          static_cast<std::uint8_t>(w);
  }
  for (int s = 0; s < sketch.n_shafts; ++s) {
    Ends& ends = ends_[static_cast<std::size_t>(s)];
    ends = {};
    const SketchShaft& shaft = sketch.shafts[static_cast<std::size_t>(s)];
    if (shaft.output < 0) continue;
    const Place& place = problem_.outputs[static_cast<std::size_t>(shaft.output)]
                             .places[static_cast<std::size_t>(sketch.place[static_cast<std::size_t>(shaft.output)])];
    for (const Attachment& a : place.attachments) {
      attachments_.push_back(
          {shaft.axis, shaft.at, static_cast<double>(a.from_hp), static_cast<double>(a.to_hp), a.radius_mm, 0});
      attachment_shaft_.push_back(s);
    }
    for (const std::optional<Terminal>* end : {&place.terminal, &place.far_terminal}) {
      if (!*end) continue;
      const Terminal& t = **end;
      (t.direction > 0 ? ends.up : ends.down) = &t;
      for (const Box3& b : t.solids) {
        bodies_.push_back(&b);
        body_shaft_.push_back(s);
      }
    }
  }
  output_bodies_ = bodies_.size();
  for (std::size_t b = 0; b < bodies_.size(); ++b) {
    if (b == 0) output_hull_ = *bodies_[b];
    grow(output_hull_, *bodies_[b]);
  }
}

bool Filler::holds_output(int place, int wheel, double from, double to) {
  const Place& at = problem_.outputs.front().places[static_cast<std::size_t>(place)];
  alone_.n_shafts = alone_.n_wheels = alone_.n_outputs = 1;
  alone_.shafts.front() = {at.axis, at.at, 0};
  alone_.wheels.front() = {wheel, 0, -1};
  alone_.place.front() = place;
  alone_.input_shaft = -1;
  set_up(alone_);
  first_type_.front() = PairType::spur;  // what the wheel's hold costs is not asked
  stand_at(0, from, to);
  return wheel_free(0) && some_way(0);
}

std::uint64_t Filler::holding_inputs(const Router::Ready::LineInputs& line, Axis axis, Cross at, int wheel, double from,
                                     double to) {
  alone_.n_shafts = alone_.n_wheels = 1;
  alone_.n_outputs = 0;
  alone_.shafts.front() = {axis, at, -1};
  alone_.wheels.front() = {wheel, 0, -1};
  alone_.input_shaft = 0;
  set_up(alone_);
  line_inputs_ = &line;
  inputs_ = &line.inputs;
  first_type_.front() = PairType::spur;
  stand_at(0, from, to);
  return holding_inputs();
}

bool Filler::fill(const Sketch& sketch, const Router::Ready::LineInputs& inputs, std::int64_t only_below, Aim aim,
                  Layout* out, const Slots* may_start) {
  sketch_ = &sketch;
  found_ = false;
  obstacle_ = Obstacle::slots;
  const bool narrowed = !explain_ && may_start != nullptr;
  if (narrowed) {
    if (!narrow(may_start)) return false;
  } else {
    std::fill(may_.begin(), may_.begin() + sketch.n_wheels, Slots::all());
  }
  set_up(sketch);
  line_inputs_ = &inputs;
  inputs_ = &inputs.inputs;
  out_ = out;
  best_ = only_below;
  if (input_apart_.size() < inputs_->size()) input_apart_.resize(inputs_->size());
  alive_ = ~std::uint64_t{0};
  for (int w = 0; w < sketch.n_wheels; ++w) {
    near_known_[static_cast<std::size_t>(w)] = false;
    const int s = sketch.wheels[static_cast<std::size_t>(w)].shaft;
    bodies_cut_[static_cast<std::size_t>(w)] =
        narrowed && s >= 0 &&
        ground_.plane[static_cast<std::size_t>(lattice::index(sketch.shafts[static_cast<std::size_t>(s)].axis))]
                .slots() <= Slots::kMost;
  }
  blame_a_ = blame_b_ = deepest_ = -1;
  std::fill(axle_used_.begin(), axle_used_.end(), 0);
  for (int m = sketch.n_meshes - 1; m >= 0; --m) {
    const SketchMesh& mesh = sketch.meshes[static_cast<std::size_t>(m)];
    const PairType type = problem_.kit.pairs[static_cast<std::size_t>(mesh.pair)].type;
    first_type_[static_cast<std::size_t>(mesh.driver)] = first_type_[static_cast<std::size_t>(mesh.driven)] = type;
    // Where wheels of these stand does not go by slots.
    if (!parallel(type))
      bodies_cut_[static_cast<std::size_t>(mesh.driver)] = bodies_cut_[static_cast<std::size_t>(mesh.driven)] = false;
  }
  base_cost_ = 0;
  for (int m = 0; m < sketch.n_meshes; ++m) {
    const SketchMesh& mesh = sketch.meshes[static_cast<std::size_t>(m)];
    meshes_with_[static_cast<std::size_t>(mesh.driver)] |= std::uint64_t{1} << static_cast<unsigned>(mesh.driven);
    meshes_with_[static_cast<std::size_t>(mesh.driven)] |= std::uint64_t{1} << static_cast<unsigned>(mesh.driver);
    base_cost_ += Weights::misfit_um * mesh.misfit_um;
  }
  base_cost_ += Weights::part * sketch.n_shafts;  // their axles
  for (int w = 0; w < sketch.n_wheels; ++w) {
    const SketchWheel& s = sketch.wheels[static_cast<std::size_t>(w)];
    if (s.shaft >= 0) {
      base_cost_ += Weights::part;
      continue;
    }
    const Place& place = problem_.outputs[static_cast<std::size_t>(s.output)]
                             .places[static_cast<std::size_t>(sketch.place[static_cast<std::size_t>(s.output)])];
    stand_at(w, place.ring_from_hp, place.ring_from_hp + problem_.kit.wheels[static_cast<std::size_t>(s.cls)].width_hp);
  }
  // Across their shafts the wheels' size is known before their slots.
  std::array<int, 3> low{INT_MAX, INT_MAX, INT_MAX}, high{INT_MIN, INT_MIN, INT_MIN};
  for (int w = 0; w < sketch.n_wheels; ++w) {
    const SketchWheel& s = sketch.wheels[static_cast<std::size_t>(w)];
    if (s.shaft < 0) continue;
    const SketchShaft& shaft = sketch.shafts[static_cast<std::size_t>(s.shaft)];
    const int r = static_cast<int>(
        std::ceil(problem_.kit.wheels[static_cast<std::size_t>(s.cls)].outer_radius_mm / h_ - kSlotSlack));
    const auto widen = [&](Axis axis, int at) {
      const auto i = static_cast<std::size_t>(lattice::index(axis));
      low[i] = std::min(low[i], at - r);
      high[i] = std::max(high[i], at + r);
    };
    widen(lattice::u_axis(shaft.axis), shaft.at.u_hp);
    widen(lattice::v_axis(shaft.axis), shaft.at.v_hp);
  }
  envelope_least_ = 0;
  for (std::size_t i = 0; i < 3; ++i)
    if (low[i] < high[i]) envelope_least_ += Weights::envelope_hp * (high[i] - low[i]);
  // What stands by itself must stand clear of itself: attachments and rings in the box and apart.
  for (std::size_t i = 0; i < attachments_.size(); ++i) {
    if (!hull(attachments_[i], h_).inside(problem_.box)) return false;
    for (const int w : problem_.walls.along(attachments_[i].axis))
      if (overlap(attachments_[i].from_hp, attachments_[i].to_hp, w - 1, w + 1)) return false;
    for (const Box3& k : problem_.keep_outs)
      if (clash(attachments_[i], k, h_, clear_)) return false;
    for (std::size_t j = 0; j < i; ++j) {
      if (attachment_shaft_[i] == attachment_shaft_[j]) {
        if (overlap(attachments_[i].from_hp, attachments_[i].to_hp, attachments_[j].from_hp, attachments_[j].to_hp))
          return false;
      } else if (clash(attachments_[i], attachments_[j], h_, clear_)) {
        return false;
      }
    }
  }
  for (int w = 0; w < sketch.n_wheels; ++w) {
    if (sketch.wheels[static_cast<std::size_t>(w)].shaft >= 0) continue;
    const Round& ring = round_of(w);
    if (!hull(ring, h_).inside(problem_.box) || !wheel_free(w)) return false;
    for (const int wall : problem_.walls.along(ring.axis))
      if (overlap(ring.from_hp, ring.to_hp, wall - 1, wall + 1)) return false;
    for (const Box3& k : problem_.keep_outs)
      if (clash(ring, k, h_, clear_)) return false;
  }
  any_ = aim == Aim::any || only_below <= base_cost_ + envelope_least_;  // nothing cheaper can come: one is enough
  if (any_ && aim == Aim::better) return false;
  bounded_ = aim == Aim::better;
  one_way_ = any_ && !explain_;
  // Right-angle meshes first: their wheels have at most two places each.
  int placed = 0;
  for (const bool angles : {true, false})
    for (int m = 0; m < sketch.n_meshes; ++m)
      if (parallel(
              problem_.kit.pairs[static_cast<std::size_t>(sketch.meshes[static_cast<std::size_t>(m)].pair)].type) !=
          angles)
        order_[static_cast<std::size_t>(placed++)] = static_cast<std::uint8_t>(m);
  // A shaft is planned as soon as its last wheel stands; the input's waits for its motor.
  std::int64_t least = base_cost_ + envelope_least_;
  for (int x = 0; x < sketch.n_shafts; ++x) {
    int after = -1;
    for (int m = 0; m < sketch.n_meshes; ++m) {
      const SketchMesh& mesh = sketch.meshes[order_[static_cast<std::size_t>(m)]];
      if (sketch.wheels[static_cast<std::size_t>(mesh.driver)].shaft == x ||
          sketch.wheels[static_cast<std::size_t>(mesh.driven)].shaft == x)
        after = m;
    }
    complete_after_[static_cast<std::size_t>(x)] = x == sketch.input_shaft ? INT_MAX : after;
    if (x == sketch.input_shaft) input_after_ = after;
    const Ends& ends = ends_[static_cast<std::size_t>(x)];
    const bool free = x != sketch.input_shaft && ends.up == nullptr && ends.down == nullptr;
    least_of_[static_cast<std::size_t>(x)] = unplanned_least_[static_cast<std::size_t>(x)] =
        free ? 2 * Weights::bearing + ready_.spanning_axle[static_cast<std::size_t>(
                                          lattice::index(sketch.shafts[static_cast<std::size_t>(x)].axis))]
             : ready_.shortest_axle;
    least += least_of_[static_cast<std::size_t>(x)];
    if (after < 0 && x != sketch.input_shaft && !plan_all_ways(x)) return false;
  }
  assign(0, least);
  return found_;
}

/// Against everything that stands: other wheels, attachments; box and keep-outs where the bits do not tell.
bool Filler::wheel_free(int w) const {
  const SketchWheel& me = sketch_->wheels[static_cast<std::size_t>(w)];
  const Stand& stand = stand_[static_cast<std::size_t>(w)];
  const Round& solid = round_of(w);
  for (int x = 0; x < sketch_->n_wheels; ++x) {
    if (x == w || !stand_[static_cast<std::size_t>(x)].placed) continue;
    const SketchWheel& other = sketch_->wheels[static_cast<std::size_t>(x)];
    const Stand& theirs = stand_[static_cast<std::size_t>(x)];
    if (me.shaft >= 0 && other.shaft == me.shaft) {
      if (overlap(stand.from, stand.to, theirs.from, theirs.to)) return false;
      continue;
    }
    if ((meshes_with_[static_cast<std::size_t>(w)] >> static_cast<unsigned>(x) & 1U) != 0) continue;
    if (me.shaft >= 0 && other.shaft >= 0) {
      const SketchShaft& a = sketch_->shafts[static_cast<std::size_t>(me.shaft)];
      const SketchShaft& b = sketch_->shafts[static_cast<std::size_t>(other.shaft)];
      if (a.axis == b.axis) {
        if (overlap(stand.from, stand.to, theirs.from, theirs.to) &&
            lattice::squared_hp(a.at.u_hp - b.at.u_hp, a.at.v_hp - b.at.v_hp) < ground_.apart(me.cls, other.cls))
          return false;
        continue;
      }
    }
    if (clash(solid, round_of(x), h_, clear_)) return false;
  }
  for (std::size_t i = 0; i < attachments_.size(); ++i) {
    if (me.shaft >= 0 && attachment_shaft_[i] == me.shaft) {
      if (overlap(stand.from, stand.to, attachments_[i].from_hp, attachments_[i].to_hp)) return false;
    } else if (clash(solid, attachments_[i], h_, clear_)) {
      return false;
    }
  }
  return true;
}

bool Filler::place(int w, double from, double to) {
  stand_at(w, from, to);
  stand_[static_cast<std::size_t>(w)].alive_before = alive_;
  if (wheel_free(w) && (explain_ || leaves_input(w))) return true;
  unplace(w);
  return false;
}

void Filler::unplace(int w) {
  stand_[static_cast<std::size_t>(w)].placed = false;
  alive_ = stand_[static_cast<std::size_t>(w)].alive_before;
}

/// Those of the inputs that can hold their shaft, all of whose wheels stand, if nothing else did.
std::uint64_t Filler::holding_inputs() {
  const int s = sketch_->input_shaft;
  const Ends own = ends_[static_cast<std::size_t>(s)];
  const Span load = load_of(s);
  Ends planned;
  bool held = false, any_planned = false;
  std::uint64_t holding = 0;
  const std::uint64_t facing = may_face(load);
  for (std::size_t k = 0; k < inputs_->size(); ++k) {
    const Input& input = (*inputs_)[k];
    if ((k < 64 && (facing >> k & 1U) == 0) || !before_load(input, load) || !seat(input, own)) continue;
    const Ends& ends = ends_[static_cast<std::size_t>(s)];
    if (!any_planned || !alike(planned, ends)) {
      held = false;
      Hold hold;
      const Load among = load_among_walls(s, load);
      for (const Support support : {Support::straddled, Support::overhung_low, Support::overhung_high})
        held = held || (among.faced && plan(s, support, among, hold) && room_for(s, hold));
      planned = ends;
      any_planned = true;
    }
    if (held) holding |= std::uint64_t{1} << k;
  }
  ends_[static_cast<std::size_t>(s)] = own;
  return holding;
}

/// Whether the wheel keeps clear of the outputs' bodies and leaves an input whose bodies keep clear of it; those that
/// do not are no longer alive.
bool Filler::leaves_input(int w) {
  const Round& solid = round_of(w);
  if (!bodies_cut_[static_cast<std::size_t>(w)] && output_bodies_ > 0 && clash(solid, output_hull_, h_, clear_)) {
    for (std::size_t b = 0; b < output_bodies_; ++b)
      if (clash(solid, *bodies_[b], h_, clear_)) return false;
  }
  const std::size_t n = inputs_->size();
  if (n > 64) return true;
  const auto input = [&](std::size_t k) -> const Input& { return (*inputs_)[k]; };
  std::uint64_t& near = near_input_[static_cast<std::size_t>(w)];
  if (!near_known_[static_cast<std::size_t>(w)]) {
    // Without its slots the wheel is taken as long as the box.
    near_known_[static_cast<std::size_t>(w)] = true;
    near = 0;
    Round anywhere = solid;
    anywhere.from_hp = std::min(problem_.box.low.at(solid.axis), static_cast<int>(solid.from_hp) - 1);
    anywhere.to_hp = std::max(problem_.box.high.at(solid.axis), static_cast<int>(solid.to_hp) + 1);
    const bool far = !line_inputs_->hull || !clash(anywhere, *line_inputs_->hull, h_, clear_);
    for (std::size_t k = 0; k < n && !far; ++k) {
      for (const Terminal& t : input(k).motors)
        for (const Box3& b : t.solids)
          if (clash(anywhere, b, h_, clear_)) near |= std::uint64_t{1} << k;
    }
  }
  const bool on_input = sketch_->wheels[static_cast<std::size_t>(w)].shaft == sketch_->input_shaft;
  const Stand& stand = stand_[static_cast<std::size_t>(w)];
  std::uint64_t left = alive_ & (n == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << n) - 1);
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(sketch_->input_shaft)];
  // Wheels of right-angle meshes stand between slots and in two places only.
  const bool alone = on_input && n_on_shaft_[static_cast<std::size_t>(sketch_->input_shaft)] == 1 &&
                     parallel(first_type_[static_cast<std::size_t>(w)]);
  const Router::Ready::LineInputs::Holding* const known =
      alone && shaft.output < 0
          ? line_inputs_->holding->known(static_cast<std::size_t>(
                problem_.kit.wheels[static_cast<std::size_t>(sketch_->wheels[static_cast<std::size_t>(w)].cls)]
                    .width_hp))
          : nullptr;
  if (known != nullptr) {
    const Plane& plane = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))];
    left &= known->at[static_cast<std::size_t>(stand.low - plane.first_slot())];
  }
  if (on_input && known == nullptr) {
    const Span load{stand.low, stand.high};
    left &= may_face(load);
    for (std::uint64_t rest = left; rest != 0; rest &= rest - 1) {
      const auto k = static_cast<std::size_t>(std::countr_zero(rest));
      if (!before_load(input(k), load)) left &= ~(std::uint64_t{1} << k);
    }
  }
  for (std::uint64_t rest = left & near; rest != 0; rest &= rest - 1) {
    const auto k = static_cast<std::size_t>(std::countr_zero(rest));
    bool clear = true;
    for (const Terminal& t : input(k).motors)
      for (const Box3& b : t.solids) clear = clear && !clash(solid, b, h_, clear_);
    if (!clear) left &= ~(std::uint64_t{1} << k);
  }
  if (alone && known == nullptr && left != 0) left &= holding_inputs();
  alive_ = left;
  return left != 0;
}

/// Returns true when the search may stop.
bool Filler::assign(int m, std::int64_t least) {
  ++steps_;
  // Shafts whose last wheel the mesh before has placed: can they be held, and what does it cost?
  // Those towards the input carry more, so they fail more often.
  for (int x = m > 0 ? sketch_->n_shafts - 1 : -1; x >= 0; --x) {
    if (complete_after_[static_cast<std::size_t>(x)] != m - 1) continue;
    // A way that costs too much beside the rest comes to nothing.
    const bool held =
        one_way_ ? some_way(x)
                 : plan_all_ways(x, found_ || bounded_ ? best_ - (least - unplanned_least_[static_cast<std::size_t>(x)])
                                                       : INT64_MAX);
    if (!held) {
      if (obstacle_ == Obstacle::slots && m == sketch_->n_meshes) obstacle_ = Obstacle::bearings;
      return false;
    }
    least += least_of_[static_cast<std::size_t>(x)] - unplanned_least_[static_cast<std::size_t>(x)];
    if (!explain_ && (found_ || bounded_) && least >= best_) return false;
  }
  if ((found_ || bounded_) && least >= best_) return false;
  if (m == sketch_->n_meshes) return hold_all();
  // Without a motor that can hold its shaft, the other wheels need not be placed.
  if (!explain_ && m > 0 && m == input_after_ + 1 && !input_held()) return false;
  const SketchMesh& mesh = sketch_->meshes[order_[static_cast<std::size_t>(m)]];
  const Pair& pair = problem_.kit.pairs[static_cast<std::size_t>(mesh.pair)];
  if (m > deepest_) {
    deepest_ = m;
    blame_a_ = pair.driver;
    blame_b_ = pair.driven;
  }
  if (!parallel(pair.type)) return place_right_angle(m, least);
  int first = mesh.driven, second = mesh.driver;
  if (!stand_[static_cast<std::size_t>(first)].placed && stand_[static_cast<std::size_t>(second)].placed)
    std::swap(first, second);
  const SketchWheel& a = sketch_->wheels[static_cast<std::size_t>(first)];
  const SketchWheel& b = sketch_->wheels[static_cast<std::size_t>(second)];
  const Wheel& wa = problem_.kit.wheels[static_cast<std::size_t>(a.cls)];
  const Wheel& wb = problem_.kit.wheels[static_cast<std::size_t>(b.cls)];
  const SketchShaft& sb = sketch_->shafts[static_cast<std::size_t>(b.shaft)];
  const Plane& plane = ground_.plane[static_cast<std::size_t>(lattice::index(sb.axis))];

  const auto partner = [&](int at) {
    // The narrower stands within the wider.
    const int low = at + std::min(0, wa.width_hp - wb.width_hp), high = at + std::max(0, wa.width_hp - wb.width_hp);
    for (int s = low; s <= high; ++s) {
      if (!may_[static_cast<std::size_t>(second)].has(s - plane.first_slot()) || !plane.wheel_fits(b.cls, sb.at, s) ||
          !place(second, s, s + wb.width_hp))
        continue;
      const bool stop = assign(m + 1, least);
      unplace(second);
      if (stop) return true;
    }
    return false;
  };
  const Stand &at_first = stand_[static_cast<std::size_t>(first)],
              &at_second = stand_[static_cast<std::size_t>(second)];
  // A branch may close on a wheel that stands: then the two agree or they do not.
  if (at_first.placed && at_second.placed) {
    const bool in_first = at_second.from >= at_first.from && at_second.to <= at_first.to;
    const bool in_second = at_first.from >= at_second.from && at_first.to <= at_second.to;
    return (in_first || in_second) && assign(m + 1, least);
  }
  if (at_first.placed) {
    return partner(static_cast<int>(std::lround(stand_[static_cast<std::size_t>(first)].from)));
  }
  const SketchShaft& sa = sketch_->shafts[static_cast<std::size_t>(a.shaft)];
  const int end = plane.first_slot() + plane.slots();
  for (int s = plane.first_slot(); s < end; ++s) {
    if (!may_[static_cast<std::size_t>(first)].has(s - plane.first_slot()) || !plane.wheel_fits(a.cls, sa.at, s) ||
        !place(first, s, s + wa.width_hp))
      continue;
    // A shaft that nothing else comes on need not wait for the partner.
    const bool whole = !explain_ && complete_after_[static_cast<std::size_t>(a.shaft)] == m && all_placed(a.shaft);
    const bool stop = !(whole && !some_way(a.shaft)) && partner(s);
    unplace(first);
    if (stop) return true;
  }
  return false;
}

bool Filler::place_right_angle(int m, std::int64_t least) {
  const SketchMesh& mesh = sketch_->meshes[order_[static_cast<std::size_t>(m)]];
  const Pair& pair = problem_.kit.pairs[static_cast<std::size_t>(mesh.pair)];
  const SketchWheel& a = sketch_->wheels[static_cast<std::size_t>(mesh.driver)];
  const SketchWheel& b = sketch_->wheels[static_cast<std::size_t>(mesh.driven)];
  const Wheel& wa = problem_.kit.wheels[static_cast<std::size_t>(a.cls)];
  const Wheel& wb = problem_.kit.wheels[static_cast<std::size_t>(b.cls)];
  const SketchShaft& sa = sketch_->shafts[static_cast<std::size_t>(a.shaft)];
  const SketchShaft& sb = sketch_->shafts[static_cast<std::size_t>(b.shaft)];
  // Where each shaft is met by the other, along itself.
  const auto met = [](const SketchShaft& s, const SketchShaft& by) {
    return s.axis == lattice::u_axis(by.axis) ? by.at.u_hp : by.at.v_hp;
  };
  const int xa = met(sa, sb), xb = met(sb, sa);

  const auto interval = [&](const Wheel& wheel, const Wheel& other, int meet, int side) {
    return right_angle_interval(problem_.kit, pair.type, wheel, other, meet, side);
  };
  const auto stands = [&](int w, const Wheel& wheel, const SketchShaft& shaft, std::pair<double, double> at) {
    return stands_alone(problem_, wheel, shaft.axis, shaft.at, at) && place(w, at.first, at.second);
  };
  const bool worm = pair.type == PairType::worm;
  for (const int side_a : {1, -1}) {
    if (worm && side_a < 0) break;
    if (!stands(mesh.driver, wa, sa, interval(wa, wb, xa, side_a))) continue;
    for (const int side_b : {1, -1}) {
      if (worm && side_b < 0) break;
      if (!stands(mesh.driven, wb, sb, interval(wb, wa, xb, side_b))) continue;
      const bool stop = assign(m + 1, least);
      unplace(mesh.driven);
      if (stop) return true;
    }
    unplace(mesh.driver);
  }
  return false;
}

void Filler::write(Layout& out, std::int64_t cost) const {
  const Sketch& k = *sketch_;
  out = {};
  out.input = input_;
  out.cost = cost;
  for (int o = 0; o < k.n_outputs; ++o) out.place.push_back(k.place[static_cast<std::size_t>(o)]);
  // From the input outwards: output 0's meshes were laid back to front, and so were each branch's.
  std::vector<int> shaft_of(static_cast<std::size_t>(k.n_shafts), -1),
      wheel_of(static_cast<std::size_t>(k.n_wheels), -1);
  const auto put_shaft = [&](int s) {
    if (s < 0) return -1;
    int& mine = shaft_of[static_cast<std::size_t>(s)];
    if (mine >= 0) return mine;
    mine = static_cast<int>(out.shafts.size());
    const SketchShaft& shaft = k.shafts[static_cast<std::size_t>(s)];
    const Hold& hold = hold_[static_cast<std::size_t>(s)];
    const Ends& ends = ends_[static_cast<std::size_t>(s)];
    PlacedShaft p;
    p.axis = shaft.axis;
    p.at = shaft.at;
    p.axle = hold.axle;
    p.from_hp = hold.from;
    p.to_hp = hold.to;
    p.bearings_hp.assign(hold.bearing, hold.bearing + hold.n_bearings);
    p.bushes_hp.assign(hold.bush.begin(), hold.bush.begin() + hold.n_bushes);
    p.support = hold.support;
    p.output = shaft.output;
    p.input = s == k.input_shaft;
    p.motors = (ends.up != nullptr ? 1 : 0) + (ends.down != nullptr ? 1 : 0);
    out.shafts.push_back(std::move(p));
    return mine;
  };
  const auto put_wheel = [&](int w) {
    int& mine = wheel_of[static_cast<std::size_t>(w)];
    if (mine >= 0) return mine;
    mine = static_cast<int>(out.wheels.size());
    const SketchWheel& wheel = k.wheels[static_cast<std::size_t>(w)];
    const Round& solid = round_of(w);
    PlacedWheel p{wheel.cls, -1, solid.axis, solid.at, solid.from_hp, solid.to_hp, false};
    if (wheel.shaft >= 0) {
      p.shaft = put_shaft(wheel.shaft);
      const Hold& hold = hold_[static_cast<std::size_t>(wheel.shaft)];
      const Ends& ends = ends_[static_cast<std::size_t>(wheel.shaft)];
      const int n = hold.n_bearings;
      const bool low = ends.up != nullptr || (n > 0 && hold.bearing[0] + 1 <= p.from_hp + kSlotSlack);
      const bool high =
          ends.down != nullptr || (n > 0 && hold.bearing[static_cast<std::size_t>(n - 1)] - 1 >= p.to_hp - kSlotSlack);
      p.overhung = !low || !high;
    }
    out.wheels.push_back(p);
    return mine;
  };
  put_shaft(k.input_shaft);
  // Each output's meshes are contiguous in the sketch, output to input; a branch starts where a mesh's driven wheel
  // belongs to an output.
  std::vector<std::pair<int, int>> runs;
  for (int m = 0; m < k.n_meshes; ++m) {
    const SketchWheel& driven = k.wheels[static_cast<std::size_t>(k.meshes[static_cast<std::size_t>(m)].driven)];
    const bool starts = driven.shaft < 0 ||
                        (k.shafts[static_cast<std::size_t>(driven.shaft)].output >= 0 && driven.shaft != k.input_shaft);
    if (starts) runs.emplace_back(m, m);
    runs.back().second = m + 1;
  }
  for (const auto& [from, to] : runs) {
    for (int m = to - 1; m >= from; --m) {
      const SketchMesh& mesh = k.meshes[static_cast<std::size_t>(m)];
      const int driver = put_wheel(mesh.driver), driven = put_wheel(mesh.driven);
      out.meshes.push_back({mesh.pair, driver, driven, mesh.misfit_um});
    }
  }
}

}  // namespace routing
