#include "functions/steer/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "balance/mass.h"
#include "base/text.h"
#include "drivetrain/drivetrain.h"
#include "functions/drive/running.h"

namespace functions::steer {
namespace {

using brief::Parameter;

constexpr double kDegPerRad = 180 / std::numbers::pi;
constexpr double kLeastShare = 0.1;

/// capability = ratio x requirement for a ratio that may be infinite.
candidate::Margin ratio_margin(std::string name, double ratio, double need_nmm, std::string note) {
  const double capped = std::isfinite(ratio) ? std::clamp(ratio, 0.0, 1e6) : 1e6;
  candidate::Margin m = candidate::at_least(std::move(name), capped * need_nmm, need_nmm, "N mm", std::move(note));
  m.ratio = need_nmm > 0 ? std::min(capped, candidate::kMarginCap) : candidate::kMarginCap;
  return m;
}

}  // namespace

double wheel_load_n(const Wants& wants, const brief::Brief& brief, double mass_factor) {
  if (wants.wheel_load_g) return balance::weight_n(*wants.wheel_load_g);
  double mass_g = 0, x_gmm = 0;
  for (const brief::Body& b : brief.bodies) {
    const double m = b.mass_g.nominal * (b.mass_is_estimate ? mass_factor : 1);
    mass_g += m;
    x_gmm += m * b.centre_mm.x_mm;
  }
  if (!(mass_g > 0)) return 0;
  const double ahead_mm = x_gmm / mass_g - wants.other_x_mm;
  const double share = std::clamp(ahead_mm / (wants.axle_x_mm - wants.other_x_mm), kLeastShare, 1.0);
  // Two steered axles have drives alike, so both are made for the heavier one.
  const double carried = wants.axles == 2 ? std::max(share, 1 - share) : share;
  return balance::weight_n(mass_g) * carried / 2;
}

double tyre_friction(const Wants& wants, const brief::Brief& brief, const brief::Sample& sample) {
  const double drawn = sample[Parameter::ground_friction];
  if (!wants.tyre_friction) return drawn;
  const double nominal = brief.parameters.nominal()[Parameter::ground_friction];
  return nominal > 0 ? *wants.tyre_friction * drawn / nominal : *wants.tyre_friction;
}

double kingpin_moment_nmm(const Wants& wants, const brief::Brief& brief, const brief::Sample& sample) {
  const double load_n = wheel_load_n(wants, brief, sample[Parameter::mass_factor]);
  const double standing_nmm =
      standing_moment_nmm({load_n, tyre_friction(wants, brief, sample), sample[Parameter::rolling_resistance],
                           wants.patch_radius_mm, wants.offset_mm, wants.wheels_roll});
  // A bush or beam shoulder as wide as the pitch round the axle.
  const double half_mm = brief.system().pitch_mm / 2;
  return standing_nmm + shoulder_moment_nmm(load_n, sample[Parameter::pin_friction],
                                            std::min(brief.system().axle.width_mm / 2, 0.9 * half_mm), half_mm);
}

PinFriction pins_in(const brief::Brief& brief, const brief::Sample& sample) {
  return {sample[Parameter::pin_friction], brief.system().axle.width_mm / 2, sample[Parameter::spur_efficiency],
          brief.system().pressure_angle_deg / kDegPerRad};
}

double push_n(const Wants& wants, const brief::Brief& brief, const brief::Sample& sample) {
  if (wants.push_n) return *wants.push_n;
  return tyre_friction(wants, brief, sample) * wheel_load_n(wants, brief, sample[Parameter::mass_factor]);
}

double push_moment_nmm(const Wants& wants, const brief::Brief& brief, const brief::Sample& sample) {
  return push_n(wants, brief, sample) * wants.offset_mm;
}

double travel_time_s(const std::vector<double>& torque_nmm, const std::vector<double>& share_rad,
                     const drive::SpeedLine& line) {
  double time_s = 0;
  for (std::size_t i = 0; i < torque_nmm.size(); ++i) {
    const double speed = line.at(torque_nmm[i]);
    if (!(speed > 0)) return std::numeric_limits<double>::infinity();
    time_s += share_rad[i] / speed;
  }
  return time_s;
}

double holding_nmm(const drive::Machine& machine) {
  if (machine.backward <= 0) return std::numeric_limits<double>::infinity();
  // A unit load: the margin is the torque that holds.
  const drivetrain::Hold hold = drivetrain::hold(
      {machine.motor, machine.feed, {machine.ratio, machine.forward, machine.backward}, machine.motors}, {1, 0, 0});
  return hold.margin;
}

Reached reach(const RodChoice& rods, const std::vector<double>& torque_nmm, const drive::Powertrain& powertrain,
              const drive::Machine& machine, const Wants& wants, const brief::Brief& brief, double push_nmm) {
  Reached r;
  const auto peak = std::max_element(torque_nmm.begin(), torque_nmm.end());
  r.peak_nmm = *peak;
  r.peak_deg = rods.travel.spots[static_cast<std::size_t>(peak - torque_nmm.begin())].left_rad * kDegPerRad;
  const bool moves = std::isfinite(r.peak_nmm);
  const drive::State s = drive::state(powertrain, machine, brief.system(), moves ? r.peak_nmm : 0);
  r.stall_nmm = s.stall_torque_nmm;
  const drive::SpeedLine line = drive::speed_line(machine);
  r.time_s = moves ? travel_time_s(torque_nmm, rods.share_rad, line) : std::numeric_limits<double>::infinity();
  r.rolling_s = rods.travel.range_rad / line.no_load_rad_s;
  r.tooth_margin = moves ? s.tooth_margin : 0;
  r.weakest_stage = s.weakest_stage;
  r.axle_margin = moves ? s.axle_margin : 0;
  r.stop_margin = s.stall_tooth_margin;
  r.error_deg = rods.travel.error_rad * kDegPerRad;
  r.circle_mm = kerb_circle_mm(wants.inner_rad, rods.travel.outer_rad, wants.base_mm, wants.kingpins_at_mm,
                               wants.offset_mm, wants.width_mm);
  r.push_nmm = push_nmm * rods.travel.most_rate;
  r.hold_nmm = holding_nmm(machine);
  r.current_ma = s.current_ma;
  if (rods.rack) {
    r.rack_nmm =
        drive::rack_limit_nmm(brief, rods.rack->wheel, rods.rack->rack, rods.rack->radius_mm, machine.teeth.stress_mpa);
    const double at_stall = *r.rack_nmm / r.stall_nmm;
    r.stop_margin = powertrain.train.stages.empty() ? at_stall : std::min(r.stop_margin, at_stall);
  }
  return r;
}

candidate::Evaluation margins_of(const Reached& r, const Wants& wants, const drive::Powertrain& powertrain) {
  candidate::Evaluation e;
  e.running_current_ma = r.current_ma * wants.axles;
  const bool moves = std::isfinite(r.peak_nmm);
  candidate::Margin torque =
      candidate::at_least("torque", r.stall_nmm, moves ? r.peak_nmm : 1e9, "N mm",
                          fmt::format("standing, left wheel at {} deg", base::plain(r.peak_deg, 3)));
  e.margins.push_back(std::move(torque));
  e.margins.push_back(candidate::at_most("time", r.time_s, wants.time_s, "s", "from stop to stop, standing"));
  e.margins.push_back(
      candidate::at_least("metering", r.rolling_s, wants.least_time_s, "s", "from stop to stop, rolling, not quicker"));
  const bool train = !powertrain.train.stages.empty();
  const std::string weakest =
      train ? gearing::stage_name(powertrain.train, std::max(0, r.weakest_stage)) : std::string("no mesh");
  if (train) e.margins.push_back(ratio_margin("tooth", r.tooth_margin, moves ? r.peak_nmm : 1e9, weakest));
  if ((train || r.rack_nmm) && wants.stops == Stops::hard)
    e.margins.push_back(ratio_margin("stop", r.stop_margin, r.stall_nmm, "stalled against the end stop"));
  e.margins.push_back(ratio_margin("axle", r.axle_margin, moves ? r.peak_nmm : 1e9, ""));
  if (r.rack_nmm)
    e.margins.push_back(
        candidate::at_least("rack tooth", *r.rack_nmm, moves ? r.peak_nmm : 1e9, "N mm", "pinion on rack"));
  e.margins.push_back(candidate::at_most("Ackermann error", r.error_deg, wants.max_error_deg, "deg",
                                         "outer wheel, largest of the travel"));
  if (wants.turning_circle_mm)
    e.margins.push_back(
        candidate::at_most("turning circle", r.circle_mm, *wants.turning_circle_mm, "mm", "between kerbs"));
  if (wants.hold) {
    const double ratio = r.push_nmm > 0 ? r.hold_nmm / r.push_nmm : std::numeric_limits<double>::infinity();
    e.margins.push_back(
        ratio_margin("hold", ratio, r.push_nmm,
                     std::isfinite(r.hold_nmm) ? "held by the motor's friction" : "held by the self-locking train"));
  }
  return e;
}

candidate::Evaluation evaluate(const Design& design, const brief::Sample& sample) {
  const Wants& wants = design.problem->wants;
  const brief::Brief& brief = *design.problem->brief;
  const drive::Machine machine = drive::machine(design.powertrain, brief, sample);
  const std::vector<double> torque_nmm =
      drive_torques_nmm(*design.rods, kingpin_moment_nmm(wants, brief, sample), pins_in(brief, sample));
  return margins_of(
      reach(*design.rods, torque_nmm, design.powertrain, machine, wants, brief, push_moment_nmm(wants, brief, sample)),
      wants, design.powertrain);
}

}  // namespace functions::steer
