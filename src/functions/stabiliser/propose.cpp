// Search: the leg first, then where its actuator goes, then who drives it.
//
//   the leg on the lattice (leg.h) and what the machine stands on (stance.h)
//   for every actuator class: mounts on the lattice that no other beats in peak force and stroke (linkage)
//   for every class, and one motor a leg or one for two by a cross shaft: every motor x train (drive), each judged on
//   its best mounts keep what no other candidate beats in margin, parts, mass and current
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <optional>

#include "base/parallel.h"
#include "base/text.h"
#include "functions/stabiliser/evaluate.h"
#include "functions/stabiliser/gather.h"
#include "functions/stabiliser/joining.h"
#include "functions/stabiliser/outrigger_design.h"
#include "functions/stabiliser/present.h"
#include "functions/stabiliser/site.h"
#include "functions/stabiliser/stabiliser.h"
#include "linkage/placement.h"

namespace functions::stabiliser {

using candidate::RejectionLog;

namespace {

struct Spot {
  Mount mount;
  Cycle cycle;  ///< nominal
  Body body;
};

/// One actuator class, so many on one shaft.
struct Variant {
  stock::ClassId actuator{};
  int on_shaft = 1;
  int drives = 1;
  const std::vector<Spot>* spots = nullptr;  ///< least force first
};

std::vector<double> travel_angles(const Leg& leg) {
  std::vector<double> out;
  for (int i = 0; i < kAngles; ++i)
    out.push_back(leg.deployed_rad + (leg.stowed_rad - leg.deployed_rad) * i / (kAngles - 1));
  return out;
}

/// Holes of the leg: whole pitches from the hip along it, none at the foot.
std::vector<lattice::Point2> rod_mounts(const Wants& w, const Leg& leg) {
  const lattice::Box2 all{{2, 0}, {2 * (leg.length_p - 1), 0}};
  std::vector<lattice::Point2> out;
  for (const lattice::Point2 p : linkage::mounts_in(w.rod_region_p ? drive::box_of(*w.rod_region_p) : all)) {
    if (p.x_hp % 2 == 0 && p.z_hp % 2 == 0 && p.x_hp < 2 * leg.length_p) out.push_back(p);
  }
  return out;
}

/// Leaves out mounts that come nearer to the ground than half an actuator, and base mounts the leg would strike or that
/// reach over the middle.
linkage::PlacementTask placement_task(const Problem& problem, const std::vector<stock::ClassId>& actuators,
                                      RejectionLog& log) {
  const Wants& w = problem.wants;
  const Leg& leg = problem.leg;
  linkage::PlacementTask task;
  task.pitch_mm = problem.brief->system().pitch_mm;
  const double half_mm = task.pitch_mm / 2, least_mm = kMountHeight_p * task.pitch_mm;
  const auto low = [&](double height_mm, const char* what, lattice::Point2 p) {
    if (height_mm >= least_mm - 1e-9) return false;
    log.add("stabiliser.mount_low", least_mm - height_mm, "mm", [&] {
      return fmt::format("the {} mount at ({}, {}) p comes down to {} mm above the ground; the actuator needs {} mm",
                         what, base::plain(p.x_hp / 2.0), base::plain(p.z_hp / 2.0), base::plain(height_mm, 3),
                         base::plain(least_mm));
    });
    return true;
  };
  for (const lattice::Point2 p : linkage::mounts_in(w.base_box)) {
    if (low(leg.hip_up_mm + p.z_hp * half_mm, "base", p)) continue;
    const int from_middle_hp = static_cast<int>(std::lround(leg.hip_out_mm / half_mm)) + p.x_hp;
    if (faces_its_image(w) && from_middle_hp < drive::kActuatorWidth_p) {
      log.add("stabiliser.mount_crosses", (drive::kActuatorWidth_p - from_middle_hp) / 2.0, "p", [&] {
        return fmt::format("the base mount at ({}, {}) p reaches over the middle, where the opposite leg's stands",
                           base::plain(p.x_hp / 2.0), base::plain(p.z_hp / 2.0));
      });
      continue;
    }
    if (shaft_struck(w, leg, p)) {
      log.add("stabiliser.leg_strikes", 1, "mounts", [&] {
        return fmt::format("the leg sweeps over the base mount at ({}, {}) p", base::plain(p.x_hp / 2.0),
                           base::plain(p.z_hp / 2.0));
      });
      continue;
    }
    task.base_mounts.push_back(p);
  }
  for (const lattice::Point2 p : rod_mounts(w, leg)) {
    const double up_mm = (p.x_hp * std::sin(leg.deployed_rad) + p.z_hp * std::cos(leg.deployed_rad)) * half_mm;
    if (!low(leg.hip_up_mm + leg.lift_mm + up_mm, "rod", p)) task.rod_mounts.push_back(p);
  }
  for (const stock::ClassId id : actuators) {
    const stock::PartClass& part = problem.brief->catalogue->at(id);
    const auto& a = std::get<stock::Actuator>(part.data);
    // Near misses stay, so that the answer can say how far a want must be loosened.
    task.actuators.push_back({part.name, a.closed_mm + w.end_clearance_mm, a.open_mm - w.end_clearance_mm,
                              a.max_force_n.value.nominal / candidate::kNearMiss});
  }
  task.low_rad = leg.deployed_rad;
  task.high_rad = leg.stowed_rad;
  task.min_lever_mm = w.min_lever_mm;
  const double friction =
      w.foot_friction.value_or(problem.brief->parameters.nominal()[brief::Parameter::ground_friction]);
  linkage::MomentCase down{"deploying", {}}, up{"stowing", {}}, tips{"tipping", {}};
  for (std::size_t i = 0; i < problem.angle_rad.size(); ++i) {
    const double foot_n = i < problem.loaded ? problem.nominal.greatest_foot_n : 0;
    down.moment_nmm.push_back(moment_nmm(leg, problem.angle_rad[i], foot_n, friction, Motion::deploying));
    up.moment_nmm.push_back(moment_nmm(leg, problem.angle_rad[i], foot_n, friction, Motion::stowing));
    tips.moment_nmm.push_back(
        i == 0 ? moment_nmm(leg, problem.angle_rad[i], problem.nominal.tipping_foot_n, 0, Motion::deploying) : 0);
  }
  task.cases = {std::move(down), std::move(up), std::move(tips)};
  return task;
}

/// The mounts that suit a powertrain best.
class Judge {
 public:
  Judge(const Problem& problem, const Variant& variant)
      : problem_(problem),
        variant_(variant),
        part_(std::get<stock::Actuator>(problem.brief->catalogue->at(variant.actuator).data)),
        nominal_(problem.brief->parameters.nominal()) {
    const Cycle& any = variant.spots->front().cycle;
    // A thread that holds sets the lock margin whatever drives it.
    if (linkage::holds(any.screw)) ceiling_ = std::min(ceiling_, drive::lock_of(any.screw, {}, 0).ratio());
    if (problem.wants.tipping_deg)
      ceiling_ =
          std::min(ceiling_, problem.nominal.feet.tipping_rad * 180 / std::numbers::pi / *problem.wants.tipping_deg);
  }

