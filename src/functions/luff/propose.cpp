// Search: where the actuator goes first, who drives it second.
//
//   for every actuator class: placements on the lattice that no other beats in peak force and stroke (linkage)
//   for every class and number side by side: every motor x train (drive), each judged on its best placement
//   keep what no other candidate beats in margin, parts, mass and current
// A powertrain's candidate stands on the placement with the best worst margin; where another placement meets every want
// with at least 5 % less current, that one is a candidate of its own.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <map>
#include <memory>
#include <numbers>
#include <optional>
#include <tuple>

#include "base/parallel.h"
#include "base/text.h"
#include "functions/luff/evaluate.h"
#include "functions/luff/luff.h"
#include "functions/luff/present.h"
#include "functions/luff/site.h"
#include "linkage/placement.h"

namespace functions::luff {

using candidate::RejectionLog;

namespace {

/// Current that must be saved before a second placement of the same parts is worth showing.
constexpr double kWorthSaving = 0.05;

struct Spot {
  lattice::Point2 base, rod;
  Geometry geometry;
  Cycle cycle;          ///< nominal
  double mean_nmm = 0;  ///< over the stroke, heavier direction
};

/// One actuator class, so many side by side.
struct Variant {
  stock::ClassId actuator{};
  int count = 1;
  std::vector<Spot> spots;  ///< least force first
};

struct Outcome {
  std::vector<Design> designs;
  std::vector<candidate::Rejection> rejections;
  std::int64_t examined = 0;
  bool complete = true;
  std::string limit_text;
};

/// Lever arm that an actuator may come down to where none stays clear of an axle at the pivot (invented: below it the
/// force grows beyond use).
constexpr double kCloseLever_mm = 10;

/// Sides of the mounts are those of a body that reaches forward.
linkage::Side turned(linkage::Side side, const Wants& w) {
  if (!w.reaches_back || side == linkage::Side::either) return side;
  return side == linkage::Side::below ? linkage::Side::above : linkage::Side::below;
}

linkage::PlacementTask placement_task(const Problem& problem, const std::vector<stock::ClassId>& actuators) {
  const Wants& w = problem.wants;
  linkage::PlacementTask task;
  task.pitch_mm = problem.brief->system().pitch_mm;
  task.base_mounts = linkage::mounts_in(w.base_box);
  task.rod_mounts = linkage::mounts_in(w.rod_box);
  for (const stock::ClassId id : actuators) {
    const stock::PartClass& part = problem.brief->catalogue->at(id);
    const auto& a = std::get<stock::Actuator>(part.data);
    // Near misses stay, so that the answer can say how far a want must be loosened.
    task.actuators.push_back({part.name, a.closed_mm + w.end_clearance_mm, a.open_mm - w.end_clearance_mm,
                              a.max_force_n.value.nominal * w.max_actuators / candidate::kNearMiss});
  }
  task.low_rad = w.low_rad;
  task.high_rad = w.high_rad;
  task.min_lever_mm = w.min_lever_mm;
  task.side = turned(w.side, w);
  const double factor = problem.brief->parameters.nominal()[brief::Parameter::mass_factor];
  linkage::MomentCase most{"heaviest", {}}, least{"lightest", {}};
  for (std::size_t i = 0; i < problem.moments.size(); ++i) {
    const MomentTable::Row row = problem.moments.row(i, factor);
    most.moment_nmm.push_back(row.most_nmm);
    least.moment_nmm.push_back(row.least_nmm);
  }
  task.cases = {std::move(most), std::move(least)};
  return task;
}

std::vector<Spot> spots_of(const Problem& problem, const linkage::PlacementTask& task, stock::ClassId actuator,
                           const std::vector<linkage::Placement>& front) {
  const brief::Sample nominal = problem.brief->parameters.nominal();
  const Friction friction =
      friction_in(*problem.brief, std::get<stock::Actuator>(problem.brief->catalogue->at(actuator).data), nominal);
  std::vector<Spot> spots;
  for (const linkage::Placement& p : front) {
    Spot s{p.base,
           p.rod,
           drive::travel_of(drive::triangle_of(p.base, p.rod, task.pitch_mm), problem.moments.angle_rad),
           {},
           0};
    s.cycle = cycle_of(s.geometry, problem.moments, nominal[brief::Parameter::mass_factor], friction);
    s.mean_nmm = std::max(s.cycle.mean_raise_nmm, s.cycle.mean_lower_nmm);
    spots.push_back(std::move(s));
  }
  return spots;
}

/// Only where there is a limit to it.
std::shared_ptr<const Gauged> sway_of(const Problem& problem, const Spot& s, int actuators) {
  return problem.wants.sway_max_mm ? problem.booms->sway(s.base, s.rod, actuators) : nullptr;
}
std::shared_ptr<const Gauged> sag_of(const Problem& problem, const Spot& s, int actuators) {
  return problem.wants.sag_max_mm ? problem.booms->sag(s.base, s.rod, actuators) : nullptr;
}

/// Looks for placements of one variant that suit a powertrain best.
class Judge {
 public:
  Judge(const Problem& problem, const Variant& variant)
      : problem_(problem),
        variant_(variant),
        part_(std::get<stock::Actuator>(problem.brief->catalogue->at(variant.actuator).data)),
        nominal_(problem.brief->parameters.nominal()),
        screw_(drive::screw_in(part_, nominal_)) {
    for (const Spot& s : variant.spots) {
      // The boom does not ask what drives it.
      const std::shared_ptr<const Gauged> sway = sway_of(problem, s, variant.count);
      const std::shared_ptr<const Gauged> sag = sag_of(problem, s, variant.count);
      firm_.push_back(firm_in(sway.get(), sag.get(), problem.wants, nominal_));
    }
    // A thread that holds sets the hold margin whatever drives it.
    if (problem.wants.hold && linkage::holds(screw_))
      hold_ceiling_ = std::min(hold_ceiling_, screw_.friction / std::tan(linkage::lead_angle_rad(screw_)));
  }

