#include "simulation/machine.h"

#include <fmt/format.h>

#include <algorithm>

#include "assessment/plugged.h"

namespace simulation {
namespace {

constexpr double kGramMm2 = 1e-9;  // g mm^2 to kg m^2
constexpr double kMilli = 1e-3;    // N mm to N m

double rotor_nmm_s2(const motor::Constants& m) {
  return kMotorTimeConstant_s * m.torque_nmm_per_a * m.emf_v_s / m.resistance_ohm;
}

}  // namespace

Machine machine_of(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                   const std::vector<assessment::PortUse>& ports, double depth) {
  Machine out;
  const brief::Sample nominal = brief.parameters.nominal();
  for (std::size_t h = 0; h < brief.supply.hubs.size(); ++h) {
    const stock::Hub& hub = candidate::hub_of(brief, h);
    out.hubs.push_back(
        {fmt::format("hub {}", h + 1), candidate::cells_of(brief, h), {hub.total_current_ma / 1000}, depth});
  }
  const auto motors = assessment::socket_motors(chosen, ports);
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    if (chosen[f].candidate == nullptr) continue;
    const auto& drives = chosen[f].candidate->drives;
    for (std::size_t k = 0; k < drives.size(); ++k) {
      const candidate::Drive& d = drives[k];
      std::vector<Plug> plugs;
      for (std::size_t p = 0; p < ports.size(); ++p) {
        if (!motors[p] || motors[p]->function != f || motors[p]->drive != k) continue;
        const auto known =
            std::find_if(plugs.begin(), plugs.end(), [&](const Plug& x) { return x.hub == ports[p].hub; });
        if (known != plugs.end()) {
          ++known->motors;
        } else {
          plugs.push_back({ports[p].hub, 1, candidate::hub_of(brief, ports[p].hub).port_current_ma / 1000});
        }
      }
      if (plugs.empty()) continue;
      DriveModel m;
      m.name = d.name.empty() ? chosen[f].function->id : chosen[f].function->id + " " + d.name;
      m.function = f;
      m.looks_only = d.looks_only;
      m.hub = plugs.front().hub;
      m.port_limit_a = plugs.front().port_limit_a;
      m.elsewhere.assign(plugs.begin() + 1, plugs.end());
      m.drive = d;
      m.motor = candidate::motor_constants(d, brief, nominal);
      m.thermal = candidate::motor_thermal(d, brief);
      const double moved = d.inertia_g_mm2 * kGramMm2 / kMilli * d.outputs * d.ratio * d.ratio / d.motors;
      m.inertia_nmm_s2 = rotor_nmm_s2(m.motor) + moved;
      out.drives.push_back(std::move(m));
    }
  }
  return out;
}

}  // namespace simulation
