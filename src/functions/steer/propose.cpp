// Search: the rods first, who drives them second.
//
//   every arm x crank pivot x crank x drag link on the lattice, those that no other beats at the same pivot
//   (rod_search) every motor x train (drive), each judged on the rods with the best worst margin keep what no other
//   candidate beats in margin, parts, mass and current
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <utility>

#include "base/text.h"
#include "functions/drive/placing.h"
#include "functions/drive/route_kit.h"
#include "functions/drive/running.h"
#include "functions/steer/present.h"
#include "functions/steer/site.h"
#include "functions/steer/steer.h"
#include "motor/motor.h"

namespace functions::steer {
namespace {

using candidate::Candidate;
using candidate::RejectionLog;

constexpr int kLongestCrank_p = 4;
/// Rods, each at another pivot, that are tried when the drive finds no room at the best ones.
constexpr std::size_t kPivotsTried = 2;
/// A bar may be this much longer than what its links need (common practice, no source).
constexpr int kBarSlack_p = 2;
/// Sleeve that guides a rack's bar (common practice, no source).
constexpr int kSleeve_p = 4;

/// Bars of one hole's width that the function may use: full beams where the kit system has them.
std::vector<stock::ClassId> bar_classes(const brief::Brief& brief, const brief::Function& fn) {
  std::vector<stock::ClassId> full, all;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::beam)) {
    const auto* beam = std::get_if<stock::Beam>(&brief.catalogue->at(id).data);
    if (beam == nullptr || beam->width_p != 1 || !drive::allowed(fn, id)) continue;
    all.push_back(id);
    if (beam->thickness_p == 1) full.push_back(id);
  }
  return full.empty() ? all : full;
}

int holes_of(const brief::Brief& brief, stock::ClassId id) {
  return std::get<stock::Beam>(brief.catalogue->at(id).data).length_p;
}

std::vector<linkage::Bar> bars_of(const brief::Brief& brief, const brief::Function& fn, int axles) {
  std::map<int, int> pieces;
  for (const stock::ClassId id : bar_classes(brief, fn)) pieces[holes_of(brief, id)] += brief.stock->count_of(id);
  std::vector<linkage::Bar> out;
  for (const auto& [holes, count] : pieces) {
    if (count >= axles) out.push_back({holes, count / axles, fmt::format("bar of {} holes", holes)});
  }
  return out;
}

std::string_view code_of(RodUnfit why) {
  switch (why) {
    case RodUnfit::bars:
      return "steer.bars";
    case RodUnfit::wheels:
      return "steer.transmission";
    case RodUnfit::error:
      return "steer.ackermann";
    case RodUnfit::crank:
      return "steer.crank_does_not_follow";
    case RodUnfit::room:
      return "steer.links_meet";
    case RodUnfit::rack:
      return "steer.rack";
  }
  return "";
}
std::string_view unit_of(RodUnfit why) {
  switch (why) {
    case RodUnfit::bars:
      return "p";
    case RodUnfit::wheels:
    case RodUnfit::error:
      return "deg";
    case RodUnfit::crank:
      return "links";
    case RodUnfit::room:
      return "mm";
    case RodUnfit::rack:
      return "pieces";
  }
  return "";
}

RodTask rod_task(const Problem& problem, const brief::Function& fn) {
  const brief::Brief& brief = *problem.brief;
  const Wants& w = problem.wants;
  const brief::Sample nominal = brief.parameters.nominal();
  RodTask task;
  task.axle = problem.axle;
  // Arms on whole holes of the knuckle: beams that cross at right angles. Outward only as far as the tyre leaves room.
  const double pitch_mm = brief.system().pitch_mm;
  const int most_out_p =
      std::max(0, static_cast<int>(std::floor((w.offset_mm - w.width_mm / 2) / pitch_mm - 0.5 + 1e-9)));
  for (int in_p = -most_out_p; in_p <= std::min(w.longest_arm_p, w.kingpins_hp / 4); ++in_p) {
    for (int back_p = 1; back_p <= w.longest_arm_p; ++back_p) {
      task.arms.push_back({2 * in_p, 2 * back_p});
      task.arms.push_back({2 * in_p, -2 * back_p});
    }
  }
  for (int x = w.crank_box.low.x_hp; x <= w.crank_box.high.x_hp; ++x) {
    for (int y = w.crank_box.low.z_hp; y <= w.crank_box.high.z_hp; ++y) {
      if (x % 2 == 0 && y % 2 == 0) task.pivots.push_back({x, y});
    }
  }
  task.bars = bars_of(brief, fn, w.axles);
  task.longest_crank_p = kLongestCrank_p;
  // Near misses stay, so that the answer can say how far a want must be loosened.
  task.max_error_rad = w.max_error_deg * std::numbers::pi / 180 / candidate::kNearMiss;
  task.moment_nmm = kingpin_moment_nmm(w, brief, nominal);
  task.pins = pins_in(brief, nominal);
  task.shaft_clear_mm = pitch_mm / 2 + brief.system().axle.width_mm / 2 + drive::kClearance_mm;
  return task;
}

