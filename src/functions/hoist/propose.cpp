// Search: every drum x rope x parts of line that holds the rope, then every motor x train behind each.
// Ropes of one diameter and strength that are long enough are one rigging that accepts any of them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "balance/mass.h"
#include "base/parallel.h"
#include "base/text.h"
#include "functions/hoist/evaluate.h"
#include "functions/hoist/hoist.h"
#include "functions/hoist/present.h"
#include "lattice/space.h"

namespace functions::hoist {

using candidate::RejectionLog;

namespace {

/// A rigging with every rope that serves it.
struct Variant {
  Rigging rigging;
  std::vector<stock::ClassId> ropes;
};

struct Outcome {
  std::vector<Design> designs;
  std::vector<candidate::Rejection> rejections;
  std::int64_t examined = 0;
  bool complete = true;
  std::string limit_text;
};

template <class Data>
std::vector<stock::ClassId> usable(const brief::Brief& brief, const brief::Function& function, stock::Family family) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  std::vector<stock::ClassId> wanted, out;
  for (const stock::ClassId id : function.must_use)
    if (std::holds_alternative<Data>(catalogue.at(id).data)) wanted.push_back(id);
  for (const stock::ClassId id : catalogue.of(family)) {
    if (!std::holds_alternative<Data>(catalogue.at(id).data) || !drive::allowed(function, id)) continue;
    if (!wanted.empty() && wanted != std::vector{id}) continue;
    if (brief.stock->count_of(id) >= function.sides) out.push_back(id);
  }
  return out;
}

/// Hooks in the stock that may be used; sheaves are no hooks.
std::vector<stock::ClassId> hooks(const brief::Brief& brief, const brief::Function& function, const Wants& wants) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::hook))
    if (drive::allowed(function, id) && wants.sheave != id && brief.stock->count_of(id) > 0) out.push_back(id);
  return out;
}

std::vector<Variant> variants_of(const Problem& problem, const brief::Function& function, RejectionLog& log,
                                 std::int64_t& examined) {
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const Wants& w = problem.wants;
  const std::vector<stock::ClassId> drums = usable<stock::Drum>(brief, function, stock::Family::drum);
  const std::vector<stock::ClassId> ropes = usable<stock::Rope>(brief, function, stock::Family::rope);
  if (drums.empty())
    log.add("hoist.no_drum", function.sides, "pieces", [&] {
      return fmt::format("{} drum{} needed, the stock has none that this function may use", function.sides,
                         function.sides > 1 ? "s are" : " is");
    });
  if (ropes.empty())
    log.add("hoist.no_rope", function.sides, "pieces", [&] {
      return fmt::format("{} rope{} needed, the stock has none that this function may use", function.sides,
                         function.sides > 1 ? "s are" : " is");
    });
  std::vector<Variant> out;
  for (const stock::ClassId drum_id : drums) {
    const auto& drum = std::get<stock::Drum>(catalogue.at(drum_id).data);
    for (int falls = w.falls_low; falls <= w.falls_high; ++falls) {
      // By diameter and strength; ordered by the first rope of each, which is the order of the catalogue.
      std::map<std::pair<double, double>, Variant> groups;
      for (const stock::ClassId rope_id : ropes) {
        ++examined;
        const auto& rope = std::get<stock::Rope>(catalogue.at(rope_id).data);
        Rigging r{drum_id, rope_id, falls, {}, 0, 0};
        r.wound_mm =
            w.hook_travel_mm * falls + w.dead_turns * std::numbers::pi * layer_diameter_mm(drum, rope.diameter_mm, 1);
        r.rope_needed_mm = r.wound_mm + w.run_mm;
        if (rope.length_mm < r.rope_needed_mm) {
          log.add("hoist.rope_too_short", r.rope_needed_mm - rope.length_mm, "mm", [&] {
            return fmt::format("{} is {} mm too short for {} part{} of line on {}", catalogue.at(rope_id).name,
                               base::plain(r.rope_needed_mm - rope.length_mm), falls, falls > 1 ? "s" : "",
                               catalogue.at(drum_id).name);
          });
          continue;
        }
        r.winding = wind(drum, rope.diameter_mm, r.wound_mm);
        if (!r.winding.fits()) {
          log.add("hoist.drum_too_small", r.wound_mm - r.winding.capacity_mm, "mm", [&] {
            return fmt::format("{} takes {} mm of rope {} mm thick, {} mm less than {} part{} of line wind up",
                               catalogue.at(drum_id).name, base::plain(r.winding.capacity_mm),
                               base::plain(rope.diameter_mm), base::plain(r.wound_mm - r.winding.capacity_mm), falls,
                               falls > 1 ? "s" : "");
          });
          continue;
        }
        Variant& v = groups[{rope.diameter_mm, rope.strength_n}];
        if (v.ropes.empty() || rope.length_mm < std::get<stock::Rope>(catalogue.at(v.rigging.rope).data).length_mm)
          v.rigging = r;
        v.ropes.push_back(rope_id);
      }
      for (auto& [key, v] : groups) out.push_back(std::move(v));
    }
  }
  return out;
}

