// The search: screw actuator or pinion x rack, then the powertrain behind it; or the bar that is pinned by hand.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>
#include <numbers>
#include <utility>
#include <vector>

#include "base/text.h"
#include "functions/drive/running.h"
#include "functions/drive/screw_drive.h"
#include "functions/drive/told_drive.h"
#include "functions/slide/evaluate.h"
#include "functions/slide/site.h"
#include "functions/slide/slide.h"
#include "motor/motor.h"

namespace functions::slide {
namespace {

using candidate::Candidate;
using candidate::RejectionLog;

/// A bar may be this much longer than needed.
constexpr int kBarSlack_p = 2;
/// Beams of a sleeve, above and below the bar, and pins for bar, sleeve and load (common practice, no source).
constexpr int kSleeveBeams = 2;
constexpr int kGuidePins = 8;

int longest_beam(const brief::Brief& brief, const brief::Function& fn, int most_holes) {
  int longest = 0;
  for (const stock::ClassId id : drive::full_beams(brief, fn, 1, most_holes)) {
    if (brief.stock->count_of(id) >= fn.sides)
      longest = std::max(longest, std::get<stock::Beam>(brief.catalogue->at(id).data).length_p);
  }
  return longest;
}

/// Bar and sleeve.
void add_guide(const Problem& problem, const brief::Function& fn, candidate::Demand& demand) {
  const brief::Brief& brief = *problem.brief;
  const int bar = bar_of(problem), sleeve = static_cast<int>(std::ceil(problem.wants.guide_p - 1e-9)) + 1;
  drive::add_need(demand, drive::full_beams(brief, fn, bar, bar + kBarSlack_p), fn.sides,
                  fmt::format("beam, length {} to {}", bar, bar + kBarSlack_p), "sliding bar");
  drive::add_need(demand, drive::full_beams(brief, fn, sleeve, sleeve + kBarSlack_p), kSleeveBeams * fn.sides,
                  fmt::format("beam, length {} to {}", sleeve, sleeve + kBarSlack_p), "sleeve");
  drive::add_need(demand, brief.catalogue->of(stock::Family::pin), kGuidePins * fn.sides, "pin", "sleeve and load");
}

/// A bar must be long enough, or nothing slides.
bool has_bar(const Problem& problem, const brief::Function& fn, RejectionLog& log) {
  const int bar = bar_of(problem), longest = longest_beam(*problem.brief, fn, std::numeric_limits<int>::max());
  if (!drive::full_beams(*problem.brief, fn, bar, bar + kBarSlack_p).empty() && longest >= bar) return true;
  log.add("slide.bar_too_short", std::max(1, bar - longest), "p", [&] {
    const double pitch_mm = problem.brief->system().pitch_mm;
    return fmt::format(
        "{} mm of travel and {} pitches in the sleeve need a beam of {} holes; the longest that this function may use "
        "has {}, which gives {} mm of travel",
        base::plain(problem.wants.travel_mm), base::plain(problem.wants.guide_p), bar, longest,
        base::plain(std::max(0.0, (longest - 1 - problem.wants.guide_p) * pitch_mm)));
  });
  return false;
}

std::vector<Mover> screws(const Problem& problem, const brief::Function& fn, RejectionLog& log) {
  const brief::Brief& brief = *problem.brief;
  std::vector<Mover> out;
  for (const stock::ClassId id : drive::usable_actuators(brief, fn, fn.sides, log)) {
    const auto& part = std::get<stock::Actuator>(brief.catalogue->at(id).data);
    Mover m;
    m.actuator = id;
    m.per_rad_mm = part.lead_mm / (2 * std::numbers::pi);
    m.offered_mm = part.open_mm - part.closed_mm;
    out.push_back(m);
  }
  return out;
}

std::vector<Mover> pinions(const Problem& problem, const brief::Function& fn, RejectionLog& log) {
  std::vector<Mover> out;
  for (const drive::RackPinion& one :
       drive::rack_pinions(*problem.brief, fn, problem.wants.travel_mm, fn.sides, fn.sides, log)) {
    Mover m{one, std::nullopt, one.radius_mm};
    out.push_back(m);
  }
  return out;
}

Candidate make_candidate(const std::shared_ptr<const Design>& design, const brief::Function& fn) {
  const Problem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const Mover& mover = design->mover;
  Candidate c;
  const std::string what = mover.actuator ? catalogue.at(*mover.actuator).id
                                          : fmt::format("{} on {} x{}", catalogue.at(mover.pinion).id,
                                                        catalogue.at(mover.rack).id, mover.racks);
  c.key = fmt::format("{}|{}", drive::key_of(design->powertrain, catalogue), what);
  c.title = fmt::format("{} on {}", drive::title_of(design->powertrain, catalogue),
                        mover.actuator
                            ? catalogue.at(*mover.actuator).name
                            : fmt::format("{} and {}", catalogue.at(mover.pinion).name, catalogue.at(mover.rack).name));
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief, fn, c);
  if (mover.actuator) {
    drive::add_need(c.demand, {*mover.actuator}, fn.sides, catalogue.at(*mover.actuator).name, "actuator");
  } else {
    drive::add_need(c.demand, {mover.pinion}, fn.sides, catalogue.at(mover.pinion).name, "pinion");
    drive::add_need(c.demand, {mover.rack}, mover.racks * fn.sides, catalogue.at(mover.rack).name, "rack");
  }
  add_guide(problem, fn, c.demand);
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = evaluate(problem, mover, design->powertrain, nominal);
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, fn.sides);
  const drive::Machine m = drive::machine(design->powertrain, brief, nominal);
  c.demand.stall_current_ma = motor::line(m.motor, m.feed).stall_current_a * 1000 * m.motors * fn.sides;
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, catalogue)});
  c.evaluate = [design](const brief::Sample& sample) {
    return evaluate(*design->problem, design->mover, design->powertrain, sample);
  };
  return c;
}

