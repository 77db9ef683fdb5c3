// What the rules "Bearings", "Bushes" and "Axles" ask of one shaft.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "routing/checker_parts.h"

namespace routing {
namespace {

/// The slots a wall takes.
Span slots(int wall_hp) {
  return {wall_hp - 1.0, wall_hp + 1.0};
}

/// Walls wholly within [from, to].
std::vector<int> walls_within(const std::vector<int>& walls, int from_hp, int to_hp) {
  std::vector<int> found;
  for (int w : walls) {
    if (w - 1 >= from_hp && w + 1 <= to_hp) found.push_back(w);
  }
  return found;
}

Holding refused(std::string why) {
  Holding h;
  h.fault = std::move(why);
  return h;
}

/// Puts a bush at a bearing's inner face and on from there, up or down the shaft, unless something of the shaft touches
/// the face. Without room for it the holding gets a fault.
void stop_sliding(Holding& h, const std::vector<int>& walls, const ShaftLoad& load, int face_hp, bool up, int bush_hp) {
  const auto beside = [&](int length_hp) {
    return up ? Span{face_hp + 0.0, face_hp + length_hp + 0.0} : Span{face_hp - length_hp + 0.0, face_hp + 0.0};
  };
  const auto something_in = [&](Span span) {
    return std::any_of(load.items.begin(), load.items.end(), [&](const Span& i) { return overlaps(i, span); }) ||
           std::any_of(h.bushes_hp.begin(), h.bushes_hp.end(), [&](int b) {
             return overlaps({b + 0.0, b + bush_hp + 0.0}, span);
           });
  };
  if (something_in(beside(1))) return;
  const Span bush = beside(bush_hp);
  if (something_in(bush) || std::any_of(walls.begin(), walls.end(), [&](int w) { return overlaps(slots(w), bush); })) {
    h.fault = fmt::format("bushes: no room for {} hp {} the bearing's face at {} hp", bush_hp, up ? "above" : "below",
                          face_hp);
    return;
  }
  h.bushes_hp.push_back(static_cast<int>(bush.from_hp));
}

Holding hold_in_walls(const std::vector<int>& walls, int bush_hp, const ShaftLoad& load, Support support, int g0,
                      int g1) {
  std::vector<int> below, above;  // nearest first
  for (int w : walls) {
    if (w + 1 <= g0) below.insert(below.begin(), w);
    if (w - 1 >= g1) above.push_back(w);
  }
  int low = g0, high = g1;
  // Overhung: the walls within the load hold it too.
  const std::size_t inside = walls_within(walls, g0, g1).size(), beside = inside < 2 ? 2 - inside : 0;
  if (support == Support::straddled) {
    if (below.empty() || above.empty())
      return refused(fmt::format("bearings: no wall {} the load {}..{} hp", below.empty() ? "below" : "above", g0, g1));
    low = below[0] - 1;
    high = above[0] + 1;
  } else if (support == Support::overhung_high) {
    if (below.size() < beside)
      return refused(fmt::format("bearings: {} walls below and {} within the load {}..{} hp, two are needed",
                                 below.size(), inside, g0, g1));
    if (beside > 0) low = below[beside - 1] - 1;
  } else {
    if (beside == 0) return refused("bearings: a shaft that its walls within the load hold is written overhung_high");
    if (above.size() < beside)
      return refused(fmt::format("bearings: {} walls above and {} within the load {}..{} hp, two are needed",
                                 above.size(), inside, g0, g1));
    high = above[beside - 1] + 1;
  }
  Holding h;
  h.bearings_hp = walls_within(walls, low, high);
  stop_sliding(h, walls, load, h.bearings_hp.front() + 1, true, bush_hp);
  if (h.fault.empty()) stop_sliding(h, walls, load, h.bearings_hp.back() - 1, false, bush_hp);
  std::sort(h.bushes_hp.begin(), h.bushes_hp.end());
  h.reach_from_hp = low;
  h.reach_to_hp = high;
  return h;
}

Holding hold_by_terminal(const std::vector<int>& walls, int bush_hp, const ShaftLoad& load, Support support, int g0,
                         int g1) {
  const Terminal& t = *load.terminals[0];
  const int face = t.face.at(load.axis);
  const bool up = t.direction > 0;
  if (up ? g0 < face : g1 > face)
    return refused(fmt::format("bearings: the load {}..{} hp is not wholly beyond the face of the terminal at {} hp",
                               g0, g1, face));
  if (support == (up ? Support::overhung_low : Support::overhung_high))
    return refused("bearings: a shaft that a terminal holds overhangs away from it only");
  int low = up ? face : g0, high = up ? g1 : face;
  if (support == Support::straddled) {
    std::vector<int> beyond = up ? walls_within(walls, g1, 1 << 20) : walls_within(walls, -(1 << 20), g0);
    if (beyond.empty()) return refused(fmt::format("bearings: no wall beyond the load {}..{} hp", g0, g1));
    (up ? high : low) = up ? beyond.front() + 1 : beyond.back() - 1;
  } else if (walls_within(walls, low, high).empty()) {
    return refused(fmt::format(
        "bearings: no wall between the terminal's face at {} hp and the far end of the load {}..{} hp", face, g0, g1));
  }
  Holding h;
  h.bearings_hp = walls_within(walls, low, high);
  const int far = up ? h.bearings_hp.back() : h.bearings_hp.front();
  stop_sliding(h, walls, load, up ? far - 1 : far + 1, !up, bush_hp);
  if (!h.bushes_hp.empty() && (up ? h.bushes_hp[0] < face : h.bushes_hp[0] + bush_hp > face))
    return refused(fmt::format("bushes: no free slot between the face at {} hp and the bearing at {} hp", face, far));
  h.reach_from_hp = up ? face - t.insert_hp : low;
  h.reach_to_hp = up ? high : face + t.insert_hp;
  (up ? h.low_end_fixed : h.high_end_fixed) = true;
  return h;
}

Holding hold_between_terminals(const std::vector<int>& walls, const ShaftLoad& load, Support support, int g0, int g1) {
  const Terminal *a = load.terminals[0], *b = load.terminals[1];
  if (a->direction < 0) std::swap(a, b);
  const int low = a->face.at(load.axis), high = b->face.at(load.axis);
  if (a->direction <= 0 || b->direction >= 0 || low >= high)
    return refused(fmt::format("bearings: the terminals at {} and {} hp do not face each other", low, high));
  if (!load.items.empty() && (g0 < low || g1 > high))
    return refused(
        fmt::format("bearings: the load {}..{} hp is not between the faces at {} and {} hp", g0, g1, low, high));
  if (support != Support::straddled) return refused("bearings: between two terminals a shaft is straddled");
  Holding h;
  h.bearings_hp = walls_within(walls, low, high);
  h.reach_from_hp = low - a->insert_hp;
  h.reach_to_hp = high + b->insert_hp;
  h.low_end_fixed = h.high_end_fixed = true;
  return h;
}

}  // namespace

Holding holding(const Problem& problem, const ShaftLoad& load, Support support) {
  const std::vector<int>& walls = problem.walls.along(load.axis);
  for (const Span& item : load.items) {
    for (int w : walls) {
      if (overlaps(item, slots(w)))
        return refused(fmt::format("walls: {:.3g}..{:.3g} hp along {} is in the wall at {} hp", item.from_hp,
                                   item.to_hp, lattice::letter(load.axis), w));
    }
  }
  if (load.terminals.size() > 2)
    return refused(fmt::format("bearings: {} terminals on one shaft", load.terminals.size()));
  // A bare shaft carries its load at the terminal's face.
  int g0 = load.terminals.empty() ? 0 : load.terminals[0]->face.at(load.axis), g1 = g0;
  if (!load.items.empty()) {
    double low = load.items[0].from_hp, high = load.items[0].to_hp;
    for (const Span& i : load.items) {
      low = std::min(low, i.from_hp);
      high = std::max(high, i.to_hp);
    }
    g0 = static_cast<int>(std::floor(low + kTouchHp));
    g1 = static_cast<int>(std::ceil(high - kTouchHp));
  } else if (load.terminals.empty()) {
    return refused("bearings: a shaft that carries nothing");
  }
  switch (load.terminals.size()) {
    case 0:
      return hold_in_walls(walls, problem.kit.bush_hp, load, support, g0, g1);
    case 1:
      return hold_by_terminal(walls, problem.kit.bush_hp, load, support, g0, g1);
    default:
      return hold_between_terminals(walls, load, support, g0, g1);
  }
}

std::string axle_fault(const Problem& problem, Axis axis, const Holding& held, int from_hp, int to_hp) {
  if (held.low_end_fixed ? from_hp != held.reach_from_hp : from_hp > held.reach_from_hp)
    return fmt::format("axle: begins at {} hp, {} {} hp", from_hp,
                       held.low_end_fixed ? "its terminal wants" : "it must reach down to", held.reach_from_hp);
  if (held.high_end_fixed ? to_hp != held.reach_to_hp : to_hp < held.reach_to_hp)
    return fmt::format("axle: ends at {} hp, {} {} hp", to_hp,
                       held.high_end_fixed ? "its terminal wants" : "it must reach up to", held.reach_to_hp);
  for (int w : problem.walls.along(axis)) {
    if (std::find(held.bearings_hp.begin(), held.bearings_hp.end(), w) != held.bearings_hp.end()) continue;
    if (overlaps({from_hp + 0.0, held.reach_from_hp + 0.0}, slots(w)) ||
        overlaps({held.reach_to_hp + 0.0, to_hp + 0.0}, slots(w)))
      return fmt::format("axle: {}..{} hp sticks out into the wall at {} hp", from_hp, to_hp, w);
  }
  return {};
}

bool beyond_walls(const Problem& problem, Axis axis, Span wheel) {
  const std::vector<int>& walls = problem.walls.along(axis);
  if (problem.wheels_outside || walls.empty()) return false;
  return wheel.from_hp < walls.front() - kTouchHp || wheel.to_hp > walls.back() + kTouchHp;
}

bool held_on_both_sides(const ShaftLoad& load, const std::vector<int>& bearings_hp, Span item) {
  bool low = false, high = false;
  for (int w : bearings_hp) {
    low = low || w + 1 <= item.from_hp + kTouchHp;
    high = high || w - 1 >= item.to_hp - kTouchHp;
  }
  for (const Terminal* t : load.terminals) {
    const int face = t->face.at(load.axis);
    low = low || (t->direction > 0 && face <= item.from_hp + kTouchHp);
    high = high || (t->direction < 0 && face >= item.to_hp - kTouchHp);
  }
  return low && high;
}

}  // namespace routing
