// The search: wheel x delivery (differential, solid axle, wheel by wheel) x powertrain. Inside one of them the
// powertrain search keeps every non-dominated one, then all are compared together.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <utility>
#include <vector>

#include "balance/mass.h"
#include "balance/traction.h"
#include "base/text.h"
#include "functions/drive/placing.h"
#include "functions/drive/running.h"
#include "functions/drive/told_drive.h"
#include "functions/wheels/differential.h"
#include "functions/wheels/evaluate.h"
#include "functions/wheels/site.h"
#include "functions/wheels/wheels.h"
#include "motor/motor.h"

namespace functions::wheels {
namespace {

using brief::Parameter;
using candidate::Candidate;
using candidate::RejectionLog;

constexpr double kDegPerRad = 180 / std::numbers::pi;

/// One search: everything its candidates share.
struct Problem {
  std::shared_ptr<const brief::Brief> brief;  ///< with a case as ring where the drive ends on one
  Wants wants;
  brief::Function copies;  ///< sides = powertrains
  std::optional<Differential> differential;
  Ground nominal_ground;
  std::vector<candidate::Figure> step_figures;
  std::vector<candidate::Curve> step_curves;
};

/// One candidate of it.
struct Design {
  std::shared_ptr<const Problem> problem;
  Variant variant;
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site;
  std::optional<drive::Placed> placed;
};

std::string_view name_of(Delivery d) {
  switch (d) {
    case Delivery::differential:
      return "differential";
    case Delivery::solid_axle:
      return "solid axle";
    case Delivery::each_wheel:
      return "each wheel";
  }
  return "";
}

std::vector<stock::ClassId> wheel_classes(const Wants& wants, const brief::Brief& brief, const brief::Function& fn,
                                          RejectionLog& log) {
  std::vector<stock::ClassId> out;
  const std::vector<stock::ClassId> all = drive::choices(brief, fn, stock::Family::wheel, wants.wheel);
  if (all.empty())
    log.add("wheels.no_wheel", 1, "pieces",
            [] { return std::string("the kit system has no wheel that this function may use"); });
  const double spacing_mm = wants.base_mm / (wants.axles - 1);
  for (const stock::ClassId id : all) {
    const auto* data = std::get_if<stock::Wheel>(&brief.catalogue->at(id).data);
    if (data == nullptr || data->diameter_mm <= 0) continue;
    if (!drive::in_stock(brief, fn, id, 2 * wants.axles, log, "too_few_wheels")) continue;
    const std::string& name = brief.catalogue->at(id).name;
    if (data->diameter_mm > spacing_mm) {
      log.add("wheels.wheels_touch", data->diameter_mm - spacing_mm, "mm", [&] {
        return fmt::format("{} is {} mm across, but the axles stand {} mm apart", name, base::plain(data->diameter_mm),
                           base::plain(spacing_mm));
      });
      continue;
    }
    if (data->width_mm >= wants.tread_mm) {
      log.add("wheels.tyres_meet", data->width_mm - wants.tread_mm, "mm", [&] {
        return fmt::format("{} is {} mm wide, but the tyres' middles stand {} mm apart", name,
                           base::plain(data->width_mm), base::plain(wants.tread_mm));
      });
      continue;
    }
    out.push_back(id);
  }
  return out;
}

std::string_view end_of(const Wants& wants) {
  return wants.driven_axles == wants.axles ? "all" : wants.driven_from == End::rear ? "rear" : "front";
}

/// Friction decides the step several times over, so it is told as a range. The same for every drive of a wheel.
void tell_step(Problem& problem, double radius_mm) {
  const Wants& wants = problem.wants;
  if (!wants.step_mm) return;
  const brief::Brief& brief = *problem.brief;
  brief::Sample sample = brief.parameters.nominal();
  const base::Triple friction = brief.parameters.at(Parameter::ground_friction).value;
  const auto step_at = [&](double mu) {
    sample.value[static_cast<std::size_t>(Parameter::ground_friction)] = mu;
    return ground(wants, brief, radius_mm, false, sample).step_mm;
  };
  problem.step_figures.push_back({"step at the lowest friction", step_at(friction.low), "mm"});
  problem.step_figures.push_back({"step at the nominal friction", step_at(friction.nominal), "mm"});
  problem.step_figures.push_back({"step at the highest friction", step_at(friction.high), "mm"});
  candidate::Curve curve{"step over friction", "friction of the floor", "", "highest step", "mm", {}, {}};
  constexpr int kPoints = 25;
  for (int i = 0; i < kPoints; ++i) {
    curve.x.push_back(friction.low + (friction.high - friction.low) * i / (kPoints - 1));
    curve.y.push_back(step_at(curve.x.back()));
  }
  problem.step_curves.push_back(std::move(curve));
}

candidate::Evaluation evaluate_at(const Problem& problem, const Variant& v, const drive::Powertrain& powertrain,
                                  const brief::Sample& drawn) {
  const brief::Sample sample = v.delivery == Delivery::differential ? for_case(drawn) : drawn;
  const Ground g = ground(problem.wants, *problem.brief, v.radius_mm, v.delivery == Delivery::solid_axle, sample);
  return evaluate(v, powertrain, problem.wants, g, *problem.brief, sample);
}

std::shared_ptr<const candidate::RunningGear> gear_of(const Design& design) {
  const Problem& problem = *design.problem;
  const Wants& wants = problem.wants;
  const brief::Brief& brief = *problem.brief;
  const double radius_mm = design.variant.radius_mm;
  const Undercarriage u = undercarriage_of(wants, radius_mm);
  auto out = std::make_shared<candidate::RunningGear>();
  out->gauge_mm = wants.tread_mm;
  out->width_mm = std::get<stock::Wheel>(brief.catalogue->at(design.variant.wheel).data).width_mm;
  const drive::Machine m = drive::machine(design.powertrain, brief, brief.parameters.nominal());
  // Through a differential the torque at the case is that at both wheels together.
  out->pull_n = drive::stall_torque_nmm(m) / radius_mm * drives_of(wants, design.variant.delivery);
  for (std::size_t i = 0; i < u.axle_x_mm.size(); ++i)
    out->wheels.push_back({wants.middle_x_mm + u.axle_x_mm[i], radius_mm, radius_mm, u.driven[i], true, -1});
  if (u.frame != Frame::rocking) return out;
  for (std::size_t i = 0; i + 1 < out->wheels.size(); i += 2) {
    out->rockers.push_back(
        {(out->wheels[i].x_mm + out->wheels[i + 1].x_mm) / 2, radius_mm, brief.support.rocks_rad, true});
    out->wheels[i].rocker = out->wheels[i + 1].rocker = static_cast<int>(i / 2);
  }
  return out;
}

Candidate make_candidate(const std::shared_ptr<const Design>& design, const brief::Function& fn) {
  const Problem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const Variant& v = design->variant;
  const Wants& wants = problem.wants;
  Candidate c;
  const std::string_view by = name_of(v.delivery);
  c.key = fmt::format("{}|{}|{}", drive::key_of(design->powertrain, catalogue), catalogue.at(v.wheel).id, by);
  c.title = fmt::format("{} on {} axle{}, {}, {}", drive::title_of(design->powertrain, catalogue), end_of(wants),
                        wants.driven_axles > 1 ? "s" : "", by, catalogue.at(v.wheel).name);
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief, problem.copies, c);
  c.demand.channels = fn.sides;
  // A case is in the train as its last wheel; what is inside and beside it comes on top.
  if (problem.differential) add_differential(*problem.differential, wants.driven_axles, brief, fn, c.demand);
  drive::add_need(c.demand, {v.wheel}, 2 * wants.axles, catalogue.at(v.wheel).name, "wheels");
  c.nominal = evaluate_at(problem, v, design->powertrain, brief.parameters.nominal());
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, problem.copies.sides);
  const drive::Machine m = drive::machine(design->powertrain, brief, brief.parameters.nominal());
  c.demand.stall_current_ma = motor::line(m.motor, m.feed).stall_current_a * 1000 * m.motors * problem.copies.sides;
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, catalogue)});
  c.running_gear = gear_of(*design);
  const drive::Placed* placed = design->placed ? &*design->placed : nullptr;
  const bool apart = v.delivery == Delivery::each_wheel && fn.sides == 2;
  candidate::Drive d = drive::drive_of(design->powertrain, m, problem.copies.sides / (apart ? 2 : 1), placed);
  d.use = candidate::Drive::Use::travel;
  d.moves = "machine";
  d.plus = "forward";
  d.minus = "back";
  d.angle = false;
  const Ground& g = problem.nominal_ground;
  const double flat_nmm = output_torque_nmm(v, wants, g.flat_force_n);
  drive::set_steady(d, 0, 0, v.radius_mm, flat_nmm, flat_nmm, flat_nmm, flat_nmm);
  d.heaviest_nmm = most_torque_nmm(v, wants, g);
  d.inertia_g_mm2 = g.weight_n / balance::weight_n(1) / problem.copies.sides * v.radius_mm * v.radius_mm;
  d.sense = drive::sense_about_axis(placed);  // a wheel that turns positively about y (left) rolls forward
  c.drives = apart ? drive::mirrored(std::move(d), design->powertrain.train, placed) : std::vector{std::move(d)};
  c.evaluate = [design](const brief::Sample& sample) {
    return evaluate_at(*design->problem, design->variant, design->powertrain, sample);
  };
  return c;
}

