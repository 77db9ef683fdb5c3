// The last part of a filling: with every shaft held, which axle it gets and where that lies.
#include <algorithm>
#include <climits>

#include "routing/fill.h"

namespace routing {
namespace {

std::int64_t envelope_cost(const Box3& b) {
  return Weights::envelope_hp * ((b.high.x_hp - b.low.x_hp) + (b.high.y_hp - b.low.y_hp) + (b.high.z_hp - b.low.z_hp));
}

/// Grows a box so that it holds another.
void grow(Box3& box, const Box3& b) {
  box.low.x_hp = std::min(box.low.x_hp, b.low.x_hp);
  box.low.y_hp = std::min(box.low.y_hp, b.low.y_hp);
  box.low.z_hp = std::min(box.low.z_hp, b.low.z_hp);
  box.high.x_hp = std::max(box.high.x_hp, b.high.x_hp);
  box.high.y_hp = std::max(box.high.y_hp, b.high.y_hp);
  box.high.z_hp = std::max(box.high.z_hp, b.high.z_hp);
}

}  // namespace

/// Whether a solid on one shaft keeps clear of the axles, joiners, bushes and bearings of the others; those from
/// `settled` on stand with their cores.
bool Filler::clear_of_others(int s, int settled, const Round& solid) const {
  for (int x = 0; x < sketch_->n_shafts; ++x) {
    if (x == s) continue;
    const SketchShaft& theirs = sketch_->shafts[static_cast<std::size_t>(x)];
    const Hold& other = hold_[static_cast<std::size_t>(x)];
    if (clash(solid, x < settled ? whole_axle_of(x) : axle_of(x), h_, clear_)) return false;
    if (x < settled && other.joined && clash(solid, joiner_of(x), h_, clear_)) return false;
    for (int i = 0; i < other.n_bushes; ++i)
      if (clash(solid, bush_of(x, i), h_, clear_)) return false;
    for (int j = 0; j < other.n_bearings; ++j)
      if (clash(solid, bearing_block(theirs.axis, theirs.at, other.bearing[j]), h_, clear_)) return false;
  }
  return true;
}

/// A piece of an axle beyond its core, against everything of other shafts; those from `settled` on stand with their
/// cores.
bool Filler::stick_out_free(int s, int settled, int low, int high) {
  const SketchShaft& shaft = sketch_->shafts[static_cast<std::size_t>(s)];
  const Plane& plane = ground_.plane[static_cast<std::size_t>(lattice::index(shaft.axis))];
  const bool masked = by_slots(shaft.axis);
  for (int k = low; k < high; ++k)
    if (!plane.axle_fits(shaft.at, k)) return false;
  for (const int w : problem_.walls.along(shaft.axis))
    if (w - 1 < high && low < w + 1) return false;
  const Round piece{
      shaft.axis, shaft.at, static_cast<double>(low), static_cast<double>(high), problem_.kit.axle_radius_mm, 0};
  for (int w = 0; w < sketch_->n_wheels; ++w)
    if (sketch_->wheels[static_cast<std::size_t>(w)].shaft != s && clash(piece, round_of(w), h_, clear_)) return false;
  for (std::size_t a = 0; a < attachments_.size(); ++a)
    if (attachment_shaft_[a] != s && clash(piece, attachments_[a], h_, clear_)) return false;
  if (masked && (in_way(s).stick_out & Slots::between(low - plane.first_slot(), high - plane.first_slot())).any())
    return false;
  for (std::size_t b = masked ? output_bodies_ : 0; b < bodies_.size(); ++b)
    if (clash(piece, *bodies_[b], h_, clear_)) return false;
  return clear_of_others(s, settled, piece);
}

/// The joiner of a shaft: on a bare piece of it, out of walls, and clear of everything else; later shafts stand with
/// their cores.
bool Filler::joiner_free(int s, const Round& joiner) const {
  const Hold& hold = hold_[static_cast<std::size_t>(s)];
  const Ends& ends = ends_[static_cast<std::size_t>(s)];
  if (!hull(joiner, h_).inside(problem_.box)) return false;
  if ((ends.up != nullptr && joiner.from_hp < hold.solid_low) ||
      (ends.down != nullptr && joiner.to_hp > hold.solid_high))
    return false;
  for (const int w : problem_.walls.along(joiner.axis))
    if (overlap(joiner.from_hp, joiner.to_hp, w - 1, w + 1)) return false;
  for (int i = 0; i < hold.n_bushes; ++i) {
    const Round bush = bush_of(s, i);
    if (overlap(joiner.from_hp, joiner.to_hp, bush.from_hp, bush.to_hp)) return false;
  }
  for (const Box3& k : problem_.keep_outs)
    if (clash(joiner, k, h_, clear_)) return false;
  for (const Box3* b : bodies_)
    if (clash(joiner, *b, h_, clear_)) return false;
  const auto meets = [&](const Round& r, bool own) {
    return own ? overlap(joiner.from_hp, joiner.to_hp, r.from_hp, r.to_hp) : clash(joiner, r, h_, clear_);
  };
  for (int w = 0; w < sketch_->n_wheels; ++w)
    if (meets(round_of(w), sketch_->wheels[static_cast<std::size_t>(w)].shaft == s)) return false;
  for (std::size_t a = 0; a < attachments_.size(); ++a)
    if (meets(attachments_[a], attachment_shaft_[a] == s)) return false;
  return clear_of_others(s, s, joiner);
}

/// Whether the stock still has what an axle is made of.
bool Filler::axle_left(const AxleStock& axle, std::size_t number) const {
  const Kit& kit = problem_.kit;
  const auto serves = [&](std::size_t a, int more) {
    return (axle_used_[a] + more) * kit.copies <= kit.axles[a].count;
  };
  if (!axle.joined()) return serves(number, 1);
  const auto low = static_cast<std::size_t>(axle.low_part), high = static_cast<std::size_t>(axle.high_part);
  return (joiners_used_ + 1) * kit.copies <= kit.joiners &&
         (low == high ? serves(low, 2) : serves(low, 1) && serves(high, 1));
}

void Filler::use_axle(const AxleStock& axle, std::size_t number, int pieces) {
  if (!axle.joined()) {
    axle_used_[number] += pieces;
    return;
  }
  axle_used_[static_cast<std::size_t>(axle.low_part)] += pieces;
  axle_used_[static_cast<std::size_t>(axle.high_part)] += pieces;
  joiners_used_ += pieces;
}

/// Whether an axle from one place to another keeps clear beyond its core.
bool Filler::ends_free(int s, int settled, int from, int to, StickOut& out) {
  const Hold& hold = hold_[static_cast<std::size_t>(s)];
  if (from <= out.low_taken || to >= out.high_taken) return false;
  if (from < out.low_free) {
    if (!stick_out_free(s, settled, from, hold.core_low)) {
      out.low_taken = from;
      return false;
    }
    out.low_free = from;
  }
  if (to > out.high_free) {
    if (!stick_out_free(s, settled, hold.core_high, to)) {
      out.high_taken = to;
      return false;
    }
    out.high_free = to;
  }
  return true;
}

/// Where an axle of this length may begin; upside down: nowhere.
Filler::Span Filler::begins(int s, int length) const {
  const Hold& hold = hold_[static_cast<std::size_t>(s)];
  const Ends& ends = ends_[static_cast<std::size_t>(s)];
  const int spare = length - (hold.core_high - hold.core_low);
  Span out{hold.core_low - spare, hold.core_low};
  if (ends.up != nullptr) out.low = out.high;                                      // its low end is fixed
  if (ends.down != nullptr) out.high = std::min(out.high, hold.core_low - spare);  // its high end is
  return out;
}

/// Whether an axle is too long to begin behind the one slot that is taken and to end before the other.
bool Filler::sticks_out_too_far(int length, const StickOut& out) {
  return out.low_taken != INT_MIN && out.high_taken != INT_MAX && length > out.high_taken - out.low_taken - 2;
}

/// What each shaft's axle costs at least where the others stand with their cores, which is less than they will take;
/// false: one has none. Most fillings that fail here do so for a single shaft, whatever the others get.
bool Filler::axles_at_least() {
  for (int s = 0; s < sketch_->n_shafts; ++s) {
    const Hold& hold = hold_[static_cast<std::size_t>(s)];
    StickOut& out = beside_cores_[static_cast<std::size_t>(s)];
    // Nothing sticks out of an end that a terminal holds.
    const Ends& ends = ends_[static_cast<std::size_t>(s)];
    out = {hold.core_low, ends.up != nullptr ? hold.core_low - 1 : INT_MIN, hold.core_high,
           ends.down != nullptr ? hold.core_high + 1 : INT_MAX};
    std::int64_t& least = least_axle_[static_cast<std::size_t>(s)];
    least = INT64_MAX;
    for (const auto& [first, last] : ready_.axles_of(hold.core_high - hold.core_low)) {
      for (std::size_t a = first; a < last; ++a) {
        const AxleStock& axle = problem_.kit.axles[a];
        const int length = 2 * axle.length_p;
        if (sticks_out_too_far(length, out)) break;  // and so do all that follow
        if (axle_cost(axle) >= least || !axle_left(axle, a)) continue;
        const Span may = begins(s, length);
        for (int from = may.high; from >= may.low && least > axle_cost(axle); --from)
          if (ends_free(s, 0, from, from + length, out)) least = axle_cost(axle);
      }
    }
    if (least == INT64_MAX) return false;
  }
  return true;
}

bool Filler::choose_axle(int s, std::int64_t cost, const Box3& envelope) {
  if (s == sketch_->n_shafts) return finish(cost, envelope);
  // What the later shafts' axles cost at least.
  std::int64_t rest = 0;
  for (int x = s + 1; x < sketch_->n_shafts; ++x) rest += least_axle_[static_cast<std::size_t>(x)];
  Hold& hold = hold_[static_cast<std::size_t>(s)];
  const Ends& ends = ends_[static_cast<std::size_t>(s)];
  const Axis axis = sketch_->shafts[static_cast<std::size_t>(s)].axis;
  // What sticks out at an end is free as far as some slot, whatever the axle's length, and no further than beside the
  // others' cores.
  StickOut out = beside_cores_[static_cast<std::size_t>(s)];
  out.low_free = hold.core_low;
  out.high_free = hold.core_high;
  for (const auto& [first, last] : ready_.axles_of(hold.core_high - hold.core_low)) {
    for (std::size_t a = first; a < last; ++a) {
      const AxleStock& axle = problem_.kit.axles[a];
      const int length = 2 * axle.length_p;
      if (sticks_out_too_far(length, out)) break;  // and so do all that follow
      const std::int64_t with = cost + axle_cost(axle);
      const bool bounded = found_ || bounded_;
      if (bounded && with + rest + envelope_cost(envelope) >= best_) {
        if (axle.joined()) break;  // longer ones cost more; joined ones stand behind the single ones
        continue;
      }
      if (!axle_left(axle, a)) continue;
      Span may = begins(s, length);
      if (bounded) {
        // Further out the envelope alone costs too much.
        const std::int64_t spare = best_ - 1 - with - rest - envelope_cost(envelope);
        const auto reach = static_cast<int>(std::min<std::int64_t>(spare / Weights::envelope_hp, 1'000'000));
        if (ends.up == nullptr) may.low = std::max(may.low, envelope.low.at(axis) - reach);
        if (ends.down == nullptr) may.high = std::min(may.high, envelope.high.at(axis) + reach - length);
      }
      if (out.high_taken != INT_MAX) may.high = std::min(may.high, out.high_taken - 1 - length);
      for (int from = may.high; from >= may.low && from > out.low_taken; --from) {
        Box3 box = envelope;
        if (ends.up == nullptr) box.low.set(axis, std::min(box.low.at(axis), from));
        if (ends.down == nullptr) box.high.set(axis, std::max(box.high.at(axis), from + length));
        if ((found_ || bounded_) && with + rest + envelope_cost(box) >= best_) continue;
        if (!ends_free(s, s, from, from + length, out)) continue;
        hold.axle = static_cast<int>(a);
        hold.from = from;
        hold.to = from + length;
        hold.joined = axle.joined();
        if (hold.joined) {
          hold.joint = from + 2 * problem_.kit.axles[static_cast<std::size_t>(axle.low_part)].length_p;
          const Round joiner = joiner_of(s);
          if (!joiner_free(s, joiner)) continue;
          grow(box, hull(joiner, h_));
        }
        use_axle(axle, a, 1);
        const bool stop = choose_axle(s + 1, with, box);
        use_axle(axle, a, -1);
        if (stop) return true;
      }
    }
  }
  return false;
}

/// Everything outside the terminals, axles without what sticks out.
Box3 Filler::core_envelope() const {
  Box3 box = hull(axle_of(0), h_);
  for (int w = 0; w < sketch_->n_wheels; ++w) grow(box, hull(round_of(w), h_));
  for (const Round& a : attachments_) grow(box, hull(a, h_));
  for (int s = 0; s < sketch_->n_shafts; ++s) {
    const Hold& hold = hold_[static_cast<std::size_t>(s)];
    grow(box, hull(axle_of(s), h_));
    for (int i = 0; i < hold.n_bushes; ++i) grow(box, hull(bush_of(s, i), h_));
    for (int i = 0; i < hold.n_bearings; ++i)
      grow(box, bearing_block(sketch_->shafts[static_cast<std::size_t>(s)].axis,
                              sketch_->shafts[static_cast<std::size_t>(s)].at, hold.bearing[i]));
  }
  return box;
}

bool Filler::finish(std::int64_t cost, const Box3& envelope) {
  cost += envelope_cost(envelope);
  found_ = true;
  if (cost < best_) {
    best_ = cost;
    if (out_ != nullptr) {
      write(*out_, cost);
      out_->envelope = envelope;
    }
  }
  return any_;
}

}  // namespace routing