  struct Choice {
    std::size_t spot = 0;
    double worst = 0;
    drive::Judged judged;
  };

  /// Lower bounds of what every placement asks of the output; see the promise of drive::Query. 1/speed is convex in the
  /// torque, so no travel is quicker than at its mean torque throughout; a drive that stalls anywhere never arrives.
  void bounds(drive::Query& query) const {
    double body = 0, least_stroke_mm = std::numeric_limits<double>::infinity();
    query.least_torque_nmm = query.most_torque_nmm = std::numeric_limits<double>::infinity();
    for (const Spot& s : *variant_.spots) {
      query.most_torque_nmm = std::min(query.most_torque_nmm, s.cycle.peak_nmm * variant_.on_shaft);
      query.least_torque_nmm = std::min(query.least_torque_nmm, s.cycle.mean_nmm * variant_.on_shaft);
      least_stroke_mm = std::min(least_stroke_mm, s.mount.travel.stroke_mm);
      body = std::max(body, body_ratio(s));
    }
    if (!std::isfinite(query.least_torque_nmm)) query.least_torque_nmm = 0;
    if (!std::isfinite(query.most_torque_nmm)) query.most_torque_nmm = 0;
    query.ceiling = std::min(ceiling_, body) * (1 + 1e-9);
    query.least_speed_rad_s = least_stroke_mm / part_.lead_mm * 2 * std::numbers::pi / problem_.wants.time_s;
  }

