#include "structure/remedies.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/check.h"

namespace structure {
namespace {

bool is_free(const Boom& boom, const BoomBeam& beam, int station) {
  const std::vector<int> taken = taken_holes(boom, beam);
  return beam.from_p <= station && station <= beam.to_p && !std::binary_search(taken.begin(), taken.end(), station);
}

/// Judges variants and keeps the best.
class Trial {
 public:
  Trial(RemedyKind kind, const BoomReport& before, const BoomLoad& load, Gauge gauge)
      : before_(before), load_(load), gauge_(gauge) {
    best_.kind = kind;
  }
  /// A variant with a fault is no variant; its fault is the reason if none is possible.
  void offer(const Boom& boom, const std::string& what, const PartsAdded& added) {
    if (const auto wrong = fault(boom)) {
      reason_ = *wrong;
      return;
    }
    BoomReport after = judge(boom, load_, gauge_);
    ++best_.tried;
    const bool better = !best_.possible || (best_.after.mechanism && !after.mechanism) ||
                        (!after.mechanism && after.at(gauge_).total < best_.after.at(gauge_).total);
    if (!better) return;
    best_.possible = true;
    best_.what = what;
    best_.boom = boom;
    best_.after = std::move(after);
    best_.added = added;
  }
  [[nodiscard]] Remedy result(const std::string& otherwise) {
    if (!best_.possible) {
      best_.what = reason_.empty() ? otherwise : otherwise + ": " + reason_;
      return best_;
    }
    best_.after = judge(best_.boom, load_);
    const auto cut = [&](Gauge g) {
      const double was = before_.at(g).total;
      if (before_.mechanism || best_.after.mechanism || was == 0) return 0.0;
      return 1 - best_.after.at(g).total / was;
    };
    best_.sag_cut = cut(Gauge::sag);
    best_.sway_cut = cut(Gauge::sway);
    best_.roll_cut = cut(Gauge::roll);
    return best_;
  }

