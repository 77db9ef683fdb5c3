// A tiny kit and machine for tests; every figure is invented.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <memory>
#include <numbers>
#include <string>

#include "brief/brief.h"
#include "candidate/kind.h"
#include "document/toml_reader.h"

namespace lift_fixture {

inline constexpr double kRad = std::numbers::pi / 180;

inline stock::Figure exact(double value) {
  return {base::Triple::exact(value), stock::Source::invented, {}};
}
inline stock::Figure about(double value, double relative = 0.1) {
  return {base::Triple::spread(value, relative), stock::Source::invented, {}};
}

/// Pitch 8 mm, module 1 mm; gears 8, 24, 40, a worm, two motors, two actuators, two drums, two ropes.
inline stock::Catalogue small_kit() {
  stock::Catalogue c;
  c.system.id = "test8";
  c.system.pitch_mm = 8;
  c.system.module_mm = 1;
  c.system.max_misfit_mm = 0.2;
  c.system.axle = {true, 4.8, 1.8};
  stock::CraftFigures& f = c.system.craft;
  f.spur_efficiency = f.bevel_efficiency = f.crown_efficiency = f.ring_efficiency = about(0.93, 0.04);
  f.worm_friction = about(0.2, 0.2);
  const auto add = [&](std::string id, stock::Family family, double mass_g, stock::PartData data) {
    stock::PartClass part;
    part.id = part.name = std::move(id);
    part.family = family;
    part.mass_g = exact(mass_g);
    part.data = std::move(data);
    c.classes.push_back(std::move(part));
  };
  using stock::Family;
  add("gear_8", Family::gear, 0.4, stock::Gear{stock::GearForm::spur, 8, 7, 0, false});
  add("gear_24", Family::gear, 1.6, stock::Gear{stock::GearForm::spur, 24, 7, 0, false});
  add("gear_40", Family::gear, 3.9, stock::Gear{stock::GearForm::spur, 40, 7, 0, false});
  add("worm_1", Family::gear, 0.9, stock::Gear{stock::GearForm::worm, 1, 14, 16, false});
  for (int length = 2; length <= 9; ++length)
    add("axle_" + std::to_string(length), Family::axle, 0.3 * length, stock::Axle{length});
  add("bush", Family::bush, 0.2, std::monostate{});
  add("pin", Family::pin, 0.3, std::monostate{});
  for (const int length : {5, 7, 9})
    add("beam_" + std::to_string(length), Family::beam, 0.5 * length, stock::Beam{length, 1});
  stock::Motor small{9, about(30), about(300), exact(60), exact(700), 6, 3, 3};
  stock::Motor large{9, about(80), about(250), exact(90), exact(1300), 7, 4, 4};
  add("motor_small", Family::motor, 31, small);
  add("motor_large", Family::motor, 55, large);
  add("actuator_medium", Family::actuator, 19, stock::Actuator{88, 136, 2, 5, about(0.2, 0.3), exact(105)});
  add("actuator_long", Family::actuator, 27, stock::Actuator{120, 192, 2, 5, about(0.2, 0.3), exact(100)});
  add("drum_8", Family::drum, 1.6, stock::Drum{8, 22, 14});
  add("drum_16", Family::drum, 3.4, stock::Drum{16, 32, 22});
  add("rope_1000", Family::rope, 0.8, stock::Rope{1000, 0.9, 55});
  add("rope_2000", Family::rope, 1.6, stock::Rope{2000, 0.9, 55});
  add("hook", Family::hook, 1.2, std::monostate{});
  return c;
}

/// So many of every class; ample beams and fixings.
inline stock::Stock plenty(const stock::Catalogue& catalogue, int count = 6) {
  stock::Stock s;
  for (std::size_t i = 0; i < catalogue.classes.size(); ++i) {
    const stock::Family f = catalogue.classes[i].family;
    const bool small = f == stock::Family::pin || f == stock::Family::bush || f == stock::Family::beam;
    s.types.push_back({stock::ClassId{static_cast<int>(i)}, "", small ? 200 : count, 0});
  }
  return s;
}
inline void set_count(stock::Stock& stock, const stock::Catalogue& catalogue, std::string_view id, int count) {
  for (stock::StockType& t : stock.types)
    if (t.part == *catalogue.find(id)) t.count = count;
}

inline brief::Parameters parameters() {
  using brief::Parameter;
  brief::Parameters p;
  const auto set = [&](Parameter at, double low, double nominal, double high) {
    p.figure[static_cast<std::size_t>(at)] = {{low, nominal, high}, stock::Source::invented, {}};
  };
  for (const Parameter e : {Parameter::spur_efficiency, Parameter::bevel_efficiency, Parameter::crown_efficiency,
                            Parameter::ring_efficiency})
    set(e, 0.88, 0.93, 0.96);
  set(Parameter::worm_friction, 0.15, 0.2, 0.25);
  set(Parameter::bearing_loss, 0.01, 0.02, 0.04);
  set(Parameter::tooth_stress_mpa, 20, 25, 30);
  set(Parameter::bevel_support, 0.4, 0.5, 0.6);
  set(Parameter::crown_support, 0.4, 0.5, 0.6);
  set(Parameter::axle_shear_modulus_mpa, 700, 800, 900);
  set(Parameter::axle_shear_stress_mpa, 25, 30, 35);
  set(Parameter::pin_friction, 0.1, 0.2, 0.3);
  set(Parameter::ring_friction, 0.1, 0.2, 0.3);
  set(Parameter::rolling_resistance, 0.02, 0.03, 0.05);
  set(Parameter::ground_friction, 0.4, 0.6, 0.8);
  set(Parameter::screw_friction_factor, 0.8, 1, 1.3);
  for (const Parameter one : {Parameter::motor_torque_factor, Parameter::motor_speed_factor,
                              Parameter::supply_voltage_factor, Parameter::mass_factor})
    set(one, 0.9, 1, 1.1);
  set(Parameter::stiffness_factor, 0.8, 1, 1.2);
  set(Parameter::play_factor, 0.5, 1, 1.5);
  return p;
}

/// chassis - upper (slew) - boom (pitch, 0 to 70 deg) - stick (pitch, -90 to 20 deg).
inline brief::Brief crane() {
  brief::Brief b;
  b.name = "test crane";
  auto catalogue = std::make_shared<stock::Catalogue>(small_kit());
  b.stock = std::make_shared<stock::Stock>(plenty(*catalogue));
  b.catalogue = catalogue;
  using brief::Body;
  using brief::Joint;
  b.bodies.push_back({"chassis", -1, {}, base::Triple::exact(1200), false, {0, 0, 60}, {240, 160, 80}});
  b.bodies.push_back({"upper",
                      0,
                      {Joint::Type::slew, {0, 0, 100}, -std::numbers::pi, std::numbers::pi},
                      base::Triple::exact(500),
                      false,
                      {-40, 0, 140},
                      {160, 120, 80}});
  b.bodies.push_back({"boom",
                      1,
                      {Joint::Type::pitch, {40, 0, 140}, 0, 70 * kRad},
                      base::Triple::exact(120),
                      false,
                      {130, 0, 140},
                      {200, 20, 16}});
  b.bodies.push_back({"stick",
                      2,
                      {Joint::Type::pitch, {220, 0, 140}, -90 * kRad, 20 * kRad},
                      base::Triple::exact(60),
                      false,
                      {290, 0, 140},
                      {160, 16, 16}});
  b.support.type = brief::Support::Type::tracks;
  b.support.points_mm = {{100, 70, 0}, {100, -70, 0}, {-100, -70, 0}, {-100, 70, 0}};
  b.supply.ports = 4;
  b.supply.channels = 4;
  b.supply.voltage_v = 9;
  b.supply.resistance_ohm = 0.8;
  b.supply.port_current_ma = 1500;
  b.supply.total_current_ma = 3000;
  b.supply.capacity_mah = 1500;
  b.parameters = parameters();
  return b;
}

/// A function whose wants are written as in a project file.
inline brief::Function function(std::string kind, const std::string& toml) {
  document::Diagnostics diagnostics;
  auto node = document::parse_toml(toml, "test.toml", diagnostics);
  EXPECT_TRUE(node.has_value()) << toml;
  brief::Function f;
  f.id = "under_test";
  f.kind = std::move(kind);
  f.body = 1;
  if (node) f.wants = std::move(*node);
  return f;
}

inline candidate::Proposal propose(const candidate::Kind& kind, const brief::Function& f, const brief::Brief& b,
                                   const base::RunControl& control = {}) {
  document::Diagnostics diagnostics;
  const auto wants = kind.read(f, b, diagnostics);
  for (const document::Diagnostic& d : diagnostics.sorted()) ADD_FAILURE() << document::text_of(d);
  return wants ? kind.propose(f, *wants, b, control) : candidate::Proposal{};
}

/// "code path" of every problem.
inline std::vector<std::string> problems(const candidate::Kind& kind, const brief::Function& f, const brief::Brief& b) {
  document::Diagnostics diagnostics;
  const auto wants = kind.read(f, b, diagnostics);
  EXPECT_EQ(wants == nullptr, diagnostics.has_errors());
  std::vector<std::string> out;
  for (const document::Diagnostic& d : diagnostics.sorted()) out.push_back(d.code + " " + d.path);
  return out;
}

inline const candidate::Margin& margin(const candidate::Evaluation& e, std::string_view name) {
  for (const candidate::Margin& m : e.margins)
    if (m.name == name) return m;
  ADD_FAILURE() << "no margin " << name;
  return e.margins.front();
}

inline double figure(const candidate::Candidate& c, std::string_view name) {
  for (const candidate::Figure& f : c.figures)
    if (f.name == name) return f.value;
  ADD_FAILURE() << "no figure " << name;
  return 0;
}

/// Everything a proposal says, for comparing two runs.
inline std::string text_of(const candidate::Proposal& p) {
  std::string out;
  const auto number = [](double v) {
    char text[40];
    std::snprintf(text, sizeof text, "%.17g ", v);
    return std::string(text);
  };
  for (const candidate::Candidate& c : p.candidates) {
    out += c.key + " | " + c.title + "\n";
    for (const candidate::Need& n : c.demand.needs) out += n.label + " x" + std::to_string(n.count) + "; ";
    for (const candidate::Margin& m : c.nominal.margins)
      out += m.name + " " + number(m.capability) + number(m.requirement) + number(m.ratio) + m.note + "; ";
    for (const candidate::Figure& f : c.figures) out += f.name + " " + number(f.value);
    for (const std::string& n : c.notes) out += n + "\n";
    for (const candidate::Curve& k : c.curves)
      for (const double y : k.y) out += number(y);
  }
  for (const candidate::Rejection& r : p.rejections)
    out += r.code + " " + r.text + " " + number(r.shortfall) + std::to_string(r.count) + "\n";
  return out + std::to_string(p.examined);
}

}  // namespace lift_fixture