void add_force_curve(const Problem& problem, const Mover* mover, const brief::Sample& sample, Candidate& c) {
  candidate::Curve out{"force outward", "extension", "mm", "force", "N", {}, {}};
  candidate::Curve in{"force inward", "extension", "mm", "force", "N", {}, {}};
  const Stage stage = stage_of(problem, mover, sample);
  for (int i = 0; i < kSteps; ++i) {
    const double x = problem.wants.travel_mm * i / (kSteps - 1);
    const Forces f = forces_at(stage, x);
    out.x.push_back(x);
    in.x.push_back(x);
    out.y.push_back(f.out_n);
    in.y.push_back(f.in_n);
  }
  c.curves.push_back(std::move(out));
  c.curves.push_back(std::move(in));
}

/// Which way the motor's sense moves the stage, from the meshes; see candidate::Drive::sense.
int sense_of(const Design& design) {
  const drive::Placed* placed = design.placed ? &*design.placed : nullptr;
  if (design.mover.actuator) return drive::sense_at_terminal(placed) * drive::kRodOutCounterClockwise;
  // The racks lie under the pinion (behind it on an upright line): they run with its lowest point, v = w x r. About +y
  // that is backward, about +x to the left, and behind a pinion that turns about +y up.
  const Wants& w = design.problem->wants;
  return drive::sense_about_axis(placed) * (w.along == lattice::Axis::x ? -1 : 1) * (w.backward ? -1 : 1);
}

/// Of what runs out: its stops, and which body rides on it.
candidate::Reaches reaches_of(const Problem& problem, std::vector<double> at_mm, bool pinned) {
  const Wants& w = problem.wants;
  const double way = w.backward ? -1 : 1;
  brief::Vec3 along{0, 0, way};
  if (w.along == lattice::Axis::x) along = {way * std::cos(w.lift_rad), 0, std::sin(w.lift_rad)};
  if (w.along == lattice::Axis::y) along = {0, way * std::cos(w.lift_rad), std::sin(w.lift_rad)};
  return {std::move(at_mm), pinned, w.moved_body, along};
}