/// The drum on a shaft across the machine: where the user wants it, or at a few places of the room.
std::shared_ptr<const drive::Site> site_for(const Problem& problem, const brief::Function& function,
                                            stock::ClassId drum_id) {
  const brief::Brief& brief = *problem.brief;
  const auto& drum = std::get<stock::Drum>(brief.catalogue->at(drum_id).data);
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, function, function.body));
  const int width_hp = drive::slots_of(drum.width_mm, brief.system());
  const int radius_hp = drive::slots_of(drum.flange_diameter_mm / 2, brief.system());
  const std::string& name = brief.catalogue->at(drum_id).name;
  routing::Output out;
  out.name = "drum";
  const auto at = [&](int x_hp, int y_hp, int z_hp) {
    const int from_hp = y_hp - width_hp / 2;
    out.places.push_back(drive::shaft_with(lattice::Axis::y, {x_hp, z_hp}, from_hp, from_hp + width_hp,
                                           drum.flange_diameter_mm / 2, name));
  };
  if (const auto& told = problem.wants.drum_at_p) {
    const auto hp = [](double p) { return static_cast<int>(std::lround(2 * p)); };
    at(hp((*told)[0]), hp((*told)[1]), hp((*told)[2]));
  } else {
    const lattice::Point3 &low = site->room.low, &high = site->room.high;
    const int margin_hp = radius_hp + 1;
    for (const int z : {(low.z_hp + high.z_hp) / 2, high.z_hp - margin_hp}) {
      for (const int x : {low.x_hp + margin_hp, (low.x_hp + high.x_hp) / 2, high.x_hp - margin_hp})
        at(x, (low.y_hp + high.y_hp) / 2, z);
    }
  }
  site->outputs = {std::move(out)};
  return site;
}

Outcome drive_variant(const std::shared_ptr<const Problem>& problem, const brief::Function& function,
                      const Rigging& rigging, drive::Placers& placers, const std::shared_ptr<const drive::Site>& site,
                      const base::RunControl& control) {
  const brief::Sample nominal = problem->brief->parameters.nominal();
  const Pull pull = pull_of(*problem, rigging, nominal);
  drive::Query query;
  // The slowest layer is no quicker than the outermost one, so its speed bounds the speed margin.
  query.least_torque_nmm = pull.peak_nmm();
  query.least_speed_rad_s = problem->wants.wanted_speed_mm_s * rigging.falls / (pull.layer_diameter_mm.back() / 2);
  // The rope's own margin is the same whatever drives the drum.
  query.ceiling = std::min(candidate::kMarginCap,
                           std::get<stock::Rope>(problem->brief->catalogue->at(rigging.rope).data).strength_n /
                               (pull.rope_n * problem->wants.rope_safety) * (1 + 1e-9));
  query.train.min_stages = 0;
  query.train.max_stages = problem->wants.most_stages;
  query.judge = [&](const drive::Powertrain& p) {
    const drive::Machine machine = drive::machine(p, *problem->brief, nominal);
    const candidate::Evaluation e =
        margins_of(reach(*problem, rigging, pull, p, machine), {problem, rigging, p, nullptr, std::nullopt}, false);
    const auto least = std::min_element(e.margins.begin(), e.margins.end(),
                                        [](const auto& a, const auto& b) { return a.ratio < b.ratio; });
    return drive::Judged{e.worst(),          drive::stepped_current_ma(e.running_current_ma / problem->sides),
                         least->name,        least->capability,
                         least->requirement, least->unit};
  };
  query.placers = &placers;
  query.site = site;
  RejectionLog log;
  drive::Powertrains found = drive::powertrains(*problem->brief, function, query, log, control);
  Outcome out;
  out.examined = found.examined;
  out.complete = found.complete;
  out.limit_text = found.limit_text;
  for (std::size_t i = 0; i < found.kept.size(); ++i)
    out.designs.push_back({problem, rigging, std::move(found.kept[i]), found.sites[i], std::nullopt});
  out.rejections = log.take();
  return out;
}

