#include "trial/script_drive.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/text.h"

namespace trial {
namespace {

using Use = candidate::Drive::Use;

constexpr double kDeg = 180 / std::numbers::pi;
constexpr double kControl_s = 0.01, kSample_s = 0.02;
constexpr double kNearly = 0.95;                 // of a step's way
constexpr double kSame_s = 0.1;                  // so near is the same time
constexpr double kLeast_deg = 2, kLeast_mm = 2;  // a shorter way is none
constexpr double kMost_s = 600;

/// Inputs of the script for one drive over time, and its share of the load.
struct Follower {
  const simulation::Script* script = nullptr;
  std::vector<int> column;  ///< per drive: of inputs; -1 = none
  int load = -1;            ///< column of loads that counts for what hangs

  [[nodiscard]] double last(double time_s, int at, bool load_column, double otherwise) const {
    double out = otherwise;
    for (const simulation::Step& s : script->steps) {
      if (s.time_s > time_s + 1e-9) break;
      const std::vector<double>& row = load_column ? s.load : s.input;
      const auto i = static_cast<std::size_t>(at);
      if (i < row.size() && !std::isnan(row[i])) out = row[i];
    }
    return out;
  }
};

struct Way {
  std::vector<double> time_s;
  std::vector<std::vector<double>> at;  ///< per time and drive
  [[nodiscard]] double of(double t, std::size_t drive) const {
    const auto up = std::upper_bound(time_s.begin(), time_s.end(), t);
    if (up == time_s.begin()) return at.front()[drive];
    if (up == time_s.end()) return at.back()[drive];
    const auto i = static_cast<std::size_t>(up - time_s.begin());
    const double share = (t - time_s[i - 1]) / (time_s[i] - time_s[i - 1]);
    return at[i - 1][drive] + share * (at[i][drive] - at[i - 1][drive]);
  }
  /// When, after `from_s`, it has made this way in its sense; beyond `to_s` at the mean rate until then.
  [[nodiscard]] double until(double from_s, double to_s, std::size_t drive, double way) const {
    const double start = of(from_s, drive), sense = way < 0 ? -1 : 1;
    constexpr double kLook_s = 0.01;
    for (double t = from_s; t <= to_s + 1e-9; t += kLook_s)
      if (sense * (of(t, drive) - start) >= std::fabs(way)) return t - from_s;
    const double made = sense * (of(to_s, drive) - start);
    return made > 1e-9 ? (to_s - from_s) * std::fabs(way) / made : std::numeric_limits<double>::infinity();
  }
};

struct Driven {
  Way way;
  std::vector<ScriptSample> samples;
  double most_swing_rad = 0, most_roll_rad = 0;
  bool tipped = false;
  std::string why_not;
};

std::string cause_of(Use use, bool slower) {
  switch (use) {
    case Use::slew:
      return "speeding up what it turns and the load that swings at it, which the simulation leaves out";
    case Use::raise:
      return slower ? "starting, and the weight of the posture it is in"
                    : "the simulation takes the heaviest posture of the other joints at every angle";
    case Use::hoist:
      return "layers on the drum and the load that swings at its rope";
    case Use::travel:
      return slower ? "speeding up the machine's mass, and its wheels that slip and scrub"
                    : "the simulation drives against all the resistance that the design reckons with, the trial's "
                      "wheels roll "
                      "almost freely";
    default:
      return "inertia that the simulation leaves out";
  }
}

}  // namespace

ScriptTrial try_script(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                       const assessment::Assessment& assessed, const simulation::Machine& machine,
                       const simulation::Script& script, simulation::Options options, double step_ms, bool doubts,
                       const base::RunControl& control) {
  ScriptTrial out;
  if (!engine_present()) {
    out.why_not = engine_text();
    return out;
  }
  if (script.end_s() > kMost_s) {
    out.why_not = fmt::format("the script lasts {} s; at most {} s are driven", base::plain(script.end_s(), 4),
                              base::plain(kMost_s, 4));
    return out;
  }
  MachineWish wish;
  wish.speed_mm_s = own_speed_mm_s(brief, chosen);
  wish.over_edge = true;
  const MachineRig rig = machine_rig(brief, chosen, assessed, wish);
  out.left_out = rig.left_out;
  if (!rig.why_not.empty()) {
    out.why_not = rig.why_not;
    return out;
  }
  const std::vector<std::string> ids = simulation::function_ids(brief);
  Follower follower{&script, {}, -1};
  std::vector<int> stick(machine.drives.size(), -1);  // -1: none, -2: travels, -3: steers
  std::vector<std::size_t> told;
  for (std::size_t i = 0; i < machine.drives.size(); ++i) {
    const simulation::DriveModel& m = machine.drives[i];
    const auto named = [&](const std::vector<std::string>& names, const std::string& name) {
      const auto at = std::find(names.begin(), names.end(), name);
      return at == names.end() ? -1 : static_cast<int>(at - names.begin());
    };
    const int own = named(script.inputs, m.name);
    follower.column.push_back(own >= 0 ? own : named(script.inputs, ids[m.function]));
    for (std::size_t s = 0; s < rig.sticks.size(); ++s)
      if (rig.sticks[s].name == m.name) stick[i] = static_cast<int>(s);
    if (m.drive.use == Use::travel && rig.drives) stick[i] = -2;
    if (m.drive.use == Use::steer && stick[i] >= 0) stick[i] = -3;
    if (m.drive.use == Use::hoist && follower.load < 0) follower.load = named(script.loads, ids[m.function]);
    if (follower.column.back() < 0) continue;
    if (stick[i] == -1) {
      out.left_out.push_back(fmt::format("\"{}\": the engine does not move it", m.name));
    } else if (stick[i] != -3) {
      told.push_back(i);
    }
  }
  if (told.empty()) {
    out.why_not = "the script moves nothing that the engine can drive";
    return out;
  }

  // The closed form: the simulation, finely told.
  options.sample_s = kSample_s;
  options.tipping = nullptr;
  const simulation::Outcome closed = simulation::run(machine, script, ids, options);
  Way simulated;
  for (const simulation::Sample& s : closed.samples) {
    simulated.time_s.push_back(s.time_s);
    std::vector<double> row;
    for (const std::size_t i : told) row.push_back(s.position[i] * (machine.drives[i].drive.angle ? kDeg : 1));
    simulated.at.push_back(std::move(row));
  }
  const auto simulated_input = [&](double t, std::size_t drive) {
    const auto up = std::upper_bound(simulated.time_s.begin(), simulated.time_s.end(), t);
    const auto i = up == simulated.time_s.begin() ? 0 : static_cast<std::size_t>(up - simulated.time_s.begin()) - 1;
    return closed.samples[i].input[drive];
  };

  const auto drive_it = [&](double engine_ms) {
    Driven run;
    DriveOptions how;
    how.step_ms = engine_ms;
    how.friction = assessed.ground.judged ? assessed.ground.friction.nominal : 1;
    LiveMachine live(rig, Course{}.ground(100, 100), 0, how);
    if (!live.why_not().empty()) {
      run.why_not = live.why_not();
      return run;
    }
    constexpr double kRest_s = 0.5;
    live.advance(kRest_s, 0, {});
    std::vector<double> ramped(machine.drives.size(), 0.0), at(machine.drives.size(), 0.0),
        sticks(rig.sticks.size(), 0.0);
    for (std::size_t i = 0; i < at.size(); ++i) at[i] = machine.drives[i].drive.start;
    const MachineSample first = live.now();
    double next_s = 0;
    for (double t = 0; t < script.end_s() - 1e-9; t += kControl_s) {
      if (control.stopped()) {
        run.why_not = "given up";
        return run;
      }
      double left = 0, right = 0, steer = 0;
      std::fill(sticks.begin(), sticks.end(), 0);
      for (std::size_t i = 0; i < machine.drives.size(); ++i) {
        if (follower.column[i] < 0 || stick[i] == -1) continue;
        const simulation::DriveModel& m = machine.drives[i];
        const simulation::Handling hand = options.handling.empty() ? simulation::Handling{} : options.handling[i];
        double target = follower.last(t, follower.column[i], false, 0);
        const double low = m.drive.endless ? 0 : m.drive.at.front(), high = m.drive.endless ? 0 : m.drive.at.back();
        const double reach = 0.02 * (high - low);
        // Held back by an interlock in the simulation: held back here.
        const double there = simulated_input(t, i);
        const bool at_end = !m.drive.endless && (target > 0 ? at[i] > high - reach : at[i] < low + reach);
        if (target != 0 && there == 0 && !at_end && !options.interlocks.empty() && simulated_input(t + 0.1, i) == 0) {
          const std::vector<double>& now =
              closed.samples[std::min(static_cast<std::size_t>(t / kSample_s), closed.samples.size() - 1)].position;
          const bool sim_end = !m.drive.endless && (target > 0 ? now[i] > high - reach : now[i] < low + reach);
          if (!sim_end) target = 0;
        }
        const double wanted = hand.limit * std::clamp(target, -1.0, 1.0);
        const double most = hand.ramp_s > 0 ? kControl_s / hand.ramp_s : 2;
        ramped[i] += std::clamp(wanted - ramped[i], -most, most);
        double input = ramped[i];
        if (!m.drive.endless && input != 0) {
          const double left_way = input > 0 ? high - at[i] : at[i] - low;
          if (hand.soft_zone > 0) input *= std::clamp(left_way / hand.soft_zone, hand.soft_input, 1.0);
          if (left_way <= 0) input = 0;
        }
        if (stick[i] >= 0) sticks[static_cast<std::size_t>(stick[i])] = input;
        if (stick[i] == -3) steer = input;
        if (stick[i] == -2) {
          if (m.drive.name != "right") left += input;
          if (m.drive.name != "left") right += input;
        }
      }
      if (follower.load >= 0) live.set_load_share(follower.last(t, follower.load, true, 1));
      const double speed_left = live.side_mm_s(true), speed_right = live.side_mm_s(false);
      if (!live.advance_sides(kRest_s + t + kControl_s, left, right, steer, sticks)) {
        run.tipped = live.tipped();
        if (!run.tipped) run.why_not = live.why_not();
        break;
      }
      const MachineSample now = live.now();
      for (std::size_t i = 0; i < machine.drives.size(); ++i) {
        const candidate::Drive& d = machine.drives[i].drive;
        if (stick[i] >= 0) {
          const auto s = static_cast<std::size_t>(stick[i]);
          at[i] = d.use == Use::hoist ? d.start + now.stick[s] - first.stick[s] : now.stick[s];
          if (d.use == Use::slew) at[i] = d.start + now.stick[s] - first.stick[s];
        } else if (stick[i] == -2) {
          const double before = d.name == "left"    ? speed_left
                                : d.name == "right" ? speed_right
                                                    : (speed_left + speed_right) / 2;
          const double after = d.name == "left"    ? live.side_mm_s(true)
                               : d.name == "right" ? live.side_mm_s(false)
                                                   : (live.side_mm_s(true) + live.side_mm_s(false)) / 2;
          at[i] += (before + after) / 2 * kControl_s;
        }
      }
      double swing = 0;
      if (now.hangs) {
        const balance::Vec3 rope = now.load - now.hook;
        swing = std::atan2(std::hypot(rope.x_mm, rope.y_mm), -rope.z_mm);
      }
      run.most_swing_rad = std::max(run.most_swing_rad, swing);
      run.most_roll_rad = std::max(run.most_roll_rad, std::fabs(now.drive.roll_rad));
      std::vector<double> row;
      for (const std::size_t i : told) row.push_back(at[i] * (machine.drives[i].drive.angle ? kDeg : 1));
      run.way.time_s.push_back(t + kControl_s);
      run.way.at.push_back(row);
      if (t < next_s) continue;
      next_s += 0.1;
      ScriptSample s;
      s.time_s = t + kControl_s;
      s.trial = row;
      for (std::size_t k = 0; k < told.size(); ++k) s.closed.push_back(simulated.of(s.time_s, k));
      s.x_mm = now.drive.x_mm;
      s.y_mm = now.drive.y_mm;
      s.yaw_rad = now.drive.yaw_rad;
      s.roll_rad = now.drive.roll_rad;
      s.swing_rad = swing;
      run.samples.push_back(std::move(s));
    }
    return run;
  };

  Driven run = drive_it(step_ms);
  out.why_not = run.why_not;
  out.tipped = run.tipped;
  out.samples = std::move(run.samples);
  out.most_swing_rad = run.most_swing_rad;
  out.most_roll_rad = run.most_roll_rad;
  for (const std::size_t i : told) {
    out.drives.push_back(machine.drives[i].name);
    out.units.emplace_back(machine.drives[i].drive.angle ? "deg" : "mm");
  }
  if (run.way.time_s.empty()) return out;
  out.time_s = run.way.time_s.back();
  const auto moves_of = [&](const Way& way) {
    std::vector<ScriptMove> moves;
    for (std::size_t k = 0; k < told.size(); ++k) {
      const simulation::DriveModel& m = machine.drives[told[k]];
      // Rows that leave this drive's input as it was belong to the step before.
      std::vector<std::pair<double, double>> steps;
      for (const simulation::Step& s : script.steps) {
        const double input = follower.last(s.time_s, follower.column[told[k]], false, 0);
        if (steps.empty() || input != steps.back().second) steps.emplace_back(s.time_s, input);
      }
      for (std::size_t n = 0; n < steps.size(); ++n) {
        const auto [start_s, input] = steps[n];
        const double end_s = std::min(n + 1 < steps.size() ? steps[n + 1].first : script.end_s(), out.time_s);
        if (input == 0 || end_s <= start_s) continue;
        ScriptMove move;
        move.drive = k;
        move.start_s = start_s;
        move.end_s = end_s;
        move.input = input;
        move.unit = m.drive.angle ? "deg" : "mm";
        move.closed_way = simulated.of(end_s, k) - simulated.of(start_s, k);
        move.trial_way = way.of(end_s, k) - way.of(start_s, k);
        if (std::fabs(move.closed_way) < (m.drive.angle ? kLeast_deg : kLeast_mm)) continue;
        const double nearly = kNearly * move.closed_way;
        Beside& b = move.time;
        b.id = "script_time";
        b.what = fmt::format("{}: time for {} {} from {} s on", m.name, base::plain(nearly, 3), move.unit,
                             base::plain(start_s, 4));
        b.unit = "s";
        b.grid = kSame_s;
        b.closed = simulated.until(start_s, end_s, k, nearly);
        b.trial = way.until(start_s, end_s, k, nearly);
        if (!std::isfinite(b.trial)) {
          b.trial_open = true;
          b.trial = end_s - start_s;
          b.trial_stop = "stall";
        }
        if (b.told()) b.cause = cause_of(m.drive.use, b.trial > b.closed);
        moves.push_back(std::move(move));
      }
    }
    return moves;
  };
  out.moves = moves_of(run.way);
  if (!doubts || !out.why_not.empty()) return out;
  const Driven finer = drive_it(step_ms / 2);
  const std::vector<ScriptMove> again = finer.why_not.empty() ? moves_of(finer.way) : std::vector<ScriptMove>{};
  for (std::size_t n = 0; n < std::min(again.size(), out.moves.size()); ++n) {
    const double a = out.moves[n].time.trial, b = again[n].time.trial;
    if (std::fabs(a - b) > std::max(0.03 * a, kSame_s))
      out.doubts.push_back(fmt::format("{}: half the time step gives {} s", out.moves[n].time.what, base::plain(b, 3)));
  }
  if (again.size() != out.moves.size()) out.doubts.emplace_back("half the time step does not come to the end");
  return out;
}

}  // namespace trial
