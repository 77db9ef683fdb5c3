#include "functions/luff/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/text.h"

namespace functions::luff {

using brief::Parameter;

namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;

std::string degrees(double rad) {
  return base::plain(rad * kDegPerRad, 3);
}

}  // namespace

Friction friction_in(const brief::Brief& brief, const stock::Actuator& part, const brief::Sample& sample) {
  return friction_of(drive::screw_in(part, sample), sample[Parameter::pin_friction], brief.system().axle.width_mm / 2);
}

Reached reach(const brief::Brief& brief, const stock::Actuator& part, int actuators, const Geometry& geometry,
              const Cycle& cycle, const linkage::Screw& screw, const drive::Powertrain& powertrain,
              const drive::Machine& machine, const drive::SpeedLine& line) {
  Reached r;
  r.force_needed_n = cycle.peak_force_n;
  r.torque_nmm = cycle.peak_torque_nmm;
  r.force_by_body_n = part.max_force_n.value.nominal * actuators;
  const bool moves = std::isfinite(cycle.peak_torque_nmm);
  const drive::State s = drive::state(powertrain, machine, brief.system(), moves ? cycle.peak_torque_nmm : 0);
  r.force_by_motor_n = !moves                      ? 0
                       : cycle.peak_torque_nmm > 0 ? cycle.peak_force_n * s.stall_torque_nmm / cycle.peak_torque_nmm
                                                   : std::numeric_limits<double>::infinity();
  r.current_limited = motor::line(machine.motor, machine.feed).current_limited;
  r.raise_s = drive::travel_time_s(geometry, cycle.raise_nmm, part.lead_mm, line);
  r.lower_s = drive::travel_time_s(geometry, cycle.lower_nmm, part.lead_mm, line);
  r.tooth_margin = moves ? s.tooth_margin : 0;
  r.weakest_stage = s.weakest_stage;
  r.stall_tooth_margin = s.stall_tooth_margin;
  r.axle_margin = moves ? s.axle_margin : 0;
  r.current_ma = s.current_ma;

  const drive::Lock lock = drive::lock_of(screw, powertrain.train, machine.meshes.worm_friction);
  r.hold_reached = lock.reached;
  r.hold_needed = lock.needed;
  r.hold_by = lock.by;
  return r;
}

Worst worst_of(const Reached& r, const Wants& wants, bool has_train) {
  const double force_n = std::min(r.force_by_motor_n, r.force_by_body_n);
  const double slower_s = std::max(r.raise_s, r.lower_s);
  Worst worst{candidate::kMarginCap, "", "", 0, 0};
  const auto take = [&](double ratio, std::string_view name, std::string_view unit, double reached, double wanted) {
    if (std::min(ratio, candidate::kMarginCap) < worst.ratio || worst.name.empty())
      worst = {std::clamp(ratio, 0.0, candidate::kMarginCap), name, unit, reached, wanted};
  };
  take(r.force_needed_n > 0 ? force_n / r.force_needed_n : candidate::kMarginCap, "force", "N", force_n,
       r.force_needed_n);
  take(wants.time_s / slower_s, "time", "s", slower_s, wants.time_s);
  if (has_train) take(r.tooth_margin, "tooth", "N mm", r.tooth_margin * r.torque_nmm, r.torque_nmm);
  take(r.axle_margin, "axle", "N mm", r.axle_margin * r.torque_nmm, r.torque_nmm);
  if (wants.hold) take(r.hold_reached / r.hold_needed, "hold", "friction", r.hold_reached, r.hold_needed);
  return worst;
}

candidate::Evaluation margins_of(const Reached& r, const Design& design, const Cycle& cycle) {
  const Problem& problem = *design.problem;
  const std::vector<double>& angle = problem.moments.angle_rad;
  const bool by_body = r.force_by_body_n <= r.force_by_motor_n;
  candidate::Evaluation e;
  e.running_current_ma = r.current_ma * problem.sides;
  e.margins.push_back(
      candidate::at_least("force", std::min(r.force_by_motor_n, r.force_by_body_n), r.force_needed_n, "N",
                          fmt::format("{} at {} deg, limited by the {}", cycle.peak_pushes ? "pushes" : "pulls",
                                      degrees(angle[cycle.peak_force_at]),
                                      by_body             ? "actuator itself"
                                      : r.current_limited ? "port's current"
                                                          : "motor's stall")));
  e.margins.push_back(candidate::at_most("time", std::max(r.raise_s, r.lower_s), problem.wants.time_s, "s",
                                         r.raise_s >= r.lower_s ? "raising" : "lowering"));
  const auto torque_margin = [&](std::string name, double ratio, std::string note) {
    e.margins.push_back(candidate::at_least(std::move(name), std::min(ratio, 1e6) * r.torque_nmm, r.torque_nmm, "N mm",
                                            std::move(note)));
  };
  if (!design.powertrain.train.stages.empty())
    torque_margin("tooth", r.tooth_margin, gearing::stage_name(design.powertrain.train, std::max(0, r.weakest_stage)));
  torque_margin("axle", r.axle_margin, fmt::format("at {} deg", degrees(angle[cycle.peak_torque_at])));
  if (problem.wants.hold)
    e.margins.push_back(candidate::at_least("hold", r.hold_reached, r.hold_needed, "",
                                            fmt::format("friction that the {} needs to lock", r.hold_by)));
  return e;
}