/// What stays of the pull when a driven wheel hangs in the air: nothing behind a differential, the other wheel's grip
/// on a solid axle, what the other drives give else. Level floor, nominal friction.
double pull_with_a_wheel_up_n(const Problem& problem, const Variant& v, double pull_n, double friction) {
  const Wants& wants = problem.wants;
  const Undercarriage u = undercarriage_of(wants, v.radius_mm);
  const Standing level = on_slope(u, problem.nominal_ground.centre, 0, 0, 0);
  double grip_n = 0, first_n = 0;
  for (std::size_t i = 0; i < u.driven.size(); ++i) {
    if (!u.driven[i]) continue;
    const double axle_n = friction * level.load[i] * problem.nominal_ground.weight_n;
    if (first_n == 0) first_n = axle_n;
    grip_n += axle_n;
  }
  // The wheel on the floor then carries the whole axle; behind a differential it gets no more torque than the other.
  const double others_n = std::min(pull_n * (wants.driven_axles - 1) / wants.driven_axles, grip_n - first_n);
  const double own_n = v.delivery == Delivery::differential ? 0
                       : v.delivery == Delivery::solid_axle ? std::min(pull_n / wants.driven_axles, first_n)
                                                            : std::min(pull_n / wants.driven_axles / 2, first_n);
  return others_n + own_n;
}