RackParts rack_parts(const brief::Brief& brief, const brief::Function& fn, int axles) {
  RackParts out;
  out.module_mm = brief.system().module_mm;
  out.misfit_mm = brief.system().max_misfit_mm;
  for (const stock::ClassId id : drive::choices(brief, fn, stock::Family::gear, "")) {
    const auto* gear = std::get_if<stock::Gear>(&brief.catalogue->at(id).data);
    if (gear == nullptr || gear->form != stock::GearForm::spur || brief.stock->count_of(id) < axles) continue;
    const double radius_mm = out.module_mm * gear->teeth / 2;
    out.pinions.push_back({id, radius_mm, radius_mm + brief.system().addendum * out.module_mm});
  }
  for (const stock::ClassId id : drive::choices(brief, fn, stock::Family::rack, "")) {
    const auto* rack = std::get_if<stock::Rack>(&brief.catalogue->at(id).data);
    const int pieces = brief.stock->count_of(id) / axles;
    if (rack != nullptr && rack->teeth > 0 && brief.stock->count_of(id) > 0)
      out.racks.push_back({id, rack->teeth, pieces});
  }
  return out;
}

/// Looks for the rods that suit a powertrain best.
class Judge {
 public:
  Judge(const Problem& problem, const std::vector<std::shared_ptr<const RodChoice>>& rods)
      : problem_(problem),
        rods_(rods),
        nominal_(problem.brief->parameters.nominal()),
        push_nmm_(push_moment_nmm(problem.wants, *problem.brief, nominal_)) {
    for (const auto& r : rods_) ceiling_.push_back(own_limit(*r));
  }

  struct Choice {
    std::size_t rods = 0;
    drive::Judged judged;
  };

  /// Lower bounds of what every set of rods asks of the crank's shaft; see the promise of drive::Query. For the mean
  /// torque: 1/speed is convex in the torque, so no travel is quicker than at its mean torque throughout.
  void bounds(drive::Query& query) const {
    query.ceiling = *std::max_element(ceiling_.begin(), ceiling_.end());
    query.least_torque_nmm = query.most_torque_nmm = query.least_speed_rad_s = 1e300;
    for (const auto& r : rods_) {
      query.least_torque_nmm = std::min(query.least_torque_nmm, r->mean_nmm * (1 - kHair));
      query.most_torque_nmm = std::min(query.most_torque_nmm, r->peak_nmm);
      query.least_speed_rad_s =
          std::min(query.least_speed_rad_s, r->travel.range_rad / problem_.wants.time_s * (1 - kHair));
    }
  }