  /// Best worst margin; of equal ones the one with the least force. `base`: only on this base mount.
  [[nodiscard]] Choice best(const drive::Powertrain& p, std::optional<lattice::Point2> base = {}) const {
    const drive::Machine machine = drive::machine(p, *problem_.brief, nominal_);
    const drive::SpeedLine line = drive::speed_line(machine);
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t i = 0; i < variant_.spots->size(); ++i) {
      if (!base || (*variant_.spots)[i].mount.base == *base) order.emplace_back(bound((*variant_.spots)[i], line), i);
    }
    std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
      return a.first != b.first ? a.first > b.first : a.second < b.second;
    });
    std::optional<Choice> best;
    for (const auto& [limit, i] : order) {
      if (best && (limit < best->worst || (limit == best->worst && i > best->spot))) break;
      Choice here = at(i, p, machine, line);
      if (!best || here.worst > best->worst || (here.worst == best->worst && i < best->spot)) best = std::move(here);
    }
    return *best;
  }

  /// The best mounts on each base mount, best first and at most `most` base mounts.
  [[nodiscard]] std::vector<Choice> ranked(const drive::Powertrain& p, std::size_t most) const {
    const drive::Machine machine = drive::machine(p, *problem_.brief, nominal_);
    const drive::SpeedLine line = drive::speed_line(machine);
    std::vector<Choice> all;
    for (std::size_t i = 0; i < variant_.spots->size(); ++i) all.push_back(at(i, p, machine, line));
    std::stable_sort(all.begin(), all.end(), [](const Choice& a, const Choice& b) { return a.worst > b.worst; });
    std::vector<Choice> out;
    for (Choice& c : all) {
      const bool known = std::any_of(out.begin(), out.end(), [&](const Choice& o) {
        return (*variant_.spots)[o.spot].mount.base == (*variant_.spots)[c.spot].mount.base;
      });
      if (!known) out.push_back(std::move(c));
      if (out.size() == most) break;
    }
    return out;
  }

 private:
  [[nodiscard]] static double body_ratio(const Spot& s) {
    return std::min(s.body.foot.force_n / s.cycle.foot_need_n, s.body.held_foot_n / s.cycle.tipping_foot_n);
  }
  /// No less than the worst margin of a placement.
  [[nodiscard]] double bound(const Spot& s, const drive::SpeedLine& line) const {
    const double turns = s.mount.travel.stroke_mm / part_.lead_mm * 2 * std::numbers::pi;
    const double speed = line.at(s.cycle.mean_nmm * variant_.on_shaft);
    const double limit = std::min({candidate::kMarginCap, ceiling_, body_ratio(s)});
    return std::min(limit, problem_.wants.time_s * speed / turns) * (1 + 1e-9);
  }

  [[nodiscard]] Choice at(std::size_t i, const drive::Powertrain& p, const drive::Machine& machine,
                          const drive::SpeedLine& line) const {
    const Spot& s = (*variant_.spots)[i];
    const Reached r = reach(problem_, part_, variant_.on_shaft, s.mount, s.cycle, s.body, p, machine, line);
    const candidate::Evaluation e = margins_of(problem_, problem_.nominal, r, s.cycle, p, variant_.drives);
    const auto least = std::min_element(e.margins.begin(), e.margins.end(),
                                        [](const auto& a, const auto& b) { return a.ratio < b.ratio; });
    return {i,
            e.worst(),
            {e.worst(), drive::stepped_current_ma(r.current_ma), least->name, least->capability, least->requirement,
             least->unit}};
  }

  const Problem& problem_;
  const Variant& variant_;
  const stock::Actuator& part_;
  brief::Sample nominal_;
  double ceiling_ = candidate::kMarginCap;
};

/// Base mounts of a powertrain that are tried when its drive finds no room at the best one.
constexpr std::size_t kBaseMountsTried = 3;

using Outcome = Found<Design>;

