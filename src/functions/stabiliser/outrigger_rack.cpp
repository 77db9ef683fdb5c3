#include "functions/stabiliser/outrigger_rack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "balance/mass.h"
#include "base/text.h"
#include "functions/drive/running.h"
#include "functions/drive/screw_drive.h"

namespace functions::stabiliser {

using brief::Parameter;

namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;
/// What is left of a force in a sleeve that jams: beyond every drive, and still a number.
constexpr double kLeastKept = 1e-6;

double tangent(const SlideProblem& problem) {
  return std::tan(problem.brief->system().pressure_angle_deg / kDegPerRad);
}

double offset_mm(const SlideProblem& problem) {
  return problem.wants.offset_p * problem.brief->system().pitch_mm;
}

}  // namespace

std::shared_ptr<const SlideProblem> beside_pinion(const SlideProblem& base, const drive::RackPinion& mover,
                                                  candidate::RejectionLog& log) {
  const stock::KitSystem& system = base.brief->system();
  auto problem = std::make_shared<SlideProblem>(base);
  Outrigger& o = problem->beam;
  Leg& leg = o.leg;
  const double half_mm = system.pitch_mm / 2, aside_mm = mover.radius_mm + offset_mm(base);
  leg.stagger_mm = std::round(aside_mm / half_mm) * half_mm;
  const double off_mm = std::fabs(leg.stagger_mm - aside_mm);
  const std::string& pinion = base.brief->catalogue->at(mover.pinion).name;
  if (off_mm > system.max_misfit_mm + 1e-9) {
    log.add("stabiliser.rack_off_lattice", off_mm, "mm", [&] {
      return fmt::format("beside {} a beam would lie {} mm from its axle, {} mm off the holes; {} mm are allowed",
                         pinion, base::plain(aside_mm, 4), base::plain(off_mm, 3), base::plain(system.max_misfit_mm));
    });
    return nullptr;
  }
  // Beams a pitch wide, with their outer walls a pitch more: those of the mirrored pair must not reach the middle.
  const double from_middle_mm = std::fabs(leg.across_mm), needs_mm = leg.stagger_mm + 1.5 * system.pitch_mm;
  if (problem->wants.legs == 4 && from_middle_mm < needs_mm - 1e-9) {
    log.add("stabiliser.pairs_meet", needs_mm - from_middle_mm, "mm", [&] {
      return fmt::format(
          "beside {} the beams of both pairs would meet: a pair must stand {} mm from the middle, it "
          "stands {} mm",
          pinion, base::plain(needs_mm, 4), base::plain(from_middle_mm, 4));
    });
    return nullptr;
  }
  // The racks lie on the beam from one tooth beyond the pinion, run out, to one tooth before it, run in.
  const double racks_n = balance::weight_n(base.brief->catalogue->at(mover.rack).mass_g.value.nominal * mover.racks);
  const double racks_at_mm = o.travel_mm / 2 - (leg.hip_out_mm + o.reach_mm - leg.length_mm);
  leg.centre_mm = (leg.weight_n * leg.centre_mm + racks_n * racks_at_mm) / (leg.weight_n + racks_n);
  leg.weight_n += racks_n;
  problem->nominal = stance_of(*base.brief, base.wants, leg, base.brief->parameters.nominal()[Parameter::mass_factor]);
  return problem;
}

bool rack_stands_out(const SlideProblem& problem, const drive::RackPinion& mover) {
  const stock::KitSystem& system = problem.brief->system();
  const double half_mm = system.pitch_mm / 2;
  return std::ceil((mover.radius_mm + system.addendum * system.module_mm) / half_mm - 1e-9) <
         std::round((mover.radius_mm + offset_mm(problem)) / half_mm) - 1;
}

double rack_share(const SlideProblem& problem, double friction, Motion motion) {
  const double way = motion == Motion::deploying ? 1 : -1, tan = tangent(problem);
  const double inner = (problem.beam.leg.hip_out_mm * tan - way * offset_mm(problem)) / problem.beam.guide_mm;
  return friction * (std::fabs(inner) + std::fabs(tan - inner));
}

double rack_sleeve_mm(const SlideProblem& problem, double friction) {
  const double tan = tangent(problem);
  return 2 * friction * (problem.beam.leg.hip_out_mm * tan + offset_mm(problem)) / (1 + friction * tan);
}