/// The force along the line that keeps what rides on it where it is, for the load chart; nothing unless a body rides.
void tell_holding(const Problem& problem, std::string_view margin, std::string name, Candidate& c) {
  if (problem.wants.moved_body < 0) return;
  for (const candidate::Margin& m : c.nominal.margins)
    if (m.name == margin)
      c.holdings = {{candidate::Holding::Limit::structure,
                     std::move(name),
                     problem.wants.moved_body,
                     {},
                     {m.capability * problem.sides},
                     m.name}};
}

/// Racks in line, their joints, and whether anything holds the stage with the motor off.
void tell_racks(const Design& design, const brief::Sample& nominal, Candidate& c) {
  const Problem& problem = *design.problem;
  const Mover& mover = design.mover;
  drive::tell_racks(mover, *problem.brief, c);
  const drive::Machine m = drive::machine(design.powertrain, *problem.brief, nominal);
  const Torques t = torques_of(problem, mover, nominal);
  const drive::Lock lock = drive::worm_lock(design.powertrain.train, m.meshes.worm_friction);
  const bool locks = lock.needed > 0 && lock.reached >= lock.needed;
  if (locks) {
    c.notes.emplace_back("with the motor off the worm holds it where it stands");
  } else if (t.rest_n <= 0) {
    c.notes.emplace_back("with the motor off the guide's friction holds it where it stands, not against a knock");
  } else {
    c.notes.push_back(
        fmt::format("with the motor off nothing holds it against {} N: a worm in the train or a screw actuator would",
                    base::plain(t.rest_n, 3)));
  }
}

void tell(const Design& design, Candidate& c) {
  const Problem& problem = *design.problem;
  const brief::Brief& brief = *problem.brief;
  const brief::Sample nominal = brief.parameters.nominal();
  const drive::Machine m = drive::machine(design.powertrain, brief, nominal);
  const Torques t = torques_of(problem, design.mover, nominal);
  const Times times = times_of(problem, design.mover, t, drive::speed_line(m));
  c.figures.push_back({"time to move out", times.out_s, "s"});
  c.figures.push_back({"time to move in", times.in_s, "s"});
  c.figures.push_back({"greatest force along the line", t.peak_n, "N"});
  c.figures.push_back({"force of the load at rest", t.rest_n, "N"});
  c.figures.push_back({"travel offered", std::min(design.mover.offered_mm, guided_mm(problem)), "mm"});
  c.figures.push_back({"travel while the bar stays in its sleeve", guided_mm(problem), "mm"});
  add_force_curve(problem, &design.mover, nominal, c);
  if (!design.mover.actuator) {
    c.notes.emplace_back(
        "the rack's height over the pinion's axle is the pinion's pitch radius; set it with the sleeve");
    tell_racks(design, brief.parameters.nominal(), c);
  } else {
    c.notes.emplace_back("line up the actuator with the bar: what stands askew bends its rod");
  }
  const double most = problem.wants.overhang_mm + problem.wants.travel_mm;
  if (most > problem.wants.guide_p * brief.system().pitch_mm)
    c.notes.push_back(
        fmt::format("run out, the load stands {} mm beyond a sleeve of {} mm: a longer sleeve slides easier",
                    base::plain(most), base::plain(problem.wants.guide_p * brief.system().pitch_mm)));
  candidate::Drive d = drive::drive_of(design.powertrain, m, problem.sides, &*design.placed);
  d.moves = "slide";
  d.plus = "out";
  d.minus = "in";
  d.angle = false;
  d.endless = false;
  for (int i = 0; i < kSteps; ++i) d.at.push_back(problem.wants.travel_mm * i / (kSteps - 1));
  d.per_rad.assign(d.at.size(), design.mover.per_rad_mm);
  d.plus_nmm = d.plus_free_nmm = t.out_nmm;
  d.minus_nmm = d.minus_free_nmm = t.in_nmm;
  d.heaviest_nmm = t.peak_nmm;
  d.sense = sense_of(design);
  if (design.mover.actuator)
    d.sense_note += "taken that the rod comes out when the actuator's input turns counter-clockwise";
  if (!design.mover.actuator && problem.sides == 2) d.sense_note += drive::image_note(design.powertrain.train);
  c.drives = {std::move(d)};
  c.reaches = reaches_of(problem, {0, problem.wants.travel_mm / 2, problem.wants.travel_mm}, false);
  tell_holding(problem, "force", "slide, stalled", c);
  drive::tell_place(*design.placed, brief, c);
  drive::tell_loads(design.powertrain, *design.placed, m, brief, t.peak_nmm, c);
}

