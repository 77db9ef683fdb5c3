#include "functions/hand/knob.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "base/text.h"
#include "functions/drive/running.h"
#include "functions/drive/screw_drive.h"
#include "functions/drive/site.h"

namespace functions::hand {
namespace {

using brief::Parameter;
using candidate::Candidate;

constexpr double kNominal_v = 9;  // cancels out: the feed of a knob has the same
constexpr double kTiny_ma = 1;

struct Design {
  std::shared_ptr<const KnobProblem> problem;
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site;
  std::optional<drive::Placed> placed;
};

std::shared_ptr<const drive::Site> site_for(const Wants& w, const brief::Brief& brief, const brief::Function& fn) {
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, fn, fn.body));
  const drive::BodyLattice lattice = drive::lattice_of(brief, fn.body);
  lattice::Point3 at = lattice.nearest({w.at_mm[0], w.at_y_mm, w.at_mm[1]}, "the driven shaft", site->notes);
  if (fn.sides == 2 && at.y_hp < 2) at.y_hp = (site->room.low.y_hp + site->room.high.y_hp) / 2;
  const int from_hp = at.at(w.axis) - 1;
  routing::Output out;
  out.name = "driven shaft";
  // What the shaft turns is a lever or a drum of its own: one pitch of shaft is kept for it.
  out.places.push_back(drive::shaft_with(w.axis, lattice::across(w.axis, at), from_hp, from_hp + 2,
                                         brief.system().pitch_mm / 2, "load"));
  site->outputs = {std::move(out)};
  return site;
}

Candidate make_candidate(const std::shared_ptr<const Design>& design, const brief::Function& fn) {
  const KnobProblem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  Candidate c;
  c.key = "knob " + drive::key_of(design->powertrain, catalogue);
  c.title = fmt::format("knob: {}", drive::title_of(design->powertrain, catalogue));
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief, fn, c);
  for (candidate::Need& n : c.demand.needs)
    if (n.accepts == std::vector{design->powertrain.motor}) n.role = "knob";
  c.demand.ports = c.demand.channels = 0;
  c.nominal = evaluate_knob(problem, design->powertrain, brief.parameters.nominal());
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, catalogue)});
  if (const int moved = problem.wants.moved; moved >= 0) {
    using Limit = candidate::Holding::Limit;
    const auto pitches = [&](int body) {
      return body >= 0 && brief.bodies[static_cast<std::size_t>(body)].joint.type == brief::Joint::Type::pitch;
    };
    const Limit own = !pitches(moved)                                                 ? Limit::slew
                      : pitches(brief.bodies[static_cast<std::size_t>(moved)].parent) ? Limit::knuckle
                                                                                      : Limit::luff;
    const brief::Joint& joint = brief.bodies[static_cast<std::size_t>(moved)].joint;
    const auto holds = [&](Limit limit, const char* name, const char* margin, double torque_nmm) {
      torque_nmm *= fn.sides;
      c.holdings.push_back({limit,
                            name,
                            moved,
                            {std::min(joint.low_rad, joint.high_rad), std::max(joint.low_rad, joint.high_rad)},
                            {torque_nmm, torque_nmm},
                            margin});
    };
    for (const candidate::Margin& m : c.nominal.margins) {
      if (m.name == "finger torque") holds(own, "fingers at the knob", "finger torque", m.capability);
      if (m.name == "tooth") holds(Limit::tooth, "teeth", "tooth", m.ratio * problem.wants.torque_nmm);
    }
  }
  c.evaluate = [design](const brief::Sample& sample) {
    return evaluate_knob(*design->problem, design->powertrain, sample);
  };
  return c;
}

void tell(const Design& design, Candidate& c) {
  const KnobProblem& problem = *design.problem;
  const brief::Brief& brief = *problem.brief;
  const drive::Machine m = drive::machine(design.powertrain, brief, for_fingers(brief.parameters.nominal()));
  const double finger_nmm = drive::stall_torque_nmm(m);
  c.figures.push_back({"torque of the fingers at the driven shaft", finger_nmm, "N mm"});
  c.figures.push_back(
      {"force of a finger for the wanted torque", problem.wants.finger_n * problem.wants.torque_nmm / finger_nmm, "N"});
  c.figures.push_back({"turns of the knob", problem.wants.turn_deg / 360 / m.ratio, ""});
  c.notes.emplace_back("keep the knob's rim free for two fingers: a hole pitch of air around it and in front of it");
  if (m.backward <= 0) c.notes.emplace_back("the worm keeps it where it is left");
  drive::tell_place(*design.placed, brief, c);
  drive::tell_loads(design.powertrain, *design.placed, m, brief, problem.wants.torque_nmm, c);
}

}  // namespace

double finger_torque_nmm(double finger_n, double diameter_mm) {
  return finger_n * diameter_mm;
}