  /// Rods by their worst margin, best first, one set for each pivot, at most `most`.
  [[nodiscard]] std::vector<Choice> ranked(const drive::Powertrain& p, std::size_t most) const {
    const drive::Machine machine = drive::machine(p, *problem_.brief, nominal_);
    const drive::SpeedLine line = drive::speed_line(machine);
    const double hold_nmm = holding_nmm(machine);
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t i = 0; i < rods_.size(); ++i) order.emplace_back(bound(i, line, hold_nmm), i);
    std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
      return a.first != b.first ? a.first > b.first : a.second < b.second;
    });
    std::vector<Choice> best;  // at most one a pivot, best first
    for (const auto& [limit, i] : order) {
      if (best.size() == most && limit < best.back().judged.worst) break;
      const candidate::Evaluation e =
          margins_of(reach(*rods_[i], rods_[i]->torque_nmm, p, machine, problem_.wants, *problem_.brief, push_nmm_),
                     problem_.wants, p);
      const auto governs =
          std::min_element(e.margins.begin(), e.margins.end(),
                           [](const candidate::Margin& a, const candidate::Margin& b) { return a.ratio < b.ratio; });
      Choice c{i,
               {e.worst(), drive::stepped_current_ma(e.running_current_ma / problem_.wants.axles), governs->name,
                governs->capability, governs->requirement, governs->unit}};
      const auto same = std::find_if(best.begin(), best.end(), [&, i = i](const Choice& o) {
        return rods_[o.rods]->rods.pivot == rods_[i]->rods.pivot;
      });
      const auto before = [](const Choice& a, const Choice& b) {
        return a.judged.worst != b.judged.worst ? a.judged.worst > b.judged.worst : a.rods < b.rods;
      };
      if (same != best.end()) {
        if (before(c, *same)) *same = std::move(c);
      } else {
        best.push_back(std::move(c));
      }
      std::sort(best.begin(), best.end(), before);
      if (best.size() > most) best.resize(most);
    }
    return best;
  }

 private:
  static constexpr double kHair = 1e-9;

  /// What the rods alone allow.
  [[nodiscard]] double own_limit(const RodChoice& r) const {
    const Wants& w = problem_.wants;
    double limit = candidate::kMarginCap;
    const double error_deg = r.travel.error_rad * 180 / std::numbers::pi;
    if (error_deg > 0) limit = std::min(limit, w.max_error_deg / error_deg);
    if (w.turning_circle_mm) {
      limit = std::min(limit, *w.turning_circle_mm / kerb_circle_mm(w.inner_rad, r.travel.outer_rad, w.base_mm,
                                                                    w.kingpins_at_mm, w.offset_mm, w.width_mm));
    }
    return limit * (1 + kHair);
  }

  /// No less than the worst margin with these rods.
  [[nodiscard]] double bound(std::size_t i, const drive::SpeedLine& line, double hold_nmm) const {
    const RodChoice& r = *rods_[i];
    double limit = std::min(ceiling_[i], line.stall_nmm / r.peak_nmm);
    limit = std::min(limit, problem_.wants.time_s * line.at(r.mean_nmm) / r.travel.range_rad);
    limit = std::min(limit, r.travel.range_rad / line.no_load_rad_s / problem_.wants.least_time_s);
    if (problem_.wants.hold && push_nmm_ > 0) limit = std::min(limit, hold_nmm / (push_nmm_ * r.travel.most_rate));
    return limit * (1 + kHair);
  }

  const Problem& problem_;
  const std::vector<std::shared_ptr<const RodChoice>>& rods_;
  brief::Sample nominal_;
  double push_nmm_ = 0;
  std::vector<double> ceiling_;
};

/// One site for each set of rods, made when it is first asked for.
class Sites {
 public:
  Sites(const Problem& problem, const brief::Function& fn, const std::vector<std::shared_ptr<const RodChoice>>& rods)
      : problem_(problem), fn_(fn), rods_(rods) {}
  const std::shared_ptr<const drive::Site>& of(std::size_t rods) {
    std::shared_ptr<const drive::Site>& site = by_rods_[rods];
    if (site == nullptr) site = site_for(problem_, fn_, *rods_[rods]);
    return site;
  }
  [[nodiscard]] std::size_t rods_of(const std::shared_ptr<const drive::Site>& site) const {
    const auto it = std::find_if(by_rods_.begin(), by_rods_.end(), [&](const auto& e) { return e.second == site; });
    return it == by_rods_.end() ? 0 : it->first;
  }

 private:
  const Problem& problem_;
  const brief::Function& fn_;
  const std::vector<std::shared_ptr<const RodChoice>>& rods_;
  std::map<std::size_t, std::shared_ptr<const drive::Site>> by_rods_;
};

