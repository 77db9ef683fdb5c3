#include "functions/stabiliser/outrigger_design.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/text.h"
#include "functions/stabiliser/site.h"
#include "structure/kit_parts.h"

namespace functions::stabiliser {

using brief::Parameter;

namespace {

/// Base mounts are looked for up to so far above the beam, pitches.
constexpr double kMostOffset_p = 4.5;
constexpr double kSame_mm = 1e-6;
constexpr double kDegPerRad = 180 / std::numbers::pi;

}  // namespace

/// Upright in the plane of the load: S M_y with the section modulus
/// b (h^3 - d^3)/(6 h) of a bar with a hole through its middle.
double beam_nmm(const SlideProblem& problem) {
  const stock::KitSystem& system = problem.brief->system();
  const structure::KitFigures kit = structure::kit_figures(system);
  const double h = kit.beam_height_mm, d = kit.hole_mm;
  const double b = structure::kit_parts(system, structure::full_beam_thickness_p(system), {}).beam_thickness_mm;
  return kit.beam_stress_mpa.nominal * problem.wants.leg_beams * b * (h * h * h - d * d * d) / (6 * h);
}

std::vector<Seat> seats_of(const SlideProblem& problem, const stock::PartClass& actuator,
                           candidate::RejectionLog& log) {
  const Wants& w = problem.wants;
  const Outrigger& o = problem.beam;
  const auto& part = std::get<stock::Actuator>(actuator.data);
  const double pitch_mm = problem.brief->system().pitch_mm, half_mm = pitch_mm / 2;
  const double least_mm = part.closed_mm + w.end_clearance_mm,
               most_mm = part.open_mm - w.end_clearance_mm - o.travel_mm;
  if (least_mm > most_mm + kSame_mm) {
    log.add("stabiliser.stroke_short", least_mm - most_mm, "mm", [&] {
      return fmt::format("{} has a stroke of {} mm less {} mm kept free at either end, the beam runs out {} mm",
                         actuator.name, base::plain(part.open_mm - part.closed_mm), base::plain(w.end_clearance_mm),
                         base::plain(o.travel_mm, 4));
    });
    return {};
  }
  const double cosine = std::cos(o.slope_rad), sine = std::sin(o.slope_rad);
  // The rod mount is one hole inside the foot's: beyond the mouth even when run in.
  const double rod_mm = (kRunIn_p - 1) * pitch_mm;
  const int reach_hp = static_cast<int>(std::ceil((most_mm + kMostOffset_p * pitch_mm) / half_mm)) + 2;
  const int from_middle_hp = static_cast<int>(std::lround(o.leg.hip_out_mm / half_mm));
  std::vector<Seat> out;
  double over_hp = std::numeric_limits<double>::infinity();
  for (int x = -reach_hp; x <= reach_hp; ++x) {
    for (int z = -reach_hp; z <= reach_hp; ++z) {
      const double along_mm = (x * cosine - z * sine) * half_mm, across_mm = (x * sine + z * cosine) * half_mm;
      if (across_mm < kLeastOffset_p * pitch_mm - kSame_mm || across_mm > kMostOffset_p * pitch_mm + kSame_mm) continue;
      const double closed_mm = rod_mm - along_mm;
      if (closed_mm < least_mm - kSame_mm || closed_mm > most_mm + kSame_mm) continue;
      if (faces_its_image(w) && from_middle_hp + x < drive::kActuatorWidth_p) {
        over_hp = std::min(over_hp, static_cast<double>(drive::kActuatorWidth_p - from_middle_hp - x));
        continue;
      }
      out.push_back({{x, z}, across_mm, closed_mm});
    }
  }
  std::sort(out.begin(), out.end(), [](const Seat& a, const Seat& b) {
    if (std::fabs(a.offset_mm - b.offset_mm) > kSame_mm) return a.offset_mm < b.offset_mm;
    return a.closed_mm != b.closed_mm ? a.closed_mm < b.closed_mm : a.base < b.base;
  });
  if (out.empty())
    log.add("stabiliser.mount_crosses", std::isfinite(over_hp) ? over_hp / 2 : 1, "p", [&] {
      return std::isfinite(over_hp)
                 ? fmt::format("beside the beam {} reaches {} p over the middle, where the opposite leg's stands",
                               actuator.name, base::plain(over_hp / 2))
                 : fmt::format("no hole lies right beside the beam for {}", actuator.name);
    });
  return out;
}

SlideCycle slide_cycle(const SlideProblem& problem, const Stance& stance, const stock::Actuator& part, double offset_mm,
                       const brief::Sample& sample) {
  const Outrigger& o = problem.beam;
  SlideCycle c;
  c.contact = {problem.wants.foot_friction.value_or(sample[Parameter::ground_friction]),
               sample[Parameter::pin_friction], offset_mm};
  c.screw = drive::screw_in(part, sample);
  c.raise_nmm_per_n = linkage::raise_torque_nmm(c.screw, 1);
  const double lower_nmm_per_n = linkage::lower_torque_nmm(c.screw, 1);
  c.foot_need_n = o.level() ? 0 : stance.greatest_foot_n;
  c.tipping_foot_n = stance.tipping_foot_n;
  c.bending_nmm = c.tipping_foot_n * std::cos(o.slope_rad) * o.reach_mm;
  const auto torque = [&](double with_n) {
    return with_n >= 0 ? with_n * c.raise_nmm_per_n : std::max(0.0, -with_n * lower_nmm_per_n);
  };
  double out = 0, in = 0;
  for (std::size_t i = 0; i < problem.run_mm.size(); ++i) {
    const double foot_n = i >= problem.loaded_from ? c.foot_need_n : 0;
    c.out_n.push_back(slide_force(o, problem.run_mm[i], foot_n, c.contact, Motion::deploying).force_n);
    c.in_n.push_back(slide_force(o, problem.run_mm[i], foot_n, c.contact, Motion::stowing).force_n);
    c.out_nmm.push_back(torque(c.out_n.back()));
    c.in_nmm.push_back(torque(-c.in_n.back()));
    c.peak_nmm = std::max({c.peak_nmm, c.out_nmm.back(), c.in_nmm.back()});
    c.peak_n = std::max({c.peak_n, std::fabs(c.out_n.back()), std::fabs(c.in_n.back())});
    const double share = (i == 0 || i + 1 == problem.run_mm.size() ? 0.5 : 1.0) / (kRuns - 1);
    out += share * c.out_nmm.back();
    in += share * c.in_nmm.back();
  }
  c.mean_nmm = std::max(out, in);
  return c;
}

SlideReached slide_reach(const SlideProblem& problem, const stock::Actuator& part, int on_shaft, const SlideCycle& c,
                         const drive::Powertrain& powertrain, const drive::Machine& machine) {
  const Outrigger& o = problem.beam;
  SlideReached r;
  r.torque_nmm = c.peak_nmm * on_shaft;
  const drive::State s = drive::state(powertrain, machine, problem.brief->system(), r.torque_nmm);
  r.stall_nmm = s.stall_torque_nmm;
  const double by_motor_n = s.stall_torque_nmm / on_shaft / c.raise_nmm_per_n, limit_n = part.max_force_n.value.nominal;
  r.by_motor = by_motor_n < limit_n;
  r.rod_n = std::min(by_motor_n, limit_n);
  if (!o.level()) {
    r.foot_n = std::numeric_limits<double>::infinity();
    for (std::size_t i = problem.loaded_from; i < problem.run_mm.size(); ++i)
      r.foot_n = std::min(r.foot_n, slide_foot_n(o, problem.run_mm[i], r.rod_n, c.contact));
  }
  drive::ActuatorTravel travel;
  for (std::size_t i = 0; i < problem.run_mm.size(); ++i)
    travel.share_mm.push_back(o.travel_mm * (i == 0 || i + 1 == problem.run_mm.size() ? 0.5 : 1.0) / (kRuns - 1));
  const drive::SpeedLine line = drive::speed_line(machine);
  const auto time_s = [&](std::vector<double> nmm) {
    for (double& t : nmm) t *= on_shaft;
    return drive::travel_time_s(travel, nmm, part.lead_mm, line);
  };
  r.deploy_s = time_s(c.out_nmm);
  r.stow_s = time_s(c.in_nmm);
  r.tooth_margin = s.tooth_margin;
  r.weakest_stage = s.weakest_stage;
  r.stall_tooth_margin = s.stall_tooth_margin;
  r.axle_margin = s.axle_margin;
  r.current_ma = s.current_ma;
  r.beam_nmm = beam_nmm(problem);
  r.lock = drive::lock_of(c.screw, powertrain.train, machine.meshes.worm_friction);
  return r;
}

candidate::Evaluation evaluate(const SlideDesign& design, const brief::Sample& sample) {
  const SlideProblem& problem = *design.problem;
  const Wants& w = problem.wants;
  const Outrigger& o = problem.beam;
  const auto& part = std::get<stock::Actuator>(problem.brief->catalogue->at(design.actuator).data);
  const drive::Machine machine = drive::machine(design.powertrain, *problem.brief, sample);
  const Stance stance = stance_of(*problem.brief, w, o.leg, sample[Parameter::mass_factor]);
  const SlideCycle c = slide_cycle(problem, stance, part, design.seat.offset_mm, sample);
  const SlideReached r = slide_reach(problem, part, design.on_shaft, c, design.powertrain, machine);
  candidate::Evaluation e;
  e.running_current_ma = r.current_ma * design.drives;
  const std::string_view by = !r.by_motor                                                ? "actuator itself"
                              : motor::line(machine.motor, machine.feed).current_limited ? "port's current"
                                                                                         : "motor's stall";
  if (o.level()) {
    e.margins.push_back(
        candidate::at_least("force", r.rod_n, c.peak_n, "N", fmt::format("along the beam, limited by the {}", by)));
  } else {
    e.margins.push_back(
        candidate::at_least("foot force", r.foot_n, c.foot_need_n, "N",
                            fmt::format("{}, limited by the {}", w.lifts ? "lifting" : "pressing", by)));
  }
  e.margins.push_back(candidate::at_most("time", std::max(r.deploy_s, r.stow_s), w.time_s, "s",
                                         r.deploy_s >= r.stow_s ? "deploying" : "stowing"));
  const auto torque_margin = [&](std::string name, double ratio, std::string note) {
    e.margins.push_back(candidate::at_least(std::move(name), std::min(ratio, 1e6) * r.torque_nmm, r.torque_nmm, "N mm",
                                            std::move(note)));
  };
  if (!design.powertrain.train.stages.empty())
    torque_margin("tooth", r.tooth_margin, gearing::stage_name(design.powertrain.train, std::max(0, r.weakest_stage)));
  torque_margin("axle", r.axle_margin, "at the greatest torque");
  e.margins.push_back(candidate::at_least("beam", r.beam_nmm, c.bending_nmm, "N mm",
                                          "bends at the sleeve's mouth, all weight on one foot as it tips"));
  if (!o.level())
    e.margins.push_back(candidate::at_least("hold", part.max_force_n.value.nominal,
                                            c.tipping_foot_n * std::sin(o.slope_rad), "N",
                                            "all weight on one foot as it tips, held by the actuator"));
  e.margins.push_back(candidate::at_least("lock", r.lock.reached, r.lock.needed, "",
                                          fmt::format("friction that the {} needs to lock", r.lock.by)));
  if (w.tipping_deg)
    e.margins.push_back(candidate::at_least("tipping angle", stance.feet.tipping_rad * kDegPerRad, *w.tipping_deg,
                                            "deg", "empty machine on its feet"));
  return e;
}

}  // namespace functions::stabiliser