brief::Brief with_knobs(const brief::Brief& brief, const Wants& w) {
  brief::Brief out = brief;
  stock::Catalogue catalogue = *brief.catalogue;
  const double pitch_mm = catalogue.system.pitch_mm;
  for (stock::PartClass& part : catalogue.classes) {
    if (part.family == stock::Family::motor) {
      part.family = stock::Family::trim;
      part.data = std::monostate{};
      continue;
    }
    const auto* wheel = std::get_if<stock::Wheel>(&part.data);
    if (wheel == nullptr || wheel->diameter_mm <= 0 || (!w.knob.empty() && part.id != w.knob)) continue;
    stock::Motor knob;
    const auto exact = [](double v) { return stock::Figure{base::Triple::exact(v), stock::Source::derived, {}}; };
    knob.nominal_voltage_v = kNominal_v;
    knob.stall_torque_nmm = exact(finger_torque_nmm(w.finger_n, wheel->diameter_mm));
    knob.no_load_speed_rpm = exact(kHandTurn_rad_s * 30 / std::numbers::pi);
    knob.no_load_current_ma = exact(0);
    knob.stall_current_ma = exact(kTiny_ma);
    knob.length_p = std::max(1, static_cast<int>(std::ceil(wheel->width_mm / pitch_mm - 1e-9)));
    knob.width_p = knob.height_p = std::max(1, static_cast<int>(std::ceil(wheel->diameter_mm / pitch_mm - 1e-9)));
    part.family = stock::Family::motor;
    part.data = knob;
  }
  out.catalogue = std::make_shared<const stock::Catalogue>(std::move(catalogue));
  out.supply.voltage_v = kNominal_v;
  out.supply.resistance_ohm = 0;
  out.supply.port_current_ma = 0;
  const auto at = [&](Parameter p) -> stock::Figure& { return out.parameters.figure[static_cast<std::size_t>(p)]; };
  for (const Parameter p :
       {Parameter::motor_torque_factor, Parameter::motor_speed_factor, Parameter::supply_voltage_factor})
    at(p).value = base::Triple::exact(1);
  return out;
}

brief::Sample for_fingers(brief::Sample sample) {
  for (const Parameter p :
       {Parameter::motor_torque_factor, Parameter::motor_speed_factor, Parameter::supply_voltage_factor})
    sample.value[static_cast<std::size_t>(p)] = 1;
  return sample;
}

candidate::Evaluation evaluate_knob(const KnobProblem& problem, const drive::Powertrain& powertrain,
                                    const brief::Sample& drawn) {
  const Wants& w = problem.wants;
  const drive::Machine machine = drive::machine(powertrain, *problem.brief, for_fingers(drawn));
  const drive::State s = drive::state(powertrain, machine, problem.brief->system(), w.torque_nmm);
  candidate::Evaluation e;
  e.margins.push_back(candidate::at_least("finger torque", s.stall_torque_nmm, w.torque_nmm, "N mm",
                                          fmt::format("{} N at the knob's rim", base::plain(w.finger_n))));
  e.margins.push_back(candidate::at_most("turns", w.turn_deg / 360 / machine.ratio, w.most_turns, "",
                                         fmt::format("for {} deg", base::plain(w.turn_deg))));
  if (!powertrain.train.stages.empty())
    e.margins.push_back(drive::ratio_margin("tooth", s.tooth_margin, w.torque_nmm,
                                            gearing::stage_name(powertrain.train, std::max(0, s.weakest_stage))));
  e.margins.push_back(drive::ratio_margin("axle", s.axle_margin, w.torque_nmm, "at the wanted torque"));
  if (w.hold) {
    const drive::Lock lock = drive::worm_lock(powertrain.train, machine.meshes.worm_friction);
    e.margins.push_back(
        candidate::at_least("hold", lock.reached, lock.needed, "",
                            lock.reached > 0 ? "friction that the worm needs to lock" : "nothing in the train locks"));
  }
  return e;
}

candidate::Proposal propose_knob(const brief::Function& fn, const Wants& w, const brief::Brief& brief,
                                 const base::RunControl& control) {
  candidate::Proposal out;
  candidate::RejectionLog log;
  auto problem = std::make_shared<KnobProblem>();
  problem->brief = std::make_shared<const brief::Brief>(with_knobs(brief, w));
  problem->wants = w;
  problem->sides = fn.sides;
  const brief::Sample nominal = problem->brief->parameters.nominal();
  if (problem->brief->catalogue->of(stock::Family::motor).empty())
    log.add("hand.no_knob", 1, "pieces",
            [] { return std::string("the kit system has no wheel that fingers could turn"); });
  drive::Placers placers(*problem->brief, fn, w.most_stages);
  drive::Query query;
  query.least_torque_nmm = 0;
  query.most_torque_nmm = w.torque_nmm;
  query.least_speed_rad_s = kHandTurn_rad_s * w.turn_deg / 360 / w.most_turns * (1 - 1e-9);
  query.train.min_stages = 0;
  query.train.max_stages = w.most_stages;
  query.judge = [&](const drive::Powertrain& p) {
    return drive::judged_of(evaluate_knob(*problem, p, nominal), fn.sides);
  };
  query.placers = &placers;
  query.site = site_for(w, brief, fn);
  const drive::Powertrains kept = drive::powertrains(*problem->brief, fn, query, log, control);
  drive::count_search(kept, out);
  std::vector<drive::Draft> drafts;
  drive::add_drafts(
      kept, Design{problem, {}, nullptr, std::nullopt}, placers, fn, control,
      [&fn](const std::shared_ptr<const Design>& d) { return make_candidate(d, fn); },
      [](const Design& d, Candidate& c) { tell(d, c); }, drafts);
  out.candidates = drive::place_drafts(std::move(drafts), brief, fn, log, control);
  if (out.candidates.empty()) placers.tell_wider_room(log, control);
  out.rejections = log.take();
  return out;
}

}  // namespace functions::hand