Outcome drive_variant(const std::shared_ptr<const Problem>& problem, const brief::Function& function,
                      const Variant& variant, drive::Placers& placers, const base::RunControl& control) {
  const Judge judge(*problem, variant);
  drive::Query query;
  judge.bounds(query);
  query.train.min_stages = 0;
  query.train.max_stages = problem->wants.most_stages;
  query.judge = [&](const drive::Powertrain& p) { return judge.best(p).judged; };
  query.placers = &placers;
  // One site for each base mount, made when it is first asked for.
  std::map<lattice::Point2, std::shared_ptr<const drive::Site>> sites;
  const auto base_of = [&](const std::shared_ptr<const drive::Site>& site) {
    for (const auto& [base, known] : sites) {
      if (known == site) return base;
    }
    return variant.spots->front().mount.base;
  };
  query.stands = [&](const drive::Powertrain& p) -> std::vector<drive::Stand> {
    std::vector<drive::Stand> out;
    for (const Judge::Choice& c : judge.ranked(p, kBaseMountsTried)) {
      const lattice::Point2 base = (*variant.spots)[c.spot].mount.base;
      std::shared_ptr<const drive::Site>& site = sites[base];
      if (site == nullptr) {
        std::vector<lattice::Point2> rods;
        for (const Spot& s : *variant.spots) {
          if (s.mount.base == base) rods.push_back(s.mount.rod);
        }
        site = site_for(*problem, function, variant.on_shaft, base, rods);
      }
      out.push_back({site, c.judged});
    }
    return out;
  };
  RejectionLog log;
  const drive::Powertrains found =
      drive::powertrains(*problem->brief, per_drive(function, variant.drives), query, log, control);
  Outcome out;
  out.examined = found.examined;
  out.complete = found.complete;
  out.limit_text = found.limit_text;
  for (std::size_t i = 0; i < found.kept.size(); ++i) {
    const Judge::Choice c = judge.best(found.kept[i], base_of(found.sites[i]));
    out.designs.push_back({problem, variant.actuator, variant.on_shaft, variant.drives, (*variant.spots)[c.spot].mount,
                           found.kept[i], found.sites[i], std::nullopt});
  }
  out.rejections = log.take();
  return out;
}

candidate::Candidate make_candidate(const std::shared_ptr<const Design>& design, const brief::Function& function) {
  const Problem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const Wants& w = problem.wants;
  const brief::Function drives = per_drive(function, design->drives);
  candidate::Candidate c;
  c.key = key_of(*design);
  c.title = title_of(*design);
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief, drives, c);
  drive::add_need(c.demand, {design->actuator}, w.legs, catalogue.at(design->actuator).name, "actuator");
  drive::add_need(c.demand, problem.leg.beams, w.leg_beams * w.legs,
                  fmt::format("beam, length {} and up to 2 longer", problem.leg.length_p + 1), "leg");
  if (problem.leg.has_pad)
    drive::add_need(c.demand, {problem.leg.pad}, w.legs, catalogue.at(problem.leg.pad).name, "foot");
  // Two pins hold an actuator, one every beam of the leg at the hip, one a pad.
  const int pins = (2 + w.leg_beams + (problem.leg.has_pad ? 1 : 0)) * w.legs;
  drive::add_need(c.demand, catalogue.of(stock::Family::pin), pins, "pin", "legs");
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = evaluate(*design, nominal);
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, drives.sides);
  const drive::Machine machine = drive::machine(design->powertrain, brief, nominal);
  c.demand.stall_current_ma =
      motor::line(machine.motor, machine.feed).stall_current_a * 1000 * machine.motors * design->drives;
  c.masses = {{function.body, candidate::parts_mass_g(c.demand, catalogue)}};
  c.stands_on_mm = problem.nominal.feet.contacts_mm;
  c.evaluate = [design](const brief::Sample& sample) { return evaluate(*design, sample); };
  return c;
}