/// Rods, arms, pins and what holds the crank on its axle, for all axles.
void add_rods(const Design& d, const brief::Function& fn, candidate::Demand& demand) {
  const brief::Brief& brief = *d.problem->brief;
  const int axles = d.problem->wants.axles;
  const bool rack = d.rods->rack.has_value();
  const std::vector<int> lengths_p = rack ? bar_lengths_p(*d.rods->rack) : bar_lengths_p(d.rods->rods);
  const std::vector<linkage::Bar> bars = bars_of(brief, fn, axles);
  const auto chosen = linkage::bars_for(bars, lengths_p);
  static constexpr const char* kRoles[] = {"track rod", "drag link", "crank"};
  static constexpr const char* kRackRoles[] = {"rack's bar", "tie rod", "tie rod"};
  for (std::size_t i = 0; i < lengths_p.size(); ++i) {
    const int least = lengths_p[i] + 1;
    const int most = std::max(least + kBarSlack_p, chosen ? bars[static_cast<std::size_t>((*chosen)[i])].holes : least);
    std::vector<stock::ClassId> accepts;
    for (const stock::ClassId id : bar_classes(brief, fn)) {
      if (holes_of(brief, id) >= least && holes_of(brief, id) <= most) accepts.push_back(id);
    }
    drive::add_need(demand, std::move(accepts), axles, fmt::format("beam, length {} to {}", least, most),
                    i >= 3 ? "steering arms"
                    : rack ? kRackRoles[i]
                           : kRoles[i]);
  }
  if (rack) {
    const Rack& r = *d.rods->rack;
    drive::add_need(demand, {r.wheel}, axles, brief.catalogue->at(r.wheel).name, "pinion");
    drive::add_need(demand, {r.rack}, r.racks * axles, brief.catalogue->at(r.rack).name, "rack");
    // Above and below the bar.
    drive::add_need(demand, drive::full_beams(brief, fn, kSleeve_p + 1, kSleeve_p + 1 + kBarSlack_p), 2 * axles,
                    fmt::format("beam, length {} to {}", kSleeve_p + 1, kSleeve_p + 1 + kBarSlack_p),
                    "the bar's sleeve");
    // Both ends of both tie rods, kingpins, four of the sleeve, two more where an arm has a crosspiece.
    drive::add_need(demand, brief.catalogue->of(stock::Family::pin), (10 + (r.arm.x_hp != 0 ? 4 : 0)) * axles, "pin",
                    "rods, kingpins and sleeve");
    return;
  }
  // Drag link: one at the crank, one long one through the left arm; track rod: one at the right arm; two kingpins; two
  // more where an arm has a crosspiece.
  const int pins = 5 + (d.rods->rods.arm.x_hp != 0 ? 4 : 0);
  drive::add_need(demand, brief.catalogue->of(stock::Family::pin), pins * axles, "pin", "rods and kingpins");
  drive::add_need(demand, brief.catalogue->of(stock::Family::connector), axles, "connector with an axle hole",
                  "holds the crank on its axle");
}

Candidate make_candidate(const std::shared_ptr<const Design>& design, const brief::Function& fn,
                         const brief::Function& copies) {
  const Problem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  Candidate c;
  c.key = key_of(*design);
  c.title = title_of(*design);
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief, copies, c);
  add_rods(*design, fn, c.demand);
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = evaluate(*design, nominal);
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, problem.wants.axles);
  const drive::Machine machine = drive::machine(design->powertrain, brief, nominal);
  c.demand.stall_current_ma =
      motor::line(machine.motor, machine.feed).stall_current_a * 1000 * machine.motors * copies.sides;
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, *brief.catalogue)});
  c.evaluate = [design](const brief::Sample& sample) { return evaluate(*design, sample); };
  return c;
}

