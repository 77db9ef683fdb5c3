#include "handset/plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "base/text.h"
#include "candidate/running.h"
#include "handset/travel.h"

namespace handset {
namespace {

using Type = Control::Type;
using base::plain;

// Ramps, common practice, no source: a slewing load swings, a machine on tracks rocks, the rest only jerks.
constexpr double kSlewRamp_s = 0.8, kDriveRamp_s = 0.5, kRamp_s = 0.3;
/// Faster than this against what was asked and a function is hard to place: its input is limited. Common practice.
constexpr double kQuick = 1.5;
constexpr double kSoftEndShare = 0.1;  // of the travel
constexpr double kMostSoftEnd = 0.4;   // of the travel: both ends together leave a fifth at speed
constexpr double kDrained = 0.9;       // depth of discharge up to which a limited input must still move its load
constexpr double kIdleReserve = 1.3;   // idle input over what breaks the engine loose

struct Entry {
  std::size_t function, drive;
  const candidate::Drive* d;
};

using Use = candidate::Drive::Use;

bool travels(const candidate::Drive& d) {
  return d.use == Use::travel;
}
bool slews(const candidate::Drive& d) {
  return d.use == Use::slew;
}

/// Controls that are still free.
class Board {
 public:
  explicit Board(const brief::Handset& h) : handset_(h) {
    along_.assign(static_cast<std::size_t>(h.sticks), false);
    across_ = along_;
    slider_.assign(static_cast<std::size_t>(h.sliders), false);
    pairs_.assign(static_cast<std::size_t>(h.buttons / 2), false);
  }
  /// Stick of the driving hand and of the working hand.
  [[nodiscard]] int drive_stick() const { return handset_.sticks < 2 ? 1 : handset_.left_handed ? 2 : 1; }
  [[nodiscard]] int work_stick() const { return handset_.sticks < 2 ? 1 : handset_.left_handed ? 1 : 2; }

  Control along(int stick) { return take(along_, stick, Type::stick_along); }
  Control across(int stick) { return take(across_, stick, Type::stick_across); }
  Control any_along() { return any(along_, Type::stick_along); }
  Control any_across() { return any(across_, Type::stick_across); }
  Control any_slider() { return any(slider_, Type::slider); }
  Control any_buttons() {
    Control c = any(pairs_, Type::buttons);
    if (c.type == Type::buttons) c.number = 2 * c.number - 1;
    return c;
  }