void propose_by_hand(const std::shared_ptr<const Problem>& problem, const brief::Function& fn,
                     std::vector<Candidate>& candidates, RejectionLog& log) {
  const brief::Brief& brief = *problem->brief;
  const brief::Sample nominal = brief.parameters.nominal();
  Candidate c;
  const int bar = bar_of(*problem);
  c.key = fmt::format("by hand|bar {}", bar);
  c.reaches = reaches_of(*problem, pinned_reaches_mm(problem->wants.travel_mm, brief.system().pitch_mm), true);
  const std::vector<double>& reaches_mm = c.reaches.at_mm;
  c.title = fmt::format("bar of {} holes moved by hand, pinned in {} positions", bar, reaches_mm.size());
  add_guide(*problem, fn, c.demand);
  drive::add_need(c.demand, brief.catalogue->of(stock::Family::pin), fn.sides, "pin", "holds the position");
  c.nominal = evaluate_by_hand(*problem, nominal);
  tell_holding(*problem, "hold", "slide's pin", c);
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, *brief.catalogue)});
  c.evaluate = [problem](const brief::Sample& sample) { return evaluate_by_hand(*problem, sample); };
  const HandPins h = hand_pins(*problem, nominal);
  c.figures.push_back({"hand force out", h.out_n * problem->sides, "N"});
  c.figures.push_back({"hand force in", h.in_n * problem->sides, "N"});
  c.figures.push_back({"load on the pin", h.rest_n, "N"});
  candidate::Curve curve{"reaches", "pinned position", "", "reach", "mm", {}, {}};
  for (std::size_t i = 0; i < reaches_mm.size(); ++i) {
    curve.x.push_back(static_cast<double>(i + 1));
    curve.y.push_back(reaches_mm[i]);
  }
  c.curves.push_back(std::move(curve));
  add_force_curve(*problem, nullptr, nominal, c);
  c.notes.emplace_back("move it unloaded, then push the pin through sleeve and bar");
  if (h.in_n < 0) c.notes.emplace_back("hold it while the pin is out: it runs in by itself");
  if (!drive::uses_all_wanted(fn, c.demand)) {
    log.add("slide.must_use", 1, "parts", [&] { return fmt::format("{} does without a part it must use", c.title); });
    return;
  }
  for (const candidate::Margin& m : c.nominal.margins) {
    if (m.ratio >= candidate::kNearMiss) continue;
    log.add("slide.by_hand", std::fabs(m.requirement - m.capability), m.unit, [&] {
      return fmt::format("by hand: {} reaches {} {}, {} asked ({})", m.name, base::plain(m.capability), m.unit,
                         base::plain(m.requirement), m.note);
    });
    return;
  }
  if (drive::stock_serves(c, brief, log)) candidates.push_back(std::move(c));
}

/// A sleeve that jams however hard the stage is moved.
bool jams(const Stage& stage, RejectionLog& log, candidate::Proposal& out) {
  if (kept_beside(stage) > 0) return false;
  ++out.examined;
  const double needed_mm = 2 * stage.friction * stage.offset_mm;
  log.add("slide.jams", std::max(1e-9, needed_mm - stage.guide_mm), "mm", [&] {
    return fmt::format(
        "moved {} mm beside its middle, a bar with friction {} jams in a sleeve of {} mm; it needs more than {} mm",
        base::plain(stage.offset_mm), base::plain(stage.friction, 2), base::plain(stage.guide_mm),
        base::plain(needed_mm, 3));
  });
  return true;
}