candidate::Proposal search(const brief::Function& fn, const candidate::Wants& base_wants, const brief::Brief& brief,
                           const base::RunControl& control) {
  candidate::Proposal out;
  RejectionLog log;
  auto problem = std::make_shared<Problem>();
  problem->brief = std::make_shared<const brief::Brief>(brief);
  problem->wants = dynamic_cast<const Wants&>(base_wants);
  const Wants& w = problem->wants;
  problem->axle = {brief.system().pitch_mm, w.kingpins_hp, w.base_mm, w.inner_rad};
  if (fn.sides != 1) {
    // The stop of a search must be told even where there is nothing to search.
    out.complete = !control.stopped();
    if (!out.complete) out.limit_text = "stopped before the rods were searched";
    log.add("steer.sides", fn.sides - 1, "axles", [] {
      return std::string(
          "sides = 2 asks for two axles side by side; one function has both wheels of an axle, and "
          "axles = 2 steers the other one too");
    });
    out.rejections = log.take();
    return out;
  }
  brief::Function copies = fn;
  copies.sides = w.axles;

  const RodTask task = rod_task(*problem, fn);
  RodsFound found;
  if (w.by != By::rack) found = find_rods(task, control);
  if (w.by != By::crank && found.complete) {
    RodsFound racks = find_racks(task, rack_parts(brief, fn, w.axles), control);
    found.examined += racks.examined;
    found.feasible += racks.feasible;
    found.complete = racks.complete;
    found.covered = racks.covered;
    found.misses.insert(found.misses.end(), racks.misses.begin(), racks.misses.end());
    for (RodChoice& c : racks.choices) found.choices.push_back(std::move(c));
    std::stable_sort(found.choices.begin(), found.choices.end(),
                     [](const RodChoice& a, const RodChoice& b) { return a.peak_nmm < b.peak_nmm; });
  }
  out.examined = found.examined;
  if (!found.complete) {
    out.complete = false;
    out.limit_text = found.covered;
  }
  for (const RodMiss& m : found.misses)
    log.add(
        std::string(code_of(m.reason)), m.shortfall, std::string(unit_of(m.reason)), [&] { return m.text; }, m.count);
  if (task.bars.empty())
    log.add("steer.no_bars", 1, "pieces", [] { return std::string("the stock has no beams for rods and arms"); });
  if (found.choices.empty() || !out.complete) {
    out.rejections = log.take();
    return out;
  }
  std::vector<std::shared_ptr<const RodChoice>> rods;
  for (RodChoice& c : found.choices) rods.push_back(std::make_shared<const RodChoice>(std::move(c)));

  control.report("motors and trains", -1);
  base::RunControl inner = control;
  inner.progress = nullptr;
  const Judge judge(*problem, rods);
  Sites sites(*problem, fn, rods);
  drive::Placers placers(brief, copies, w.most_stages);
  drive::Query query;
  judge.bounds(query);
  query.train.min_stages = 0;
  query.train.max_stages = w.most_stages;
  query.judge = [&](const drive::Powertrain& p) { return judge.ranked(p, 1).front().judged; };
  query.placers = &placers;
  query.stands = [&](const drive::Powertrain& p) {
    std::vector<drive::Stand> stands;
    for (Judge::Choice& c : judge.ranked(p, kPivotsTried)) stands.push_back({sites.of(c.rods), std::move(c.judged)});
    return stands;
  };
  drive::Powertrains kept = drive::powertrains(brief, copies, query, log, inner);
  drive::count_search(kept, out);
  std::vector<drive::Draft> drafts;
  for (std::size_t k = 0; k < kept.kept.size(); ++k) {
    const auto design = std::make_shared<const Design>(
        Design{problem, rods[sites.rods_of(kept.sites[k])], std::move(kept.kept[k]), kept.sites[k], std::nullopt});
    drive::Draft draft{make_candidate(design, fn, copies), {}};
    if (draft.paper.nominal.worst() < candidate::kNearMiss) continue;
    draft.place = [&, design](int layouts, candidate::RejectionLog& told) {
      std::vector<Candidate> made;
      for (drive::Placed& at : placers.best(design->powertrain, design->site, layouts, inner)) {
        Design whole = *design;
        whole.placed = std::move(at);
        const auto shared = std::make_shared<const Design>(std::move(whole));
        Candidate c = make_candidate(shared, fn, copies);
        if (!drive::uses_all_wanted(fn, c.demand)) {
          told.add("steer.must_use", 1, "parts",
                   [&] { return fmt::format("{} lacks a part that must be used", c.title); });
          continue;
        }
        present(*shared, c);
        made.push_back(std::move(c));
      }
      return made;
    };
    drafts.push_back(std::move(draft));
  }
  out.candidates = drive::place_drafts(std::move(drafts), brief, fn, log, control);
  if (out.candidates.empty()) placers.tell_wider_room(log, inner);
  out.rejections = log.take();
  return out;
}

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  return drive::propose_by_length<Wants>(function, wants, brief, control, search);
}

}  // namespace

candidate::Kind kind() {
  return {"steer", "turns the wheels of an axle by a crank, a drag link and a track rod, or by a rack", &fields, &read,
          &propose};
}

}  // namespace functions::steer
