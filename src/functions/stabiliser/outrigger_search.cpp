// Search for legs that slide: the beam first, then where its actuator lies, then who drives it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "base/parallel.h"
#include "base/text.h"
#include "functions/drive/running.h"
#include "functions/stabiliser/gather.h"
#include "functions/stabiliser/joining.h"
#include "functions/stabiliser/outrigger_design.h"
#include "functions/stabiliser/outrigger_rack.h"
#include "functions/stabiliser/site.h"

namespace functions::stabiliser {

using candidate::RejectionLog;

namespace {

/// Places of the actuator that are tried when its drive finds no room at the first.
constexpr std::size_t kSeatsTried = 3;
/// Beams of a sleeve, above and below, and pins for beam and sleeve (common practice, no source).
constexpr int kSleeveBeams = 2;
constexpr int kSleevePins = 4;
constexpr int kSleeveSlack_p = 2;
/// By rack a third beam, on the side that the pinion pushes to, on two pins of its own.
constexpr int kWallBeams = 1, kWallPins = 2;

struct Variant {
  stock::ClassId actuator{};
  int on_shaft = 1;
  std::vector<Seat> seats;
};

using Outcome = Found<SlideDesign>;

drive::Judged judged_of(const SlideDesign& design, const brief::Sample& nominal) {
  const candidate::Evaluation e = evaluate(design, nominal);
  const auto least = std::min_element(e.margins.begin(), e.margins.end(),
                                      [](const auto& a, const auto& b) { return a.ratio < b.ratio; });
  return {e.worst(),  e.running_current_ma / design.drives, least->name, least->capability, least->requirement,
          least->unit};
}

Outcome drive_variant(const std::shared_ptr<const SlideProblem>& problem, const brief::Function& function,
                      const Variant& variant, drive::Placers& placers, const base::RunControl& control) {
  const brief::Brief& brief = *problem->brief;
  const Wants& w = problem->wants;
  const brief::Sample nominal = brief.parameters.nominal();
  const auto& part = std::get<stock::Actuator>(brief.catalogue->at(variant.actuator).data);
  const int drives = w.legs / variant.on_shaft;
  const auto design_of = [&](const drive::Powertrain& p, const Seat& seat) {
    return SlideDesign{problem, variant.actuator, variant.on_shaft, drives, seat, p, nullptr, std::nullopt};
  };
  drive::Query query;
  query.least_torque_nmm = query.most_torque_nmm = std::numeric_limits<double>::infinity();
  for (const Seat& seat : variant.seats) {
    const SlideCycle c = slide_cycle(*problem, problem->nominal, part, seat.offset_mm, nominal);
    query.least_torque_nmm = std::min(query.least_torque_nmm, c.mean_nmm * variant.on_shaft);
    query.most_torque_nmm = std::min(query.most_torque_nmm, c.peak_nmm * variant.on_shaft);
  }
  query.least_speed_rad_s = problem->beam.travel_mm / part.lead_mm * 2 * std::numbers::pi / w.time_s;
  query.train.min_stages = 0;
  query.train.max_stages = w.most_stages;
  query.judge = [&](const drive::Powertrain& p) { return judged_of(design_of(p, variant.seats.front()), nominal); };
  query.placers = &placers;
  std::vector<std::shared_ptr<const drive::Site>> sites;
  for (const Seat& seat : variant.seats) sites.push_back(site_for(*problem, function, variant.on_shaft, seat));
  query.stands = [&](const drive::Powertrain& p) {
    std::vector<drive::Stand> out;
    for (std::size_t i = 0; i < sites.size(); ++i)
      out.push_back({sites[i], judged_of(design_of(p, variant.seats[i]), nominal)});
    return out;
  };
  RejectionLog log;
  const drive::Powertrains found = drive::powertrains(brief, per_drive(function, drives), query, log, control);
  Outcome out;
  out.examined = found.examined;
  out.complete = found.complete;
  out.limit_text = found.limit_text;
  for (std::size_t i = 0; i < found.kept.size(); ++i) {
    const auto at = std::find(sites.begin(), sites.end(), found.sites[i]) - sites.begin();
    SlideDesign d = design_of(found.kept[i], variant.seats[static_cast<std::size_t>(at)]);
    d.site = found.sites[i];
    out.designs.push_back(std::move(d));
  }
  out.rejections = log.take();
  return out;
}

candidate::Candidate make_candidate(const std::shared_ptr<const SlideDesign>& design, const brief::Function& function) {
  const SlideProblem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const Wants& w = problem.wants;
  candidate::Candidate c;
  c.key = key_of(*design);
  c.title = title_of(*design);
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief,
                    per_drive(function, design->drives), c);
  drive::add_need(c.demand, {design->actuator}, w.legs, catalogue.at(design->actuator).name, "actuator");
  add_legs(problem, function, 2 * w.legs, c.demand);  // two pins hold an actuator
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = evaluate(*design, nominal);
  c.demand.running_current_ma = c.nominal.running_current_ma;
  const drive::Machine machine = drive::machine(design->powertrain, brief, nominal);
  c.demand.stall_current_ma =
      motor::line(machine.motor, machine.feed).stall_current_a * 1000 * machine.motors * design->drives;
  c.masses = {{function.body, candidate::parts_mass_g(c.demand, catalogue)}};
  c.stands_on_mm = problem.nominal.feet.contacts_mm;
  c.evaluate = [design](const brief::Sample& sample) { return evaluate(*design, sample); };
  return c;
}

}  // namespace