  struct Choice {
    std::size_t spot = 0;
    Worst worst;
    double current_ma = 0;
  };

  /// Lower bounds of what every placement asks of the input shaft; see the promise of drive::Query. For the mean
  /// torque: 1/speed is convex in the torque, so no travel is quicker than at its mean torque throughout.
  void bounds(drive::Query& query) const {
    query.least_torque_nmm = std::numeric_limits<double>::infinity();
    double least_stroke_mm = std::numeric_limits<double>::infinity();
    query.most_torque_nmm = std::numeric_limits<double>::infinity();
    double body_ratio = 0;
    for (const Spot& s : variant_.spots) {
      query.most_torque_nmm = std::min(query.most_torque_nmm, s.cycle.peak_torque_nmm);
      body_ratio = std::max(body_ratio, part_.max_force_n.value.nominal * variant_.count / s.cycle.peak_force_n);
      query.least_torque_nmm = std::min(query.least_torque_nmm, s.mean_nmm);
      least_stroke_mm = std::min(least_stroke_mm, s.geometry.stroke_mm);
    }
    if (!std::isfinite(query.least_torque_nmm)) query.least_torque_nmm = 0;
    if (!std::isfinite(query.most_torque_nmm)) query.most_torque_nmm = 0;
    double firmest = 0;
    for (const Firm& f : firm_) firmest = std::max(firmest, f.ratio);
    query.ceiling = std::min({hold_ceiling_, body_ratio * (1 + 1e-9), firmest});
    query.least_speed_rad_s = least_stroke_mm / part_.lead_mm * 2 * std::numbers::pi / problem_.wants.time_s;
  }

