#include "functions/slew/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "balance/mass.h"
#include "drivetrain/drivetrain.h"

namespace functions::slew {
namespace {

using brief::Parameter;

constexpr double kRpmPerRadS = 30 / std::numbers::pi;

/// capability = ratio x requirement for a ratio that may be infinite (no load).
candidate::Margin ratio_margin(std::string name, double ratio, double need_nmm, std::string note) {
  const double capped = std::clamp(ratio, 0.0, candidate::kMarginCap);
  candidate::Margin m = candidate::at_least(std::move(name), capped * need_nmm, need_nmm, "N mm", std::move(note));
  m.ratio = need_nmm > 0 ? capped : candidate::kMarginCap;
  return m;
}

}  // namespace

Slewed slewed(const Wants& wants, const brief::Brief& brief, double mass_factor) {
  const brief::Vec3 pivot = brief.bodies.at(static_cast<std::size_t>(wants.body)).joint.pivot_mm;
  std::vector<bool> moved(brief.bodies.size(), false);
  double mass_g = 0, x_gmm = 0, y_gmm = 0, z_gmm = 0, inertia = 0;
  const auto add = [&](double m, double x, double y, double z, double own_square_mm2) {
    mass_g += m;
    x_gmm += m * x;
    y_gmm += m * y;
    z_gmm += m * z;
    inertia += m * (x * x + y * y + own_square_mm2);
  };
  for (std::size_t i = 0; i < brief.bodies.size(); ++i) {
    const brief::Body& b = brief.bodies[i];
    moved[i] = static_cast<int>(i) == wants.body || (b.parent >= 0 && moved[static_cast<std::size_t>(b.parent)]);
    if (!moved[i]) continue;
    const double m = b.mass_g.nominal * (b.mass_is_estimate ? mass_factor : 1);
    add(m, b.centre_mm.x_mm - pivot.x_mm, b.centre_mm.y_mm - pivot.y_mm, b.centre_mm.z_mm - pivot.z_mm,
        (b.size_mm.x_mm * b.size_mm.x_mm + b.size_mm.y_mm * b.size_mm.y_mm) / 12);  // a filled box about its centre
  }
  add(wants.load_g, wants.radius_mm, 0, wants.load_height_mm, 0);
  return {balance::weight_n(mass_g), balance::weight_n(std::hypot(x_gmm, y_gmm)),
          balance::weight_n(std::max(0.0, z_gmm)), inertia};
}

Need needed(const Wants& wants, const brief::Brief& brief, double bearing_radius_mm, const brief::Sample& sample) {
  return torque_needed(slewed(wants, brief, sample[Parameter::mass_factor]), wants.slope_rad, wants.speed_rad_s,
                       wants.start_s, sample[Parameter::ring_friction], bearing_radius_mm);
}

candidate::Evaluation evaluate(const Variant& v, const Wants& wants, const brief::Brief& brief, int sides,
                               const brief::Sample& sample) {
  const drive::Machine machine = drive::machine(v.powertrain, brief, sample);
  const Need need = needed(wants, brief, v.bearing_radius_mm, sample);
  const double stall_nmm = drive::stall_torque_nmm(machine);
  const drive::QuickState run = drive::quick_state(machine, need.running_nmm());
  candidate::Evaluation out;
  out.running_current_ma = run.current_ma * sides;
  out.margins.push_back(candidate::at_least("speed", run.speed_rad_s * kRpmPerRadS, wants.speed_rad_s * kRpmPerRadS,
                                            "rpm", "turning against the slope"));
  out.margins.push_back(candidate::at_least("torque", stall_nmm, need.starting_nmm(), "N mm",
                                            "starting against bearing, slope and inertia"));

  const double pushed_nmm = need.slope_nmm + wants.push_n * wants.radius_mm;
  const gearing::TrainLoad driven =
      gearing::torque_at_stages(v.powertrain.train, need.starting_nmm(), machine.meshes, machine.teeth);
  double tooth = driven.worst_tooth_margin;
  int weakest = driven.weakest;
  std::string_view when = "starting";
  double tooth_nmm = need.starting_nmm();
  if (wants.hold && pushed_nmm > need.friction_nmm) {
    const gearing::HoldingLoad held =
        gearing::holding_load(v.powertrain.train, pushed_nmm - need.friction_nmm, machine.meshes, machine.teeth);
    if (held.weakest >= 0 && held.worst_tooth_margin < tooth) {
      tooth = held.worst_tooth_margin;
      weakest = held.weakest;
      when = "holding";
      tooth_nmm = pushed_nmm - need.friction_nmm;
    }
  }
  out.margins.push_back(ratio_margin(
      "tooth", tooth, tooth_nmm,
      weakest >= 0 ? fmt::format("{}, {}", gearing::stage_name(v.powertrain.train, weakest), when) : "no mesh"));
  const drive::State state = drive::state(v.powertrain, machine, brief.system(), need.starting_nmm());
  out.margins.push_back(ratio_margin("axle", state.axle_margin, need.starting_nmm(), "starting"));

  if (wants.hold) {
    const drivetrain::Hold hold = drivetrain::hold(
        {machine.motor, machine.feed, {machine.ratio, machine.forward, machine.backward}, machine.motors},
        {pushed_nmm, need.friction_nmm, 0});
    // A locking train holds whatever the bearing's friction does; drivetrain::hold names the friction first.
    const bool locks = machine.backward <= 0 && hold.by != drivetrain::HeldBy::no_load;
    out.margins.push_back(ratio_margin(
        "hold", locks ? candidate::kMarginCap : hold.margin, pushed_nmm,
        fmt::format("held by {}", drivetrain::name_of(locks ? drivetrain::HeldBy::self_locking : hold.by))));
  }
  if (wants.sway_mm) {
    const double swing_mm = stop_swing_mm(run.speed_rad_s * wants.radius_mm, wants.rope_mm, wants.start_s);
    out.margins.push_back(candidate::at_most("sway", swing_mm, *wants.sway_mm, "mm", "swing of the load after a stop"));
  }
  return out;
}

}  // namespace functions::slew