 private:
  static Control take(std::vector<bool>& taken, int number, Type type) {
    if (number < 1 || static_cast<std::size_t>(number) > taken.size() || taken[static_cast<std::size_t>(number) - 1])
      return {};
    taken[static_cast<std::size_t>(number) - 1] = true;
    return {type, number};
  }
  Control any(std::vector<bool>& taken, Type type) const {
    // The working hand's stick first.
    if (type == Type::stick_along || type == Type::stick_across) {
      const Control c = take(taken, work_stick(), type);
      if (c.type != Type::none) return c;
    }
    for (std::size_t i = 0; i < taken.size(); ++i) {
      if (!taken[i]) return take(taken, static_cast<int>(i) + 1, type);
    }
    return {};
  }
  const brief::Handset& handset_;
  std::vector<bool> along_, across_, slider_, pairs_;
};

std::string ways_text(const Control& c, const candidate::Drive& d) {
  switch (c.type) {
    case Type::stick_across:
      if (d.use == candidate::Drive::Use::steer || d.use == candidate::Drive::Use::slew)
        return "left and right as it is pushed";
      return fmt::format("left = {}, right = {}", d.plus, d.minus);
    case Type::slider:
      if (d.plus == "up" && d.minus == "down") return "up and down as it is pushed, middle = stop";
      return fmt::format("up = {}, down = {}, middle = stop", d.plus, d.minus);
    case Type::buttons:
      return fmt::format("button {} = {}, button {} = {}", c.number, d.plus, c.number + 1, d.minus);
    case Type::rule:
      return "by its rule";
    default:
      return fmt::format("push = {}, pull = {}", d.plus, d.minus);
  }
}

/// Takes the input of a function that is much quicker than asked down to where it is still kQuick times as quick as
/// asked. A lower input also holds less: it stays where even the slowest draw moves at a third of the usual speed, and
/// where it still moves with cells that are nearly empty, if it does so at full input.
void limit_speed(const Entry& e, const std::vector<assessment::Chosen>& chosen, const TravelClock& clock,
                 Assignment& a) {
  constexpr double kStep = 0.1, kLeast = 0.3, kMostSpread = 3;
  for (const candidate::Margin& m : chosen[e.function].candidate->nominal.margins) {
    if ((m.name != "speed" && m.name != "time") || !(m.ratio > kQuick)) continue;
    const bool runs_drained = std::isfinite(clock.usual_s(e.drive, 1, 1, kDrained));
    const auto slower = [&](const TravelTimes& t) { return std::max(t.plus_s.nominal, t.minus_s.nominal); };
    const double allowed_s = slower(clock.times(e.drive, 1, 1)) * m.ratio / kQuick;
    for (double input = 1 - kStep; input >= kLeast - 1e-9; input -= kStep) {
      const TravelTimes t = clock.times(e.drive, 1, input);
      const bool steady =
          t.plus_s.high <= kMostSpread * t.plus_s.nominal && t.minus_s.high <= kMostSpread * t.minus_s.nominal;
      const bool drained = std::isfinite(clock.usual_s(e.drive, 1, input, kDrained)) || !runs_drained;
      if (!std::isfinite(slower(t)) || slower(t) > allowed_s || !steady || !drained) break;
      a.speed_limit = std::round(input * 10) / 10;
    }
    if (a.speed_limit < 1)
      a.limit_note = fmt::format("{}{} times as quick as asked: finer to steer",
                                 m.ratio >= candidate::kMarginCap ? "more than " : "", plain(m.ratio, 2));
  }
}

Assignment assignment_of(const Entry& e, const Control& control, const brief::Brief& brief,
                         const std::vector<assessment::Chosen>& chosen, const TravelClock& clock) {
  const candidate::Drive& d = *e.d;
  Assignment a;
  a.function = e.function;
  a.drive = e.drive;
  a.name = brief.functions[e.function].id + (d.name.empty() ? "" : " " + d.name);
  a.control = control;
  a.ways = ways_text(control, d);
  a.invert = d.sense > 0 ? Invert::no : d.sense < 0 ? Invert::yes : Invert::find_out;
  a.invert_note = d.sense_note;
  a.ramp_s = slews(d) ? kSlewRamp_s : travels(d) ? kDriveRamp_s : kRamp_s;
  a.plus = d.plus;
  a.minus = d.minus;
  limit_speed(e, chosen, clock, a);
  a.has_ends = !d.endless;
  const TravelTimes times = clock.times(e.drive, 1, a.speed_limit);
  a.plus_s = times.plus_s;
  a.minus_s = times.minus_s;
  if (a.has_ends) {
    const double quicker_s = std::min(a.plus_s.nominal, a.minus_s.nominal);
    a.soft_end_s = std::isfinite(quicker_s) ? std::max(a.ramp_s, kSoftEndShare * quicker_s) : a.ramp_s;
    if (std::isfinite(quicker_s)) {
      if (a.soft_end_s > kMostSoftEnd * quicker_s) {
        constexpr double kNoticed = 1.1;
        if (a.soft_end_s > kNoticed * kMostSoftEnd * quicker_s)
          a.soft_end_note =
              fmt::format("the travel takes {} s only, so it slows down {} s before an end and not {} s",
                          plain(quicker_s, 2), plain(kMostSoftEnd * quicker_s, 2), plain(a.soft_end_s, 2));
        a.soft_end_s = kMostSoftEnd * quicker_s;
      }
      a.soft_end_share = a.soft_end_s / quicker_s;
    }
  }
  return a;
}

std::size_t index_of(const brief::Brief& brief, const std::string& id) {
  const auto at = std::find_if(brief.functions.begin(), brief.functions.end(),
                               [&](const brief::Function& f) { return f.id == id; });
  return static_cast<std::size_t>(at - brief.functions.begin());
}

void add_interlocks(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                    const assessment::Assessment& assessed, const std::vector<Entry>& entries, Plan& out) {
  for (const assessment::Exclusion& e : assessed.power.duty.exclusions) {
    out.interlocks.push_back({Interlock::Rule::not_together, index_of(brief, e.first), index_of(brief, e.second),
                              fmt::format("\"{}\" and \"{}\" never together under full load", e.first, e.second), e.why,
                              "duty.together"});
  }
  std::string legs;
  for (const assessment::Chosen& c : chosen) {
    if (c.candidate != nullptr && !c.candidate->stands_on_mm.empty()) legs = c.function->id;
  }
  if (legs.empty()) return;
  const auto needed = std::find_if(assessed.findings.begin(), assessed.findings.end(),
                                   [](const assessment::Finding& f) { return f.code == "lifting.feet_needed"; });
  for (const Entry& e : entries) {
    const std::string& id = brief.functions[e.function].id;
    if (travels(*e.d)) {
      out.interlocks.push_back({Interlock::Rule::not_while_down, index_of(brief, legs), e.function,
                                fmt::format("no \"{}\" while \"{}\" are down", id, legs),
                                "the legs stand on the ground and would be torn off", ""});
    } else if (needed != assessed.findings.end() && id != legs &&
               (slews(*e.d) || e.d->use == Use::hoist || e.d->body >= 0)) {
      out.interlocks.push_back({Interlock::Rule::not_while_up, index_of(brief, legs), e.function,
                                fmt::format("no \"{}\" under load while \"{}\" are up", id, legs), needed->text,
                                needed->code});
    }
  }
  // One line a function, however many drives it has.
  const auto same = [](const Interlock& a, const Interlock& b) { return a.text == b.text; };
  out.interlocks.erase(std::unique(out.interlocks.begin(), out.interlocks.end(), same), out.interlocks.end());
}

void add_engine(const brief::Brief& brief, const assessment::Assessment& assessed, const std::vector<Entry>& entries,
                Plan& out) {
  std::vector<std::string> others;
  const Entry* engine = nullptr;
  for (const Entry& e : entries) {
    if (e.d->looks_only) {
      engine = &e;
      continue;
    }
    const std::string& id = brief.functions[e.function].id;
    if (std::find(others.begin(), others.end(), id) == others.end()) others.push_back(id);
  }
  if (engine == nullptr || others.empty() || !(brief.supply.voltage_v > 0)) return;
  out.has_engine = true;
  const motor::Constants m = candidate::motor_constants(*engine->d, brief, brief.parameters.nominal());
  const double current_a = m.no_load_current_a + candidate::heaviest_motor_nmm(*engine->d) / m.torque_nmm_per_a;
  const double volts = brief.supply.voltage_v;
  out.engine.idle = std::clamp(std::ceil(20 * kIdleReserve * current_a * m.resistance_ohm / volts) / 20, 0.2, 0.8);
  // Full when the phase of the working cycle that draws most is running.
  double most = 0, could_a = 0;
  for (const Entry& e : entries) {
    if (e.d->looks_only) continue;
    const motor::Constants c = candidate::motor_constants(*e.d, brief, brief.parameters.nominal());
    could_a += e.d->motors * volts / c.resistance_ohm;
  }
  for (const assessment::DutyPhasePower& phase : assessed.power.duty.phases) {
    double sum_a = 0;
    for (const assessment::DutyRun& run : phase.runs) {
      if (std::find(others.begin(), others.end(), run.function) != others.end()) sum_a += run.current_ma / 1000;
    }
    most = std::max(most, sum_a);
  }
  if (could_a > 0 && most > 0) out.engine.full_load = std::max(0.02, std::round(100 * most / could_a) / 100);
  const std::string& id = brief.functions[engine->function].id;
  const std::string idle = plain(100 * out.engine.idle), always = plain(std::round(100 * (1 + out.engine.idle) / 2));
  if (brief.handset.programs) {
    out.engine_program = program_of(out.engine, others);
    out.engine_simple = fmt::format(
        "without programs: give \"{}\" a slider, one mark at {} % for idling and one at full for work; or let "
        "it run at {} % all the time",
        id, idle, always);
    return;
  }
  const auto own = std::find_if(out.assignments.begin(), out.assignments.end(), [&](const Assignment& a) {
    return a.function == engine->function && a.drive == engine->drive;
  });
  const Type type = own == out.assignments.end() ? Type::none : own->control.type;
  if (type == Type::slider) {
    out.engine_simple = fmt::format("\"{}\" is on {}: a mark at {} % for idling, full for work; or leave it at {} %",
                                    id, text_of(own->control), idle, always);
  } else if (type == Type::none) {
    out.engine_simple =
        fmt::format("no control is left for \"{}\": let it run at {} % as long as the hub is on", id, always);
  } else {
    out.engine_simple =
        fmt::format("\"{}\" is on {}: let it run at {} % while anything works", id, text_of(own->control), always);
  }
}

std::string seconds(const base::Triple& t) {
  return fmt::format("{} to {} s", plain(t.low, 2), plain(t.high, 2));
}

void add_checks(const std::vector<assessment::Chosen>& chosen, Plan& out) {
  for (const Assignment& a : out.assignments) {
    const candidate::Candidate& c = *chosen[a.function].candidate;
    const candidate::Drive& d = c.drives[a.drive];
    if (d.looks_only) {
      out.checks.push_back({fmt::format("\"{}\": does it start by itself ten times out of ten?", a.name),
                            "ease its bearings, or raise the idle input"});
      continue;
    }
    out.checks.push_back({fmt::format("\"{}\": {}; does it go that way?", a.name, a.ways),
                          a.invert == Invert::yes ? "take its \"invert\" out again" : "set its \"invert\""});
    // Both sides of a mixed pair run the same metre.
    const bool timed =
        !a.mixing.empty() && std::any_of(out.assignments.begin(), out.assignments.end(), [&](const auto& o) {
          return &o < &a && o.function == a.function && !o.mixing.empty();
        });
    if (!std::isfinite(a.plus_s.high) || timed) continue;
    double load_g = 0;
    for (const candidate::Payload& p : c.payloads) load_g = std::max(load_g, p.mass_g);
    const std::string with =
        load_g > 0 ? fmt::format(" with {} g{}", plain(load_g), d.use == Use::hoist ? " on the hook" : "") : "";
    const std::string input = fmt::format("control at its end ({} % input)", plain(100 * a.speed_limit));
    // Bench tests are taken at full input unless they say otherwise.
    const std::string entry =
        "enter the time as a bench test" +
        (a.speed_limit < 1 ? fmt::format(" with input_percent {}", plain(100 * a.speed_limit)) : std::string());
    const std::string otherwise =
        "look for something that rubs, or tired cells, where it is slower; if that does not help, or it is quicker, " +
        entry;
    const std::string takes =
        d.endless ? fmt::format("{} in {}?", travels(d) ? "1 m on the level" : "one whole turn", seconds(a.plus_s))
                  : fmt::format("from end to end, {} takes {} and {} takes {}?", d.plus, seconds(a.plus_s), d.minus,
                                seconds(a.minus_s));
    out.checks.push_back({fmt::format("\"{}\"{}, {}: {}", a.name, with, input, takes), otherwise});
  }
}

}  // namespace

std::string text_of(const Control& c) {
  const char* side = c.number == 1 ? "left" : "right";
  switch (c.type) {
    case Type::stick_along:
      return c.number <= 2 ? fmt::format("{} stick, push and pull", side)
                           : fmt::format("stick {}, push and pull", c.number);
    case Type::stick_across:
      return c.number <= 2 ? fmt::format("{} stick, left and right", side)
                           : fmt::format("stick {}, left and right", c.number);
    case Type::slider:
      return fmt::format("slider {}", c.number);
    case Type::buttons:
      return fmt::format("buttons {} and {}", c.number, c.number + 1);
    case Type::rule:
      return "engine's rule";
    case Type::none:
      break;
  }
  return "no control left";
}

const char* name_of(Invert invert) {
  return invert == Invert::no ? "no" : invert == Invert::yes ? "yes" : "find out";
}

Plan plan(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
          const assessment::Assessment& assessed) {
  Plan out;
  out.assumed_handset = !brief.handset.said;
  out.left_handed = brief.handset.left_handed;
  std::vector<Entry> entries;
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    if (chosen[f].candidate == nullptr) continue;
    const auto& drives = chosen[f].candidate->drives;
    for (std::size_t d = 0; d < drives.size(); ++d) entries.push_back({f, d, &drives[d]});
  }
  Board board(brief.handset);
  std::vector<Control> control(entries.size());
  std::vector<std::string> mixing(entries.size());
  const auto each = [&](auto wanted, auto give) {
    for (std::size_t i = 0; i < entries.size(); ++i) {
      if (control[i].type == Type::none && wanted(*entries[i].d)) control[i] = give(i);
    }
  };
  // Driving first: it must not be hunted for.
  for (std::size_t i = 0; i < entries.size(); ++i) {
    if (control[i].type != Type::none || !travels(*entries[i].d)) continue;
    const bool pair =
        i + 1 < entries.size() && entries[i + 1].function == entries[i].function && travels(*entries[i + 1].d);
    control[i] = board.along(board.drive_stick());
    if (!pair) continue;
    const Control across = board.across(board.drive_stick());
    control[i + 1] = control[i];
    if (across.type != Type::none) {
      mixing[i] = "push - left";
      mixing[i + 1] = "push + left";
    }
  }
  each([](const candidate::Drive& d) { return d.use == Use::steer; },
       [&](std::size_t) { return board.across(board.drive_stick()); });
  each(slews, [&](std::size_t) { return board.across(board.work_stick()); });
  const auto work = [](const candidate::Drive& d) { return d.use == Use::raise || d.use == Use::hoist; };
  each(work, [&](std::size_t) { return board.any_along(); });
  each(work, [&](std::size_t) { return board.any_slider(); });
  // Legs move once and stay.
  each([](const candidate::Drive& d) { return d.use == Use::stand; }, [&](std::size_t) { return board.any_buttons(); });
  const auto rest = [](const candidate::Drive& d) { return !d.looks_only; };
  each(rest, [&](std::size_t) { return board.any_slider(); });
  each(rest, [&](std::size_t) { return board.any_buttons(); });
  each(rest, [&](std::size_t) { return board.any_across(); });
  each(rest, [&](std::size_t) { return board.any_along(); });
  const bool program = brief.handset.programs;
  each([](const candidate::Drive& d) { return d.looks_only; },
       [&](std::size_t) {
         if (program) return Control{Type::rule, 0};
         const Control slider = board.any_slider();
         return slider.type != Type::none ? slider : board.any_buttons();
       });
  std::optional<TravelClock> clock;  // of one function: its draws serve all its drives
  for (std::size_t i = 0; i < entries.size(); ++i) {
    if (i == 0 || entries[i].function != entries[i - 1].function)
      clock.emplace(brief, chosen, assessed.power.ports, entries[i].function);
    Assignment a = assignment_of(entries[i], control[i], brief, chosen, *clock);
    a.mixing = mixing[i];
    if (control[i].type == Type::none) out.left_over.push_back(a.name);
    out.assignments.push_back(std::move(a));
  }
  if (!out.left_over.empty()) {
    out.shortage = fmt::format(
        "{} of {} drives find no control: {}; a handset with {} more button pair{} or sliders "
        "would serve them",
        out.left_over.size(), entries.size(), base::list_text(out.left_over), out.left_over.size(),
        out.left_over.size() == 1 ? "" : "s");
  }
  add_interlocks(brief, chosen, assessed, entries, out);
  add_engine(brief, assessed, entries, out);
  add_checks(chosen, out);
  return out;
}

}  // namespace handset