void tell(const Design& design, Candidate& c) {
  const Problem& problem = *design.problem;
  const Wants& wants = problem.wants;
  const Ground& g = problem.nominal_ground;
  const Variant& v = design.variant;
  const brief::Brief& brief = *problem.brief;
  const brief::Sample nominal = brief.parameters.nominal();
  const drive::Machine m = drive::machine(design.powertrain, brief, nominal);
  const double stall_nmm = drive::stall_torque_nmm(m);
  const int drives = drives_of(wants, v.delivery);
  const double pull_n = stall_nmm / v.radius_mm * drives;
  const auto speed = [&](double force_n) {
    return drive::quick_state(m, output_torque_nmm(v, wants, force_n)).speed_rad_s * v.radius_mm;
  };
  c.figures.push_back({"speed on the level", speed(g.flat_force_n), "mm/s"});
  c.figures.push_back({"speed up the slope", speed(g.slope_force_n), "mm/s"});
  if (wants.curve_radius_mm) c.figures.push_back({"speed in the curve", speed(g.curve_force_n), "mm/s"});
  c.figures.push_back({"pull at stall", pull_n, "N"});
  c.figures.push_back(
      {"steepest slope by pull",
       balance::effort_slope_rad(pull_n, g.weight_n, nominal[Parameter::rolling_resistance]) * kDegPerRad, "deg"});
  const Undercarriage u = undercarriage_of(wants, v.radius_mm);
  const Standing level = on_slope(u, g.centre, 0, 0, 0);
  double driven = 0;
  for (std::size_t i = 0; i < u.driven.size(); ++i) driven += u.driven[i] ? level.load[i] : 0;
  c.figures.push_back({"weight on driven wheels", 100 * driven, "%"});
  c.figures.push_back({"pull with a driven wheel in the air",
                       pull_with_a_wheel_up_n(problem, v, pull_n, nominal[Parameter::ground_friction]), "N"});
  if (wants.curve_radius_mm) c.figures.push_back({"force in the curve", g.curve_force_n, "N"});
  c.figures.insert(c.figures.end(), problem.step_figures.begin(), problem.step_figures.end());
  c.curves = problem.step_curves;

  const drive::State s = drive::state(design.powertrain, m, brief.system(), most_torque_nmm(v, wants, g));
  if (s.stall_tooth_margin < 1 && s.weakest_stage >= 0) {
    c.notes.push_back(fmt::format(
        "stalled against a wall the motor overloads {} ({} of its strength is missing); limit the stall time or the "
        "speed setting",
        gearing::stage_name(design.powertrain.train, s.weakest_stage), base::plain(1 - s.stall_tooth_margin, 2)));
  }
  if (s.self_locking) c.notes.emplace_back("the worm holds the vehicle on a slope with the motors off");
  switch (v.delivery) {
    case Delivery::differential:
      c.notes.push_back(
          fmt::format("the differential lets both wheels roll in a curve, but a wheel that slips or hangs in the air "
                      "takes the pull "
                      "of its axle with it{}",
                      wants.driven_axles > 1 ? "" : ", and no other axle is driven"));
      c.notes.emplace_back(
          "room and bearings of the case are common practice; half shafts are counted, not laid out hole by hole");
      break;
    case Delivery::solid_axle:
      c.notes.emplace_back("both wheels on one axle keep pulling when one hangs in the air, and scrub in curves");
      break;
    case Delivery::each_wheel:
      c.notes.emplace_back("left and right each have a channel of their own");
      break;
  }
  if (wants.frame == Frame::rocking) {
    c.notes.emplace_back(
        "a rocking pair keeps all its wheels on the floor; the drive of its axles stands in the rocking frame and is "
        "laid "
        "out in its middle position");
  } else if (wants.axles > 2) {
    c.notes.push_back(fmt::format(
        "{} axles in one rigid frame: on a hump only two of them carry; frame = \"rocking\" keeps them down",
        wants.axles));
  }
  c.notes.emplace_back("axles and bearings of undriven wheels are not counted here");
  drive::tell_place(*design.placed, brief, c);
  drive::tell_loads(design.powertrain, *design.placed, m, brief, output_torque_nmm(v, wants, g.slope_force_n), c);
}