Firm firm_in(const Gauged* sway, const Gauged* sag, const Wants& wants, const brief::Sample& sample) {
  Firm out;
  const auto take = [&](std::string_view name, const std::optional<double>& wanted_mm, const Gauged* gauged) {
    if (!wanted_mm || gauged == nullptr) return;
    const double reached_mm = gauged->fault ? 0 : gauged->value_mm(sample);
    const double ratio = gauged->fault ? 0 : *wanted_mm / reached_mm;
    if (out.name.empty() || ratio < out.ratio)
      out = {std::min(ratio, candidate::kMarginCap), name, reached_mm, *wanted_mm};
  };
  take("sway", wants.sway_max_mm, sway);
  take("sag", wants.sag_max_mm, sag);
  return out;
}

namespace {

/// A margin of sway or sag; one that could not be judged is no margin.
void add_firmness(std::string name, const std::optional<double>& wanted_mm, const Gauged* gauged,
                  structure::Gauge gauge, const brief::Sample& sample, candidate::Evaluation& e) {
  if (!wanted_mm || gauged == nullptr) return;
  if (gauged->fault) {
    e.margins.push_back(candidate::at_least(std::move(name), 0, *wanted_mm, "mm", *gauged->fault));
    return;
  }
  const std::vector<SwayShare> shares = shares_of(gauged->report.at(gauge));
  e.margins.push_back(candidate::at_most(
      std::move(name), gauged->value_mm(sample), *wanted_mm, "mm",
      shares.empty() ? "" : fmt::format("{} % {}", base::plain(shares[0].percent, 2), shares[0].source)));
}

}  // namespace

candidate::Evaluation evaluate(const Design& design, const brief::Sample& sample) {
  const Problem& problem = *design.problem;
  const auto& part = std::get<stock::Actuator>(problem.brief->catalogue->at(design.actuator).data);
  const drive::Machine machine = drive::machine(design.powertrain, *problem.brief, sample);
  const Cycle cycle = cycle_of(design.geometry, problem.moments, sample[Parameter::mass_factor],
                               friction_in(*problem.brief, part, sample));
  const Reached reached = reach(*problem.brief, part, design.actuators, design.geometry, cycle,
                                drive::screw_in(part, sample), design.powertrain, machine, drive::speed_line(machine));
  candidate::Evaluation e = margins_of(reached, design, cycle);
  add_firmness("sway", problem.wants.sway_max_mm, design.sway.get(), structure::Gauge::sway, sample, e);
  add_firmness("sag", problem.wants.sag_max_mm, design.sag.get(), structure::Gauge::sag, sample, e);
  return e;
}

double lifts_g(const Design& design, const brief::Sample& sample) {
  const Problem& problem = *design.problem;
  const auto& part = std::get<stock::Actuator>(problem.brief->catalogue->at(design.actuator).data);
  const drive::Machine machine = drive::machine(design.powertrain, *problem.brief, sample);
  const Friction friction = friction_in(*problem.brief, part, sample);
  const linkage::Screw screw = drive::screw_in(part, sample);
  const drive::SpeedLine line = drive::speed_line(machine);
  // Share of the force that is left; falls as the load grows, from 1 with nothing to hold.
  const auto left = [&](double load_g) {
    Wants tried = problem.wants;
    tried.load_g = load_g;
    const Cycle cycle = cycle_of(design.geometry, load_moments(*problem.brief, tried, kAngles),
                                 sample[Parameter::mass_factor], friction);
    const Reached r =
        reach(*problem.brief, part, design.actuators, design.geometry, cycle, screw, design.powertrain, machine, line);
    const double force_n = std::min(r.force_by_motor_n, r.force_by_body_n);
    return force_n > 0 ? 1 - r.force_needed_n / force_n : -1;
  };
  double low_g = 0, high_g = problem.wants.load_g, low = left(low_g), high = left(high_g);
  if (low <= 0) return 0;
  constexpr double kMost = 1000;  // times the wanted load; a boom that nothing loads at that lifts anything
  while (high > 0) {
    if (high_g > kMost * problem.wants.load_g) return high_g;
    low_g = high_g;
    low = high;
    high_g *= 2;
    high = left(high_g);
  }
  // False position, halving the value of an end that stays (Illinois rule).
  constexpr double kTold = 1e-7;
  int stayed = 0;
  while (high_g - low_g > kTold * high_g) {
    const double middle_g = (low_g * high - high_g * low) / (high - low), middle = left(middle_g);
    if (std::fabs(middle) < kTold) return middle_g;
    if (middle > 0) {
      low_g = middle_g;
      low = middle;
      if (stayed > 0) high /= 2;
      stayed = 1;
    } else {
      high_g = middle_g;
      high = middle;
      if (stayed < 0) low /= 2;
      stayed = -1;
    }
  }
  return low_g;
}

}  // namespace functions::luff
