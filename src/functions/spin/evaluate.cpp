#include "functions/spin/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "motor/motor.h"

namespace functions::spin {
namespace {

using brief::Parameter;

constexpr double kRpmPerRadS = 30 / std::numbers::pi;

/// Inside [low, high] everything is as good as asked for; outside, the share of the nearer end. Exact for ratios.
candidate::Margin range_margin(const std::string& name, double slowest, double fastest, double low, double high,
                               bool inside, std::string unit) {
  candidate::Margin m;
  m.name = "speed of " + name;
  m.unit = std::move(unit);
  m.capability = fastest > high ? fastest : slowest;
  m.requirement = fastest > high ? high : low;
  m.note = fmt::format("range {:.4g} to {:.4g}", low, high);
  const double share = std::min(low > 0 ? slowest / low : candidate::kMarginCap, fastest > 0 ? high / fastest : 0.0);
  m.ratio = inside ? candidate::kMarginCap : std::clamp(share, 0.0, std::nextafter(1.0, 0.0));
  return m;
}

/// Torque at the motor per torque at the output.
double torque_per_nmm(const gearing::Train& path, const gearing::MeshEfficiencies& meshes) {
  double ratio = 1;
  for (const gearing::Stage& stage : path.stages) ratio *= std::fabs(stage.ratio.value());
  return ratio / gearing::forward_efficiency(path, meshes);
}

base::Rational decimal(double x) {
  return {std::llround(x * 1e9), 1000000000};
}

}  // namespace

double friction_nmm(const Output& output, const brief::Parameters& parameters, const brief::Sample& sample) {
  const base::Triple& pin = parameters.at(Parameter::pin_friction).value;
  const base::Triple& own = output.friction_nmm;
  const double x = sample[Parameter::pin_friction];
  if (x < pin.nominal && pin.nominal > pin.low)
    return own.nominal - (own.nominal - own.low) * std::min(1.0, (pin.nominal - x) / (pin.nominal - pin.low));
  if (x > pin.nominal && pin.high > pin.nominal)
    return own.nominal + (own.high - own.nominal) * std::min(1.0, (x - pin.nominal) / (pin.high - pin.nominal));
  return own.nominal;
}

double torque_share_nmm(const Output& output, const gearing::Train& path, const brief::Parameters& parameters,
                        const brief::Sample& sample, const gearing::MeshEfficiencies& meshes) {
  return friction_nmm(output, parameters, sample) * torque_per_nmm(path, meshes);
}

double motor_torque_nmm(const Layout& layout, const Wants& wants, const brief::Parameters& parameters,
                        const brief::Sample& sample, const gearing::MeshEfficiencies& meshes) {
  double sum_nmm = 0;
  for (std::size_t i = 0; i < layout.path.size(); ++i)
    sum_nmm += torque_share_nmm(wants.outputs[i], layout.path[i], parameters, sample, meshes);
  return sum_nmm;
}

int current_steps(double current_ma) {
  constexpr double kHair = 1e-9;  // rounding in the last digits is no step
  return static_cast<int>(std::ceil(current_ma / kCurrentStepMa - kHair));
}

int current_steps(double motor_torque_nmm, const motor::Constants& motor) {
  return current_steps(motor_torque_nmm / motor.torque_nmm_per_a * 1000);
}

double told_current_ma(const Layout& layout, const Wants& wants, const brief::Brief& brief, int sides,
                       const brief::Sample& nominal) {
  const drive::Machine m = drive::machine({layout.motor, 1, {}}, brief, nominal);
  int steps = current_steps(m.motor.no_load_current_a * 1000);
  for (std::size_t i = 0; i < layout.path.size(); ++i) {
    steps +=
        current_steps(torque_share_nmm(wants.outputs[i], layout.path[i], brief.parameters, nominal, m.meshes), m.motor);
  }
  return kCurrentStepMa * steps * sides;
}

bool inside(const Output& output, const base::Rational& ratio) {
  const base::Rational size = ratio.abs();
  return size >= decimal(output.ratio[0]) && size <= decimal(output.ratio[1]);
}

bool starts(const Layout& layout, const Wants& wants, const brief::Brief& brief, const brief::Sample& sample) {
  const drive::Machine machine = drive::machine({layout.motor, 1, {}}, brief, sample);
  const double needed_nmm = wants.sticking * motor_torque_nmm(layout, wants, brief.parameters, sample, machine.meshes);
  return needed_nmm <= motor::line(machine.motor, machine.feed).stall_torque_nmm;
}

Starts::Starts(stock::ClassId motor, const Wants& wants, const brief::Brief& brief,
               const std::vector<brief::Sample>& draws)
    : sticking_(wants.sticking) {
  for (const brief::Sample& sample : draws) {
    const drive::Machine machine = drive::machine({motor, 1, {}}, brief, sample);
    Draw draw{machine.meshes, motor::line(machine.motor, machine.feed).stall_torque_nmm, {}};
    for (const Output& output : wants.outputs)
      draw.friction_nmm.push_back(friction_nmm(output, brief.parameters, sample));
    draws_.push_back(std::move(draw));
  }
  if (draws_.empty()) return;
  hardest_ = draws_.front();
  for (const Draw& draw : draws_) {
    gearing::MeshEfficiencies& e = hardest_.meshes;
    e.spur = std::min(e.spur, draw.meshes.spur);
    e.bevel = std::min(e.bevel, draw.meshes.bevel);
    e.crown = std::min(e.crown, draw.meshes.crown);
    e.ring = std::min(e.ring, draw.meshes.ring);
    e.worm_friction = std::max(e.worm_friction, draw.meshes.worm_friction);
    e.bearing_loss = std::max(e.bearing_loss, draw.meshes.bearing_loss);
    hardest_.stall_nmm = std::min(hardest_.stall_nmm, draw.stall_nmm);
    for (std::size_t i = 0; i < wants.outputs.size(); ++i)
      hardest_.friction_nmm[i] = std::max(hardest_.friction_nmm[i], draw.friction_nmm[i]);
  }
}

bool Starts::in(const Draw& draw, const Layout& layout) const {
  double sum_nmm = 0;
  for (std::size_t i = 0; i < layout.path.size(); ++i)
    sum_nmm += draw.friction_nmm[i] * torque_per_nmm(layout.path[i], draw.meshes);
  return sticking_ * sum_nmm <= draw.stall_nmm;
}

double Starts::share(const Layout& layout) const {
  if (draws_.empty()) return 0;
  if (in(hardest_, layout)) return 1;
  const auto started = std::count_if(draws_.begin(), draws_.end(), [&](const Draw& d) { return in(d, layout); });
  return static_cast<double>(started) / static_cast<double>(draws_.size());
}

candidate::Evaluation evaluate(const Layout& layout, const Wants& wants, const brief::Brief& brief, int sides,
                               const brief::Sample& sample) {
  const drive::Machine machine = drive::machine({layout.motor, 1, {}}, brief, sample);
  const double running_nmm = motor_torque_nmm(layout, wants, brief.parameters, sample, machine.meshes);
  const double stall_nmm = motor::line(machine.motor, machine.feed).stall_torque_nmm;
  const double free_rpm = motor::line(machine.motor, machine.feed).no_load_speed_rad_s * kRpmPerRadS;
  const motor::Operation running = motor::operate(machine.motor, machine.feed, running_nmm);
  const double loaded_rpm = running.turns ? running.speed_rad_s * kRpmPerRadS : 0;

  candidate::Evaluation out;
  out.running_current_ma = running.current_a * 1000 * sides;
  double tooth = std::numeric_limits<double>::infinity(), shared_force_n = 0;
  std::string weakest = "no mesh";
  std::map<int, double> force_n;  // by mesh of a placed drive
  for (std::size_t i = 0; i < layout.path.size(); ++i) {
    const Output& output = wants.outputs[i];
    const gearing::Train& path = layout.path[i];
    const base::Rational ratio = path.ratio().abs();
    if (output.by_rpm()) {
      // The range must hold from idling to loaded, so both ends count; a hair for the rounding of speeds.
      constexpr double kHair = 1e-9;
      const double slowest = loaded_rpm * ratio.value(), fastest = free_rpm * ratio.value();
      const bool inside = slowest >= output.rpm[0] * (1 - kHair) && fastest <= output.rpm[1] * (1 + kHair);
      out.margins.push_back(range_margin(output.name, slowest, fastest, output.rpm[0], output.rpm[1], inside, "rpm"));
    } else {
      out.margins.push_back(range_margin(output.name, ratio.value(), ratio.value(), output.ratio[0], output.ratio[1],
                                         functions::spin::inside(output, ratio), ""));
    }
    if (path.stages.empty()) continue;
    const gearing::TrainLoad load = gearing::torque_at_stages(
        path, wants.sticking * friction_nmm(output, brief.parameters, sample), machine.meshes, machine.teeth);
    for (int s = 0; s < load.stages; ++s) {
      const auto at = static_cast<std::size_t>(s);
      double margin = load.tooth_margin[at];
      if (!layout.mesh.empty()) {
        double& sum_n = force_n[layout.mesh[i][at]];
        sum_n += load.tooth_force_n[at];
        if (sum_n > 0)
          margin = std::min(margin, gearing::allowable_tooth_load_n(path.stages[at], machine.teeth) / sum_n);
      }
      if (s == 0 && layout.by_shared[i]) {
        shared_force_n += load.tooth_force_n[at];
      } else if (margin < tooth) {
        tooth = margin;
        weakest = fmt::format("{} to {}", gearing::stage_name(path, s), output.name);
      }
    }
  }
  if (layout.shared && shared_force_n > 0) {
    const double margin = gearing::allowable_tooth_load_n(*layout.shared, machine.teeth) / shared_force_n;
    if (margin < tooth) {
      tooth = margin;
      weakest = fmt::format("shared mesh {}:{}", layout.shared->driver_teeth, layout.shared->driven_teeth);
    }
  }
  out.margins.push_back(candidate::at_least("stall reserve", stall_nmm, wants.sticking * running_nmm, "N mm",
                                            "breaking everything loose at once"));
  const double capped = std::min(tooth, candidate::kMarginCap);
  out.margins.push_back({"tooth", capped, 1, "times its load", weakest, std::max(0.0, capped)});
  return out;
}

}  // namespace functions::spin
