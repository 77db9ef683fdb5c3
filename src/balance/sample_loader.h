// An invented log loader for tests and benchmarks: carrier with a rocking front axle and four feet, house that slews,
// boom that luffs, stick that folds. Not a real machine.
#pragma once

#include <numbers>
#include <string>

#include "balance/lifting_machine.h"

namespace balance::sample {

inline Support spot(const std::string& name, double x, double y, double proud = 0) {
  return {name, {x, y}, {x, y}, 12, 10, 60, proud};
}

inline SupportState on_wheels() {
  return {"on wheels",
          {spot("front left", 90, 60), spot("front right", 90, -60), spot("rear left", -80, 60),
           spot("rear right", -80, -60)},
          {{"front axle", 0, 1, {90, 0, 25}}}};
}
inline SupportState feet_down() {
  SupportState s = on_wheels();
  s.name = "feet down";
  s.rockers.clear();
  for (const double x : {-110.0, 120.0}) {
    s.supports.push_back(spot("foot", x, 105, 2));
    s.supports.push_back(spot("foot", x, -105, 2));
  }
  return s;
}
inline SupportState on_tracks() {
  return {
      "on tracks", {{"left", {-90, 70}, {90, 70}, 16, 0, 300, 0}, {"right", {-90, -70}, {90, -70}, 16, 0, 300, 0}}, {}};
}

inline LiftingMachine loader(int postures = 5) {
  LiftingMachine m;
  const auto add = [&](int parent, Joint joint, Vec3 origin, Vec3 axis, double mass_g, Vec3 centre, MassSource source) {
    LiftingBody b;
    b.weighed = {
        {parent, joint, origin, axis, 0, 0, mass_g, centre}, source, usual_mass_sd_g(source, mass_g), {3, 2, 3}};
    m.bodies.push_back(b);
  };
  add(-1, Joint::fixed, {0, 0, 0}, {0, 0, 1}, 1400, {-5, 0, 45}, MassSource::measured);
  add(0, Joint::turns, {10, 0, 70}, {0, 0, 1}, 700, {-40, 0, 30}, MassSource::catalogue);
  add(1, Joint::turns, {20, 0, 35}, {0, -1, 0}, 180, {110, 0, 8}, MassSource::estimated);
  add(2, Joint::turns, {230, 0, 0}, {0, -1, 0}, 90, {80, 0, 0}, MassSource::estimated);
  m.bodies[2].give = {{-0.3, 0.4, 1.2}, {2.4e-5, 1.8e-5, 2.6e-5}};
  m.bodies[3].give = Curve::constant(3e-5);
  m.slew_body = 1;
  m.luff_body = 2;
  m.luff_low_rad = -0.3;
  m.luff_high_rad = 1.2;
  m.hook_body = 3;
  m.hook = {170, 0, 0};
  for (int i = 0; i < postures; ++i) {
    const double fold = postures > 1 ? -0.2 - 1.2 * i / (postures - 1) : -0.6;
    m.postures.push_back({"stick folded " + std::to_string(i), {0, 0, 0, fold}});
  }
  m.states = {on_wheels(), feet_down(), on_tracks()};
  m.states[1].tipping_share = 0.85;
  m.joint_limits = {{Limit::luff, "boom screw", 2, {{-0.3, 0.5, 1.2}, {2600, 3000, 2400}}, 0.1},
                    {Limit::knuckle, "stick screw", 3, {{-1.6, -0.2}, {1500, 1250}}, 0.1},
                    {Limit::slew, "slewing motor", 1, Curve::constant(420), 0.15},
                    {Limit::tooth, "ring gear", 1, Curve::constant(600), 0.2},
                    {Limit::structure, "boom foot", 2, Curve::constant(4200), 0.1}};
  m.payload_limits = {{Limit::hoist, "rope", [](const LiftPose&) { return 9.0; }, 0.1}};
  return m;
}

}  // namespace balance::sample