candidate::Proposal search(const brief::Function& fn, const candidate::Wants& base_wants, const brief::Brief& brief,
                           const base::RunControl& control) {
  candidate::Proposal out;
  RejectionLog log;
  auto problem = std::make_shared<Problem>();
  problem->brief = std::make_shared<const brief::Brief>(brief);
  problem->wants = dynamic_cast<const Wants&>(base_wants);
  problem->sides = fn.sides;
  const Wants& w = problem->wants;
  if (control.stopped()) {
    out.complete = false;
    out.limit_text = "stopped before the search";
    return out;
  }
  if (!has_bar(*problem, fn, log)) {
    out.examined = 1;
    out.rejections = log.take();
    return out;
  }
  if (w.by == By::hand) {
    if (!jams(stage_of(*problem, nullptr, brief.parameters.nominal()), log, out)) {
      out.examined = 1;
      propose_by_hand(problem, fn, out.candidates, log);
    }
    out.rejections = log.take();
    return out;
  }
  // Whoever builds it takes the longest bar that serves.
  problem->longest_bar = longest_beam(brief, fn, bar_of(*problem) + kBarSlack_p);
  std::vector<Mover> movers;
  if (w.by != By::rack) movers = screws(*problem, fn, log);
  if (w.by != By::screw)
    for (const Mover& m : pinions(*problem, fn, log)) movers.push_back(m);

  const brief::Sample nominal = brief.parameters.nominal();
  drive::Placers placers(brief, fn, w.most_stages);
  std::vector<drive::Draft> drafts;
  std::erase_if(movers, [&](const Mover& m) { return jams(stage_of(*problem, &m, nominal), log, out); });
  for (std::size_t i = 0; i < movers.size() && out.complete; ++i) {
    const Mover& mover = movers[i];
    control.report("slide drives", static_cast<double>(i) / static_cast<double>(movers.size()));
    if (mover.offered_mm < w.travel_mm * candidate::kNearMiss) {
      ++out.examined;
      log.add("slide.stroke", w.travel_mm - mover.offered_mm, "mm", [&] {
        return fmt::format("{} moves {} mm, {} are asked", brief.catalogue->at(*mover.actuator).name,
                           base::plain(mover.offered_mm), base::plain(w.travel_mm));
      });
      continue;
    }
    const Torques t = torques_of(*problem, mover, nominal);
    drive::Query query;
    query.least_torque_nmm = t.mean_nmm;
    query.most_torque_nmm = t.peak_nmm;
    // No travel is quicker than at its mean torque throughout, because 1/speed is convex in the torque.
    query.least_speed_rad_s = w.travel_mm / mover.per_rad_mm / w.time_s * (1 - 1e-9);
    query.ceiling = std::min(candidate::kMarginCap, mover.offered_mm / w.travel_mm);
    query.train.min_stages = 0;
    query.train.max_stages = w.most_stages;
    query.judge = [&](const drive::Powertrain& p) {
      return drive::judged_of(evaluate(*problem, mover, p, nominal), fn.sides);
    };
    query.placers = &placers;
    query.site = site_for(*problem, fn, mover);
    const drive::Powertrains kept = drive::powertrains(brief, fn, query, log, control);
    drive::count_search(kept, out);
    drive::add_drafts(
        kept, Design{problem, mover, {}}, placers, fn, control,
        [&fn](const std::shared_ptr<const Design>& d) { return make_candidate(d, fn); },
        [](const Design& d, Candidate& c) { tell(d, c); }, drafts);
  }
  out.candidates = drive::place_drafts(std::move(drafts), brief, fn, log, control);
  if (out.candidates.empty()) placers.tell_wider_room(log, control);
  out.rejections = log.take();
  return out;
}

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  if (dynamic_cast<const Wants&>(wants).by == By::hand) return search(function, wants, brief, control);
  return drive::propose_by_length<Wants>(function, wants, brief, control, search);
}

}  // namespace

candidate::Kind kind() {
  return {"slide", "a stage that moves along a line: screw, rack and pinion, or by hand with pins", &fields, &read,
          &propose};
}

}  // namespace functions::slide
