#include "brief/supply.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <variant>

namespace brief {
namespace {

using document::Diagnostics;
using stock::ClassId;

const stock::Hub* hub_of(const stock::Catalogue& catalogue, ClassId id) {
  return std::get_if<stock::Hub>(&catalogue.at(id).data);
}

/// Every hub piece in the stock, most ports first, then in catalogue order.
std::vector<ClassId> hubs_in_stock(const stock::Catalogue& catalogue, const stock::Stock& stock) {
  constexpr int kMostHubs = 100;  // the reader takes no larger count
  std::vector<ClassId> out;
  for (std::size_t i = 0; i < catalogue.classes.size(); ++i) {
    const ClassId id{static_cast<int>(i)};
    if (hub_of(catalogue, id) == nullptr) continue;
    out.insert(out.end(), static_cast<std::size_t>(std::clamp(stock.count_of(id), 0, kMostHubs)), id);
  }
  std::stable_sort(out.begin(), out.end(),
                   [&](ClassId a, ClassId b) { return hub_of(catalogue, a)->ports > hub_of(catalogue, b)->ports; });
  return out;
}

std::vector<ClassId> named_hubs(const std::vector<project::LocatedText>& names, const stock::Catalogue& catalogue,
                                const stock::Stock& stock, const PartFinder& parts, Diagnostics& d) {
  std::vector<ClassId> out;
  std::map<ClassId, int> taken;
  for (const project::LocatedText& name : names) {
    const auto id = parts.find(name, d);
    if (!id) continue;
    if (hub_of(catalogue, *id) == nullptr) {
      d.error(
          "brief.not_a_hub", name.where, name.path,
          fmt::format("{} is a {}, not a hub", document::quoted(name.text), stock::name_of(catalogue.at(*id).family)));
      continue;
    }
    const int held = stock.count_of(*id);
    if (++taken[*id] > held) {
      d.warning("brief.hubs_short", name.where, name.path,
                fmt::format("the stock holds {} of {}; this one is left out", held, document::quoted(name.text)));
      continue;
    }
    out.push_back(*id);
  }
  return out;
}

std::vector<ClassId> counted_hubs(const project::Project& project, const stock::Catalogue& catalogue,
                                  const stock::Stock& stock, Diagnostics& d) {
  std::vector<ClassId> out = hubs_in_stock(catalogue, stock);
  const project::Hubs& hubs = project.supply.hubs;
  const auto wanted = static_cast<std::size_t>(hubs.count.value_or(1));
  if (out.size() < wanted) {
    if (hubs.count) {
      d.warning("brief.hubs_short", hubs.where, hubs.path,
                fmt::format("{} hubs are wanted and the stock holds {}", wanted, out.size()));
    } else {
      d.warning("brief.no_hub", {project.file, 0, 0}, "/supply/hubs",
                "the stock holds no hub, so nothing with a motor can run",
                "[supply] hubs = 0 when everything is moved by hand");
    }
  }
  out.resize(std::min(out.size(), wanted));
  return out;
}

base::Triple sum(const base::Triple& a, const base::Triple& b) {
  return {a.low + b.low, a.nominal + b.nominal, a.high + b.high};
}

stock::Chemistry chemistry_of(project::Chemistry said, stock::Chemistry of_hub) {
  switch (said) {
    case project::Chemistry::hub:
      return of_hub;
    case project::Chemistry::alkaline:
      return stock::Chemistry::alkaline;
    case project::Chemistry::nimh:
      return stock::Chemistry::nimh;
    case project::Chemistry::li_ion:
      return stock::Chemistry::li_ion;
  }
  return of_hub;
}

stock::Figure around_one(double low, double high, const char* why) {
  return {{low, 1, high}, stock::Source::common_practice, why};
}

}  // namespace

Supply build_supply(const project::Project& project, const stock::Catalogue& catalogue, const stock::Stock& stock,
                    const PartFinder& parts, Diagnostics& d) {
  Supply out;
  const project::Hubs& said = project.supply.hubs;
  const project::Cells& cells = project.supply.cells;
  out.hubs = said.named.empty() ? counted_hubs(project, catalogue, stock, d)
                                : named_hubs(said.named, catalogue, stock, parts, d);
  std::sort(out.hubs.begin(), out.hubs.end());
  bool first = true;
  for (const ClassId id : out.hubs) {
    const stock::Hub& hub = *hub_of(catalogue, id);
    out.ports += hub.ports;
    out.channels += hub.channels;
    out.total_current_ma += hub.total_current_ma;
    out.capacity_range_mah = sum(out.capacity_range_mah, cells.capacity_mah.value_or(hub.capacity_mah.value));
    const double voltage_v = cells.voltage_v.value_or(hub.voltage_v);
    const base::Triple resistance = cells.resistance_ohm.value_or(hub.internal_resistance_ohm.value);
    if (first || voltage_v < out.voltage_v) out.voltage_v = voltage_v;
    if (first || hub.port_current_ma < out.port_current_ma) out.port_current_ma = hub.port_current_ma;
    if (first || resistance.nominal > out.resistance_range_ohm.nominal) out.resistance_range_ohm = resistance;
    out.packs.push_back({chemistry_of(cells.chemistry, hub.chemistry), cells.count > 0 ? cells.count : hub.cells,
                         voltage_v, resistance, cells.capacity_mah.value_or(hub.capacity_mah.value)});
    first = false;
  }
  out.resistance_ohm = out.resistance_range_ohm.nominal;
  out.capacity_mah = out.capacity_range_mah.nominal;
  return out;
}

Parameters build_parameters(const project::Parameters& overrides, const stock::CraftFigures& craft) {
  Parameters out;
  const auto set = [&](Parameter p, const stock::Figure& figure) { out.figure[static_cast<std::size_t>(p)] = figure; };
  set(Parameter::spur_efficiency, craft.spur_efficiency);
  set(Parameter::bevel_efficiency, craft.bevel_efficiency);
  set(Parameter::crown_efficiency, craft.crown_efficiency);
  set(Parameter::ring_efficiency, craft.ring_efficiency);
  set(Parameter::worm_friction, craft.worm_friction);
  set(Parameter::bearing_loss, craft.bearing_loss);
  set(Parameter::tooth_stress_mpa, craft.tooth_stress_mpa);
  set(Parameter::bevel_support, craft.bevel_support);
  set(Parameter::crown_support, craft.crown_support);
  set(Parameter::axle_shear_modulus_mpa, craft.axle_shear_modulus_mpa);
  set(Parameter::axle_shear_stress_mpa, craft.axle_shear_stress_mpa);
  set(Parameter::pin_friction, craft.pin_friction);
  set(Parameter::ring_friction, craft.ring_friction);
  set(Parameter::rolling_resistance, craft.rolling_resistance);
  set(Parameter::ground_friction, craft.ground_friction);
  set(Parameter::screw_friction_factor, around_one(0.7, 1.4, "dry to dusty threads"));
  set(Parameter::motor_torque_factor, around_one(0.85, 1.1, "spread between motors of one type"));
  set(Parameter::motor_speed_factor, around_one(0.9, 1.08, "spread between motors of one type"));
  set(Parameter::supply_voltage_factor, around_one(0.85, 1.04, "half-used to fresh cells"));
  set(Parameter::mass_factor, around_one(0.85, 1.2, "how far an estimated mass is usually off"));
  set(Parameter::stiffness_factor, around_one(0.75, 1.25, "spread of moduli and of how firmly pins sit"));
  set(Parameter::play_factor, around_one(0.5, 1.7, "new to worn parts"));
  for (std::size_t i = 0; i < overrides.value.size(); ++i) {
    if (overrides.value[i]) out.figure[i] = {*overrides.value[i], stock::Source::measured, "said in the project"};
  }
  return out;
}

}  // namespace brief
