#include "routing/standing.h"

#include <algorithm>
#include <array>

#include "routing/fill.h"
#include "routing/right_angle.h"

#include <fmt/format.h>

namespace routing {
namespace {

/// Solids that a place has whatever the train: its ring or its attachments.
std::vector<Round> rounds_at(const Problem& p, const Place& place) {
  if (place.ring >= 0) {
    const Wheel& w = p.kit.wheels[static_cast<std::size_t>(place.ring)];
    return {{place.axis, place.at, static_cast<double>(place.ring_from_hp),
             static_cast<double>(place.ring_from_hp + w.width_hp), w.outer_radius_mm, w.open_radius_mm}};
  }
  std::vector<Round> out;
  for (const Attachment& a : place.attachments)
    out.push_back({place.axis, place.at, static_cast<double>(a.from_hp), static_cast<double>(a.to_hp), a.radius_mm, 0});
  return out;
}

/// Terminals of a shaft there.
class TerminalsAt {
 public:
  explicit TerminalsAt(const Place& place) {
    for (const std::optional<Terminal>* end : {&place.terminal, &place.far_terminal})
      if (place.ring < 0 && *end) ends_[n_++] = &**end;
  }
  [[nodiscard]] const Terminal* const* begin() const { return ends_.data(); }
  [[nodiscard]] const Terminal* const* end() const { return ends_.data() + n_; }

