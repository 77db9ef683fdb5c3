// A catalogue with one motor and one hub, for tests of what runs drives.
#pragma once

#include <memory>

#include "stock/part.h"

namespace candidate::test {

/// Class 0: a motor of 120 N mm and 380 rpm at 9 V, 58 g; class 1: a hub of four ports, 9 V, 0.9 ohm, 1300 mAh.
inline std::shared_ptr<stock::Catalogue> parts() {
  const auto exact = [](double value) {
    stock::Figure f;
    f.value = base::Triple::exact(value);
    return f;
  };
  stock::PartClass motor;
  motor.id = motor.name = "motor";
  motor.family = stock::Family::motor;
  motor.mass_g = exact(58);
  stock::Motor m;
  m.nominal_voltage_v = 9;
  m.stall_torque_nmm = exact(120);
  m.no_load_speed_rpm = exact(380);
  m.no_load_current_ma = exact(90);
  m.stall_current_ma = exact(1300);
  m.length_p = 6;
  m.width_p = 4;
  m.height_p = 3;
  motor.data = m;
  stock::PartClass hub;
  hub.id = hub.name = "hub";
  hub.family = stock::Family::hub;
  stock::Hub h;
  h.ports = 4;
  h.voltage_v = 9;
  h.internal_resistance_ohm = exact(0.9);
  h.capacity_mah = exact(1300);
  h.total_current_ma = 2600;
  h.port_current_ma = 1300;
  hub.data = h;
  auto out = std::make_shared<stock::Catalogue>();
  out->classes = {motor, hub};
  out->system.pitch_mm = 8;
  return out;
}

}  // namespace candidate::test