  /// Placement with the best worst margin; of equal ones the one with the least force. `base`: only of this one.
  [[nodiscard]] Choice best(const drive::Powertrain& p, std::optional<lattice::Point2> base = {}) const {
    const drive::Machine machine = drive::machine(p, *problem_.brief, nominal_);
    const drive::SpeedLine line = drive::speed_line(machine);
    std::vector<std::pair<double, std::size_t>> order;
    order.reserve(variant_.spots.size());
    for (std::size_t i = 0; i < variant_.spots.size(); ++i)
      if (!base || variant_.spots[i].base == *base) order.emplace_back(bound(i, line), i);
    std::optional<Choice> best;
    // A heap gives the few that are looked at in order; sorting them all would cost more than looking.
    const auto later = [](const auto& a, const auto& b) {
      return a.first != b.first ? a.first < b.first : a.second > b.second;
    };
    std::make_heap(order.begin(), order.end(), later);
    while (!order.empty()) {
      const auto [limit, i] = order.front();
      // Equal ones are met in the order of their force, so the first to reach the limit stays.
      if (best && (limit < best->worst.ratio || (limit == best->worst.ratio && i > best->spot))) break;
      Choice here = at(i, p, machine, line);
      if (!best || here.worst.ratio > best->worst.ratio || (here.worst.ratio == best->worst.ratio && i < best->spot))
        best = here;
      std::pop_heap(order.begin(), order.end(), later);
      order.pop_back();
    }
    return *best;
  }

  /// Of the placements as good as the best one the first by force whose base mount `wanted` takes; empty: none.
  template <class Takes>
  [[nodiscard]] std::optional<Choice> equal(const drive::Powertrain& p, const Choice& best, const Takes& wanted) const {
    if (wanted(variant_.spots[best.spot].base)) return best;
    const drive::Machine machine = drive::machine(p, *problem_.brief, nominal_);
    const drive::SpeedLine line = drive::speed_line(machine);
    for (std::size_t i = best.spot + 1; i < variant_.spots.size(); ++i) {
      if (!wanted(variant_.spots[i].base) || bound(i, line) < best.worst.ratio) continue;
      const Choice here = at(i, p, machine, line);
      if (here.worst.ratio == best.worst.ratio) return here;
    }
    return std::nullopt;
  }

  /// Placement on the same base mount that draws the least current and still meets every want; empty when that saves
  /// next to nothing.
  [[nodiscard]] std::optional<Choice> frugal(const drive::Powertrain& p, const Choice& best) const {
    if (best.worst.ratio < 1) return std::nullopt;
    const drive::Machine machine = drive::machine(p, *problem_.brief, nominal_);
    const drive::SpeedLine line = drive::speed_line(machine);
    std::optional<Choice> found;
    for (std::size_t i = 0; i < variant_.spots.size(); ++i) {
      if (variant_.spots[i].base != variant_.spots[best.spot].base) continue;
      const double torque = variant_.spots[i].cycle.peak_torque_nmm;
      if (torque >= variant_.spots[found ? found->spot : best.spot].cycle.peak_torque_nmm) continue;
      if (bound(i, line) < 1) continue;
      const Choice here = at(i, p, machine, line);
      if (here.worst.ratio >= 1 && here.current_ma < best.current_ma * (1 - kWorthSaving)) found = here;
    }
    return found;
  }

 private:
  /// No less than the worst margin of a placement.
  [[nodiscard]] double bound(std::size_t i, const drive::SpeedLine& line) const {
    const Spot& s = variant_.spots[i];
    double limit = std::min(firm_[i].ratio, part_.max_force_n.value.nominal * variant_.count / s.cycle.peak_force_n);
    if (s.cycle.peak_torque_nmm > 0) limit = std::min(limit, line.stall_nmm / s.cycle.peak_torque_nmm);
    const double speed = line.at(s.mean_nmm);
    const double turns = s.geometry.stroke_mm / part_.lead_mm * 2 * std::numbers::pi;
    return std::min(hold_ceiling_, std::min(limit, problem_.wants.time_s * speed / turns) * (1 + 1e-9));
  }

  [[nodiscard]] Choice at(std::size_t i, const drive::Powertrain& p, const drive::Machine& machine,
                          const drive::SpeedLine& line) const {
    const Spot& s = variant_.spots[i];
    const Reached r = reach(*problem_.brief, part_, variant_.count, s.geometry, s.cycle, screw_, p, machine, line);
    Choice out{i, worst_of(r, problem_.wants, !p.train.stages.empty()), drive::stepped_current_ma(r.current_ma)};
    const Firm& firm = firm_[i];
    if (!firm.name.empty() && firm.ratio < out.worst.ratio)
      out.worst = {firm.ratio, firm.name, "mm", firm.reached_mm, firm.wanted_mm};
    return out;
  }

