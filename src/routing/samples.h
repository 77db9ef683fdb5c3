// Small layouts laid by hand, for tests of what is made from a layout. The wheels are invented: module 1, 8 mm pitch.
#pragma once

#include <cmath>
#include <initializer_list>
#include <string>
#include <utility>

#include "routing/layout.h"
#include "routing/problem.h"

namespace routing::samples {

struct Sample {
  Problem problem;
  Layout layout;
};

inline Kit kit() {
  Kit k;
  k.pitch_mm = 8;
  k.axle_radius_mm = 2.4;
  k.bush_radius_mm = 3.7;
  for (int length = 2; length <= 12; ++length) k.axles.push_back({length, length, 4});
  return k;
}

inline int spur(Kit& k, int teeth, int count = 4) {
  k.wheels.push_back({std::to_string(teeth), teeth, teeth, teeth / 2.0, teeth / 2.0 + 1, 0, 4, 1, false, false, count});
  return static_cast<int>(k.wheels.size()) - 1;
}

/// A pair with one offset, or none where the axes meet.
inline int pair(Kit& k, int driver, int driven, PairType type, base::Rational ratio,
                std::vector<PairOffset> offsets = {}) {
  k.pairs.push_back({driver, driven, type, std::move(ratio), std::move(offsets)});
  return static_cast<int>(k.pairs.size()) - 1;
}

inline Terminal motor(Axis axis, Point3 face, int direction, Box3 body) {
  return {axis, face, direction, 3, {body}, "motor"};
}

inline PlacedShaft shaft(Axis axis, Cross at, int from_hp, int to_hp, std::vector<int> bearings,
                         std::vector<int> bushes) {
  PlacedShaft s;
  s.axis = axis;
  s.at = at;
  s.axle = (to_hp - from_hp) / 2 - 2;
  s.from_hp = from_hp;
  s.to_hp = to_hp;
  s.bearings_hp = std::move(bearings);
  s.bushes_hp = std::move(bushes);
  return s;
}

inline PlacedWheel wheel(int kind, int on, const Layout& l, double from_hp, double to_hp, bool overhung = false) {
  const PlacedShaft& s = l.shafts.at(static_cast<std::size_t>(on));
  return {kind, on, s.axis, s.at, from_hp, to_hp, overhung};
}

/// Fills in what follows from the rest.
inline Sample finished(Sample s) {
  s.layout.envelope = envelope_of(s.problem, s.layout);
  s.layout.cost = cost_of(s.problem, s.layout);
  return s;
}

/// Motor, 8:24 and 12:20 between two walls, shafts along y; a hub on the output between the second wall and a third.
inline Sample two_stage() {
  Sample s;
  Problem& p = s.problem;
  p.kit = kit();
  const int w8 = spur(p.kit, 8), w24 = spur(p.kit, 24), w12 = spur(p.kit, 12), w20 = spur(p.kit, 20);
  const int first = pair(p.kit, w8, w24, PairType::spur, {-1, 3}, {{4, 0, 0}}),
            second = pair(p.kit, w12, w20, PairType::spur, {-3, 5}, {{4, 0, 0}});
  p.box = {{-4, -4, -4}, {20, 14, 12}};
  p.walls.at_hp[1] = {1, 7, 13};
  p.inputs.push_back({{motor(Axis::y, {0, -1, 4}, 1, {{-3, -9, 1}, {3, -1, 7}})}});
  Output o;
  o.name = "hub";
  o.places.push_back({Axis::y, {8, 4}, -1, 0, {{9, 11, 10, "hub"}}, std::nullopt});
  o.low = o.high = {1, 5};
  p.outputs.push_back(o);
  p.keep_outs.push_back({{10, 2, -3}, {14, 6, 0}});
  Layout& l = s.layout;
  l.place = {0};
  l.shafts.push_back(shaft(Axis::y, {0, 4}, -4, 8, {1, 7}, {5}));
  l.shafts.push_back(shaft(Axis::y, {4, 4}, 0, 8, {1, 7}, {2, 5}));
  l.shafts.push_back(shaft(Axis::y, {8, 4}, 0, 14, {1, 7, 13}, {2, 11}));
  l.shafts[0].input = true;
  l.shafts[0].motors = 1;
  l.shafts[2].output = 0;
  l.wheels = {wheel(w8, 0, l, 3, 4), wheel(w24, 1, l, 3, 4), wheel(w12, 1, l, 4, 5), wheel(w20, 2, l, 4, 5)};
  l.meshes = {{first, 0, 1, 0}, {second, 2, 3, 0}};
  l.ratios = {{1, 5}};
  l.idlers = {0};
  return finished(std::move(s));
}

/// A spur stage 0.06 mm too close (28:40 on three by three pitches), then bevels of 20 teeth onto a shaft along x.
inline Sample bevel() {
  Sample s;
  Problem& p = s.problem;
  p.kit = kit();
  const int w28 = spur(p.kit, 28), w40 = spur(p.kit, 40);
  p.kit.wheels.push_back({"bevel 20", 99, 20, 10, 11, 0, 4, 1, false, false, 2});
  const int w20 = 2;
  const int first = pair(p.kit, w28, w40, PairType::spur, {-7, 10}, {{6, 6, 59}}),
            second = pair(p.kit, w20, w20, PairType::bevel, {-1});
  p.box = {{-12, -2, -8}, {20, 14, 12}};
  p.walls.at_hp = {{{11, 16}, {1, 11}, {}}};
  p.inputs.push_back({{motor(Axis::y, {-6, -1, 6}, 1, {{-9, -9, 3}, {-3, -1, 9}})}});
  Output o;
  o.name = "shaft ahead";
  o.places.push_back({Axis::x, {7, 0}, -1, 0, {{5, 9, 12, "drum"}}, std::nullopt});
  o.low = o.high = {7, 10};
  p.outputs.push_back(o);
  Layout& l = s.layout;
  l.place = {0};
  l.shafts.push_back(shaft(Axis::y, {-6, 6}, -4, 4, {1}, {-1}));
  l.shafts.push_back(shaft(Axis::y, {0, 0}, 0, 12, {1, 11}, {9}));
  l.shafts.push_back(shaft(Axis::x, {7, 0}, 1, 17, {11, 16}, {12, 14}));
  l.shafts[0].input = true;
  l.shafts[0].motors = 1;
  l.shafts[2].output = 0;
  l.shafts[0].support = Support::overhung_high;
  l.shafts[2].support = Support::overhung_low;
  l.wheels = {wheel(w28, 0, l, 2, 3, true), wheel(w40, 1, l, 2, 3), wheel(w20, 1, l, 4, 5),
              wheel(w20, 2, l, 2, 3, true)};
  // Bevels: the shafts meet in (0, 7, 0); each face stands its partner's pitch radius (2.5 half-pitches) from there.
  l.meshes = {{first, 0, 1, 59}, {second, 2, 3, 0}};
  l.ratios = {{7, 10}};
  l.idlers = {0};
  return finished(std::move(s));
}

/// Worm on the motor's shaft along x, wheel of 24 teeth on a shaft along y: right angle, two pitches apart.
inline Sample worm() {
  Sample s;
  Problem& p = s.problem;
  p.kit = kit();
  p.kit.wheels.push_back({"worm", 98, 1, 4, 5, 0, 16, 4, false, false, 2});
  const int w24 = spur(p.kit, 24);
  const int first = pair(p.kit, 0, w24, PairType::worm, {1, 24}, {{4, 0, 0}});
  p.box = {{-8, -8, -8}, {12, 12, 12}};
  p.walls.at_hp = {{{4}, {-3}, {}}};
  p.inputs.push_back({{motor(Axis::x, {-4, 0, 0}, 1, {{-12, -3, -3}, {-4, 3, 3}})}});
  Output o;
  o.name = "screw jack";
  Terminal jack{Axis::y, {0, 5, 4}, -1, 3, {{{-2, 5, 2}, {10, 9, 6}}}, "screw jack"};
  o.places.push_back({Axis::y, {0, 4}, -1, 0, {}, jack});
  o.low = o.high = {1, 24};
  p.outputs.push_back(o);
  Layout& l = s.layout;
  l.place = {0};
  l.shafts.push_back(shaft(Axis::x, {0, 0}, -7, 5, {4}, {2}));
  l.shafts.push_back(shaft(Axis::y, {0, 4}, -4, 8, {-3}, {-2}));
  l.shafts[0].input = true;
  l.shafts[0].motors = 1;
  l.shafts[1].output = 0;
  l.shafts[1].motors = 1;
  l.wheels = {wheel(0, 0, l, -2, 2), wheel(w24, 1, l, -0.5, 0.5)};
  l.meshes = {{first, 0, 1, 0}};
  l.ratios = {{1, 24}};
  l.idlers = {0};
  return finished(std::move(s));
}

/// One stage and a pinion that turns a ring of 60 outer teeth about a vertical axis.
inline Sample ring() {
  Sample s;
  Problem& p = s.problem;
  p.kit = kit();
  const int w8 = spur(p.kit, 8), w24 = spur(p.kit, 24), w12 = spur(p.kit, 12);
  p.kit.wheels.push_back({"ring 60", 97, 60, 30, 31, 22, 8, 2, true, false, 1});
  const int turn = 3;
  const int first = pair(p.kit, w8, w24, PairType::spur, {-1, 3}, {{4, 0, 0}});
  const int second = pair(p.kit, w12, turn, PairType::ring_outer, {-1, 5}, {{9, 0, 0}});
  p.box = {{-10, -10, -2}, {20, 10, 14}};
  p.walls.at_hp[2] = {1, 10};
  p.inputs.push_back({{motor(Axis::z, {13, 0, 8}, -1, {{10, -3, 8}, {16, 3, 16}})}});
  Output o;
  o.name = "turntable";
  o.places.push_back({Axis::z, {0, 0}, turn, 7, {}, std::nullopt});
  o.low = o.high = {1, 15};
  p.outputs.push_back(o);
  Layout& l = s.layout;
  l.place = {0};
  l.shafts.push_back(shaft(Axis::z, {13, 0}, -1, 11, {1}, {2}));
  l.shafts.push_back(shaft(Axis::z, {9, 0}, 0, 12, {1, 10}, {2, 8}));
  l.shafts[0].input = true;
  l.shafts[0].motors = 1;
  l.wheels = {
      wheel(w8, 0, l, 3, 4), wheel(w24, 1, l, 3, 4), wheel(w12, 1, l, 7, 8), {turn, -1, Axis::z, {0, 0}, 7, 9, false}};
  l.meshes = {{first, 0, 1, 0}, {second, 2, 3, 0}};
  l.ratios = {{1, 15}};
  l.idlers = {0};
  return finished(std::move(s));
}

/// One motor, two outputs: 24:40 ahead by way of an idler of 24, and 8:40 above.
inline Sample two_outputs() {
  Sample s;
  Problem& p = s.problem;
  p.kit = kit();
  p.kit.copies = 2;
  const int w8 = spur(p.kit, 8), w24 = spur(p.kit, 24), w40 = spur(p.kit, 40);
  const int a = pair(p.kit, w24, w24, PairType::spur, {-1}, {{6, 0, 0}}),
            b = pair(p.kit, w24, w40, PairType::spur, {-3, 5}, {{8, 0, 0}});
  const int c = pair(p.kit, w8, w40, PairType::spur, {-1, 5}, {{6, 0, 0}});
  p.box = {{-12, -6, -8}, {24, 20, 12}};
  p.most_idlers = 1;
  p.walls.at_hp[1] = {1, 7, 17};
  p.inputs.push_back({{motor(Axis::y, {0, -1, 0}, 1, {{-3, -9, -3}, {3, -1, 3}})}});
  Output first, second;
  first.name = "front wheel";
  first.places.push_back({Axis::y, {14, 0}, -1, 0, {{13, 15, 20, "road wheel"}}, std::nullopt});
  first.low = first.high = {3, 5};
  second.name = "fan";
  second.places.push_back({Axis::y, {0, 6}, -1, 0, {}, std::nullopt});
  second.low = second.high = {1, 5};
  p.outputs = {first, second};
  Layout& l = s.layout;
  l.place = {0, 0};
  l.shafts.push_back(shaft(Axis::y, {0, 0}, -4, 8, {1, 7}, {5}));
  l.shafts.push_back(shaft(Axis::y, {6, 0}, 0, 8, {1, 7}, {2, 5}));
  l.shafts.push_back(shaft(Axis::y, {14, 0}, 0, 18, {1, 7, 17}, {2, 15}));
  l.shafts.push_back(shaft(Axis::y, {0, 6}, 0, 10, {1, 7}, {2, 5}));
  l.shafts[0].input = true;
  l.shafts[0].motors = 1;
  l.shafts[2].output = 0;
  l.shafts[3].output = 1;
  l.wheels = {wheel(w24, 0, l, 3, 4), wheel(w24, 1, l, 3, 4), wheel(w40, 2, l, 3, 4), wheel(w8, 0, l, 4, 5),
              wheel(w40, 3, l, 4, 5)};
  l.meshes = {{a, 0, 1, 0}, {b, 1, 2, 0}, {c, 3, 4, 0}};
  l.ratios = {{3, 5}, {-1, 5}};
  l.idlers = {1, 0};
  return finished(std::move(s));
}

inline std::vector<std::pair<std::string, Sample>> all() {
  return {{"two_stage", two_stage()},
          {"bevel", bevel()},
          {"worm", worm()},
          {"ring", ring()},
          {"two_outputs", two_outputs()}};
}

}  // namespace routing::samples
