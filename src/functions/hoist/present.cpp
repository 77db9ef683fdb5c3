#include "functions/hoist/present.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "balance/mass.h"
#include "base/text.h"
#include "functions/drive/told_drive.h"

namespace functions::hoist {
namespace {

/// The nominal state everything shown is taken from.
struct Nominal {
  const Design& design;
  const Problem& problem;
  const stock::Drum& drum;
  const stock::Rope& rope;
  drive::Machine machine;
  Pull pull;
  Reached reached;

  explicit Nominal(const Design& d)
      : design(d),
        problem(*d.problem),
        drum(std::get<stock::Drum>(problem.brief->catalogue->at(d.rigging.drum).data)),
        rope(std::get<stock::Rope>(problem.brief->catalogue->at(d.rigging.rope).data)),
        machine(drive::machine(d.powertrain, *problem.brief, problem.brief->parameters.nominal())),
        pull(pull_of(problem, d.rigging, problem.brief->parameters.nominal())),
        reached(reach(problem, d.rigging, pull, d.powertrain, machine)) {}

  [[nodiscard]] double speed_mm_s(std::size_t layer) const {
    return hook_speed_mm_s(drive::quick_state(machine, pull.torque_nmm[layer]).speed_rad_s,
                           pull.layer_diameter_mm[layer], design.rigging.falls);
  }
};

/// Rope on the drum as a function of the hook's height: its layer.
std::size_t layer_at(const Nominal& n, double wound_mm) {
  double taken_mm = 0;
  for (std::size_t k = 0; k + 1 < n.pull.layer_diameter_mm.size(); ++k) {
    taken_mm += n.design.rigging.winding.turns_per_layer * std::numbers::pi * n.pull.layer_diameter_mm[k];
    if (wound_mm <= taken_mm) return k;
  }
  return n.pull.layer_diameter_mm.size() - 1;
}

void add_figures(const Nominal& n, candidate::Candidate& c) {
  const Rigging& r = n.design.rigging;
  c.figures = {
      {"rope pull at the drum", n.pull.rope_n, "N"},
      {"rope pull when the motor stalls", n.reached.rope_by_motor_n, "N"},
      {"sheave efficiency", n.pull.sheave_efficiency, ""},
      {"parts of line", static_cast<double>(r.falls), ""},
      {"sheaves", static_cast<double>(sheave_count(r.falls, n.problem.wants.lead_sheaves)), ""},
      {"layers on the drum", static_cast<double>(r.winding.layers), ""},
      {"turns in a layer", static_cast<double>(r.winding.turns_per_layer), ""},
      {"rope on the drum", r.wound_mm, "mm"},
      {"drum takes", r.winding.capacity_mm, "mm"},
      {"rope needed", r.rope_needed_mm, "mm"},
      {"slowest hook speed", n.reached.slowest_mm_s, "mm/s"},
      {"torque on the drum", n.reached.torque_nmm, "N mm"},
  };
}

void add_curves(const Nominal& n, candidate::Candidate& c) {
  constexpr int kPoints = 25;
  const Rigging& r = n.design.rigging;
  candidate::Curve speed{"hook speed", "hook height", "mm", "speed", "mm/s", {}, {}};
  candidate::Curve torque{"torque on the drum", "hook height", "mm", "torque", "N mm", {}, {}};
  for (int i = 0; i < kPoints; ++i) {
    const double height_mm = n.problem.wants.hook_travel_mm * i / (kPoints - 1);
    const std::size_t layer = layer_at(n, r.wound_mm - (n.problem.wants.hook_travel_mm - height_mm) * r.falls);
    speed.x.push_back(height_mm);
    speed.y.push_back(n.speed_mm_s(layer));
    torque.x.push_back(height_mm);
    torque.y.push_back(n.pull.torque_nmm[layer]);
  }
  c.curves = {std::move(speed), std::move(torque)};
}

/// Greatest weight at the hook by motor, rope and teeth; the pull grows in proportion to it.
void add_holdings(const Nominal& n, candidate::Candidate& c) {
  const double per_pull = n.problem.weight_n / n.pull.rope_n * n.problem.sides;
  using Limit = candidate::Holding::Limit;
  const auto add = [&](Limit limit, const char* name, const char* margin, double pull_n) {
    c.holdings.push_back({limit, name, n.problem.wants.hang_body, {}, {pull_n * per_pull}, margin});
  };
  add(Limit::hoist, "motor, stalled", "force", n.reached.rope_by_motor_n);
  add(Limit::hoist, "rope", "rope", n.reached.rope_strength_n / n.problem.wants.rope_safety);
  if (!n.design.powertrain.train.stages.empty())
    add(Limit::tooth, "teeth", "tooth", n.pull.rope_n * n.reached.tooth_margin);
  c.tare_g = (n.problem.weight_n / balance::weight_n(1) - n.problem.wants.load_g) * n.problem.sides;
}

void add_drive(const Nominal& n, candidate::Candidate& c) {
  constexpr int kPoints = 9;
  const Rigging& r = n.design.rigging;
  candidate::Drive d =
      drive::drive_of(n.design.powertrain, n.machine, n.problem.sides, n.design.placed ? &*n.design.placed : nullptr);
  d.use = candidate::Drive::Use::hoist;
  d.moves = "hook";
  d.plus = "up";
  d.minus = "down";
  d.angle = false;
  d.endless = false;
  // The hook alone pulls its share of the whole; rope pull goes with the weight.
  const double hook_share = 1 - balance::weight_n(n.problem.wants.load_g) / n.problem.weight_n;
  for (int i = 0; i < kPoints; ++i) {
    const double height_mm = n.problem.wants.hook_travel_mm * i / (kPoints - 1);
    const std::size_t layer = layer_at(n, r.wound_mm - (n.problem.wants.hook_travel_mm - height_mm) * r.falls);
    const double radius_mm = n.pull.layer_diameter_mm[layer] / 2;
    d.at.push_back(height_mm);
    d.per_rad.push_back(radius_mm / r.falls);
    d.plus_nmm.push_back(n.pull.rope_n * radius_mm);
    d.minus_nmm.push_back(-n.pull.standing_n * radius_mm);
    d.plus_free_nmm.push_back(d.plus_nmm.back() * hook_share);
    d.minus_free_nmm.push_back(d.minus_nmm.back() * hook_share);
  }
  d.heaviest_nmm = n.pull.peak_nmm();
  // The drum turns about y: about +y its front goes down and pays out a rope that leaves it there.
  d.sense = -drive::sense_about_axis(n.design.placed ? &*n.design.placed : nullptr);
  d.sense_note += "taken that the rope leaves the drum on its front side; wound on the other way round, invert";
  if (n.problem.sides == 2) d.sense_note += "; " + drive::image_note(n.design.powertrain.train);
  c.drives = {std::move(d)};
}

/// The drum seen along its shaft, centred on the origin: where it sits is the builder's choice.
void add_shapes(const Nominal& n, candidate::Candidate& c) {
  using Role = candidate::Shape::Role;
  const double outer = n.design.rigging.winding.outer_diameter_mm / 2;
  c.shapes = {{Role::gear, 0, 0, n.drum.flange_diameter_mm / 2, 0, "flange"},
              {Role::moving_beam, outer, 0, outer, -n.problem.wants.hook_travel_mm,
               fmt::format("{} part{} of line", n.design.rigging.falls, n.design.rigging.falls > 1 ? "s" : "")},
              {Role::ghost, 0, 0, outer, 0,
               n.design.rigging.winding.layers == 1 ? std::string("rope, 1 layer")
                                                    : fmt::format("rope, {} layers", n.design.rigging.winding.layers)},
              {Role::pivot, 0, 0, n.drum.core_diameter_mm / 2, 0, "drum"},
              {Role::load, outer, -n.problem.wants.hook_travel_mm, outer / 2, 0,
               fmt::format("{} g", base::plain(n.problem.wants.load_g))}};
}

void add_notes(const Nominal& n, candidate::Candidate& c) {
  const Rigging& r = n.design.rigging;
  const Wants& w = n.problem.wants;
  if (r.winding.layers > 1)
    c.notes.push_back(
        fmt::format("{} layers: guide the rope by hand or by a sheave {} mm or more away, wind it tight "
                    "under load, or it buries itself",
                    r.winding.layers, base::plain(15 * n.drum.width_mm, 2)));
  c.notes.push_back(
      fmt::format("leave {} turns on the drum at the lowest hook and tie the rope to it", base::plain(w.dead_turns)));
  if (w.run_is_guess)
    c.notes.push_back(
        fmt::format("rope from drum to hook taken as {} mm; give rope_run_mm to know better", base::plain(w.run_mm)));
  const int sheaves = sheave_count(r.falls, w.lead_sheaves);
  if (!w.sheave && sheaves > 0)
    c.notes.push_back(fmt::format("{} sheave{} of {} mm needed, not counted among the parts", sheaves,
                                  sheaves > 1 ? "s are" : " is", base::plain(w.sheave_diameter_mm)));
  if (n.reached.rope_by_motor_n > n.reached.rope_strength_n)
    c.notes.push_back(fmt::format("a stalled motor pulls {} N, the rope breaks at {} N: limit the power or stop early",
                                  base::plain(n.reached.rope_by_motor_n, 3),
                                  base::plain(n.reached.rope_strength_n, 3)));
  if (n.reached.stall_tooth_margin < 1 && !n.design.powertrain.train.stages.empty())
    c.notes.push_back(
        fmt::format("run against a stop, the stalled motor loads the teeth to {} times what they stand: "
                    "set soft end stops",
                    base::plain(1 / n.reached.stall_tooth_margin, 3)));
  if (!n.reached.locks)
    c.notes.push_back(
        n.reached.friction_hold < 1
            ? std::string("the load runs the train backwards when the motor is off")
            : fmt::format("when the motor is off only its own friction holds the load, {} times: it creeps "
                          "when shaken, and gives way with wear",
                          base::plain(n.reached.friction_hold, 2)));
  c.notes.push_back("wound string is tight: keep fingers and hair away, never stand under the hook");
}

}  // namespace

std::string key_of(const Design& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  return fmt::format("{}|{}|{} falls|{}", catalogue.at(d.rigging.drum).id, catalogue.at(d.rigging.rope).id,
                     d.rigging.falls, drive::key_of(d.powertrain, catalogue));
}

std::string title_of(const Design& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  return fmt::format("{}, {}, {} part{} of line; {}", catalogue.at(d.rigging.drum).name,
                     catalogue.at(d.rigging.rope).name, d.rigging.falls, d.rigging.falls > 1 ? "s" : "",
                     drive::title_of(d.powertrain, catalogue));
}

void present(const Design& design, candidate::Candidate& candidate) {
  const Nominal nominal(design);
  add_figures(nominal, candidate);
  add_curves(nominal, candidate);
  add_holdings(nominal, candidate);
  add_drive(nominal, candidate);
  add_shapes(nominal, candidate);
  add_notes(nominal, candidate);
  if (!design.placed) return;
  drive::tell_place(*design.placed, *design.problem->brief, candidate);
  drive::tell_loads(design.powertrain, *design.placed, nominal.machine, *design.problem->brief,
                    nominal.reached.torque_nmm, candidate);
}

}  // namespace functions::hoist
