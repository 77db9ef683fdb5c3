// A tiny kit and machine for the tests of crawler, slew and spin, and what every kind's laws are checked with. Every
// figure is invented.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cstdio>
#include <memory>
#include <numbers>
#include <string>
#include <vector>

#include "brief/brief.h"
#include "candidate/kind.h"
#include "document/toml_reader.h"

namespace small_kit {

inline constexpr double kDeg = std::numbers::pi / 180;

inline stock::Figure exact(double value) {
  return {base::Triple::exact(value), stock::Source::invented, {}};
}

/// Pitch 8 mm, module 1 mm. On its lattice mesh 8:8, 8:24, 8:40, 12:12, 12:20, 20:20, 24:24, 24:40, 40:40, 12 outside
/// and 8 inside the ring, the worm with 8, 24 and 40.
inline stock::Catalogue kit() {
  using stock::Family;
  stock::Catalogue c;
  c.system.id = "small8";
  c.system.pitch_mm = 8;
  c.system.module_mm = 1;
  c.system.max_misfit_mm = 0.2;
  c.system.axle = {true, 4.8, 1.8};
  const auto add = [&](std::string id, Family family, double mass_g, stock::PartData data) {
    stock::PartClass part;
    part.id = part.name = std::move(id);
    part.family = family;
    part.mass_g = exact(mass_g);
    part.data = std::move(data);
    c.classes.push_back(std::move(part));
  };
  for (const int z : {8, 12, 20, 24, 40}) {
    add("gear_" + std::to_string(z), Family::gear, 0.1 * z, stock::Gear{stock::GearForm::spur, z, 7, 0, false});
  }
  add("bevel_12", Family::gear, 1, stock::Gear{stock::GearForm::bevel, 12, 4, 0, false});
  add("bevel_20", Family::gear, 2, stock::Gear{stock::GearForm::bevel, 20, 4, 0, false});
  add("worm_1", Family::gear, 0.9, stock::Gear{stock::GearForm::worm, 1, 14, 8, false});
  add("ring_60", Family::ring, 25, stock::Ring{60, 40, 7, 24});
  for (int length = 2; length <= 12; ++length)
    add("axle_" + std::to_string(length), Family::axle, 0.3 * length, stock::Axle{length});
  add("bush", Family::bush, 0.2, std::monostate{});
  add("pin", Family::pin, 0.3, std::monostate{});
  for (const int length : {5, 7, 9})
    add("beam_" + std::to_string(length), Family::beam, 0.5 * length, stock::Beam{length, 1});
  add("motor_small", Family::motor, 31, stock::Motor{9, exact(40), exact(380), exact(50), exact(800), 5, 3, 3});
  add("motor_large", Family::motor, 55, stock::Motor{9, exact(110), exact(240), exact(70), exact(1400), 6, 4, 4});
  add("sprocket_small", Family::sprocket, 3, stock::Sprocket{10, 12.7});
  add("sprocket_large", Family::sprocket, 8, stock::Sprocket{18, 22.9});
  add("link_8", Family::track_link, 0.9, stock::TrackLink{8, 15});
  add("wheel_43", Family::wheel, 14, stock::Wheel{43, 22});
  add("fan", Family::trim, 2, std::monostate{});
  return c;
}

inline void set_count(stock::Stock& stock, const stock::Catalogue& catalogue, std::string_view id, int count) {
  const auto part = catalogue.find(id);
  ASSERT_TRUE(part.has_value()) << id;
  for (stock::StockType& t : stock.types)
    if (t.part == *part) t.count = count;
}

/// So many of every class; ample links, beams and fixings.
inline stock::Stock plenty(const stock::Catalogue& catalogue, int count = 4) {
  stock::Stock s;
  for (std::size_t i = 0; i < catalogue.classes.size(); ++i) {
    const stock::Family f = catalogue.classes[i].family;
    const bool small = f == stock::Family::track_link || f == stock::Family::pin || f == stock::Family::bush ||
                       f == stock::Family::beam;
    s.types.push_back({stock::ClassId{static_cast<int>(i)}, "", small ? 200 : count, 0});
  }
  return s;
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
  set(Parameter::pin_friction, 0.1, 0.2, 0.4);
  set(Parameter::ring_friction, 0.1, 0.2, 0.3);
  set(Parameter::rolling_resistance, 0.03, 0.05, 0.08);
  set(Parameter::ground_friction, 0.5, 0.7, 0.9);
  set(Parameter::screw_friction_factor, 0.8, 1, 1.3);
  for (const Parameter one : {Parameter::motor_torque_factor, Parameter::motor_speed_factor,
                              Parameter::supply_voltage_factor, Parameter::mass_factor})
    set(one, 0.9, 1, 1.1);
  return p;
}

/// Makes one parameter certain.
inline void fix(brief::Brief& b, brief::Parameter at, double value) {
  b.parameters.figure[static_cast<std::size_t>(at)].value = base::Triple::exact(value);
}

inline void use(brief::Brief& b, stock::Catalogue catalogue, stock::Stock stock) {
  b.catalogue = std::make_shared<const stock::Catalogue>(std::move(catalogue));
  b.stock = std::make_shared<const stock::Stock>(std::move(stock));
}

/// A chassis on tracks with an upper body that slews and carries a boom; the supply has no resistance and the motors'
/// own voltage, so that the catalogue's line is the operating line.
inline brief::Brief machine() {
  using brief::Joint;
  brief::Brief b;
  b.name = "test machine";
  stock::Catalogue catalogue = kit();
  stock::Stock stock = plenty(catalogue);
  use(b, std::move(catalogue), std::move(stock));
  b.bodies.push_back({"chassis", -1, {}, base::Triple::exact(1200), false, {0, 0, 50}, {240, 160, 80}});
  b.bodies.push_back({"upper",
                      0,
                      {Joint::Type::slew, {0, 0, 80}, -std::numbers::pi, std::numbers::pi},
                      base::Triple::exact(600),
                      false,
                      {-20, 0, 130},
                      {160, 120, 80}});
  b.bodies.push_back({"boom",
                      1,
                      {Joint::Type::pitch, {40, 0, 140}, 0, 70 * kDeg},
                      base::Triple::exact(200),
                      false,
                      {140, 0, 140},
                      {240, 20, 16}});
  b.support.type = brief::Support::Type::tracks;
  b.support.points_mm = {{80, 60, 0}, {80, -60, 0}, {-80, -60, 0}, {-80, 60, 0}};
  b.supply.ports = b.supply.channels = 4;
  b.supply.voltage_v = 9;
  b.parameters = parameters();
  b.draws = 200;
  return b;
}

/// A function whose wants are written as in a project file.
inline brief::Function function(std::string kind, const std::string& toml, int sides = 1) {
  document::Diagnostics diagnostics;
  auto node = document::parse_toml(toml, "test.toml", diagnostics);
  EXPECT_TRUE(node.has_value()) << toml;
  brief::Function f;
  f.id = "under_test";
  f.kind = std::move(kind);
  f.sides = sides;
  f.body = 0;
  f.room = lattice::Box3{{-24, -28, 0}, {24, 28, 28}};  // ample: what is tested is not the room
  if (node) f.wants = std::move(*node);
  return f;
}

inline candidate::Proposal propose(const candidate::Kind& kind, const brief::Function& f, const brief::Brief& b,
                                   const base::RunControl& control = {}) {
  document::Diagnostics diagnostics;
  const auto wants = kind.read(f, b, diagnostics);
  for (const document::Diagnostic& d : diagnostics.sorted()) {
    if (d.severity == document::Severity::error) ADD_FAILURE() << document::text_of(d);
  }
  return wants ? kind.propose(f, *wants, b, control) : candidate::Proposal{};
}

/// "code line path" of every problem.
inline std::vector<std::string> problems(const candidate::Kind& kind, const brief::Function& f, const brief::Brief& b) {
  document::Diagnostics diagnostics;
  const auto wants = kind.read(f, b, diagnostics);
  EXPECT_EQ(wants == nullptr, diagnostics.has_errors());
  std::vector<std::string> out;
  for (const document::Diagnostic& d : diagnostics.sorted())
    out.push_back(d.code + " " + std::to_string(d.where.line) + " " + d.path);
  return out;
}

inline const candidate::Margin& margin(const candidate::Evaluation& e, std::string_view name) {
  for (const candidate::Margin& m : e.margins)
    if (m.name == name) return m;
  throw std::runtime_error("no margin " + std::string(name));
}
inline double figure(const candidate::Candidate& c, std::string_view name) {
  for (const candidate::Figure& f : c.figures)
    if (f.name == name) return f.value;
  throw std::runtime_error("no figure " + std::string(name));
}
inline const candidate::Rejection* rejection(const candidate::Proposal& p, std::string_view code) {
  for (const candidate::Rejection& r : p.rejections)
    if (r.code == code) return &r;
  return nullptr;
}

/// Everything a proposal says of margins, needs and reasons; with keys or without.
inline std::string text_of(const candidate::Proposal& p, bool keys = true) {
  std::string out;
  const auto number = [&](double v) {
    char text[40];
    std::snprintf(text, sizeof text, "%.17g ", v);
    out += text;
  };
  for (const candidate::Candidate& c : p.candidates) {
    if (keys) out += c.key + ": ";
    for (const candidate::Margin& m : c.nominal.margins) number(m.ratio);
    for (const candidate::Need& n : c.demand.needs) {
      out += "[";
      for (const stock::ClassId id : n.accepts) out += std::to_string(stock::index(id)) + ",";
      out += " x" + std::to_string(n.count) + "]";
    }
    for (const candidate::Figure& f : c.figures) number(f.value);
    number(c.demand.running_current_ma);
    out += "\n";
  }
  for (const candidate::Rejection& r : p.rejections) out += r.code + " " + std::to_string(r.count) + "\n";
  return out;
}

/// The laws every kind obeys; `toml` must be feasible on machine().
inline void expect_laws(const candidate::Kind& kind, const brief::Function& f, const brief::Brief& b) {
  const candidate::Proposal first = propose(kind, f, b);
  ASSERT_FALSE(first.candidates.empty());
  const std::string text = text_of(first);

  EXPECT_EQ(text_of(propose(kind, f, b)), text) << "same input, same answer";

  base::RunControl two;
  two.jobs = 2;
  EXPECT_EQ(text_of(propose(kind, f, b, two)), text) << "threads change nothing";

  brief::Function renamed = f;
  renamed.id = "another_name";
  EXPECT_EQ(text_of(propose(kind, renamed, b)), text) << "the function's name changes nothing";

  brief::Brief turned = b;
  auto rows = std::make_shared<stock::Stock>(*b.stock);
  std::reverse(rows->types.begin(), rows->types.end());
  turned.stock = rows;
  EXPECT_EQ(text_of(propose(kind, f, turned)), text) << "the order of the stock's rows changes nothing";

  brief::Brief more = b;
  auto larger = std::make_shared<stock::Stock>(*b.stock);
  for (stock::StockType& t : larger->types) t.count += 3;
  more.stock = larger;
  const candidate::Proposal richer = propose(kind, f, more);
  ASSERT_FALSE(richer.candidates.empty());
  EXPECT_GE(richer.candidates.front().nominal.worst(), first.candidates.front().nominal.worst() * (1 - 1e-12))
      << "more stock never worsens the best";

  const brief::Sample nominal = b.parameters.nominal();
  const stock::Stock& have = *b.stock;
  for (const candidate::Candidate& c : first.candidates) {
    ASSERT_TRUE(c.evaluate);
    const candidate::Evaluation again = c.evaluate(nominal);
    ASSERT_EQ(again.margins.size(), c.nominal.margins.size());
    for (std::size_t i = 0; i < again.margins.size(); ++i) {
      EXPECT_EQ(again.margins[i].ratio, c.nominal.margins[i].ratio) << c.key << " " << again.margins[i].name;
      EXPECT_EQ(again.margins[i].name, c.nominal.margins[i].name);
      EXPECT_GE(again.margins[i].ratio, 0);
      EXPECT_LE(again.margins[i].ratio, candidate::kMarginCap);
    }
    EXPECT_GE(c.nominal.worst(), candidate::kNearMiss);
    for (const candidate::Need& n : c.demand.needs) {
      int pieces = 0;
      for (const stock::ClassId id : n.accepts) pieces += have.count_of(id);
      EXPECT_GE(pieces, n.count) << c.key << " " << n.label;
    }
    const candidate::Evaluation drawn = c.evaluate(b.parameters.draw(7, 3));
    ASSERT_EQ(drawn.margins.size(), c.nominal.margins.size());
    for (std::size_t i = 0; i < drawn.margins.size(); ++i) EXPECT_EQ(drawn.margins[i].name, c.nominal.margins[i].name);
  }
  for (std::size_t i = 1; i < first.candidates.size(); ++i)
    EXPECT_GE(first.candidates[i - 1].nominal.worst(), first.candidates[i].nominal.worst()) << "best first";

  std::atomic<bool> stop{true};
  base::RunControl stopped;
  stopped.stop = &stop;
  const candidate::Proposal cut = propose(kind, f, b, stopped);
  EXPECT_FALSE(cut.complete);
  EXPECT_FALSE(cut.limit_text.empty());
}

/// Everything of a pair is taken twice and stands mirrored in the middle plane.
inline void expect_mirror(const candidate::Kind& kind, brief::Function f, const brief::Brief& b) {
  f.sides = 2;
  const candidate::Proposal two = propose(kind, f, b);
  ASSERT_FALSE(two.candidates.empty());
  for (const candidate::Candidate& c : two.candidates) {
    for (const candidate::Need& n : c.demand.needs) EXPECT_EQ(n.count % 2, 0) << c.key << " " << n.label;
    EXPECT_EQ(c.demand.ports % 2, 0) << c.key;
    for (const candidate::BodyCells& cells : c.cells) {
      for (const lattice::Point3& p : cells.cells) {
        const lattice::Point3 image{p.x_hp, -p.y_hp - 1, p.z_hp};
        ASSERT_TRUE(cells.cells.has(image)) << c.key;
      }
    }
  }
}

}  // namespace small_kit