 private:
  const BoomReport& before_;
  const BoomLoad& load_;
  Gauge gauge_;
  Remedy best_;
  std::string reason_;
};

std::string between(int from, int to) {
  return std::to_string(from) + "-" + std::to_string(to);
}

Remedy double_the_beam(const Boom& boom, const BoomReport& before, const BoomLoad& load, const RemedyOptions& o) {
  Trial trial(RemedyKind::double_the_beam, before, load, o.judged_by);
  for (const BoomBeam& beam : boom.beams) {
    for (const int step : {1, -1}) {
      Boom changed = boom;
      const BoomBeam twin{beam.from_p, beam.to_p, beam.plane + step};
      changed.beams.push_back(twin);
      PartsAdded added;
      added.beams_holes.assign(static_cast<std::size_t>(boom.sides), beam.to_p - beam.from_p + 1);
      for (int s = beam.from_p; s <= beam.to_p; ++s) {
        const bool wanted = s == beam.from_p || s == beam.to_p || (s - beam.from_p) % std::max(1, o.pin_every_p) == 0;
        if (!wanted || !is_free(boom, beam, s)) continue;  // where an axle passes, it joins them already
        changed.pins.push_back({s, std::min(beam.plane, twin.plane)});
        added.pins += boom.sides;
      }
      trial.offer(changed,
                  "beam " + between(beam.from_p, beam.to_p) + " doubled in plane " + std::to_string(twin.plane), added);
    }
  }
  return trial.result("no beam has room beside it");
}

Remedy close_the_box(const Boom& boom, const BoomReport& before, const BoomLoad& load, const RemedyOptions& o) {
  Trial trial(RemedyKind::close_the_box, before, load, o.judged_by);
  if (boom.sides == 1) return trial.result("a boom of one side has no box to close");
  Boom changed = boom;
  int level = 1, next = 1;
  for (int s = 1; s + 1 <= boom.length_p; ++s) {
    if (s < next) continue;
    const auto beam = innermost(changed, s, s + 1);
    if (!beam || !is_free(changed, *beam, s) || !is_free(changed, *beam, s + 1)) continue;
    changed.ties.push_back({s, level});
    level = -level;
    next = s + std::max(2, o.tie_every_p);
  }
  const int ties = static_cast<int>(changed.ties.size() - boom.ties.size());
  if (ties == 0) return trial.result("nowhere two free holes in a row for a tie");
  PartsAdded added;
  const int holes = static_cast<int>(std::lround(2 * boom.inner_p)) + 1;
  added.beams_holes.assign(static_cast<std::size_t>(ties), holes);
  added.brackets = 2 * ties;
  added.pins = 4 * ties;
  trial.offer(changed, std::to_string(ties) + " cross beams on brackets, alternately above and below", added);
  return trial.result("the ties do not fit");
}

Remedy move_the_actuator(const Boom& boom, const BoomReport& before, const BoomLoad& load, const RemedyOptions& o) {
  Trial trial(RemedyKind::move_the_actuator, before, load, o.judged_by);
  const int last = o.actuator_to_p > 0 ? o.actuator_to_p : boom.length_p - 1;
  for (int s = std::max(1, o.actuator_from_p); s <= last; ++s) {
    if (s == boom.actuator.at_p) continue;
    Boom changed = boom;
    changed.actuator.at_p = s;
    trial.offer(changed, "actuator moved from hole " + std::to_string(boom.actuator.at_p) + " to " + std::to_string(s),
                {});
  }
  return trial.result("no other hole is free for the actuator");
}

Remedy add_a_pin(const Boom& boom, const BoomReport& before, const BoomLoad& load, const RemedyOptions& o) {
  Trial trial(RemedyKind::add_a_pin, before, load, o.judged_by);
  for (const BoomBeam& beam : boom.beams) {
    for (const BoomBeam& other : boom.beams) {
      if (other.plane != beam.plane + 1) continue;
      for (int s = std::max(beam.from_p, other.from_p); s <= std::min(beam.to_p, other.to_p); ++s) {
        if (!is_free(boom, beam, s) || !is_free(boom, other, s)) continue;
        Boom changed = boom;
        changed.pins.push_back({s, beam.plane});
        PartsAdded added;
        added.pins = boom.sides;
        trial.offer(changed,
                    "pin added at hole " + std::to_string(s) + " between planes " + between(beam.plane, other.plane),
                    added);
      }
    }
  }
  // A cross axle is the pin between the two sides.
  for (int s = 1; boom.sides == 2 && s < boom.length_p; ++s) {
    bool free = false, taken = false;
    for (const BoomBeam& beam : boom.beams) {
      if (beam.from_p > s || s > beam.to_p) continue;
      (is_free(boom, beam, s) ? free : taken) = true;
    }
    if (!free || taken) continue;
    Boom changed = boom;
    changed.axles.push_back({s});
    PartsAdded added;
    added.axles = 1;
    trial.offer(changed, "cross axle added at hole " + std::to_string(s), added);
  }
  return trial.result("no two beams share a free hole");
}

}  // namespace

std::string_view name_of(RemedyKind kind) {
  switch (kind) {
    case RemedyKind::double_the_beam:
      return "double the beam";
    case RemedyKind::close_the_box:
      return "close the box";
    case RemedyKind::move_the_actuator:
      return "move the actuator";
    case RemedyKind::add_a_pin:
      return "add a pin";
  }
  return "";
}

double Remedy::cut(Gauge gauge) const {
  return gauge == Gauge::sag ? sag_cut : gauge == Gauge::sway ? sway_cut : roll_cut;
}

Remedies try_remedies(const Boom& boom, const BoomLoad& load, const RemedyOptions& options) {
  Remedies out;
  out.before = judge(boom, load);
  out.remedies = {double_the_beam(boom, out.before, load, options), close_the_box(boom, out.before, load, options),
                  move_the_actuator(boom, out.before, load, options), add_a_pin(boom, out.before, load, options)};
  return out;
}

}  // namespace structure