  const Problem& problem_;
  const Variant& variant_;
  const stock::Actuator& part_;
  brief::Sample nominal_;
  linkage::Screw screw_;
  std::vector<Firm> firm_;  ///< per spot
  double hold_ceiling_ = candidate::kMarginCap;
};

drive::Judged judged_of(const Judge::Choice& c) {
  return {c.worst.ratio,   c.current_ma,   std::string(c.worst.name),
          c.worst.reached, c.worst.wanted, std::string(c.worst.unit)};
}

bool same_drive(const drive::Powertrain& a, const drive::Powertrain& b) {
  return a.motor == b.motor && a.motors == b.motors && a.train.idlers == b.train.idlers &&
         std::equal(a.train.stages.begin(), a.train.stages.end(), b.train.stages.begin(), b.train.stages.end(),
                    [](const gearing::Stage& x, const gearing::Stage& y) {
                      return x.driver == y.driver && x.driven == y.driven && x.type == y.type;
                    });
}

/// One site for each base mount, made when it is first asked for.
class Sites {
 public:
  Sites(const Problem& problem, const brief::Function& function, const Variant& variant)
      : problem_(problem), function_(function), variant_(variant) {}
  const std::shared_ptr<const drive::Site>& on(lattice::Point2 base) {
    std::shared_ptr<const drive::Site>& site = by_base_[base];
    if (site != nullptr) return site;
    std::vector<lattice::Point2> rods;
    for (const Spot& s : variant_.spots) {
      if (s.base == base) rods.push_back(s.rod);
    }
    return site = site_for(problem_, function_, variant_.count, base, rods);
  }
  [[nodiscard]] bool has(lattice::Point2 base) const { return by_base_.contains(base); }
  [[nodiscard]] lattice::Point2 base_of(const std::shared_ptr<const drive::Site>& site) const {
    for (const auto& [base, known] : by_base_) {
      if (known == site) return base;
    }
    return variant_.spots.front().base;
  }