 private:
  std::array<const Terminal*, 2> ends_{};
  std::size_t n_ = 0;
};

}  // namespace

std::optional<Box3> bodies_hull(const Place& place) {
  std::optional<Box3> out;
  for (const Terminal* t : TerminalsAt(place)) {
    for (const Box3& b : t->solids) {
      if (!out) out = b;
      for (const Axis a : lattice::kAxes) {
        out->low.set(a, std::min(out->low.at(a), b.low.at(a)));
        out->high.set(a, std::max(out->high.at(a), b.high.at(a)));
      }
    }
  }
  return out;
}

bool stands_there(const Problem& p, const Place& place) {
  const double h = p.kit.half_pitch_mm(), clear = p.kit.clearance_mm;
  const std::vector<Round> rounds = rounds_at(p, place);
  for (std::size_t i = 0; i < rounds.size(); ++i) {
    const Round& r = rounds[i];
    if (!hull(r, h).inside(p.box)) return false;
    for (const int wall : p.walls.along(r.axis))
      if (overlap(r.from_hp, r.to_hp, wall - 1, wall + 1)) return false;
    for (const Box3& k : p.keep_outs)
      if (clash(r, k, h, clear)) return false;
    for (std::size_t j = 0; j < i; ++j)
      if (overlap(r.from_hp, r.to_hp, rounds[j].from_hp, rounds[j].to_hp)) return false;
  }
  for (const Terminal* t : TerminalsAt(place)) {
    for (const Box3& body : t->solids) {
      for (const Box3& k : p.keep_outs)
        if (k.overlaps(body)) return false;
      for (const Round& r : rounds)
        if (clash(r, body, h, clear)) return false;
    }
  }
  return true;
}

int blocked_output(const Problem& p) {
  for (std::size_t o = 0; o < p.outputs.size(); ++o) {
    const std::vector<Place>& places = p.outputs[o].places;
    if (!places.empty() &&
        std::none_of(places.begin(), places.end(), [&](const Place& place) { return stands_there(p, place); }))
      return static_cast<int>(o);
  }
  return -1;
}

std::string blocked_text(const Problem& p, int output) {
  const std::string& name = p.outputs.at(static_cast<std::size_t>(output)).name;
  return fmt::format("{} has no room where it must be: it meets a wall or a keep-out there, or leaves the box",
                     name.empty() ? "the output" : fmt::format("\"{}\"", name));
}

bool Router::Ready::clear_input(int place, const LineInputs& line, std::size_t number) const {
  const Problem& p = problem;
  std::atomic<std::uint8_t>& known = line.clear[static_cast<std::size_t>(place) * line.inputs.size() + number];
  if (const std::uint8_t was = known.load(std::memory_order_relaxed); was != 0) return was == 1;
  const double h = p.kit.half_pitch_mm(), clear = p.kit.clearance_mm;
  const Place& at = p.outputs.front().places[static_cast<std::size_t>(place)];
  const Input& in = line.inputs[number];
  const std::vector<Round> rounds = rounds_at(p, at);
  const TerminalsAt ends(at);
  const auto free = [&](const Box3& body) {
    return std::none_of(p.keep_outs.begin(), p.keep_outs.end(), [&](const Box3& k) { return k.overlaps(body); }) &&
           std::none_of(rounds.begin(), rounds.end(), [&](const Round& r) { return clash(r, body, h, clear); }) &&
           std::none_of(ends.begin(), ends.end(), [&](const Terminal* t) {
             return std::any_of(t->solids.begin(), t->solids.end(), [&](const Box3& b) { return b.overlaps(body); });
           });
  };
  const bool yes = std::all_of(in.motors.begin(), in.motors.end(),
                               [&](const Terminal& t) { return std::all_of(t.solids.begin(), t.solids.end(), free); });
  known.store(yes ? 1 : 2, std::memory_order_relaxed);
  return yes;
}

Slots Router::Ready::free_slots(int place, int cls, Axis axis, Cross at) const {
  const Plane& on = plane(axis);
  Slots out = on.wheel_slots(cls, at);
  if (problem.outputs.size() > 1 || on.slots() > Slots::kMost) return out;
  const Wheel& wheel = problem.kit.wheels[static_cast<std::size_t>(cls)];
  const std::optional<Box3>& all = body_hull[static_cast<std::size_t>(place)];
  if (!all || !clash({axis, at, static_cast<double>(all->low.at(axis)), static_cast<double>(all->high.at(axis)),
                      wheel.outer_radius_mm, 0},
                     *all, ground.half_pitch_mm, problem.kit.clearance_mm))
    return out;
  for (const Terminal* t : TerminalsAt(problem.outputs.front().places[static_cast<std::size_t>(place)])) {
    for (const Box3& body : t->solids) {
      const int low = body.low.at(axis), high = body.high.at(axis);
      const Round along{
          axis, at, static_cast<double>(low), static_cast<double>(high), wheel.outer_radius_mm, wheel.open_radius_mm};
      if (low >= high || !clash(along, body, ground.half_pitch_mm, problem.kit.clearance_mm)) continue;
      for (int s = low - wheel.width_hp + 1; s < high; ++s) out.remove(s - on.first_slot());
    }
  }
  return out;
}

bool Router::Ready::stands_clear(int place, const Wheel& wheel, Axis axis, Cross at,
                                 std::pair<double, double> along) const {
  if (!stands_alone(problem, wheel, axis, at, along)) return false;
  if (problem.outputs.size() > 1) return true;
  Round solid{axis, at, along.first, along.second, wheel.outer_radius_mm, 0};
  const std::optional<Box3>& all = body_hull[static_cast<std::size_t>(place)];
  if (!all || !clash(solid, *all, ground.half_pitch_mm, problem.kit.clearance_mm)) return true;
  solid.open_mm = wheel.open_radius_mm;
  for (const Terminal* t : TerminalsAt(problem.outputs.front().places[static_cast<std::size_t>(place)]))
    for (const Box3& body : t->solids)
      if (clash(solid, body, ground.half_pitch_mm, problem.kit.clearance_mm)) return false;
  return true;
}

bool Router::Ready::has_side(int place, PairType type, const Wheel& wheel, const Wheel& other, Axis axis, Cross at,
                             int meet) const {
  return stands_clear(place, wheel, axis, at, right_angle_interval(problem.kit, type, wheel, other, meet, 1)) ||
         (type != PairType::worm &&
          stands_clear(place, wheel, axis, at, right_angle_interval(problem.kit, type, wheel, other, meet, -1)));
}

bool Router::Ready::beyond_motor(int place, const Pair& q, Axis axis, Cross at, int meet) const {
  const Wheel& driver = problem.kit.wheels[static_cast<std::size_t>(q.driver)];
  const Wheel& driven = problem.kit.wheels[static_cast<std::size_t>(q.driven)];
  for (const int side : {1, -1}) {
    const auto along = right_angle_interval(problem.kit, q.type, driver, driven, meet, side);
    const int low = slot_floor(along.first), high = slot_ceil(along.second);
    const InputLine& line = *inputs_at(axis, at);
    if (!line.paired) {
      if ((low >= line.lowest_up || high <= line.highest_down) && stands_clear(place, driver, axis, at, along))
        return true;
      continue;
    }
    if (!stands_clear(place, driver, axis, at, along)) continue;
    for (const Input& in : inputs_of(line).inputs) {
      const bool beyond = std::all_of(in.motors.begin(), in.motors.end(), [&](const Terminal& t) {
        return t.direction > 0 ? low >= t.face.at(axis) : high <= t.face.at(axis);
      });
      if (beyond) return true;
    }
  }
  return false;
}

}  // namespace routing