RackCycle rack_cycle(const SlideProblem& problem, const drive::RackPinion& mover, const Stance& stance,
                     const brief::Sample& sample) {
  const Outrigger& o = problem.beam;
  const double friction = sample[Parameter::pin_friction], efficiency = sample[Parameter::spur_efficiency];
  RackCycle c;
  const double kept_out = std::max(kLeastKept, 1 - rack_share(problem, friction, Motion::deploying)),
               kept_in = std::max(kLeastKept, 1 - rack_share(problem, friction, Motion::stowing));
  double out = 0, in = 0;
  for (std::size_t i = 0; i < problem.run_mm.size(); ++i) {
    const double weight_n =
        friction * slide_force(o, problem.run_mm[i], 0, {0, friction, 0}, Motion::deploying).guide_n;
    c.out_n.push_back(weight_n / kept_out);
    c.in_n.push_back(weight_n / kept_in);
    c.out_nmm.push_back(2 * c.out_n.back() * mover.radius_mm / efficiency);
    c.in_nmm.push_back(2 * c.in_n.back() * mover.radius_mm / efficiency);
    c.peak_n = std::max({c.peak_n, c.out_n.back(), c.in_n.back()});
    c.peak_nmm = std::max({c.peak_nmm, c.out_nmm.back(), c.in_nmm.back()});
    const double share = (i == 0 || i + 1 == problem.run_mm.size() ? 0.5 : 1.0) / (kRuns - 1);
    out += share * c.out_nmm.back();
    in += share * c.in_nmm.back();
  }
  c.mean_nmm = std::max(out, in);
  c.aside_n = c.peak_n * tangent(problem);
  c.tipping_foot_n = stance.tipping_foot_n;
  c.bending_nmm = c.tipping_foot_n * o.reach_mm;
  c.slips_n = c.tipping_foot_n * problem.wants.foot_friction.value_or(sample[Parameter::ground_friction]);
  c.rests_n = friction * slide_force(o, o.travel_mm, c.tipping_foot_n, {0, friction, 0}, Motion::deploying).guide_n;
  return c;
}

bool worm_holds(const RackDesign& design, const drive::Machine& machine) {
  const drive::Lock lock = drive::worm_lock(design.powertrain.train, machine.meshes.worm_friction);
  return lock.needed > 0 && lock.reached >= lock.needed;
}

std::vector<candidate::Margin> beam_margins(const RackDesign& design, const brief::Sample& sample) {
  const SlideProblem& problem = *design.problem;
  const Wants& w = problem.wants;
  const Stance stance = stance_of(*problem.brief, w, problem.beam.leg, sample[Parameter::mass_factor]);
  std::vector<candidate::Margin> out;
  out.push_back(candidate::at_least("sleeve", problem.beam.guide_mm,
                                    rack_sleeve_mm(problem, sample[Parameter::pin_friction]), "mm",
                                    "shorter, it jams as the pinion pushes the beam aside"));
  out.push_back(candidate::at_least("beam", beam_nmm(problem), stance.tipping_foot_n * problem.beam.reach_mm, "N mm",
                                    "bends at the sleeve's mouth, all weight on one foot as it tips"));
  if (w.tipping_deg)
    out.push_back(candidate::at_least("tipping angle", stance.feet.tipping_rad * kDegPerRad, *w.tipping_deg, "deg",
                                      "empty machine on its feet"));
  return out;
}

candidate::Evaluation evaluate(const RackDesign& design, const brief::Sample& sample) {
  const SlideProblem& problem = *design.problem;
  const Wants& w = problem.wants;
  const brief::Brief& brief = *problem.brief;
  const drive::RackPinion& mover = design.mover;
  const drive::Machine machine = drive::machine(design.powertrain, brief, sample);
  const Stance stance = stance_of(brief, w, problem.beam.leg, sample[Parameter::mass_factor]);
  const RackCycle c = rack_cycle(problem, mover, stance, sample);
  const drive::State s = drive::state(design.powertrain, machine, brief.system(), c.peak_nmm);
  const drive::SpeedLine line = drive::speed_line(machine);
  const double out_s = drive::line_time_s(c.out_nmm, problem.beam.travel_mm, mover.radius_mm, line),
               in_s = drive::line_time_s(c.in_nmm, problem.beam.travel_mm, mover.radius_mm, line);
  candidate::Evaluation e;
  e.running_current_ma = s.current_ma * design.drives;
  e.margins.push_back(candidate::at_least("force", s.stall_torque_nmm / c.peak_nmm * c.peak_n, c.peak_n, "N",
                                          "at each rack, limited by the motor's stall"));
  e.margins.push_back(
      candidate::at_most("time", std::max(out_s, in_s), w.time_s, "s", out_s >= in_s ? "running out" : "running in"));
  if (!design.powertrain.train.stages.empty())
    e.margins.push_back(
        drive::ratio_margin("tooth", s.tooth_margin, c.peak_nmm,
                            gearing::stage_name(design.powertrain.train, std::max(0, s.weakest_stage))));
  e.margins.push_back(drive::ratio_margin("axle", s.axle_margin, c.peak_nmm, "at the greatest force"));
  const double limit_nmm =
      drive::rack_limit_nmm(brief, mover.pinion, mover.rack, mover.radius_mm, sample[Parameter::tooth_stress_mpa]);
  e.margins.push_back(
      candidate::at_least("rack tooth", limit_nmm, c.peak_n * mover.radius_mm, "N mm", "pinion on rack"));
  std::vector<candidate::Margin> beams = beam_margins(design, sample);
  e.margins.push_back(std::move(beams[0]));
  e.margins.push_back(std::move(beams[1]));
  const bool locks = worm_holds(design, machine);
  e.margins.push_back(
      candidate::at_least("hold", locks ? std::max(c.rests_n, limit_nmm / mover.radius_mm) : c.rests_n, c.slips_n, "N",
                          locks ? "tooth of the rack, the worm locks; the foot pushed along the ground as it tips"
                                : "the sleeve's friction under it, the foot pushed along the ground as it tips"));
  if (beams.size() > 2) e.margins.push_back(std::move(beams[2]));
  return e;
}

}  // namespace functions::stabiliser
