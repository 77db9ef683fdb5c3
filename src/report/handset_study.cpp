#include "report/handset_study.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "report/json.h"
#include "simulation/simulate.h"

namespace report {

HandsetStudy handset_study(const design::Result& r) {
  constexpr double kMostShown_s = 600;
  HandsetStudy out;
  const std::vector<assessment::Chosen> chosen = design::chosen_of(r);
  out.plan = handset::plan(*r.brief, chosen, *r.assessed);
  out.steps = handset::guide(*r.brief, chosen, *r.assessed, out.plan);
  out.sockets = handset::socket_names(chosen, *r.assessed);
  const simulation::Machine machine = simulation::machine_of(*r.brief, chosen, r.assessed->power.ports);
  if (!out.plan.has_engine || machine.drives.empty()) return out;
  handset::EngineFollower follower(out.plan.engine);
  simulation::Options options;
  options.engine = [&follower](double dt_s, double load) { return follower.step(dt_s, load); };
  double cycle_s = 0;
  for (const brief::DutyPhase& phase : r.brief->duty) cycle_s += phase.time_s;
  const simulation::Script script = simulation::cycle_script(*r.brief, machine, std::min(2 * cycle_s, kMostShown_s));
  static_cast<void>(simulation::follow_plan(out.plan, *r.brief, machine, script, options));
  out.cycle = simulation::simulate(*r.brief, chosen, *r.assessed, machine, script, options);
  return out;
}

HandsetView view_of(const design::Result& r, const HandsetStudy& s) {
  return {*r.brief, *r.assessed, s.plan, s.steps, s.sockets, s.cycle ? &*s.cycle : nullptr};
}

nlohmann::ordered_json handset_document(const design::Result& r, const HandsetStudy& s,
                                        const document::Diagnostics& diagnostics, bool good) {
  return {{"format", "kitwright.handset"},         {"version", kFormatVersion},
          {"status", good ? "done" : "bad_input"}, {"stopped", false},
          {"diagnostics", json_of(diagnostics)},   {"project", r.brief->name},
          {"handset", handset_json(view_of(r, s))}};
}

}  // namespace report