 private:
  const Problem& problem_;
  const brief::Function& function_;
  const Variant& variant_;
  std::map<lattice::Point2, std::shared_ptr<const drive::Site>> by_base_;
};

Outcome drive_variant(const std::shared_ptr<const Problem>& problem, const brief::Function& function,
                      const Variant& variant, drive::Placers& placers, const base::RunControl& control) {
  const Judge judge(*problem, variant);
  drive::Query query;
  judge.bounds(query);
  query.train.min_stages = 0;
  query.train.max_stages = problem->wants.most_stages;
  // What has just been judged is asked for its places next.
  drive::Powertrain judged;
  std::optional<Judge::Choice> choice;
  const auto best_of = [&](const drive::Powertrain& p) {
    if (!choice || !same_drive(p, judged)) {
      choice = judge.best(p);
      judged = p;
    }
    return *choice;
  };
  query.judge = [&](const drive::Powertrain& p) { return judged_of(best_of(p)); };
  query.placers = &placers;
  Sites sites(*problem, function, variant);
  query.stands = [&](const drive::Powertrain& p) {
    // Of base mounts that serve equally well, one whose room is already known: every other one costs a search of its
    // own.
    const Judge::Choice first = best_of(p);
    const Judge::Choice best =
        judge.equal(p, first, [&](lattice::Point2 base) { return sites.has(base); }).value_or(first);
    return std::vector<drive::Stand>{{sites.on(variant.spots[best.spot].base), judged_of(best)}};
  };
  RejectionLog log;
  const drive::Powertrains found = drive::powertrains(*problem->brief, function, query, log, control);
  Outcome out;
  out.examined = found.examined;
  out.complete = found.complete;
  out.limit_text = found.limit_text;
  for (std::size_t i = 0; i < found.kept.size(); ++i) {
    const drive::Powertrain& p = found.kept[i];
    const auto add = [&](const Judge::Choice& c) {
      const Spot& s = variant.spots[c.spot];
      out.designs.push_back({problem, variant.actuator, variant.count, s.base, s.rod, s.geometry, p,
                             problem->booms ? problem->booms->sway(s.base, s.rod, variant.count) : nullptr,
                             sag_of(*problem, s, variant.count), found.sites[i], std::nullopt});
    };
    const Judge::Choice best = judge.best(p, sites.base_of(found.sites[i]));
    add(best);
    if (const auto frugal = judge.frugal(p, best)) add(*frugal);
  }
  out.rejections = log.take();
  return out;
}

candidate::Candidate make_candidate(const std::shared_ptr<const Design>& design, const brief::Function& function) {
  const Problem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  candidate::Candidate c;
  c.key = key_of(*design);
  c.title = title_of(*design);
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief, function, c);
  const int actuators = design->actuators * function.sides;
  drive::add_need(c.demand, {design->actuator}, actuators, catalogue.at(design->actuator).name, "actuator");
  drive::add_need(c.demand, catalogue.of(stock::Family::pin), 2 * actuators, "pin", "actuator mounts");
  if (design->sway) problem.booms->add_demand(design->sway->boom, c.demand);
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = design->nominal;
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, function.sides);
  const drive::Machine machine = drive::machine(design->powertrain, brief, nominal);
  c.demand.stall_current_ma =
      motor::line(machine.motor, machine.feed).stall_current_a * 1000 * machine.motors * function.sides;
  const double rods_g = catalogue.at(design->actuator).mass_g.value.nominal * actuators / 2;
  const int carrier = function.body >= 0 ? function.body : problem.wants.parent;
  c.masses = {{carrier, candidate::parts_mass_g(c.demand, catalogue) - rods_g}, {problem.wants.body, rods_g}};
  const Wants& w = problem.wants;
  if (w.load_g > 0)
    c.payloads = {{w.load_body, {w.load_at_mm[0], w.load_at_mm[1], w.load_at_mm[2]}, w.load_g * function.sides}};
  c.evaluate = [design](const brief::Sample& sample) { return evaluate(*design, sample); };
  if (w.load_g > 0) {
    c.lifts_g = [design, sides = function.sides](const brief::Sample& sample) {
      return lifts_g(*design, sample) * sides;
    };
  }
  return c;
}

/// What one side of the pivot offers: for the explanation of the other one.
SideFound look_into(linkage::Side side, const Wants& wants, linkage::PlacementTask task,
                    const base::RunControl& control) {
  task.side = turned(side, wants);
  const linkage::PlacementResult placed = linkage::place_actuators(task, control);
  SideFound out;
  for (std::size_t a = 0; a < placed.fronts.size(); ++a) {
    out.feasible += placed.feasible[a];
    for (const linkage::Placement& p : placed.fronts[a]) {
      if (!out.best || p.peak_force_n < out.best->peak_force_n) out.best = p;
    }
  }
  // Of the misses the ones by length and force are nearer than those by geometry.
  if (!out.best && !placed.misses.empty()) out.miss = linkage::text(task, placed.misses.back());
  return out;
}

/// Whether the boom at this mount keeps to half of what its sway and sag may be; otherwise the log has the millimetres
/// and what was tried against it.
bool firm_enough(const Problem& problem, const Spot& spot, int actuators, RejectionLog& log) {
  const std::shared_ptr<const Gauged> sway = sway_of(problem, spot, actuators), sag = sag_of(problem, spot, actuators);
  const Firm firm = firm_in(sway.get(), sag.get(), problem.wants, problem.brief->parameters.nominal());
  if (firm.ratio >= candidate::kNearMiss) return true;
  const Gauged& judged = firm.name == "sag" ? *sag : *sway;
  if (judged.fault) {
    log.add("luff.boom_not_judged", 1, "booms", [&] { return "the boom could not be judged: " + *judged.fault; });
    return false;
  }
  log.add(fmt::format("luff.{}", firm.name), firm.reached_mm - firm.wanted_mm, "mm", [&] {
    std::string text =
        fmt::format("the load {} {} mm, {} mm allowed", firm.name == "sag" ? "sags" : "sways to a side by",
                    base::plain(firm.reached_mm, 3), base::plain(firm.wanted_mm, 3));
    if (firm.name != "sway") return text;
    std::vector<std::string> tried;
    for (const TriedRemedy& r : problem.booms->remedies(spot.base, spot.rod, actuators)) {
      if (r.possible) tried.push_back(fmt::format("{} {} mm", r.name, base::plain(r.after_mm, 3)));
    }
    return tried.empty() ? text : text + "; tried: " + base::list_text(tried, "and");
  });
  return false;
}

