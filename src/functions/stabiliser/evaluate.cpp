#include "functions/stabiliser/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/text.h"

namespace functions::stabiliser {

using brief::Parameter;

namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;

}  // namespace

Mount mount_of(const Problem& problem, lattice::Point2 base, lattice::Point2 rod) {
  const linkage::ActuatorTriangle t = drive::triangle_of(base, rod, problem.brief->system().pitch_mm);
  Mount m{base, rod, drive::travel_of(t, problem.angle_rad), {}};
  m.pose.reserve(problem.angle_rad.size());
  for (const double a : problem.angle_rad) m.pose.push_back(leg_pose(t, a));
  return m;
}

Cycle cycle_of(const Problem& problem, const Stance& stance, const Mount& mount, const stock::Actuator& part,
               const brief::Sample& sample) {
  Cycle c;
  c.foot_need_n = stance.greatest_foot_n;
  c.tipping_foot_n = stance.tipping_foot_n;
  c.screw = drive::screw_in(part, sample);
  c.contact = {problem.wants.foot_friction.value_or(sample[Parameter::ground_friction]),
               sample[Parameter::pin_friction], problem.brief->system().axle.width_mm / 2};
  c.raise_nmm_per_n = linkage::raise_torque_nmm(c.screw, 1);
  const double lower_nmm_per_n = linkage::lower_torque_nmm(c.screw, 1);
  const auto torque = [&](const RodForce& f) {
    return f.resists ? f.force_n * c.raise_nmm_per_n : std::max(0.0, f.force_n * lower_nmm_per_n);
  };
  double mean_deploy = 0, mean_stow = 0;
  for (std::size_t i = 0; i < mount.pose.size(); ++i) {
    const double foot_n = i < problem.loaded ? c.foot_need_n : 0;
    const RodForce down = rod_force(problem.leg, mount.pose[i], foot_n, c.contact, Motion::deploying);
    const RodForce up = rod_force(problem.leg, mount.pose[i], foot_n, c.contact, Motion::stowing);
    c.deploy_nmm.push_back(torque(down));
    c.stow_nmm.push_back(torque(up));
    c.rod_n.push_back(std::max(down.force_n, up.force_n));
    c.peak_nmm = std::max({c.peak_nmm, c.deploy_nmm.back(), c.stow_nmm.back()});
    c.peak_rod_n = std::max(c.peak_rod_n, c.rod_n.back());
    mean_deploy += c.deploy_nmm.back() * mount.travel.share_mm[i];
    mean_stow += c.stow_nmm.back() * mount.travel.share_mm[i];
  }
  if (mount.travel.stroke_mm > 0) c.mean_nmm = std::max(mean_deploy, mean_stow) / mount.travel.stroke_mm;
  return c;
}

FootForce least_foot_force(const Problem& problem, const Mount& mount, const Cycle& cycle, double rod_n) {
  FootForce out{std::numeric_limits<double>::infinity(), 0};
  for (std::size_t i = 0; i < problem.loaded; ++i) {
    const double here_n = foot_force_n(problem.leg, mount.pose[i], rod_n, cycle.contact);
    if (here_n < out.force_n) out = {here_n, i};
  }
  return out;
}

Body body_of(const Problem& problem, const Mount& mount, const Cycle& cycle, const stock::Actuator& part) {
  const double limit_n = part.max_force_n.value.nominal;
  return {least_foot_force(problem, mount, cycle, limit_n), held_foot_n(problem.leg, mount.pose.front(), limit_n)};
}

