#include "functions/wheels/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "balance/traction.h"
#include "functions/drive/running.h"
#include "structure/torsion.h"

namespace functions::wheels {
namespace {

using brief::Parameter;
constexpr double kDegPerRad = 180 / std::numbers::pi;

/// Where the rear support carries: the rear axle on the floor, or the pivot of a bogie.
double tip_slope_rad(const Undercarriage& u, const Centre& c) {
  if (u.frame == Frame::fixed)
    return std::max(0.0, std::atan2(c.ahead_mm - u.axle_x_mm.front(), std::max(0.0, c.height_mm)));
  const double pivot = (u.axle_x_mm[0] + u.axle_x_mm[1]) / 2;
  return std::max(0.0, std::atan2(c.ahead_mm - pivot, std::max(0.0, c.height_mm - u.radius_mm)));
}

/// The most that a driven axle pushes with while axles rise one after the other; nothing when one of them cannot.
std::optional<double> step_push(const Undercarriage& u, const Centre& centre, double step_mm, double rolling,
                                double most_grip) {
  double most = 0;
  for (int axle = 0; axle < static_cast<int>(u.axle_x_mm.size()); ++axle) {
    const std::optional<double> grip = grip_for_step(u, centre, axle, step_mm, rolling, most_grip);
    if (!grip) return std::nullopt;
    const Standing s = at_step(u, centre, axle, step_mm, *grip, rolling);
    for (std::size_t i = 0; i < u.driven.size(); ++i)
      if (u.driven[i]) most = std::max(most, s.load[i] * (*grip + rolling));
  }
  return most;
}

}  // namespace

Ground ground(const Wants& wants, const brief::Brief& brief, double radius_mm, bool solid_axle,
              const brief::Sample& sample) {
  const double friction = sample[Parameter::ground_friction];
  const double rolling = sample[Parameter::rolling_resistance];
  const balance::MassPoint machine = drive::machine_mass(brief, sample[Parameter::mass_factor]);
  const Undercarriage u = undercarriage_of(wants, radius_mm);
  Ground g;
  g.weight_n = balance::weight_n(machine.mass_g);
  g.centre = {machine.at.x_mm - wants.middle_x_mm, machine.at.z_mm};
  g.flat_force_n = balance::tractive_effort_n(g.weight_n, 0, rolling);
  g.slope_force_n = balance::tractive_effort_n(g.weight_n, wants.slope_rad, rolling);
  g.adhesion_slope_rad = adhesion_slope_rad(u, g.centre, friction, rolling);
  g.tip_slope_rad = tip_slope_rad(u, g.centre);
  if (wants.curve_radius_mm) {
    g.curve_force_n = g.flat_force_n + g.weight_n * curve_force(u, g.centre, *wants.curve_radius_mm, wants.tread_mm,
                                                                solid_axle, friction);
  }
  if (wants.step_mm) {
    const StepLimit limit = climbable_step(u, g.centre, friction, rolling, candidate::kMarginCap * *wants.step_mm);
    g.step_mm = limit.step_mm;
    g.step_axle = limit.axle;
    // A step beyond the floor's grip is a margin of its own; the drive is then asked for what the grip gives.
    const std::optional<double> push = step_push(u, g.centre, *wants.step_mm, rolling, friction);
    const auto grip_n = [&] {
      const Standing level = on_slope(u, g.centre, 0, 0, 0);
      double most = 0;
      for (std::size_t i = 0; i < u.driven.size(); ++i)
        if (u.driven[i]) most = std::max(most, level.load[i]);
      return most * (friction + rolling);
    };
    g.step_axle_n = g.weight_n * (push ? *push : grip_n());
  }
  return g;
}

std::vector<candidate::Margin> ground_margins(const Wants& wants, const Ground& g) {
  std::vector<candidate::Margin> out;
  out.push_back(candidate::at_least("traction", g.adhesion_slope_rad * kDegPerRad, wants.slope_deg, "deg",
                                    "steepest slope the floor's grip allows"));
  out.push_back(candidate::at_least("slope balance", g.tip_slope_rad * kDegPerRad, wants.slope_deg, "deg",
                                    "slope at which it falls over backward"));
  if (wants.step_mm) {
    out.push_back(candidate::at_least(
        "step", g.step_mm, *wants.step_mm, "mm",
        g.step_axle < 0 ? "no limit found"
                        : fmt::format("axle {} from the front fails beyond it", wants.axles - g.step_axle)));
  }
  return out;
}

int drives_of(const Wants& wants, Delivery delivery) {
  return wants.driven_axles * (delivery == Delivery::each_wheel ? 2 : 1);
}

double output_torque_nmm(const Variant& v, const Wants& wants, double force_n) {
  return force_n * v.radius_mm / drives_of(wants, v.delivery);
}

double axle_torque_nmm(const Variant& v, double axle_n) {
  return axle_n * v.radius_mm / (v.delivery == Delivery::each_wheel ? 2 : 1);
}

double most_torque_nmm(const Variant& v, const Wants& wants, const Ground& g) {
  return std::max(output_torque_nmm(v, wants, std::max(g.slope_force_n, g.curve_force_n)),
                  axle_torque_nmm(v, g.step_axle_n));
}

candidate::Evaluation evaluate(const Variant& v, const drive::Powertrain& powertrain, const Wants& wants,
                               const Ground& g, const brief::Brief& brief, const brief::Sample& sample) {
  const drive::Machine machine = drive::machine(powertrain, brief, sample);
  const double flat_nmm = output_torque_nmm(v, wants, g.flat_force_n);
  const double slope_nmm = output_torque_nmm(v, wants, g.slope_force_n);
  const double curve_nmm = output_torque_nmm(v, wants, g.curve_force_n);
  const double step_nmm = axle_torque_nmm(v, g.step_axle_n);
  const double stall_nmm = drive::stall_torque_nmm(machine);
  const drive::QuickState flat = drive::quick_state(machine, flat_nmm);

  candidate::Evaluation out;
  out.running_current_ma = flat.current_ma * drives_of(wants, v.delivery);
  const auto torque = [&](std::string name, double need_nmm, std::string note) {
    out.margins.push_back(candidate::at_least(std::move(name), stall_nmm, need_nmm, "N mm", std::move(note)));
  };
  out.margins.push_back(
      candidate::at_least("speed", flat.speed_rad_s * v.radius_mm, wants.speed_mm_s, "mm/s", "on the level"));
  torque("slope torque", slope_nmm, fmt::format("up {:.4g} deg", wants.slope_deg));
  if (wants.curve_radius_mm)
    torque("curve torque", curve_nmm, fmt::format("in a curve of radius {:.4g} mm", *wants.curve_radius_mm));
  if (wants.step_mm) torque("step torque", step_nmm, fmt::format("up a step of {:.4g} mm", *wants.step_mm));

  struct Case {
    double nmm;
    std::string_view when;
  };
  const std::array<Case, 4> cases{{{flat_nmm, "on the level"},
                                   {slope_nmm, "on the slope"},
                                   {curve_nmm, "in the curve"},
                                   {step_nmm, "on the step"}}};
  const Case& worst =
      *std::max_element(cases.begin(), cases.end(), [](const Case& a, const Case& b) { return a.nmm < b.nmm; });
  const drive::State s = drive::state(powertrain, machine, brief.system(), worst.nmm);
  out.margins.push_back(drive::ratio_margin(
      "tooth", s.tooth_margin, worst.nmm,
      s.weakest_stage >= 0 ? fmt::format("{}, {}", gearing::stage_name(powertrain.train, s.weakest_stage), worst.when)
                           : "no mesh"));
  double axle = s.axle_margin;
  if (v.delivery == Delivery::differential) {
    // Each half shaft takes half the torque of the case.
    axle = std::min(axle, structure::torsion_margin(structure::section_of(brief.system().axle), worst.nmm / 2,
                                                    machine.axle_shear_stress_mpa));
  }
  out.margins.push_back(drive::ratio_margin("axle", axle, worst.nmm, std::string(worst.when)));
  for (candidate::Margin& m : ground_margins(wants, g)) out.margins.push_back(std::move(m));
  return out;
}

}  // namespace functions::wheels