candidate::Proposal search(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                           const base::RunControl& control) {
  candidate::Proposal proposal;
  RejectionLog log;
  const auto answer = [&] {
    proposal.rejections = log.take();
    return proposal;
  };
  auto problem = std::make_shared<Problem>();
  problem->brief = std::make_shared<const brief::Brief>(brief);
  problem->wants = dynamic_cast<const Wants&>(wants);
  const Wants& w = problem->wants;
  if (control.stopped()) {
    proposal.complete = false;
    proposal.limit_text = "stopped before the legs were looked at";
    return answer();
  }
  if (w.way == Way::slides) return search_sliding(function, w, brief, control);
  problem->leg = find_leg(w, brief, function, log);
  if (problem->leg.length_p == 0) return answer();
  const Leg& leg = problem->leg;
  problem->nominal = stance_of(brief, w, leg, brief.parameters.nominal()[brief::Parameter::mass_factor]);
  if (tells_fall(problem->nominal, log)) return answer();
  problem->angle_rad = travel_angles(leg);
  problem->loaded = 1;
  while (problem->loaded < problem->angle_rad.size() &&
         problem->angle_rad[problem->loaded - 1] < leg.contact_rad - 1e-12)
    ++problem->loaded;

  const std::vector<stock::ClassId> actuators = drive::usable_actuators(brief, function, w.legs, log);
  const std::vector<int> ways = ways_to_join(w, leg, brief, function, log);
  if (actuators.empty() || ways.empty()) return answer();
  const linkage::PlacementTask task = placement_task(*problem, actuators, log);
  if (task.base_mounts.empty() || task.rod_mounts.empty()) {
    log.add("stabiliser.no_mount", 1, "mounts", [&] {
      return fmt::format("no hole is left for the actuator's {} mount", task.base_mounts.empty() ? "base" : "rod");
    });
    return answer();
  }
  const linkage::PlacementResult placed = drive::place_mounts(task, function, proposal, log, control);

  const brief::Sample nominal = brief.parameters.nominal();
  std::vector<std::vector<Spot>> spots(actuators.size());
  std::vector<Variant> variants;
  for (std::size_t a = 0; a < actuators.size(); ++a) {
    const auto& part = std::get<stock::Actuator>(brief.catalogue->at(actuators[a]).data);
    for (const linkage::Placement& p : placed.fronts[a]) {
      Spot s{mount_of(*problem, p.base, p.rod), {}, {}};
      s.cycle = cycle_of(*problem, problem->nominal, s.mount, part, nominal);
      s.body = body_of(*problem, s.mount, s.cycle, part);
      spots[a].push_back(std::move(s));
    }
    if (spots[a].empty()) continue;
    for (const int on_shaft : ways) variants.push_back({actuators[a], on_shaft, w.legs / on_shaft, &spots[a]});
  }

  control.report("motors and trains", -1);
  base::RunControl inner = control;
  inner.jobs = 1;
  inner.progress = nullptr;
  std::map<int, std::unique_ptr<drive::Placers>> placers;
  for (const int on_shaft : ways)
    placers[on_shaft] = std::make_unique<drive::Placers>(brief, per_drive(function, w.legs / on_shaft), w.most_stages);
  std::vector<Outcome> outcomes(variants.size());
  base::parallel_for(variants.size(), control.jobs, [&](std::size_t i) {
    outcomes[i] = drive_variant(problem, function, variants[i], *placers.at(variants[i].on_shaft), inner);
  });
  inner.jobs = control.jobs;
  gather(
      std::move(outcomes), placers, function, brief, log, inner,
      [](const auto& design, const brief::Function& own) { return make_candidate(design, own); },
      [](const Design& one, candidate::Candidate& c) { present(one, c); }, proposal);
  return answer();
}

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  // A pair of beams on racks asks for so little that longer trains would only multiply candidates that are alike.
  const auto& own = dynamic_cast<const Wants&>(wants);
  if (own.way == Way::slides && own.by == RunBy::rack && own.most_stages == drive::kAsNeeded) {
    Wants short_trains = own;
    short_trains.most_stages = 1;
    candidate::Proposal out = drive::propose_by_length<Wants>(function, short_trains, brief, control, search);
    const bool meets = std::any_of(out.candidates.begin(), out.candidates.end(),
                                   [](const candidate::Candidate& c) { return c.nominal.worst() >= 1; });
    if (meets || !out.complete) return out;
  }
  return drive::propose_by_length<Wants>(function, wants, brief, control, search);
}

}  // namespace

candidate::Kind kind() {
  return {"stabiliser", "Swings or slides legs out beside the machine to lift it or to widen its stance.",
          &fields,      &read,
          &propose,     true};
}

}  // namespace functions::stabiliser