candidate::Proposal search(const brief::Function& fn, const candidate::Wants& base_wants, const brief::Brief& brief,
                           const base::RunControl& control) {
  const auto& wants = dynamic_cast<const Wants&>(base_wants);
  candidate::Proposal out;
  RejectionLog log;
  const std::vector<stock::ClassId> wheels = wheel_classes(wants, brief, fn, log);

  /// A delivery with what belongs to it.
  struct Way {
    Delivery delivery;
    std::optional<Differential> differential;
  };
  std::vector<std::shared_ptr<Problem>> kept_problems;
  std::vector<std::unique_ptr<drive::Placers>> kept_placers;
  std::vector<drive::Draft> drafts;
  for (std::size_t i = 0; i < wheels.size() && out.complete; ++i) {
    const auto& data = std::get<stock::Wheel>(brief.catalogue->at(wheels[i]).data);
    control.report("wheel drives", static_cast<double>(i) / static_cast<double>(wheels.size()));
    std::vector<Way> ways;
    if (fn.sides == 2) {
      ways.push_back({Delivery::each_wheel, std::nullopt});
    } else {
      if (wants.split != Split::solid_axle) {
        for (Differential& d : differentials(brief, fn, wants.driven_axles, (wants.tread_mm + data.width_mm) / 2, log))
          ways.push_back({Delivery::differential, d});
      }
      if (wants.split != Split::differential) ways.push_back({Delivery::solid_axle, std::nullopt});
    }
    for (const Way& way : ways) {
      if (!out.complete) break;
      auto problem = std::make_shared<Problem>();
      problem->brief = std::make_shared<const brief::Brief>(
          way.differential ? with_case_as_ring(brief, way.differential->part) : brief);
      problem->wants = wants;
      problem->copies = fn;
      problem->copies.sides = drives_of(wants, way.delivery);
      problem->differential = way.differential;
      const Variant v{way.delivery, wheels[i], data.diameter_mm / 2};
      const brief::Sample nominal = problem->brief->parameters.nominal();
      const bool solid = way.delivery == Delivery::solid_axle;
      problem->nominal_ground = ground(wants, brief, v.radius_mm, solid, nominal);
      const Ground& g = problem->nominal_ground;
      const std::vector<candidate::Margin> floor = ground_margins(wants, g);
      if (!drive::floor_allows(fn.kind, floor, brief.catalogue->at(wheels[i]).name, log)) {
        ++out.examined;
        continue;
      }
      tell_step(*problem, v.radius_mm);

      drive::Query query;
      query.least_torque_nmm = output_torque_nmm(v, wants, g.flat_force_n);
      query.least_speed_rad_s = wants.speed_mm_s / v.radius_mm;
      query.most_torque_nmm = most_torque_nmm(v, wants, g);
      for (const candidate::Margin& m : floor) query.ceiling = std::min(query.ceiling, m.ratio);
      query.train.min_stages = way.differential ? 1 : 0;
      query.train.max_stages = wants.most_stages;
      if (way.differential) {
        query.train.end_on_ring = true;
        query.train.last_driven = way.differential->part;
      }
      query.judge = [&](const drive::Powertrain& p) {
        return drive::judged_of(evaluate(v, p, wants, g, *problem->brief, nominal), problem->copies.sides);
      };
      kept_problems.push_back(problem);
      kept_placers.push_back(std::make_unique<drive::Placers>(*problem->brief, problem->copies, wants.most_stages));
      drive::Placers& placers = *kept_placers.back();
      query.placers = &placers;
      query.site = site_for(wants, *problem->brief, fn, v, placers,
                            way.differential ? std::optional(way.differential->part) : std::nullopt);
      const drive::Powertrains kept = drive::powertrains(*problem->brief, problem->copies, query, log, control);
      drive::count_search(kept, out);
      drive::add_drafts(
          kept, Design{problem, v, {}, nullptr, std::nullopt}, placers, fn, control,
          [&fn](const std::shared_ptr<const Design>& d) { return make_candidate(d, fn); },
          [](const Design& d, Candidate& c) { tell(d, c); }, drafts);
    }
  }
  if (out.complete && control.stopped()) {
    out.complete = false;
    out.limit_text = "stopped before the drives were searched";
  }
  out.candidates = drive::place_drafts(std::move(drafts), brief, fn, log, control);
  if (out.candidates.empty()) {
    for (const auto& placers : kept_placers) placers->tell_wider_room(log, control);
  }
  out.rejections = log.take();
  return out;
}

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  return drive::propose_by_length<Wants>(function, wants, brief, control, search);
}

}  // namespace

candidate::Kind kind() {
  return {"wheels", "driven axles of a vehicle, with a differential, solid or wheel by wheel", &fields, &read,
          &propose};
}

}  // namespace functions::wheels