candidate::Candidate make_candidate(const std::shared_ptr<const Design>& design, const Variant& variant,
                                    const brief::Function& function) {
  const Problem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const Wants& w = problem.wants;
  const int sides = function.sides;
  candidate::Candidate c;
  c.key = key_of(*design);
  c.title = title_of(*design);
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief, function, c);
  drive::add_need(c.demand, {design->rigging.drum}, sides, catalogue.at(design->rigging.drum).name, "drum");
  std::vector<std::string> names;
  for (const stock::ClassId id : variant.ropes) names.push_back(catalogue.at(id).name);
  drive::add_need(c.demand, variant.ropes, sides, base::list_text(names, "or"), "rope");
  drive::add_need(c.demand, hooks(brief, function, w), sides, "hook", "hook");
  if (w.sheave)
    drive::add_need(c.demand, {*w.sheave}, sheave_count(design->rigging.falls, w.lead_sheaves) * sides,
                    catalogue.at(*w.sheave).name, "sheaves");
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = evaluate(*design, nominal);
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, sides);
  const drive::Machine machine = drive::machine(design->powertrain, brief, nominal);
  c.demand.stall_current_ma = motor::line(machine.motor, machine.feed).stall_current_a * 1000 * machine.motors * sides;
  c.masses = {{function.body, candidate::parts_mass_g(c.demand, catalogue)}};
  c.payloads = {{w.hang_body, w.hang_mm, w.load_g * sides}};
  c.evaluate = [design](const brief::Sample& sample) { return evaluate(*design, sample); };
  // The pull goes with the weight, hook and all, so what is left of the force is left for more weight.
  c.lifts_g = [design, sides](const brief::Sample& sample) {
    const Problem& p = *design->problem;
    const candidate::Evaluation e = evaluate(*design, sample);
    const candidate::Margin& force = e.margins.front();
    const double all_g = p.weight_n / balance::weight_n(1), hook_g = all_g - p.wants.load_g;
    return std::max(0.0, force.capability / force.requirement * all_g - hook_g) * sides;
  };
  return c;
}

static candidate::Proposal search(const brief::Function& function, const candidate::Wants& wants,
                                  const brief::Brief& brief, const base::RunControl& control) {
  candidate::Proposal proposal;
  RejectionLog log;
  auto problem = std::make_shared<Problem>();
  problem->brief = std::make_shared<const brief::Brief>(brief);
  problem->sides = function.sides;
  problem->wants = dynamic_cast<const Wants&>(wants);
  double hook_g = 0;
  for (const stock::ClassId id : hooks(brief, function, problem->wants))
    hook_g = std::max(hook_g, brief.catalogue->at(id).mass_g.value.nominal);
  problem->weight_n = balance::weight_n(problem->wants.load_g + hook_g);

  const std::vector<Variant> variants = variants_of(*problem, function, log, proposal.examined);
  control.report("motors and trains", -1);
  base::RunControl inner = control;
  inner.jobs = 1;
  inner.progress = nullptr;
  std::vector<Outcome> outcomes(variants.size());
  // Places depend on the drum alone, so its variants share them.
  drive::Placers placers(brief, function, problem->wants.most_stages);
  std::map<stock::ClassId, std::shared_ptr<const drive::Site>> sites;
  for (const Variant& v : variants) {
    std::shared_ptr<const drive::Site>& site = sites[v.rigging.drum];
    if (site == nullptr) site = site_for(*problem, function, v.rigging.drum);
  }
  base::parallel_for(variants.size(), control.jobs, [&](std::size_t i) {
    outcomes[i] =
        drive_variant(problem, function, variants[i].rigging, placers, sites.at(variants[i].rigging.drum), inner);
  });
  std::vector<drive::Draft> drafts;
  for (std::size_t i = 0; i < variants.size(); ++i) {
    Outcome& o = outcomes[i];
    proposal.examined += o.examined;
    drive::add_all(log, std::move(o.rejections));
    if (!o.complete && proposal.complete) {
      proposal.complete = false;
      proposal.limit_text = o.limit_text;
    }
    for (Design& d : o.designs) {
      const auto design = std::make_shared<const Design>(std::move(d));
      const auto make = [&, i](const std::shared_ptr<const Design>& one) {
        return make_candidate(one, variants[i], function);
      };
      drive::Draft draft = drive::draft_of(design, placers, function, inner, make, present);
      if (draft.paper.nominal.worst() < candidate::kNearMiss) continue;
      drafts.push_back(std::move(draft));
    }
  }
  proposal.candidates = drive::place_drafts(std::move(drafts), brief, function, log, control);
  if (proposal.candidates.empty()) placers.tell_wider_room(log, inner);
  proposal.rejections = log.take();
  return proposal;
}

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  return drive::propose_by_length<Wants>(function, wants, brief, control, search);
}

}  // namespace

candidate::Kind kind() {
  return {"hoist", "Raises a load by a rope wound on a drum.", &fields, &read, &propose};
}

}  // namespace functions::hoist
