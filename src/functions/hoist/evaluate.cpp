#include "functions/hoist/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "gearing/worm.h"

namespace functions::hoist {

using brief::Parameter;

Pull pull_of(const Problem& problem, const Rigging& rigging, const brief::Sample& sample) {
  const Wants& w = problem.wants;
  const double pin_mm = problem.brief->system().axle.width_mm;
  // Friction at which a sheave would no longer turn is reached only by absurd inputs; the pull is then all but endless.
  const double friction = std::min(sample[Parameter::pin_friction], 0.99 * w.sheave_diameter_mm / pin_mm);
  const auto& drum = std::get<stock::Drum>(problem.brief->catalogue->at(rigging.drum).data);
  const auto& rope = std::get<stock::Rope>(problem.brief->catalogue->at(rigging.rope).data);
  Pull p;
  p.sheave_efficiency = sheave_efficiency(w.sheave_diameter_mm, pin_mm, friction);
  p.rope_n = problem.weight_n * raising_pull_share(rigging.falls, w.lead_sheaves, p.sheave_efficiency);
  p.standing_n = problem.weight_n * holding_pull_share(rigging.falls, w.lead_sheaves, p.sheave_efficiency);
  for (int k = 1; k <= rigging.winding.layers; ++k) {
    p.layer_diameter_mm.push_back(layer_diameter_mm(drum, rope.diameter_mm, k));
    p.torque_nmm.push_back(p.rope_n * p.layer_diameter_mm.back() / 2);
  }
  return p;
}

double hook_speed_mm_s(double drum_rad_s, double layer_diameter_mm, int falls) {
  return drum_rad_s * layer_diameter_mm / 2 / falls;
}

Reached reach(const Problem& problem, const Rigging& rigging, const Pull& pull, const drive::Powertrain& powertrain,
              const drive::Machine& machine) {
  const stock::KitSystem& system = problem.brief->system();
  Reached r;
  r.torque_nmm = pull.peak_nmm();
  const drive::State s = drive::state(powertrain, machine, system, r.torque_nmm);
  r.rope_n = pull.rope_n;
  r.rope_by_motor_n = s.stall_torque_nmm / (pull.layer_diameter_mm.back() / 2);
  r.current_limited = motor::line(machine.motor, machine.feed).current_limited;
  r.slowest_mm_s = std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < pull.torque_nmm.size(); ++k) {
    const double speed = hook_speed_mm_s(drive::quick_state(machine, pull.torque_nmm[k]).speed_rad_s,
                                         pull.layer_diameter_mm[k], rigging.falls);
    if (speed < r.slowest_mm_s) {
      r.slowest_mm_s = speed;
      r.slowest_layer = static_cast<int>(k) + 1;
    }
  }
  r.tooth_margin = s.tooth_margin;
  r.axle_margin = s.axle_margin;
  r.stall_tooth_margin = s.stall_tooth_margin;
  r.weakest_stage = s.weakest_stage;
  r.rope_strength_n = std::get<stock::Rope>(problem.brief->catalogue->at(rigging.rope).data).strength_n;
  r.rope_wanted_n = pull.rope_n * problem.wants.rope_safety;
  r.current_ma = s.current_ma;

  const double standing_nmm = pull.standing_n * pull.layer_diameter_mm.back() / 2;
  const drive::State still = drive::state(powertrain, machine, system, standing_nmm);
  r.locks = still.self_locking;
  r.hold_needed = standing_nmm;
  if (!r.locks) r.friction_hold = still.hold_margin;
  for (const gearing::Stage& stage : powertrain.train.stages) {
    if (stage.type != gearing::MeshType::worm) continue;
    const double friction = machine.meshes.worm_friction;
    const double needed = gearing::worm_locking_friction(stage.lead_angle_rad, stage.pressure_angle_rad);
    if (friction / needed <= r.hold_reached / r.hold_needed) continue;
    r.hold_reached = friction;
    r.hold_needed = needed;
  }
  return r;
}

candidate::Evaluation margins_of(const Reached& r, const Design& design, bool notes) {
  const Problem& problem = *design.problem;
  const Wants& w = problem.wants;
  const int layers = design.rigging.winding.layers;
  candidate::Evaluation e;
  e.margins.reserve(6);
  e.running_current_ma = r.current_ma * problem.sides;
  const auto words = [&](const auto& make) { return notes ? std::string(make()) : std::string(); };
  e.margins.push_back(candidate::at_least("force", r.rope_by_motor_n, r.rope_n, "N", words([&] {
                                            return fmt::format("rope pull on layer {}, limited by the {}", layers,
                                                               r.current_limited ? "port's current" : "motor's stall");
                                          })));
  if (w.wanted_as_time) {
    const double slowest_s =
        r.slowest_mm_s > 0 ? w.hook_travel_mm / r.slowest_mm_s : std::numeric_limits<double>::infinity();
    e.margins.push_back(candidate::at_most("time", slowest_s, *w.time_s, "s", words([&] {
                                             return fmt::format("at the speed of layer {}", r.slowest_layer);
                                           })));
  } else {
    e.margins.push_back(candidate::at_least("speed", r.slowest_mm_s, w.wanted_speed_mm_s, "mm/s", words([&] {
                                              return fmt::format("on layer {} of {}", r.slowest_layer, layers);
                                            })));
  }
  if (!design.powertrain.train.stages.empty()) {
    e.margins.push_back(candidate::at_least(
        "tooth", r.tooth_margin * r.torque_nmm, r.torque_nmm, "N mm",
        words([&] { return gearing::stage_name(design.powertrain.train, std::max(0, r.weakest_stage)); })));
  }
  e.margins.push_back(candidate::at_least("axle", r.axle_margin * r.torque_nmm, r.torque_nmm, "N mm",
                                          words([] { return "drum shaft"; })));
  e.margins.push_back(candidate::at_least("rope", r.rope_strength_n, r.rope_wanted_n, "N", words([&] {
                                            return fmt::format("{} times the pull", base::plain(w.rope_safety));
                                          })));
  if (w.hold) {
    const bool worm = r.hold_reached > 0;
    e.margins.push_back(
        candidate::at_least("hold", r.hold_reached, r.hold_needed, worm ? "friction" : "N mm", words([&] {
                              return worm ? std::string("by the worm")
                                          : fmt::format(
                                                "nothing locks; the motor's own friction, {} times the load, is "
                                                "not counted",
                                                base::plain(r.friction_hold, 2));
                            })));
  }
  return e;
}

candidate::Evaluation evaluate(const Design& design, const brief::Sample& sample) {
  const Pull pull = pull_of(*design.problem, design.rigging, sample);
  const drive::Machine machine = drive::machine(design.powertrain, *design.problem->brief, sample);
  return margins_of(reach(*design.problem, design.rigging, pull, design.powertrain, machine), design);
}

}  // namespace functions::hoist
