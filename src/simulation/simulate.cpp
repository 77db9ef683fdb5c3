#include "simulation/simulate.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "assessment/posture_stance.h"

namespace simulation {

std::vector<std::string> function_ids(const brief::Brief& brief) {
  std::vector<std::string> out;
  for (const brief::Function& f : brief.functions) out.push_back(f.id);
  return out;
}

std::vector<std::string> drivable(const Machine& machine, const brief::Brief& brief) {
  std::vector<std::string> out;
  for (const DriveModel& d : machine.drives) {
    const std::string& id = brief.functions[d.function].id;
    if (std::find(out.begin(), out.end(), id) == out.end()) out.push_back(id);
    if (d.name != id) out.push_back(d.name);
  }
  return out;
}

Outcome simulate(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                 const assessment::Assessment& assessed, const Machine& machine, const Script& script,
                 Options options) {
  assessment::PostureStance stance(brief, chosen, assessed.masses);
  const std::vector<double> start(brief.bodies.size(), 0);
  if (!std::isnan(stance.least_deg(start, 0)) && !options.tipping) {
    options.tipping = [&](const std::vector<double>& position, const std::vector<double>& load_share) {
      // What hangs on the machine is one load, however many functions carry it: the greatest share told for them.
      double share = 0;
      bool carried = false;
      for (std::size_t i = 0; i < machine.drives.size(); ++i) {
        if (chosen[machine.drives[i].function].candidate->payloads.empty()) continue;
        carried = true;
        share = std::max(share, load_share[i]);
      }
      std::vector<double> angle = start;
      for (std::size_t b = 0; b < angle.size(); ++b) {
        const brief::Joint& joint = brief.bodies[b].joint;
        if (joint.type != brief::Joint::Type::fixed) angle[b] = std::clamp(0.0, joint.low_rad, joint.high_rad);
      }
      for (std::size_t i = 0; i < machine.drives.size(); ++i) {
        const candidate::Drive& d = machine.drives[i].drive;
        if (d.angle && d.body >= 0) angle[static_cast<std::size_t>(d.body)] = position[i];
      }
      return stance.least_deg(angle, carried ? share : 1);
    };
  }
  return run(machine, script, function_ids(brief), options);
}

std::vector<std::string> follow_plan(const handset::Plan& plan, const brief::Brief& brief, const Machine& machine,
                                     const Script& script, Options& options) {
  std::vector<std::string> told;
  options.handling.assign(machine.drives.size(), {});
  for (std::size_t i = 0; i < machine.drives.size(); ++i) {
    const DriveModel& m = machine.drives[i];
    const auto a = std::find_if(plan.assignments.begin(), plan.assignments.end(),
                                [&](const handset::Assignment& x) { return x.name == m.name; });
    if (a == plan.assignments.end() || a->control.type == handset::Control::Type::rule) continue;
    Handling& how = options.handling[i];
    how.ramp_s = a->ramp_s;
    how.limit = a->speed_limit;
    if (!a->has_ends || !(a->soft_end_share > 0)) continue;
    how.soft_zone = a->soft_end_share * (m.drive.at.back() - m.drive.at.front());
    how.soft_input = handset::kSoftEndInput;
  }
  const auto driven = [&](std::size_t function) {
    return std::any_of(machine.drives.begin(), machine.drives.end(), [&](const DriveModel& m) {
      return m.function == function &&
             std::any_of(script.inputs.begin(), script.inputs.end(), [&](const std::string& name) {
               return name == m.name || name == brief.functions[function].id;
             });
    });
  };
  bool still = false;
  for (const handset::Interlock& lock : plan.interlocks) {
    const bool legs = lock.rule != handset::Interlock::Rule::not_together;
    if (legs && !driven(lock.other)) {
      if (!still)
        told.push_back("the script does not move \"" + brief.functions[lock.other].id +
                       "\": they are taken to stand where each function needs them, and their interlocks are left out");
      still = true;
      continue;
    }
    options.interlocks.push_back({legs ? lock.rule == handset::Interlock::Rule::not_while_down
                                             ? Interlock::Rule::not_while_away
                                             : Interlock::Rule::not_before_there
                                       : Interlock::Rule::not_together,
                                  lock.other, lock.function, lock.text});
  }
  return told;
}

Script cycle_script(const brief::Brief& brief, const Machine& machine, double time_s) {
  constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
  Script out;
  for (const DriveModel& d : machine.drives) {
    const std::string& id = brief.functions[d.function].id;
    // An ornamental engine is left to its rule.
    if (!d.looks_only && std::find(out.inputs.begin(), out.inputs.end(), id) == out.inputs.end()) {
      out.inputs.push_back(id);
      out.loads.push_back(id);
    }
  }
  double at_s = 0;
  bool back = false;
  while (at_s < time_s && !brief.duty.empty()) {
    for (const brief::DutyPhase& phase : brief.duty) {
      if (at_s >= time_s) break;
      Step step{at_s, std::vector<double>(out.inputs.size(), 0), std::vector<double>(out.inputs.size(), kNone)};
      for (std::size_t i = 0; i < out.inputs.size(); ++i) {
        const bool runs = std::any_of(phase.functions.begin(), phase.functions.end(), [&](int f) {
          return brief.functions[static_cast<std::size_t>(f)].id == out.inputs[i];
        });
        if (!runs) continue;
        step.input[i] = back ? -1 : 1;
        step.load[i] = phase.load;
      }
      out.steps.push_back(std::move(step));
      at_s += phase.time_s;
    }
    back = !back;
  }
  out.steps.push_back(
      {time_s, std::vector<double>(out.inputs.size(), 0), std::vector<double>(out.inputs.size(), kNone)});
  return out;
}

}  // namespace simulation
