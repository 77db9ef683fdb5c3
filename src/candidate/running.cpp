#include "candidate/running.h"

#include <fmt/format.h>

#include <algorithm>
#include <variant>

#include "base/check.h"

namespace candidate {
namespace {

double interpolated(const std::vector<double>& x, const std::vector<double>& y, double at) {
  KW_CHECK(!x.empty() && x.size() == y.size(), "a drive's tables have one entry a position");
  if (x.size() == 1 || at <= x.front()) return y.front();
  if (at >= x.back()) return y.back();
  const auto up = std::upper_bound(x.begin(), x.end(), at);
  const auto i = static_cast<std::size_t>(up - x.begin());
  return y[i - 1] + (y[i] - y[i - 1]) * (at - x[i - 1]) / (x[i] - x[i - 1]);
}

const stock::Motor& part_of(const Drive& d, const brief::Brief& brief) {
  return std::get<stock::Motor>(brief.catalogue->at(d.motor).data);
}

}  // namespace

motor::Constants motor_constants(const stock::Motor& part, const brief::Sample& sample) {
  using brief::Parameter;
  return motor::constants(motor::ratings(part.nominal_voltage_v,
                                         part.stall_torque_nmm.value.nominal * sample[Parameter::motor_torque_factor],
                                         part.no_load_speed_rpm.value.nominal * sample[Parameter::motor_speed_factor],
                                         part.no_load_current_ma.value.nominal, part.stall_current_ma.value.nominal));
}

motor::Constants motor_constants(const Drive& d, const brief::Brief& brief, const brief::Sample& sample) {
  return motor_constants(part_of(d, brief), sample);
}

motor::Thermal motor_thermal(const Drive& d, const brief::Brief& brief) {
  const stock::Motor& part = part_of(d, brief);
  const double p = brief.system().pitch_mm;
  const double l = part.length_p * p, w = part.width_p * p, h = part.height_p * p;
  return motor::estimated_thermal(brief.catalogue->at(d.motor).mass_g.value.nominal, 2 * (l * w + l * h + w * h));
}

const stock::Hub& hub_of(const brief::Brief& brief, std::size_t h) {
  return std::get<stock::Hub>(brief.catalogue->at(brief.supply.hubs.at(h)).data);
}

motor::Cells cells_of(const brief::Brief& brief, std::size_t h) {
  motor::Cells out;
  if (h < brief.supply.packs.size()) {
    const brief::Pack& pack = brief.supply.packs[h];
    out = {pack.chemistry, pack.in_series, pack.voltage_v, pack.resistance_ohm.nominal,
           pack.capacity_mah.nominal / 1000};
  } else {
    const stock::Hub& hub = hub_of(brief, h);
    out = {hub.chemistry, hub.cells, hub.voltage_v, hub.internal_resistance_ohm.value.nominal,
           hub.capacity_mah.value.nominal / 1000};
  }
  if (out.in_series <= 0) out.in_series = motor::cells_for(out.chemistry, out.fresh_voltage_v);
  return out;
}

double torque_nmm(const Drive& d, double at, bool plus, double share) {
  const double free_nmm = interpolated(d.at, plus ? d.plus_free_nmm : d.minus_free_nmm, at);
  return free_nmm + share * (interpolated(d.at, plus ? d.plus_nmm : d.minus_nmm, at) - free_nmm);
}

double travel_per_rad(const Drive& d, double at) {
  return interpolated(d.at, d.per_rad, at);
}

double motor_torque_nmm(const Drive& d, double output_nmm) {
  const double one_nmm = output_nmm * d.ratio * d.outputs / d.motors;
  return output_nmm >= 0 ? one_nmm / d.forward_efficiency : one_nmm * d.backward_efficiency;
}

MotorLoad motor_load(const Drive& d, double share) {
  MotorLoad out;
  for (std::size_t i = 0; i < d.at.size(); ++i) {
    for (const bool plus : {true, false}) {
      const double nmm = std::max(0.0, motor_torque_nmm(d, torque_nmm(d, d.at[i], plus, share)));
      out.peak_nmm = std::max(out.peak_nmm, nmm);
      out.mean_nmm += nmm / (2.0 * static_cast<double>(d.at.size()));
    }
  }
  return out;
}

double heaviest_motor_nmm(const Drive& d) {
  return std::max(motor_torque_nmm(d, d.heaviest_nmm), motor_load(d, 1).peak_nmm);
}

double load_factor(const std::vector<Drive>& drives, const brief::Brief& brief, const brief::Sample& drawn,
                   double drawn_ma, double usual_ma) {
  const auto per_load = [&](const brief::Sample& sample, double current_a) {
    double idle_a = 0, load_a = 0;
    for (const Drive& d : drives) {
      const motor::Constants m = motor_constants(d, brief, sample);
      idle_a += d.motors * m.no_load_current_a;
      load_a += d.motors * motor_load(d, 1).mean_nmm / m.torque_nmm_per_a;
    }
    return load_a > 0 ? (current_a - idle_a) / load_a : 0;
  };
  const double usual = per_load(brief.parameters.nominal(), usual_ma / 1000);
  const double now = per_load(drawn, drawn_ma / 1000);
  return usual > 0 && now > 0 ? now / usual : 1;
}

std::string text_of(const motor::Cells& cells) {
  const char* name = cells.chemistry == stock::Chemistry::alkaline ? "alkaline"
                     : cells.chemistry == stock::Chemistry::nimh   ? "NiMH"
                                                                   : "Li-ion";
  return fmt::format("{} {} cell{}", cells.in_series, name, cells.in_series == 1 ? "" : "s");
}

}  // namespace candidate
