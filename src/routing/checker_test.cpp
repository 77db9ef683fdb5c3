// The judge of layouts: hand-made layouts with figures worked out by hand are approved, and every single change to them
// is rejected with the rule's name. Solids against sampled points.
#include "routing/checker.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "routing/checker_geometry.h"
#include "routing/random_problem.h"

namespace routing {
namespace {

using base::Rational;
using test::pairs_of;
using test::Random;
using test::spur_wheel;

struct Case {
  Problem problem;
  Layout layout;
};

Terminal motor(Point3 face, int insert_hp, Box3 body) {
  Terminal t;
  t.axis = Axis::y;
  t.face = face;
  t.insert_hp = insert_hp;
  t.solids = {body};
  t.name = "motor";
  return t;
}

Kit plain_kit() {
  Kit k;
  k.axle_radius_mm = 2.4;
  k.bush_radius_mm = 3.7;
  k.clearance_mm = 0.3;
  for (int p = 3; p <= 6; ++p) k.axles.push_back({p - 3, p, 2});
  return k;
}

PlacedShaft shaft(Axis axis, Cross at, int axle, int from, int to, std::vector<int> bearings, std::vector<int> bushes,
                  Support support = Support::straddled) {
  PlacedShaft s;
  s.axis = axis;
  s.at = at;
  s.axle = axle;
  s.from_hp = from;
  s.to_hp = to;
  s.bearings_hp = std::move(bearings);
  s.bushes_hp = std::move(bushes);
  s.support = support;
  return s;
}

/// 8:24 two pitches apart, both shafts in the walls at 1 and 6.
Case spur_case() {
  Case c;
  Problem& p = c.problem;
  p.kit = plain_kit();
  p.kit.wheels = {spur_wheel(8, 2), spur_wheel(24, 2), spur_wheel(16, 2)};
  p.kit.pairs = pairs_of(p.kit, {false, false, false}, 0.1);
  p.box = {{0, 0, 0}, {16, 9, 12}};
  p.walls.at_hp[1] = {1, 6};
  p.inputs = {{{motor({4, 0, 4}, 2, {{2, -4, 2}, {6, 0, 6}})}}};
  Output out;
  out.name = "drum";
  Place place;
  place.at = {8, 4};
  out.places = {place};
  out.low = out.high = Rational(1, 3);
  out.sense = -1;
  p.outputs = {out};
  p.most_stages = 2;

  Layout& l = c.layout;
  l.place = {0};
  l.shafts = {shaft(Axis::y, {4, 4}, 2, -2, 8, {1, 6}, {}), shaft(Axis::y, {8, 4}, 1, 0, 8, {1, 6}, {2})};
  l.shafts[0].input = true;
  l.shafts[0].motors = 1;
  l.shafts[1].output = 0;
  l.wheels = {{0, 0, Axis::y, {4, 4}, 4, 5, false}, {1, 1, Axis::y, {8, 4}, 4, 5, false}};
  int pair = 0;
  while (p.kit.pairs[static_cast<std::size_t>(pair)].driver != 0 ||
         p.kit.pairs[static_cast<std::size_t>(pair)].driven != 1)
    ++pair;
  l.meshes = {{pair, 0, 1, 0}};
  l.ratios = {Rational(-1, 3)};
  l.idlers = {0};
  // Wheels 2, axles 2, bush 1: 500; wall holes 4: 200; axles 5 + 4 pitches: 90; envelope 10 + 8 + 8 hp: 52.
  l.cost = 842;
  l.envelope = {{2, 0, 0}, {12, 8, 8}};  // x 11..45 mm, y 0..32 mm, z 3..29 mm
  return c;
}

/// Two bevels of 12 teeth: y shaft at x 8, z 8 up to the x shaft at y 10; both wheels overhung.
Case bevel_case() {
  Case c;
  Problem& p = c.problem;
  p.kit = plain_kit();
  Wheel bevel = spur_wheel(12, 2);
  bevel.face_mm = 3.2;
  bevel.name = "bevel 12";
  p.kit.wheels = {bevel};
  p.kit.pairs = pairs_of(p.kit, {true}, 0.1);
  p.box = {{0, 0, 0}, {20, 14, 16}};
  p.walls.at_hp[0] = {13, 17};
  p.walls.at_hp[1] = {5};
  p.inputs = {{{motor({8, 0, 8}, 1, {{6, -4, 6}, {10, 0, 10}})}}};
  Output out;
  out.name = "drum";
  Place place;
  place.axis = Axis::x;
  place.at = {10, 8};
  out.places = {place};
  p.outputs = {out};
  p.most_stages = 1;

  Layout& l = c.layout;
  l.place = {0};
  l.shafts = {shaft(Axis::y, {8, 8}, 2, -1, 9, {5}, {3}, Support::overhung_high),
              shaft(Axis::x, {10, 8}, 2, 9, 19, {13, 17}, {14, 15}, Support::overhung_low)};
  l.shafts[0].input = true;
  l.shafts[0].motors = 1;
  l.shafts[1].output = 0;
  // The middles stand at the other's pitch radius, 6 mm = 1.5 hp, from where the shafts meet: y 8.5 and x 9.5.
  l.wheels = {{0, 0, Axis::y, {8, 8}, 8.1, 8.9, true}, {0, 1, Axis::x, {10, 8}, 9.1, 9.9, true}};
  l.meshes = {{0, 0, 1, 0}};
  l.ratios = {Rational(-1)};
  l.idlers = {0};
  // Wheels 2, axles 2, bushes 3: 700; wall holes 3: 150; axles 5 + 5: 100; overhung bevels 2: 800; 13 + 12 + 4 hp: 58.
  l.cost = 1808;
  l.envelope = {{6, 0, 6}, {19, 12, 10}};
  return c;
}

void expect_approved(const Case& c) {
  for (const std::string& fault : check(c.problem, c.layout)) ADD_FAILURE() << fault;
}

void expect_rejected(Case c, const std::string& rule, const std::function<void(Case&)>& change) {
  change(c);
  const std::vector<std::string> faults = check(c.problem, c.layout);
  std::string all;
  for (const std::string& f : faults) all += "\n  " + f;
  EXPECT_TRUE(
      std::any_of(faults.begin(), faults.end(), [&](const std::string& f) { return f.rfind(rule + ":", 0) == 0; }))
      << "wanted a fault of the rule " << rule << ", got " << (all.empty() ? "none" : all);
}

TEST(RoutingChecker, ApprovesLayoutsMadeByHand) {
  expect_approved(spur_case());
  expect_approved(bevel_case());
}

TEST(RoutingChecker, RejectsEverySingleChangeOfASpurStage) {
  const Case c = spur_case();
  const auto wheel = [](Case& x, int i) -> PlacedWheel& { return x.layout.wheels[static_cast<std::size_t>(i)]; };
  const auto shaft_of = [](Case& x, int i) -> PlacedShaft& { return x.layout.shafts[static_cast<std::size_t>(i)]; };
  expect_rejected(c, "slots", [&](Case& x) { wheel(x, 0).from_hp = 3, wheel(x, 0).to_hp = 4; });
  expect_rejected(c, "slots", [&](Case& x) { wheel(x, 0).from_hp = 3.5, wheel(x, 0).to_hp = 4.5; });
  expect_rejected(c, "walls", [&](Case& x) {
    for (PlacedWheel& w : x.layout.wheels) w.from_hp = 5, w.to_hp = 6;
  });
  expect_rejected(c, "mesh", [&](Case& x) {
    x.problem.outputs[0].places[0].at.v_hp = shaft_of(x, 1).at.v_hp = wheel(x, 1).at.v_hp = 5;
  });
  expect_rejected(c, "output", [&](Case& x) { shaft_of(x, 1).at.u_hp = wheel(x, 1).at.u_hp = 9; });
  expect_rejected(c, "mesh", [&](Case& x) { x.layout.meshes[0].misfit_um = 1; });
  expect_rejected(c, "bearings", [&](Case& x) { shaft_of(x, 1).bearings_hp = {1}; });
  expect_rejected(c, "bearings", [&](Case& x) { shaft_of(x, 1).support = Support::overhung_high; });
  expect_rejected(c, "bushes", [&](Case& x) { shaft_of(x, 1).bushes_hp = {}; });
  expect_rejected(c, "bushes", [&](Case& x) { shaft_of(x, 0).bushes_hp = {2}; });
  expect_rejected(c, "axle", [&](Case& x) { ++shaft_of(x, 1).to_hp; });
  expect_rejected(c, "axle", [&](Case& x) { shaft_of(x, 1).axle = 0; });
  expect_rejected(c, "axle", [&](Case& x) { shaft_of(x, 1).from_hp = 1, shaft_of(x, 1).to_hp = 9; });
  expect_rejected(c, "axle", [&](Case& x) { shaft_of(x, 0).from_hp = -1, shaft_of(x, 0).to_hp = 9; });
  expect_rejected(c, "box", [&](Case& x) { shaft_of(x, 1).from_hp = -1, shaft_of(x, 1).to_hp = 7; });
  expect_rejected(c, "box", [&](Case& x) { x.problem.box.high.z_hp = 7; });  // the 24 reaches 29 mm
  expect_rejected(c, "stock", [&](Case& x) { x.problem.kit.wheels.own()[1].count = 0; });
  expect_rejected(c, "stock", [&](Case& x) {
    x.problem.kit.copies = 2;
    x.problem.kit.axles.own()[1].count = 1;
  });
  expect_rejected(c, "overhung", [&](Case& x) { wheel(x, 1).overhung = true; });
  expect_rejected(c, "terminals", [&](Case& x) { shaft_of(x, 0).motors = 2; });
  expect_rejected(c, "tree", [&](Case& x) { shaft_of(x, 0).input = false; });
  expect_rejected(c, "tree", [&](Case& x) { std::swap(x.layout.meshes[0].driver, x.layout.meshes[0].driven); });
  expect_rejected(c, "tree", [&](Case& x) { x.layout.wheels.push_back({2, 0, Axis::y, {4, 4}, 3, 4, false}); });
  expect_rejected(c, "output", [&](Case& x) { shaft_of(x, 1).output = -1; });
  expect_rejected(c, "walls", [&](Case& x) { x.problem.wheels_outside = false, x.problem.walls.at_hp[1] = {6}; });
  expect_rejected(c, "index", [&](Case& x) { wheel(x, 0).wheel = 7; });
  expect_rejected(c, "index", [&](Case& x) { x.layout.input = 1; });
  expect_rejected(c, "ratio", [&](Case& x) { x.layout.ratios[0] = Rational(1, 3); });
  expect_rejected(c, "ratio", [&](Case& x) {
    x.problem.outputs[0].high = Rational(33, 100), x.problem.outputs[0].low = Rational(0);
  });
  expect_rejected(c, "sense", [&](Case& x) { x.problem.outputs[0].sense = 1; });
  expect_rejected(c, "idlers", [&](Case& x) { x.layout.idlers[0] = 1; });
  expect_rejected(c, "stages", [&](Case& x) { x.problem.most_stages = 0; });
  expect_rejected(c, "trains", [&](Case& x) { x.problem.trains = {{0}, {1, 2}}; });
  expect_rejected(c, "cost", [&](Case& x) { ++x.layout.cost; });
  expect_rejected(c, "envelope", [&](Case& x) { ++x.layout.envelope.high.x_hp; });
  expect_rejected(c, "clash", [&](Case& x) { x.problem.keep_outs = {{{11, 4, 4}, {12, 5, 5}}}; });
  expect_rejected(c, "clash", [&](Case& x) { x.problem.keep_outs = {{{5, -1, 0}, {9, 0, 3}}}; });  // the motor's body
}

TEST(RoutingChecker, RejectsEverySingleChangeOfABevelStage) {
  const Case c = bevel_case();
  const auto wheel = [](Case& x, int i) -> PlacedWheel& { return x.layout.wheels[static_cast<std::size_t>(i)]; };
  const auto shaft_of = [](Case& x, int i) -> PlacedShaft& { return x.layout.shafts[static_cast<std::size_t>(i)]; };
  expect_rejected(c, "mesh", [&](Case& x) { wheel(x, 0).from_hp -= 0.1, wheel(x, 0).to_hp -= 0.1; });
  expect_rejected(c, "mesh", [&](Case& x) { wheel(x, 1).to_hp += 0.1; });
  expect_rejected(c, "mesh", [&](Case& x) {
    wheel(x, 1).at.v_hp = shaft_of(x, 1).at.v_hp = x.problem.outputs[0].places[0].at.v_hp = 9;
  });
  expect_rejected(c, "bushes", [&](Case& x) { shaft_of(x, 1).bushes_hp = {14}; });
  expect_rejected(c, "bushes", [&](Case& x) { shaft_of(x, 0).bushes_hp = {6}; });
  expect_rejected(c, "bearings", [&](Case& x) { shaft_of(x, 1).bearings_hp = {13}; });
  expect_rejected(c, "bearings", [&](Case& x) { x.problem.walls.at_hp[0] = {13}; });
  expect_rejected(c, "bearings", [&](Case& x) { shaft_of(x, 0).support = Support::straddled; });
  expect_rejected(c, "overhung", [&](Case& x) { wheel(x, 0).overhung = false; });
  expect_rejected(c, "right angles", [&](Case& x) { x.problem.most_right_angles = 0; });
  expect_rejected(c, "clash", [&](Case& x) {  // the axle would run into the other shaft
    x.problem.inputs[0].motors[0].insert_hp = 2;
    shaft_of(x, 0).axle = 3;
    shaft_of(x, 0).from_hp = -2;
    shaft_of(x, 0).to_hp = 10;
    shaft_of(x, 1).from_hp = 8;
    shaft_of(x, 1).to_hp = 18;
  });
  // The wheel on the other side of the shafts' crossing is a mesh all the same, but then the y shaft's wheel is not
  // held as written and the axle is too short.
  expect_rejected(c, "axle", [&](Case& x) { wheel(x, 0).from_hp = 11.1, wheel(x, 0).to_hp = 11.9; });
}

TEST(RoutingChecker, JudgesCrownAndWormPositions) {
  Case c = bevel_case();
  Wheel crown = spur_wheel(24, 1), pinion = spur_wheel(12, 1), worm;
  crown.sided = true;
  crown.face_mm = 4.6;
  worm.name = "worm";
  worm.teeth = 1;
  worm.pitch_radius_mm = 4;
  worm.outer_radius_mm = 5;
  worm.face_mm = 12;
  worm.count = 1;
  c.problem.kit.wheels = {crown, pinion, worm};
  c.problem.kit.pairs = pairs_of(c.problem.kit, {false, false, false}, 0.1);
  const auto pair_of = [&](int a, int b, PairType type) {
    for (std::size_t i = 0; i < c.problem.kit.pairs.size(); ++i) {
      const Pair& p = c.problem.kit.pairs[i];
      if (p.driver == a && p.driven == b && p.type == type) return static_cast<int>(i);
    }
    return -1;
  };
  const auto faults_of = [&](const std::string& rule) {
    const std::vector<std::string> faults = check(c.problem, c.layout);
    return std::count_if(faults.begin(), faults.end(), [&](const std::string& f) { return f.rfind(rule, 0) == 0; });
  };
  // Pinion on the y shaft, its middle at the crown's pitch radius, 12 mm = 3 hp, from the crossing at y 10; the crown's
  // pitch plane at the pinion's, 6 mm, its teeth 1 mm nearer: x 32 + 5..9.6 mm.
  c.layout.wheels[0] = {1, 0, Axis::y, {8, 8}, 6.5, 7.5, true};
  c.layout.wheels[1] = {0, 1, Axis::x, {10, 8}, 9.25, 10.4, true};
  c.layout.meshes = {{pair_of(1, 0, PairType::crown), 0, 1, 0}};
  EXPECT_EQ(faults_of("mesh"), 0);
  c.layout.wheels[1].from_hp = 6.75 - 1.15;  // on the other side of the crossing, teeth towards it again
  c.layout.wheels[1].to_hp = 6.75;
  EXPECT_EQ(faults_of("mesh"), 0);
  c.layout.wheels[1].from_hp = 5.75;
  c.layout.wheels[1].to_hp = 6.9;
  EXPECT_EQ(faults_of("mesh"), 1);

  // Worm on the y shaft at x 8, z 8, wheel of 24 on an x shaft 16 mm = 4 hp above, over y 10.
  c.problem.kit.wheels.own()[0].sided = false;
  c.problem.kit.pairs = pairs_of(c.problem.kit, {false, false, false}, 0.1);
  c.problem.outputs[0].places[0].at = c.layout.shafts[1].at = {10, 12};
  c.layout.wheels[0] = {2, 0, Axis::y, {8, 8}, 8.5, 11.5, true};
  c.layout.wheels[1] = {0, 1, Axis::x, {10, 12}, 8 - 0.575, 8 + 0.575, true};
  c.layout.meshes = {{pair_of(2, 0, PairType::worm), 0, 1, 0}};
  EXPECT_EQ(faults_of("mesh"), 0);
  c.layout.wheels[0].from_hp += 0.5;
  c.layout.wheels[0].to_hp += 0.5;
  EXPECT_EQ(faults_of("mesh"), 1);
  c.layout.wheels[0].from_hp -= 0.5;
  c.layout.wheels[0].to_hp -= 0.5;
  c.problem.outputs[0].places[0].at = c.layout.shafts[1].at = c.layout.wheels[1].at = {10, 11};
  EXPECT_EQ(faults_of("mesh"), 1);
}

TEST(RoutingChecker, MirrorsTheWholeLayout) {
  const Case c = spur_case();
  // Solids begin at x 8 mm (the motor's body at 2 hp): the image may touch there and must not stand nearer.
  EXPECT_TRUE(check_mirrored(c.problem, c.layout, Axis::x, 2).empty());
  EXPECT_FALSE(check_mirrored(c.problem, c.layout, Axis::x, 3).empty());
  EXPECT_TRUE(check_mirrored(c.problem, c.layout, Axis::x, 12).empty());
  EXPECT_FALSE(check_mirrored(c.problem, c.layout, Axis::x, 11).empty());  // the 24 reaches 45 mm
  EXPECT_FALSE(check_mirrored(c.problem, c.layout, Axis::z, 4).empty());   // the shafts lie in the plane
}

// ---- Solids against sampled points ----------------------------------------------------------------------------------

double unit(Random& rng) {
  return rng.in(0, 1'000'000) / 1e6;
}

/// How deep a point lies in a solid whose radii are grown by `grow_mm`; negative outside.
double depth(const Shape& shape, const std::array<double, 3>& p, double grow_mm) {
  if (const Block* b = std::get_if<Block>(&shape)) {
    double d = 1e9;
    for (std::size_t a = 0; a < 3; ++a) d = std::min({d, p[a] - b->mm[a].low, b->mm[a].high - p[a]});
    return d;
  }
  const Cylinder& c = std::get<Cylinder>(shape);
  const auto axis = static_cast<std::size_t>(lattice::index(c.axis));
  double r2 = 0;
  for (std::size_t a = 0; a < 3; ++a) r2 += a == axis ? 0 : (p[a] - c.centre_mm[a]) * (p[a] - c.centre_mm[a]);
  const double r = std::sqrt(r2);
  double d = std::min({p[axis] - c.along_mm.low, c.along_mm.high - p[axis], c.radius_mm + grow_mm - r});
  if (c.open_mm > 0) d = std::min(d, r - (c.open_mm - grow_mm));
  return d;
}

Shape random_shape(Random& rng, int sort, bool open) {
  const Axis axis = lattice::kAxes[static_cast<std::size_t>(rng.in(0, 2))];
  if (sort == 0) {
    Block b;
    for (Interval& i : b.mm) {
      i.low = 20 * unit(rng) - 10;
      i.high = i.low + 1 + 8 * unit(rng);
    }
    return b;
  }
  Cylinder c;
  c.axis = axis;
  for (double& x : c.centre_mm) x = 20 * unit(rng) - 10;
  c.along_mm.low = 20 * unit(rng) - 12;
  c.along_mm.high = c.along_mm.low + 1 + 12 * unit(rng);
  c.radius_mm = 1 + 7 * unit(rng);
  if (open) c.open_mm = c.radius_mm * (0.3 + 0.6 * unit(rng));
  return c;
}

/// Deepest common point found: coarse samples, then shrinking steps round the best one.
double common_depth(Random& rng, const Shape& a, const Shape& b, double grow_mm) {
  const Block box = bounds(a);
  std::array<double, 3> best{};
  double found = -1e9;
  const auto attempt = [&](const std::array<double, 3>& p) {
    const double d = std::min(depth(a, p, grow_mm), depth(b, p, grow_mm));
    if (d > found) found = d, best = p;
  };
  for (int i = 0; i < 3000; ++i) {
    std::array<double, 3> p{};
    for (std::size_t k = 0; k < 3; ++k)
      p[k] = box.mm[k].low - grow_mm + (box.mm[k].high - box.mm[k].low + 2 * grow_mm) * unit(rng);
    attempt(p);
  }
  for (double step = 1; step > 1e-4; step *= 0.7) {
    for (int i = 0; i < 40; ++i) {
      std::array<double, 3> p = best;
      for (double& x : p) x += step * (2 * unit(rng) - 1);
      attempt(p);
    }
  }
  return found;
}

TEST(RoutingSolids, ClashExactlyWhenTheyShareAPoint) {
  constexpr double kUnclearMm = 0.01;  // the sampler finds the deepest point to about this
  Random rng(5);
  int clashes = 0, clears = 0;
  for (int i = 0; i < 1500; ++i) {
    const bool open = i % 5 == 0;
    const Shape a = random_shape(rng, 1, open);
    Shape b = random_shape(rng, rng.in(0, 2), false);
    const double clearance_mm = i % 3 == 0 ? 0 : unit(rng);
    // Clearance: half each between cylinders at a right angle, all of it on one side otherwise.
    const Cylinder* cb = std::get_if<Cylinder>(&b);
    const bool crossed = cb != nullptr && cb->axis != std::get<Cylinder>(a).axis;
    Shape a_grown = a;
    if (!crossed) {
      std::get<Cylinder>(a_grown).radius_mm += clearance_mm;
      if (open) std::get<Cylinder>(a_grown).open_mm -= clearance_mm;
    }
    const double shared_mm = common_depth(rng, a_grown, b, crossed ? clearance_mm / 2 : 0);
    const bool said = clash(a, b, clearance_mm);
    EXPECT_EQ(said, clash(b, a, clearance_mm));
    if (shared_mm > kTouchMm) {
      EXPECT_TRUE(said) << "case " << i << ": they share a point " << shared_mm << " mm deep";
      ++clashes;
    } else if (shared_mm < -kUnclearMm) {
      EXPECT_FALSE(said) << "case " << i << ": no common point, the nearest lacks " << -shared_mm << " mm";
      ++clears;
    }
  }
  EXPECT_GT(clashes, 300);
  EXPECT_GT(clears, 300);
}

TEST(RoutingSolids, TouchingIsNoClash) {
  const Cylinder wheel = cylinder(Axis::y, {0, 0}, 0, 1, 5, 4);
  EXPECT_FALSE(clash(wheel, cylinder(Axis::y, {0, 0}, 1, 2, 5, 4), 0.3));                       // face to face
  EXPECT_FALSE(clash(wheel, Block{{Interval{5.3, 9}, Interval{0, 4}, Interval{-4, 4}}}, 0.3));  // at the clearance
  EXPECT_TRUE(clash(wheel, Block{{Interval{5.299, 9}, Interval{0, 4}, Interval{-4, 4}}}, 0.3));
  EXPECT_FALSE(clash(Block{{Interval{0, 8}, Interval{0, 8}, Interval{0, 8}}},
                     Block{{Interval{8, 16}, Interval{0, 8}, Interval{0, 8}}}, 0.3));
  const Cylinder ring = cylinder(Axis::y, {0, 0}, 0, 1, 20, 4, 15);
  EXPECT_FALSE(clash(ring, cylinder(Axis::y, {0, 0}, 0, 1, 14.7, 4), 0.3));  // inside the open ring
  EXPECT_TRUE(clash(ring, cylinder(Axis::y, {0, 0}, 0, 1, 14.71, 4), 0.3));
}

}  // namespace
}  // namespace routing