static candidate::Proposal search(const brief::Function& function, const candidate::Wants& wants,
                                  const brief::Brief& brief, const base::RunControl& control) {
  candidate::Proposal proposal;
  RejectionLog log;
  auto problem = std::make_shared<Problem>();
  problem->brief = std::make_shared<const brief::Brief>(brief);
  problem->sides = function.sides;
  problem->wants = dynamic_cast<const Wants&>(wants);
  problem->moments = load_moments(brief, problem->wants, kAngles);
  Wants unloaded = problem->wants;
  unloaded.load_g = 0;
  problem->free_moments = load_moments(brief, unloaded, kAngles);

  const std::vector<stock::ClassId> actuators = drive::usable_actuators(brief, function, function.sides, log);
  if (actuators.empty()) {
    proposal.rejections = log.take();
    return proposal;
  }
  if (problem->wants.judges_sway()) {
    auto booms = std::make_shared<const Booms>(problem->brief, function, problem->wants);
    if (!booms->rows()) {
      log.add("luff.no_boom", 1, "rows", [&] { return booms->no_rows(); });
      proposal.rejections = log.take();
      return proposal;
    }
    problem->booms = std::move(booms);
  }
  const linkage::PlacementTask task = placement_task(*problem, actuators);
  const linkage::PlacementResult placed = drive::place_mounts(task, function, proposal, log, control);
  for (const linkage::Side side : {linkage::Side::below, linkage::Side::above}) {
    if (problem->wants.side != linkage::Side::either && problem->wants.side != side) continue;
    (side == linkage::Side::below ? problem->below : problem->above) = look_into(side, problem->wants, task, control);
  }

  std::vector<Variant> variants;
  for (std::size_t a = 0; a < actuators.size(); ++a) {
    if (placed.fronts[a].empty()) continue;
    const std::vector<Spot> spots = spots_of(*problem, task, actuators[a], placed.fronts[a]);
    const double limit_n = task.actuators[a].max_force_n / problem->wants.max_actuators;
    for (int count = 1; count <= problem->wants.max_actuators; ++count) {
      const int needed = count * function.sides, have = brief.stock->count_of(actuators[a]);
      if (have < needed) {
        log.add("luff.too_few_actuators", needed - have, "pieces", [&] {
          return fmt::format("{} needed {} times, the stock has {}", brief.catalogue->at(actuators[a]).name, needed,
                             have);
        });
        continue;
      }
      Variant v{actuators[a], count, {}};
      bool strong = false;
      for (const Spot& s : spots) {
        if (s.cycle.peak_force_n > limit_n * count) continue;
        strong = true;
        if (firm_enough(*problem, s, count, log)) v.spots.push_back(s);
      }
      if (strong && v.spots.empty()) continue;
      if (v.spots.empty()) {
        const double least_n = spots.front().cycle.peak_force_n;
        log.add("luff.actuator_too_weak", least_n - limit_n * candidate::kNearMiss * count, "N", [&] {
          return fmt::format("{}{} holds {} N, the load needs {} N at its best mounts",
                             count > 1 ? fmt::format("{} x ", count) : "", brief.catalogue->at(actuators[a]).name,
                             base::plain(limit_n * candidate::kNearMiss * count), base::plain(least_n));
        });
        continue;
      }
      variants.push_back(std::move(v));
    }
  }

  control.report("motors and trains", -1);
  base::RunControl inner = control;
  inner.jobs = 1;
  inner.progress = nullptr;
  auto owned = std::make_unique<drive::Placers>(brief, function, problem->wants.most_stages);
  drive::Placers& placers = *owned;
  std::vector<Outcome> outcomes(variants.size());
  base::parallel_for(variants.size(), control.jobs, [&](std::size_t i) {
    outcomes[i] = drive_variant(problem, function, variants[i], placers, inner);
  });
  std::vector<Design> designs;
  for (Outcome& o : outcomes) {
    proposal.examined += o.examined;
    drive::add_all(log, std::move(o.rejections));
    if (!o.complete && proposal.complete) {
      proposal.complete = false;
      proposal.limit_text = o.limit_text;
    }
    std::move(o.designs.begin(), o.designs.end(), std::back_inserter(designs));
  }
  struct Drawn {
    std::shared_ptr<const Design> design;
    std::optional<drive::Draft> draft;
    std::tuple<double, double, std::string> rank;
  };
  std::vector<Drawn> drawn(designs.size());
  const auto make = [&function](const std::shared_ptr<const Design>& one) { return make_candidate(one, function); };
  // A design is soon drawn up: pieces of a few.
  constexpr std::size_t kPiece = 16;
  base::parallel_for((designs.size() + kPiece - 1) / kPiece, control.jobs, [&](std::size_t piece) {
    for (std::size_t i = piece * kPiece; i < std::min(designs.size(), (piece + 1) * kPiece); ++i) {
      if (control.given_up()) return;
      designs[i].nominal = evaluate(designs[i], brief.parameters.nominal());
      drawn[i].design = std::make_shared<const Design>(std::move(designs[i]));
      drive::Draft draft = drive::draft_of(drawn[i].design, placers, function, inner, make, present);
      if (draft.paper.nominal.worst() < candidate::kNearMiss) continue;
      drawn[i].rank = {-draft.paper.nominal.worst(), candidate::parts_mass_g(draft.paper.demand, *brief.catalogue),
                       draft.paper.key};
      drawn[i].draft = std::move(draft);
    }
  });
  std::vector<drive::Draft> drafts;
  const Drawn* best = nullptr;
  for (Drawn& d : drawn) {
    if (!d.draft) continue;
    if (best == nullptr || d.rank < best->rank) best = &d;
    drafts.push_back(*std::move(d.draft));
  }
  // What was tried against the sway is told of the mount that is asked about first: the best one's, whichever thread
  // comes first.
  if (best != nullptr && problem->booms && best->design->sway && !best->design->sway->fault)
    (void)problem->booms->remedies(best->design->base, best->design->rod, best->design->actuators);
  drawn.clear();
  proposal.candidates = drive::place_drafts(std::move(drafts), brief, function, log, control, [&] { owned.reset(); });
  if (proposal.candidates.empty()) placers.tell_wider_room(log, inner);
  proposal.rejections = log.take();
  return proposal;
}

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  candidate::Proposal clear = drive::propose_by_length<Wants>(function, wants, brief, control, search);
  const auto& own = dynamic_cast<const Wants&>(wants);
  const std::string short_lever = fmt::format("luff.{}", linkage::code_of(linkage::Reason::lever));
  if (!clear.candidates.empty() || !clear.complete || own.lever_given || own.min_lever_mm <= kCloseLever_mm ||
      std::none_of(clear.rejections.begin(), clear.rejections.end(),
                   [&](const candidate::Rejection& r) { return r.code == short_lever; }))
    return clear;
  // Nothing stands clear of an axle at the pivot: what passes nearer serves if the body turns on two short ones.
  Wants closer = own;
  closer.min_lever_mm = kCloseLever_mm;
  candidate::Proposal close = drive::propose_by_length<Wants>(function, closer, brief, control, search);
  if (close.candidates.empty() && close.complete) return clear;
  close.examined += clear.examined;
  return close;
}

}  // namespace

candidate::Kind kind() {
  return {"luff", "Raises and lowers a boom, stick or arm by a screw actuator.", &fields, &read, &propose, true};
}

}  // namespace functions::luff
