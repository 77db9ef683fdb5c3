#include "functions/crawler/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "balance/traction.h"
#include "functions/drive/running.h"

namespace functions::crawler {
namespace {

using brief::Parameter;

constexpr double kDegPerRad = 180 / std::numbers::pi;

/// Share of the wheels that are driven; tracks drive their whole contact.
double driven_share(const Wants& wants, int driven_wheels) {
  return wants.tracked() ? 1.0 : std::min(1.0, static_cast<double>(driven_wheels) / wants.wheels_per_side);
}

/// Tracks: the belt's own resistance is inside the machine, so the floor holds the grade alone. Wheels: the undriven
/// ones are pulled along over the floor. Two axles by their own loads; more take the load evenly.
double adhesion_rad(const Wants& wants, const Centre& centre, int driven_wheels, double friction, double rolling) {
  const double share = driven_share(wants, driven_wheels);
  const balance::Stance stance{wants.contact_mm, wants.contact_mm / 2 + centre.ahead_mm, centre.height_mm};
  if (share >= 1) return balance::adhesion_slope_rad(stance, balance::Driven::all, friction);
  if (wants.wheels_per_side == 2) return balance::adhesion_slope_rad(stance, balance::Driven::rear, friction, rolling);
  return std::atan(std::max(0.0, friction * share - rolling * (1 - share)));
}

/// Length of an even contact that resists turning like this running gear.
double turning_length_mm(const Wants& wants) {
  return wants.tracked() ? wants.contact_mm : balance::skid_contact_length_mm(wants.wheels_per_side, wants.contact_mm);
}

candidate::Margin torque_margin(std::string name, double stall_nmm, double need_nmm, std::string note) {
  return candidate::at_least(std::move(name), stall_nmm, need_nmm, "N mm", std::move(note));
}

}  // namespace

Outline outline_of(const Wants& wants, double radius_mm) {
  if (!wants.tracked()) return {wants.contact_mm, radius_mm, radius_mm, 0};
  return {wants.contact_mm, radius_mm, radius_mm + wants.end_raise_mm, wants.end_reach_mm};
}

Ground ground(const Wants& wants, const brief::Brief& brief, double radius_mm, int driven_wheels, int sides,
              const brief::Sample& sample) {
  const double friction = sample[Parameter::ground_friction];
  const double rolling = sample[Parameter::rolling_resistance];
  const balance::MassPoint machine = drive::machine_mass(brief, sample[Parameter::mass_factor]);
  Ground g;
  g.weight_n = balance::weight_n(machine.mass_g);
  g.centre = {machine.at.x_mm - wants.middle_x_mm, machine.at.z_mm};
  g.flat_force_n = balance::tractive_effort_n(g.weight_n, 0, rolling);
  g.slope_force_n = balance::tractive_effort_n(g.weight_n, wants.slope_rad, rolling);
  g.adhesion_slope_rad = adhesion_rad(wants, g.centre, driven_wheels, friction, rolling);
  const double behind_mm = wants.contact_mm / 2 + g.centre.ahead_mm;
  g.tip_slope_rad = std::max(0.0, std::atan2(behind_mm, std::max(0.0, g.centre.height_mm)));

  if (wants.turns_on_spot) {
    const balance::SkidTurn turn =
        balance::skid_turn({g.weight_n, turning_length_mm(wants), wants.tread_mm, friction, rolling});
    // On the spot the inner side drives backwards with the outer side's force: both give f W/2 + M/B.
    g.turn_force_n = turn.outer_force_n * sides;
    g.turn_friction_given = friction * driven_share(wants, driven_wheels);
    g.turn_friction_needed = g.weight_n > 0 ? turn.resisting_moment_nmm / wants.tread_mm / (g.weight_n / 2) : 0;
  }
  if (wants.step_mm) {
    const Outline outline = outline_of(wants, radius_mm);
    const bool front = driven_share(wants, driven_wheels) >= 1;
    const Grip grip{front ? friction : 0, friction};
    const std::optional<double> by_friction = friction_step_mm(outline, g.centre, grip);
    const double by_balance = balance_step_mm(outline, g.centre);
    g.balance_limits_step = !by_friction || *by_friction >= by_balance;
    g.step_mm = g.balance_limits_step ? by_balance : *by_friction;
    const std::optional<double> needed = friction_needed(outline, g.centre, *wants.step_mm, front, true);
    const double used = needed ? *needed : friction;
    const Climb climb = friction_climb(outline, g.centre, {front ? used : 0, used}, *wants.step_mm);
    g.step_force_n = g.weight_n * (climb.traction + rolling);
  }
  return g;
}

std::vector<candidate::Margin> ground_margins(const Wants& wants, const Ground& g) {
  std::vector<candidate::Margin> out;
  out.push_back(candidate::at_least("traction", g.adhesion_slope_rad * kDegPerRad, wants.slope_deg, "deg",
                                    "steepest slope the floor's grip allows"));
  out.push_back(candidate::at_least("slope balance", g.tip_slope_rad * kDegPerRad, wants.slope_deg, "deg",
                                    "slope at which it falls over backward"));
  if (wants.turns_on_spot) {
    out.push_back(candidate::at_least("turning grip", g.turn_friction_given, g.turn_friction_needed, "",
                                      "friction left along the contact while it slides sideways"));
  }
  if (wants.step_mm) {
    out.push_back(candidate::at_least("step", g.step_mm, *wants.step_mm, "mm",
                                      g.balance_limits_step ? "limited by balance" : "limited by friction"));
  }
  return out;
}

double shaft_torque_nmm(const Variant& v, int sides, double force_n) {
  return force_n / (sides * v.driven_wheels) * v.radius_mm;
}

candidate::Evaluation evaluate(const Variant& v, const Wants& wants, const Ground& g, const brief::Brief& brief,
                               int sides, const brief::Sample& sample) {
  const drive::Machine machine = drive::machine(v.powertrain, brief, sample);
  const double flat_nmm = shaft_torque_nmm(v, sides, g.flat_force_n);
  const double slope_nmm = shaft_torque_nmm(v, sides, g.slope_force_n);
  const double turn_nmm = shaft_torque_nmm(v, sides, g.turn_force_n);
  const double step_nmm = shaft_torque_nmm(v, sides, g.step_force_n);
  const double stall_nmm = drive::stall_torque_nmm(machine);
  const drive::QuickState flat = drive::quick_state(machine, flat_nmm);

  candidate::Evaluation out;
  out.running_current_ma = flat.current_ma * sides * v.driven_wheels;
  out.margins.push_back(
      candidate::at_least("speed", flat.speed_rad_s * v.radius_mm, wants.speed_mm_s, "mm/s", "on the level"));
  out.margins.push_back(
      torque_margin("slope torque", stall_nmm, slope_nmm, fmt::format("up {:.4g} deg", wants.slope_deg)));
  if (wants.turns_on_spot) out.margins.push_back(torque_margin("turning torque", stall_nmm, turn_nmm, "on the spot"));
  if (wants.step_mm) {
    out.margins.push_back(
        torque_margin("step torque", stall_nmm, step_nmm, fmt::format("up a step of {:.4g} mm", *wants.step_mm)));
  }

  struct Case {
    double nmm;
    std::string_view when;
  };
  const std::array<Case, 4> cases{
      {{flat_nmm, "on the level"}, {slope_nmm, "on the slope"}, {turn_nmm, "turning"}, {step_nmm, "on the step"}}};
  const Case& worst =
      *std::max_element(cases.begin(), cases.end(), [](const Case& a, const Case& b) { return a.nmm < b.nmm; });
  const drive::State s = drive::state(v.powertrain, machine, brief.system(), worst.nmm);
  out.margins.push_back(drive::ratio_margin(
      "tooth", s.tooth_margin, worst.nmm,
      s.weakest_stage >= 0 ? fmt::format("{}, {}", gearing::stage_name(v.powertrain.train, s.weakest_stage), worst.when)
                           : "no mesh"));
  out.margins.push_back(drive::ratio_margin("axle", s.axle_margin, worst.nmm, std::string(worst.when)));
  for (candidate::Margin& m : ground_margins(wants, g)) out.margins.push_back(std::move(m));
  return out;
}

}  // namespace functions::crawler