void add_legs(const SlideProblem& problem, const brief::Function& function, int own_pins, candidate::Demand& demand) {
  const brief::Brief& brief = *problem.brief;
  const Wants& w = problem.wants;
  const Leg& leg = problem.beam.leg;
  const bool by_rack = w.by == RunBy::rack;
  drive::add_need(demand, leg.beams, w.leg_beams * w.legs,
                  fmt::format("beam, length {} and up to 2 longer", leg.length_p + 1), "leg");
  const int sleeve = static_cast<int>(std::ceil(w.guide_p - 1e-9)) + 1;
  drive::add_need(demand, drive::full_beams(brief, function, sleeve, sleeve + kSleeveSlack_p),
                  (kSleeveBeams * w.leg_beams + (by_rack ? kWallBeams : 0)) * w.legs,
                  fmt::format("beam, length {} to {}", sleeve, sleeve + kSleeveSlack_p), "sleeve");
  if (leg.has_pad) drive::add_need(demand, {leg.pad}, w.legs, brief.catalogue->at(leg.pad).name, "foot");
  const int pins = own_pins + (kSleevePins * w.leg_beams + (by_rack ? kWallPins : 0) + (leg.has_pad ? 1 : 0)) * w.legs;
  drive::add_need(demand, brief.catalogue->of(stock::Family::pin), pins, "pin", "legs");
}

candidate::Proposal search_sliding(const brief::Function& function, const Wants& wants, const brief::Brief& brief,
                                   const base::RunControl& control) {
  candidate::Proposal proposal;
  RejectionLog log;
  const auto answer = [&] {
    proposal.rejections = log.take();
    return proposal;
  };
  auto problem = std::make_shared<SlideProblem>();
  problem->brief = std::make_shared<const brief::Brief>(brief);
  problem->wants = wants;
  const Wants& w = problem->wants;
  if (control.stopped()) {
    proposal.complete = false;
    proposal.limit_text = "stopped before the legs were looked at";
    return answer();
  }
  const bool by_hand = w.by == RunBy::hand, by_screw = w.by == RunBy::motor;
  std::vector<stock::ClassId> actuators;
  if (by_screw) actuators = drive::usable_actuators(brief, function, w.legs, log);
  double stroke_mm = by_screw ? 0 : std::numeric_limits<double>::infinity();
  for (const stock::ClassId id : actuators) {
    const auto& part = std::get<stock::Actuator>(brief.catalogue->at(id).data);
    stroke_mm = std::max(stroke_mm, part.open_mm - part.closed_mm - 2 * w.end_clearance_mm);
  }
  problem->beam = find_outrigger(w, brief, function, stroke_mm, log);
  const Outrigger& beam = problem->beam;
  if (beam.leg.length_p == 0 || (actuators.empty() && by_screw)) return answer();
  problem->nominal = stance_of(brief, w, beam.leg, brief.parameters.nominal()[brief::Parameter::mass_factor]);
  if (tells_fall(problem->nominal, log)) return answer();
  for (int i = 0; i < kRuns; ++i) problem->run_mm.push_back(beam.travel_mm * i / (kRuns - 1));
  problem->loaded_from = problem->run_mm.size();
  if (!beam.level()) {
    // First contact is never missed between two.
    problem->loaded_from = problem->run_mm.size() - 1;
    while (problem->loaded_from > 0 && problem->run_mm[problem->loaded_from] > beam.travel_mm - beam.loaded_mm + 1e-12)
      --problem->loaded_from;
  }
  if (by_hand) {
    proposal.examined = 1;
    propose_by_hand(problem, function, proposal, log);
    return answer();
  }
  if (w.by == RunBy::rack) {
    search_by_rack(*problem, function, proposal, log, control);
    return answer();
  }
  const std::vector<int> ways = ways_to_join(w, beam.leg, brief, function, log);
  std::vector<Variant> variants;
  bool seats_left_out = false;
  for (const stock::ClassId id : actuators) {
    std::vector<Seat> seats = seats_of(*problem, brief.catalogue->at(id), log);
    proposal.examined += static_cast<std::int64_t>(seats.size());
    seats_left_out = seats_left_out || seats.size() > kSeatsTried;
    if (seats.size() > kSeatsTried) seats.resize(kSeatsTried);
    if (seats.empty()) continue;
    for (const int on_shaft : ways) variants.push_back({id, on_shaft, seats});
  }
  base::RunControl inner = control;
  inner.jobs = 1;
  inner.progress = nullptr;
  std::map<int, std::unique_ptr<drive::Placers>> placers;
  for (const int on_shaft : ways)
    placers[on_shaft] = std::make_unique<drive::Placers>(brief, per_drive(function, w.legs / on_shaft), w.most_stages);
  control.report("motors and trains", -1);
  std::vector<Outcome> outcomes(variants.size());
  base::parallel_for(variants.size(), control.jobs, [&](std::size_t i) {
    outcomes[i] = drive_variant(problem, function, variants[i], *placers.at(variants[i].on_shaft), inner);
  });
  inner.jobs = control.jobs;
  gather(
      std::move(outcomes), placers, function, brief, log, inner,
      [](const auto& design, const brief::Function& own) { return make_candidate(design, own); },
      [](const SlideDesign& one, candidate::Candidate& c) { present(one, c); }, proposal);
  if (proposal.candidates.empty() && seats_left_out && proposal.complete) {
    proposal.complete = false;
    proposal.limit_text = fmt::format("only the first {} places of each actuator were tried", kSeatsTried);
  }
  return answer();
}

}  // namespace functions::stabiliser
