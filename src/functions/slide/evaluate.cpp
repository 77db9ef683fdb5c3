#include "functions/slide/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "balance/mass.h"
#include "base/text.h"
#include "functions/drive/running.h"
#include "functions/drive/screw_drive.h"
#include "gearing/tooth.h"
#include "structure/kit_parts.h"

namespace functions::slide {

using brief::Parameter;

Stage stage_of(const Problem& problem, const Mover* mover, const brief::Sample& sample) {
  const Wants& w = problem.wants;
  const double pitch_mm = problem.brief->system().pitch_mm;
  const double beside_p = mover == nullptr ? 0 : mover->actuator ? kBesideScrew_p : kBesideRack_p;
  return {balance::weight_n(w.load_g) / problem.sides,
          w.lift_rad,
          w.push_n / problem.sides,
          sample[Parameter::pin_friction],
          w.guide_p * pitch_mm,
          w.overhang_mm,
          w.offset_p.value_or(beside_p) * pitch_mm};
}

int bar_of(const Problem& problem) {
  const double pitch_mm = problem.brief->system().pitch_mm;
  return bar_holes(problem.wants.travel_mm, problem.wants.guide_p * pitch_mm, pitch_mm);
}

double guided_mm(const Problem& problem) {
  const double pitch_mm = problem.brief->system().pitch_mm;
  return guided_travel_mm(std::max(bar_of(problem), problem.longest_bar), problem.wants.guide_p * pitch_mm, pitch_mm);
}

Torques torques_of(const Problem& problem, const Mover& mover, const brief::Sample& sample) {
  const Stage stage = stage_of(problem, &mover, sample);
  if (mover.actuator) {
    const auto& part = std::get<stock::Actuator>(problem.brief->catalogue->at(*mover.actuator).data);
    return by_screw(stage, problem.wants.travel_mm, drive::screw_in(part, sample));
  }
  return by_pinion(stage, problem.wants.travel_mm, mover.radius_mm, sample[Parameter::spur_efficiency]);
}

double rack_limit_nmm(const Mover& mover, const brief::Brief& brief, double tooth_stress_mpa) {
  return drive::rack_limit_nmm(brief, mover.pinion, mover.rack, mover.radius_mm, tooth_stress_mpa);
}

Times times_of(const Problem& problem, const Mover& mover, const Torques& t, const drive::SpeedLine& line) {
  const auto time = [&](const std::vector<double>& torque_nmm) {
    return drive::line_time_s(torque_nmm, problem.wants.travel_mm, mover.per_rad_mm, line);
  };
  return {time(t.out_nmm), time(t.in_nmm)};
}

namespace {

/// What keeps a rack in place: a worm that locks, nothing else counts.
candidate::Margin rack_hold(const Torques& t, const drive::Powertrain& p, const drive::Machine& machine) {
  if (t.rest_n <= 0) return candidate::at_least("hold", candidate::kMarginCap, 1, "", "the guide's friction holds it");
  const drive::Lock lock = drive::worm_lock(p.train, machine.meshes.worm_friction);
  return candidate::at_least("hold", lock.reached, lock.needed, "",
                             lock.reached > 0 ? "friction that the worm needs to lock" : "nothing in the train locks");
}

/// Against jamming: the sleeve's length over what a force beside the bar's middle asks. Nothing where it acts in it.
void add_sleeve(const Stage& stage, candidate::Evaluation& e) {
  if (stage.offset_mm <= 0) return;
  e.margins.push_back(candidate::at_least("sleeve", stage.guide_mm, 2 * stage.friction * stage.offset_mm, "mm",
                                          "shorter, it jams when moved beside its middle"));
}

}  // namespace

candidate::Evaluation evaluate(const Problem& problem, const Mover& mover, const drive::Powertrain& powertrain,
                               const brief::Sample& sample) {
  const Wants& w = problem.wants;
  const brief::Brief& brief = *problem.brief;
  const drive::Machine machine = drive::machine(powertrain, brief, sample);
  const Torques t = torques_of(problem, mover, sample);
  const drive::State s = drive::state(powertrain, machine, brief.system(), t.peak_nmm);
  const Times times = times_of(problem, mover, t, drive::speed_line(machine));
  candidate::Evaluation e;
  e.running_current_ma = s.current_ma * problem.sides;
  const double guided = guided_mm(problem);
  e.margins.push_back(candidate::at_least("travel", std::min(mover.offered_mm, guided), w.travel_mm, "mm",
                                          guided < mover.offered_mm ? "bar that stays in its sleeve"
                                          : mover.actuator          ? "stroke of the actuator"
                                                                    : "length of rack"));
  const double force_n = t.peak_nmm > 0 ? s.stall_torque_nmm / t.peak_nmm * t.peak_n : 0;
  candidate::Margin force = candidate::at_least("force", force_n, t.peak_n, "N", "limited by the motor's stall");
  if (t.peak_nmm <= 0) force.ratio = candidate::kMarginCap;
  e.margins.push_back(std::move(force));
  e.margins.push_back(candidate::at_most("time", std::max(times.out_s, times.in_s), w.time_s, "s",
                                         times.out_s >= times.in_s ? "running out" : "running in"));
  if (!powertrain.train.stages.empty())
    e.margins.push_back(drive::ratio_margin("tooth", s.tooth_margin, t.peak_nmm,
                                            gearing::stage_name(powertrain.train, std::max(0, s.weakest_stage))));
  e.margins.push_back(drive::ratio_margin("axle", s.axle_margin, t.peak_nmm, "at the greatest force"));
  if (mover.actuator) {
    const auto& part = std::get<stock::Actuator>(brief.catalogue->at(*mover.actuator).data);
    e.margins.push_back(candidate::at_least("actuator", part.max_force_n.value.nominal, t.peak_n, "N",
                                            "what the actuator's body holds"));
    add_sleeve(stage_of(problem, &mover, sample), e);
    if (w.hold) {
      const drive::Lock lock =
          drive::lock_of(drive::screw_in(part, sample), powertrain.train, machine.meshes.worm_friction);
      e.margins.push_back(candidate::at_least("hold", lock.reached, lock.needed, "",
                                              fmt::format("friction that the {} needs to lock", lock.by)));
    }
  } else {
    e.margins.push_back(candidate::at_least("rack tooth",
                                            rack_limit_nmm(mover, brief, sample[Parameter::tooth_stress_mpa]),
                                            t.peak_nmm, "N mm", "pinion on rack"));
    add_sleeve(stage_of(problem, &mover, sample), e);
    if (w.hold) e.margins.push_back(rack_hold(t, powertrain, machine));
  }
  return e;
}

HandPins hand_pins(const Problem& problem, const brief::Sample& sample) {
  const Stage stage = stage_of(problem, nullptr, sample);
  HandPins out;
  const std::vector<double> reaches = pinned_reaches_mm(problem.wants.travel_mm, problem.brief->system().pitch_mm);
  for (const double x : reaches) {
    Stage moved = stage;
    moved.push_n = 0;  // a hand moves it before it works
    const Forces f = forces_at(moved, x);
    out.out_n = std::max(out.out_n, f.out_n);
    out.in_n = std::max(out.in_n, f.in_n);
    // The pin alone: friction fades with vibration.
    const double along = stage.weight_n * std::sin(stage.lift_rad);
    out.rest_n = std::max({out.rest_n, std::fabs(along), std::fabs(along + stage.push_n)});
  }
  // A hollow pin through both walls of the sleeve: two cuts.
  const structure::BarSection pin = structure::pin_section(problem.brief->system());
  out.pin_n = 2 * pin.area_mm2 * sample[Parameter::axle_shear_stress_mpa];
  return out;
}

candidate::Evaluation evaluate_by_hand(const Problem& problem, const brief::Sample& sample) {
  const Wants& w = problem.wants;
  const HandPins h = hand_pins(problem, sample);
  const std::vector<double> reaches = pinned_reaches_mm(w.travel_mm, problem.brief->system().pitch_mm);
  candidate::Evaluation e;
  e.margins.push_back(
      candidate::at_least("travel", reaches.back(), w.travel_mm, "mm", "between the outermost pinned positions"));
  e.margins.push_back(
      candidate::at_least("positions", static_cast<double>(reaches.size()), w.positions, "", "a pin in every hole"));
  e.margins.push_back(candidate::at_least("hand force", w.hand_n, std::max(h.out_n, h.in_n) * problem.sides, "N",
                                          h.out_n >= h.in_n ? "running out" : "running in"));
  add_sleeve(stage_of(problem, nullptr, sample), e);
  if (w.hold) e.margins.push_back(candidate::at_least("hold", h.pin_n, h.rest_n, "N", "pin in double shear"));
  return e;
}

}  // namespace functions::slide
