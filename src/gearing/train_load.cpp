#include "gearing/train_load.h"

#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "base/check.h"
#include "gearing/worm.h"

namespace gearing {
namespace {

constexpr double kNone = std::numeric_limits<double>::infinity();

double size_of_ratio(const Stage& s) {
  return std::fabs(s.ratio.value());
}

double plain_efficiency(MeshType type, const MeshEfficiencies& e) {
  switch (type) {
    case MeshType::spur:
      return e.spur;
    case MeshType::bevel:
      return e.bevel;
    case MeshType::crown:
      return e.crown;
    case MeshType::ring_outer:
    case MeshType::ring_inner:
      return e.ring;
    case MeshType::worm:
      break;
  }
  KW_CHECK(false, "a worm's efficiency comes from its lead angle");
}

double margin(double allowable_n, double force_n) {
  return force_n > 0 ? allowable_n / force_n : kNone;
}

}  // namespace

MeshEfficiencies nominal_efficiencies(const stock::CraftFigures& craft) {
  return {craft.spur_efficiency.value.nominal,  craft.bevel_efficiency.value.nominal,
          craft.crown_efficiency.value.nominal, craft.ring_efficiency.value.nominal,
          craft.worm_friction.value.nominal,    craft.bearing_loss.value.nominal};
}

double forward_efficiency(const Stage& s, const MeshEfficiencies& e) {
  if (s.type == MeshType::worm) return worm_forward_efficiency(s.lead_angle_rad, s.pressure_angle_rad, e.worm_friction);
  return plain_efficiency(s.type, e);
}

double backward_efficiency(const Stage& s, const MeshEfficiencies& e) {
  if (s.type == MeshType::worm)
    return worm_backward_efficiency(s.lead_angle_rad, s.pressure_angle_rad, e.worm_friction);
  return plain_efficiency(s.type, e);
}

double forward_efficiency(const Train& train, const MeshEfficiencies& e) {
  double product = 1 - e.bearing_loss;
  for (const Stage& s : train.stages) product *= forward_efficiency(s, e) * (1 - e.bearing_loss);
  return product;
}

double backward_efficiency(const Train& train, const MeshEfficiencies& e) {
  double product = 1 - e.bearing_loss;
  for (const Stage& s : train.stages) product *= backward_efficiency(s, e) * (1 - e.bearing_loss);
  return product;
}

bool backdrives(const Train& train, const MeshEfficiencies& e) {
  return backward_efficiency(train, e) > 0;
}

double allowable_tooth_load_n(const Stage& s, const ToothLimits& limits) {
  const double load_n = limits.stress_mpa * s.lewis_area_mm2;
  if (s.type == MeshType::bevel) return load_n * limits.bevel_support;
  if (s.type == MeshType::crown) return load_n * limits.crown_support;
  return load_n;
}

double driven_torque_capacity_nmm(const Stage& s, const ToothLimits& limits) {
  return allowable_tooth_load_n(s, limits) * s.driven_radius_mm;
}

TrainLoad torque_at_stages(const Train& train, double output_torque_nmm, const MeshEfficiencies& e,
                           const ToothLimits& limits) {
  const std::size_t n = train.stages.size();
  KW_CHECK(n <= kMostStages, "train too long");
  KW_CHECK(e.bearing_loss >= 0 && e.bearing_loss < 1, "bearing loss");
  TrainLoad load;
  load.stages = static_cast<int>(n);
  load.worst_tooth_margin = kNone;
  const double keeps = 1 - e.bearing_loss;
  // From the output back: a shaft is given 1 / keeps of what it passes on.
  double passes_nmm = std::fabs(output_torque_nmm);
  load.shaft_torque_nmm[n] = passes_nmm;
  for (std::size_t i = n; i-- > 0;) {
    const Stage& s = train.stages[i];
    const double driven_nmm = passes_nmm / keeps;
    const double driver_nmm = driven_nmm * size_of_ratio(s) / forward_efficiency(s, e);
    // The driver's teeth carry the mesh loss as well; of a worm set the wheel's teeth are the weak side.
    const double force_n = s.type == MeshType::worm ? driven_nmm / s.driven_radius_mm : driver_nmm / s.driver_radius_mm;
    load.tooth_force_n[i] = force_n;
    load.tooth_margin[i] = margin(allowable_tooth_load_n(s, limits), force_n);
    // <=: of equal margins the stage nearer the motor is named.
    if (load.weakest < 0 || load.tooth_margin[i] <= load.worst_tooth_margin) {
      load.weakest = static_cast<int>(i);
      load.worst_tooth_margin = load.tooth_margin[i];
    }
    load.shaft_torque_nmm[i] = driver_nmm;
    passes_nmm = driver_nmm;
  }
  load.input_torque_nmm = passes_nmm / keeps;
  load.efficiency = forward_efficiency(train, e);
  return load;
}

double output_torque_nmm(const Train& train, double input_torque_nmm, const MeshEfficiencies& e) {
  double torque_nmm = input_torque_nmm * forward_efficiency(train, e);
  for (const Stage& s : train.stages) torque_nmm /= size_of_ratio(s);
  return torque_nmm;
}

double tooth_torque_limit_nmm(const Train& train, const MeshEfficiencies& e, const ToothLimits& limits) {
  // Forces grow in proportion to the torque, so the margin at 1 N mm is the limit.
  return torque_at_stages(train, 1.0, e, limits).worst_tooth_margin;
}

HoldingLoad holding_load(const Train& train, double output_torque_nmm, const MeshEfficiencies& e,
                         const ToothLimits& limits) {
  HoldingLoad hold;
  hold.worst_tooth_margin = kNone;
  hold.backward_efficiency = backward_efficiency(train, e);
  hold.backdrives = hold.backward_efficiency > 0;
  double torque_nmm = std::fabs(output_torque_nmm);
  bool locked = false;
  for (std::size_t i = train.stages.size(); i-- > 0;) {
    const Stage& s = train.stages[i];
    if (!locked) {
      const double m = margin(allowable_tooth_load_n(s, limits), torque_nmm / s.driven_radius_mm);
      if (hold.weakest < 0 || m <= hold.worst_tooth_margin) {
        hold.weakest = static_cast<int>(i);
        hold.worst_tooth_margin = m;
      }
      locked = backward_efficiency(s, e) <= 0;
    }
    torque_nmm *= size_of_ratio(s);
  }
  hold.holding_torque_nmm = torque_nmm * hold.backward_efficiency;
  return hold;
}

std::string stage_name(const Train& train, int stage) {
  KW_CHECK(stage >= 0 && stage < static_cast<int>(train.stages.size()), "stage of a train");
  Train one;
  one.stages.push_back(train.stages[static_cast<std::size_t>(stage)]);
  if (train.stages.size() == 1) return one.text();
  if (stage + 1 == static_cast<int>(train.stages.size())) return one.text() + ", the last mesh";
  return fmt::format("{}, mesh {} of {}", one.text(), stage + 1, train.stages.size());
}

}  // namespace gearing
