// Search for beams on racks: every rack x pinion beside which the beams meet holes, then who turns the pinion.
#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <memory>
#include <utility>
#include <vector>

#include "base/text.h"
#include "functions/drive/running.h"
#include "functions/stabiliser/joining.h"
#include "functions/stabiliser/outrigger_rack.h"

namespace functions::stabiliser {
namespace {

candidate::Candidate make_candidate(const std::shared_ptr<const RackDesign>& design, const brief::Function& function) {
  const SlideProblem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const drive::RackPinion& mover = design->mover;
  const int legs = problem.wants.legs;
  candidate::Candidate c;
  c.key = fmt::format("rack {}x|beam {}|{} on {} x{}|{}", design->drives, problem.beam.leg.length_p,
                      catalogue.at(mover.pinion).id, catalogue.at(mover.rack).id, mover.racks,
                      drive::key_of(design->powertrain, catalogue));
  c.title = fmt::format("{} beams of {} p that slide out in pairs; between their racks {}; {}{}", legs,
                        problem.beam.leg.length_p, catalogue.at(mover.pinion).name,
                        design->drives > 1 ? fmt::format("{} x ", design->drives) : "",
                        drive::title_of(design->powertrain, catalogue));
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief,
                    per_drive(function, design->drives), c);
  drive::add_need(c.demand, {mover.pinion}, design->drives, catalogue.at(mover.pinion).name, "pinion");
  std::vector<std::string> names;
  for (const stock::ClassId id : design->racks) names.push_back(catalogue.at(id).name);
  drive::add_need(c.demand, design->racks, mover.racks * legs, base::list_text(names, "or"), "rack");
  // Two pins hold a rack on its beam.
  add_legs(problem, function, 2 * mover.racks * legs, c.demand);
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = evaluate(*design, nominal);
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, design->drives);
  const drive::Machine machine = drive::machine(design->powertrain, brief, nominal);
  c.demand.stall_current_ma =
      motor::line(machine.motor, machine.feed).stall_current_a * 1000 * machine.motors * design->drives;
  c.masses = {{function.body, candidate::parts_mass_g(c.demand, catalogue)}};
  c.stands_on_mm = problem.nominal.feet.contacts_mm;
  c.evaluate = [design](const brief::Sample& sample) { return evaluate(*design, sample); };
  return c;
}

/// Racks that one pinion may run on, told as one: those as many in line and as wide as the lightest, where none of them
/// takes room of its own.
std::vector<RackDesign> mechanisms(const SlideProblem& base, const std::vector<drive::RackPinion>& movers, int drives) {
  const stock::Catalogue& catalogue = *base.brief->catalogue;
  std::vector<RackDesign> out;
  std::vector<drive::RackPinion> lightest_first = movers;
  std::stable_sort(lightest_first.begin(), lightest_first.end(), [&](const auto& a, const auto& b) {
    return a.racks * catalogue.at(a.rack).mass_g.value.nominal < b.racks * catalogue.at(b.rack).mass_g.value.nominal;
  });
  const auto width = [&](const drive::RackPinion& m) {
    return std::get<stock::Rack>(catalogue.at(m.rack).data).face_width_mm;
  };
  for (const drive::RackPinion& m : lightest_first) {
    const auto same = std::find_if(out.begin(), out.end(), [&](const RackDesign& d) {
      return d.mover.pinion == m.pinion && d.mover.racks == m.racks && width(d.mover) == width(m) &&
             !rack_stands_out(base, m);
    });
    if (same != out.end())
      same->racks.push_back(m.rack);
    else
      out.push_back({nullptr, m, {m.rack}, drives, {}});
  }
  return out;
}

/// A sleeve that jams however hard the beams are moved.
bool jams(const SlideProblem& problem, const brief::Sample& sample, candidate::RejectionLog& log) {
  const double friction = sample[brief::Parameter::pin_friction], needed_mm = rack_sleeve_mm(problem, friction);
  if (problem.beam.guide_mm > needed_mm) return false;
  const double pitch_mm = problem.brief->system().pitch_mm;
  log.add("stabiliser.jams", std::max(1e-9, needed_mm - problem.beam.guide_mm), "mm", [&] {
    return fmt::format(
        "pushed aside by a pinion {} mm inside the sleeve's mouth, a beam with friction {} jams in a sleeve of {} mm; "
        "it "
        "needs more than {} mm: guide_p = {}",
        base::plain(problem.beam.leg.hip_out_mm), base::plain(friction, 2), base::plain(problem.beam.guide_mm),
        base::plain(needed_mm, 3), base::plain(std::floor(needed_mm / pitch_mm) + 1));
  });
  return true;
}

/// The least of the margins that are the beams' own, whoever turns the pinion.
double no_drive_betters(const RackDesign& design, const brief::Sample& sample) {
  double out = candidate::kMarginCap;
  for (const candidate::Margin& m : beam_margins(design, sample)) out = std::min(out, m.ratio);
  return out;
}

}  // namespace

void search_by_rack(const SlideProblem& base, const brief::Function& function, candidate::Proposal& proposal,
                    candidate::RejectionLog& log, const base::RunControl& control) {
  const brief::Brief& brief = *base.brief;
  const Wants& w = base.wants;
  const brief::Sample nominal = brief.parameters.nominal();
  const int drives = w.legs / 2;
  const std::vector<RackDesign> ways =
      mechanisms(base, drive::rack_pinions(brief, function, base.beam.travel_mm, w.legs, drives, log), drives);
  const brief::Function own = per_drive(function, drives);
  drive::Placers placers(brief, own, w.most_stages);
  std::vector<drive::Draft> drafts;
  for (std::size_t i = 0; i < ways.size() && proposal.complete; ++i) {
    const drive::RackPinion& mover = ways[i].mover;
    control.report("legs on racks", static_cast<double>(i) / static_cast<double>(ways.size()));
    const auto problem = beside_pinion(base, mover, log);
    if (problem == nullptr || jams(*problem, nominal, log)) {
      ++proposal.examined;
      continue;
    }
    if (tells_fall(problem->nominal, log)) continue;
    const RackCycle c = rack_cycle(*problem, mover, problem->nominal, nominal);
    RackDesign mechanism = ways[i];
    mechanism.problem = problem;
    drive::Query query;
    query.least_torque_nmm = c.mean_nmm;
    query.most_torque_nmm = c.peak_nmm;
    // No travel is quicker than at its mean torque throughout, because 1/speed is convex in the torque.
    query.least_speed_rad_s = problem->beam.travel_mm / mover.radius_mm / w.time_s * (1 - 1e-9);
    query.ceiling = no_drive_betters(mechanism, nominal);
    query.train.min_stages = 0;
    query.train.max_stages = w.most_stages;
    query.judge = [&](const drive::Powertrain& p) {
      RackDesign one = mechanism;
      one.powertrain = p;
      return drive::judged_of(evaluate(one, nominal), drives);
    };
    query.placers = &placers;
    query.site = site_by_rack(*problem, mover, function);
    const drive::Powertrains kept = drive::powertrains(brief, own, query, log, control);
    drive::count_search(kept, proposal);
    drive::add_drafts(
        kept, mechanism, placers, own, control,
        [&function](const std::shared_ptr<const RackDesign>& d) { return make_candidate(d, function); },
        [](const RackDesign& d, candidate::Candidate& one) { present(d, one); }, drafts);
  }
  proposal.candidates = drive::place_drafts(std::move(drafts), brief, function, log, control);
  if (proposal.candidates.empty()) placers.tell_wider_room(log, control);
}

}  // namespace functions::stabiliser