Reached reach(const Problem& problem, const stock::Actuator& part, int on_shaft, const Mount& mount, const Cycle& cycle,
              const Body& body, const drive::Powertrain& powertrain, const drive::Machine& machine,
              const drive::SpeedLine& line) {
  Reached r;
  r.torque_nmm = cycle.peak_nmm * on_shaft;
  const bool moves = std::isfinite(r.torque_nmm);
  const drive::State s = drive::state(powertrain, machine, problem.brief->system(), moves ? r.torque_nmm : 0);
  r.stall_nmm = s.stall_torque_nmm;
  const double by_motor_n = s.stall_torque_nmm / on_shaft / cycle.raise_nmm_per_n;
  r.foot = body.foot;
  r.foot_by = "actuator itself";
  if (by_motor_n < part.max_force_n.value.nominal) {
    r.foot = least_foot_force(problem, mount, cycle, by_motor_n);
    r.foot_by = motor::line(machine.motor, machine.feed).current_limited ? "port's current" : "motor's stall";
  }
  const auto time_s = [&](const std::vector<double>& one_nmm) {
    std::vector<double> all_nmm = one_nmm;
    for (double& t : all_nmm) t *= on_shaft;
    return drive::travel_time_s(mount.travel, all_nmm, part.lead_mm, line);
  };
  r.deploy_s = time_s(cycle.deploy_nmm);
  r.stow_s = time_s(cycle.stow_nmm);
  r.tooth_margin = moves ? s.tooth_margin : 0;
  r.weakest_stage = s.weakest_stage;
  r.stall_tooth_margin = s.stall_tooth_margin;
  r.axle_margin = moves ? s.axle_margin : 0;
  r.current_ma = s.current_ma;
  r.held_foot_n = body.held_foot_n;
  r.lock = drive::lock_of(cycle.screw, powertrain.train, machine.meshes.worm_friction);
  return r;
}

candidate::Evaluation margins_of(const Problem& problem, const Stance& stance, const Reached& r, const Cycle& cycle,
                                 const drive::Powertrain& powertrain, int drives) {
  const Wants& w = problem.wants;
  candidate::Evaluation e;
  e.running_current_ma = r.current_ma * drives;
  e.margins.push_back(candidate::at_least(
      "foot force", r.foot.force_n, cycle.foot_need_n, "N",
      fmt::format("{} at {} deg below the horizontal, limited by the {}", w.lifts ? "lifting" : "pressing",
                  base::plain(-problem.angle_rad[r.foot.at] * kDegPerRad, 3), r.foot_by)));
  e.margins.push_back(candidate::at_most("time", std::max(r.deploy_s, r.stow_s), w.time_s, "s",
                                         r.deploy_s >= r.stow_s ? "deploying" : "stowing"));
  const auto torque_margin = [&](std::string name, double ratio, std::string note) {
    e.margins.push_back(candidate::at_least(std::move(name), std::min(ratio, 1e6) * r.torque_nmm, r.torque_nmm, "N mm",
                                            std::move(note)));
  };
  if (!powertrain.train.stages.empty())
    torque_margin("tooth", r.tooth_margin, gearing::stage_name(powertrain.train, std::max(0, r.weakest_stage)));
  torque_margin("axle", r.axle_margin, "at the greatest torque");
  e.margins.push_back(candidate::at_least("hold", r.held_foot_n, cycle.tipping_foot_n, "N",
                                          "all weight on one foot as it tips, held by the actuator"));
  e.margins.push_back(candidate::at_least("lock", r.lock.reached, r.lock.needed, "",
                                          fmt::format("friction that the {} needs to lock", r.lock.by)));
  if (w.tipping_deg)
    e.margins.push_back(candidate::at_least("tipping angle", stance.feet.tipping_rad * kDegPerRad, *w.tipping_deg,
                                            "deg", "empty machine on its feet"));
  return e;
}

candidate::Evaluation evaluate(const Design& design, const brief::Sample& sample) {
  const Problem& problem = *design.problem;
  const auto& part = std::get<stock::Actuator>(problem.brief->catalogue->at(design.actuator).data);
  const drive::Machine machine = drive::machine(design.powertrain, *problem.brief, sample);
  const Stance stance = stance_of(*problem.brief, problem.wants, problem.leg, sample[Parameter::mass_factor]);
  const Cycle cycle = cycle_of(problem, stance, design.mount, part, sample);
  const Reached reached =
      reach(problem, part, design.on_shaft, design.mount, cycle, body_of(problem, design.mount, cycle, part),
            design.powertrain, machine, drive::speed_line(machine));
  return margins_of(problem, stance, reached, cycle, design.powertrain, design.drives);
}

}  // namespace functions::stabiliser
