// route() against an enumerator that tries everything, and against the judge, on random small problems.
#include <gtest/gtest.h>

#include <algorithm>
#include <iostream>
#include <set>

#include "routing/brute_force.h"
#include "routing/checker.h"
#include "routing/random_problem.h"
#include "routing/route.h"
#include "routing/test_kit.h"

namespace routing {
namespace {

using test::random_problem;
using test::Sort;

/// What the sample held, in problems and in layouts: a comparison that never met a ring says nothing of rings.
struct Met {
  int feasible = 0, infeasible = 0, several = 0, right_angles = 0, rings = 0, idlers = 0, two_outputs = 0, overhung = 0,
      trains = 0, shared_wheels = 0, terminals = 0, full_bushes = 0, joined = 0, idlers_round_corners = 0;

  /// The counts, for the log of a test.
  void print() const {
    std::cout << "feasible " << feasible << ", infeasible " << infeasible << ", several " << several
              << "; layouts with right angles " << right_angles << ", rings " << rings << ", idlers " << idlers
              << ", two outputs " << two_outputs << ", overhung wheels " << overhung << ", given trains " << trains
              << ", shared wheels " << shared_wheels << ", other terminals " << terminals << ", full bushes "
              << full_bushes << ", joined axles " << joined << ", idlers and right angles " << idlers_round_corners
              << "\n";
  }

  void add(const Problem& p, const Layout& l) {
    const auto type_is = [&](auto test) {
      return std::any_of(l.meshes.begin(), l.meshes.end(),
                         [&](const PlacedMesh& m) { return test(p.kit.pairs[static_cast<std::size_t>(m.pair)].type); });
    };
    const bool corner = type_is([](PairType t) { return !parallel(t); });
    right_angles += corner ? 1 : 0;
    idlers_round_corners += corner && *std::max_element(l.idlers.begin(), l.idlers.end()) > 0 ? 1 : 0;
    rings += type_is([](PairType t) { return t == PairType::ring_inner || t == PairType::ring_outer; }) ? 1 : 0;
    idlers += *std::max_element(l.idlers.begin(), l.idlers.end()) > 0 ? 1 : 0;
    two_outputs += l.place.size() > 1 ? 1 : 0;
    trains += p.trains.empty() ? 0 : 1;
    overhung += std::any_of(l.wheels.begin(), l.wheels.end(), [](const PlacedWheel& w) { return w.overhung; }) ? 1 : 0;
    std::set<int> drivers;
    bool shared = false;
    for (const PlacedMesh& m : l.meshes) shared = !drivers.insert(m.driver).second || shared;
    shared_wheels += shared ? 1 : 0;
    terminals += std::any_of(l.shafts.begin(), l.shafts.end(),
                             [](const PlacedShaft& s) { return s.motors > 1 || (s.motors == 1 && !s.input); })
                     ? 1
                     : 0;
    joined += std::any_of(l.shafts.begin(), l.shafts.end(),
                          [&](const PlacedShaft& s) { return joint_hp(p.kit, s).has_value(); });
    full_bushes += p.kit.bush_hp == 2 && std::any_of(l.shafts.begin(), l.shafts.end(),
                                                     [](const PlacedShaft& s) { return !s.bushes_hp.empty(); })
                       ? 1
                       : 0;
  }
};

/// Without refusals the search cuts more, so it tries no more offsets; what it finds stays the same.
void expect_same(const Routes& told, const Routes& untold, std::uint64_t seed) {
  EXPECT_EQ(told.found, untold.found) << "problem " << seed;
  EXPECT_GE(told.nodes, untold.nodes) << "problem " << seed;
  ASSERT_EQ(told.layouts.size(), untold.layouts.size()) << "problem " << seed;
  for (std::size_t i = 0; i < told.layouts.size(); ++i) {
    const Layout &a = told.layouts[i], &b = untold.layouts[i];
    EXPECT_EQ(a.cost, b.cost) << "problem " << seed;
    EXPECT_EQ(a.input, b.input) << "problem " << seed;
    ASSERT_EQ(a.wheels.size(), b.wheels.size()) << "problem " << seed;
    for (std::size_t w = 0; w < a.wheels.size(); ++w) {
      EXPECT_EQ(a.wheels[w].at, b.wheels[w].at) << "problem " << seed;
      EXPECT_EQ(a.wheels[w].from_hp, b.wheels[w].from_hp) << "problem " << seed;
    }
    ASSERT_EQ(a.shafts.size(), b.shafts.size()) << "problem " << seed;
    for (std::size_t s = 0; s < a.shafts.size(); ++s) {
      EXPECT_EQ(a.shafts[s].from_hp, b.shafts[s].from_hp) << "problem " << seed;
      EXPECT_EQ(a.shafts[s].bearings_hp, b.shafts[s].bearings_hp) << "problem " << seed;
      EXPECT_EQ(a.shafts[s].bushes_hp, b.shafts[s].bushes_hp) << "problem " << seed;
    }
  }
}

void compare(std::uint64_t seed, const Sort& sort, Met& met) {
  const Problem p = random_problem(seed, sort);
  const test::BruteResult want = test::enumerate(p);
  RouteOptions options;
  options.best = 1000;
  options.count_all = true;
  const Routes got = route(p, options);
  ASSERT_TRUE(got.complete);
  for (const Layout& l : got.layouts) {
    const std::vector<std::string> faults = check(p, l);
    ASSERT_TRUE(faults.empty()) << "problem " << seed << ", cost " << l.cost << ": " << faults.front() << "\n"
                                << test::geometry_of(p, l);
    EXPECT_EQ(l.cost, cost_of(p, l)) << "problem " << seed;
    const auto least = want.least_cost.find(test::geometry_of(p, l));
    ASSERT_NE(least, want.least_cost.end())
        << "problem " << seed << ": the enumerator has no " << test::geometry_of(p, l);
    ASSERT_EQ(l.cost, least->second) << "problem " << seed << ": " << least->first;
  }
  ASSERT_EQ(got.found, static_cast<std::int64_t>(want.least_cost.size()))
      << "problem " << seed << ": the enumerator found "
      << (want.least_cost.empty() ? "nothing" : want.least_cost.begin()->first);
  ASSERT_EQ(got.layouts.empty(), !want.best.has_value()) << "problem " << seed;
  // Cutting by cost loses none of the best, and looking for any finds one exactly when there is one.
  for (const int best : {1, 3}) {
    const Routes few = route(p, {.best = best});
    ASSERT_EQ(few.layouts.size(), std::min(got.layouts.size(), static_cast<std::size_t>(best))) << "problem " << seed;
    for (std::size_t i = 0; i < few.layouts.size(); ++i)
      ASSERT_EQ(few.layouts[i].cost, got.layouts[i].cost) << "problem " << seed << ", layout " << i;
    expect_same(few, route(p, {.best = best, .explain = false}), seed);
  }
  const Routes any = route(p, {.first_only = true});
  expect_same(any, route(p, {.first_only = true, .explain = false}), seed);
  ASSERT_EQ(any.layouts.size(), got.layouts.empty() ? 0U : 1U) << "problem " << seed;
  if (!any.layouts.empty()) {
    EXPECT_TRUE(check(p, any.layouts.front()).empty()) << "problem " << seed;
  }
  if (got.layouts.empty()) {
    EXPECT_FALSE(got.refusals.empty()) << "problem " << seed << " is refused without a word";
  }
  if (!want.best) {
    ++met.infeasible;
    return;
  }
  ++met.feasible;
  met.several += got.found > 1 ? 1 : 0;
  for (const Layout& l : got.layouts) met.add(p, l);
  ASSERT_EQ(got.layouts.front().cost, want.best->cost)
      << "problem " << seed << "\nsearch:     " << test::geometry_of(p, got.layouts.front())
      << "\nenumerator: " << test::geometry_of(p, *want.best);
}

TEST(Route, EqualsTheEnumeratorOnProblemsOfEverySort) {
  Met met;
  for (std::uint64_t seed = 0; seed < 600; ++seed) {
    compare(seed, {}, met);
    if (HasFatalFailure()) return;
  }
  met.print();
  EXPECT_GT(met.feasible, 150);
  EXPECT_GT(met.infeasible, 150);
  EXPECT_GT(met.several, 30);
  EXPECT_GT(met.overhung, 30);
  EXPECT_GT(met.trains, 15);
}

TEST(Route, EqualsTheEnumeratorRoundCorners) {
  Met met;
  Sort sort;
  sort.right_angle_percent = 100;
  sort.two_outputs_percent = 10;
  for (std::uint64_t seed = 10000; seed < 10500; ++seed) {
    compare(seed, sort, met);
    if (HasFatalFailure()) return;
  }
  met.print();
  EXPECT_GT(met.right_angles, 15);
}

TEST(Route, EqualsTheEnumeratorWithSeveralOutputs) {
  Met met;
  Sort sort;
  sort.two_outputs_percent = 100;
  sort.right_angle_percent = 5;
  sort.loose_percent = 100;
  for (std::uint64_t seed = 20000; seed < 20300; ++seed) {
    compare(seed, sort, met);
    if (HasFatalFailure()) return;
  }
  met.print();
  EXPECT_GT(met.two_outputs, 30);
  EXPECT_GT(met.shared_wheels, 8);
}

TEST(Route, EqualsTheEnumeratorWithRingsAndTerminals) {
  Met met;
  Sort sort;
  sort.idler_percent = sort.trains_percent = 60;
  sort.ring_percent = 50;
  sort.output_terminal_percent = sort.two_motors_percent = 40;
  sort.right_angle_percent = 0;
  sort.two_outputs_percent = 10;
  for (std::uint64_t seed = 30000; seed < 30400; ++seed) {
    compare(seed, sort, met);
    if (HasFatalFailure()) return;
  }
  met.print();
  EXPECT_GT(met.rings, 15);
  EXPECT_GT(met.terminals, 30);
}

TEST(Route, EqualsTheEnumeratorWithIdlers) {
  Met met;
  Sort sort;
  sort.idler_percent = 100;
  sort.trains_percent = 50;
  sort.loose_percent = 90;
  sort.right_angle_percent = 0;
  sort.two_outputs_percent = 5;
  for (std::uint64_t seed = 40000; seed < 40300; ++seed) {
    compare(seed, sort, met);
    if (HasFatalFailure()) return;
  }
  met.print();
  EXPECT_GT(met.idlers, 15);
  EXPECT_GT(met.trains, 50);
}

TEST(Route, EqualsTheEnumeratorWithIdlersRoundCorners) {
  Met met;
  Sort sort;
  sort.corner_idler_percent = 100;
  sort.trains_percent = 80;
  sort.loose_percent = 90;
  sort.keep_out_percent = 15;
  sort.two_outputs_percent = 0;
  for (std::uint64_t seed = 80100; seed < 80160; ++seed) {
    compare(seed, sort, met);
    if (HasFatalFailure()) return;
  }
  met.print();
  EXPECT_GT(met.idlers_round_corners, 10);
}

TEST(Route, EqualsTheEnumeratorWithFullBushes) {
  Met met;
  Sort sort;
  sort.full_bush_percent = 100;
  sort.most_stages = 2;
  sort.two_outputs_percent = sort.idler_percent = 5;
  for (std::uint64_t seed = 50000; seed < 50300; ++seed) {
    compare(seed, sort, met);
    if (HasFatalFailure()) return;
  }
  met.print();
  EXPECT_GT(met.full_bushes, 30);
}

TEST(Route, EqualsTheEnumeratorWithJoinedAxles) {
  Met met;
  Sort sort;
  sort.joiner_percent = 100;
  sort.most_stages = 2;
  sort.loose_percent = 100;
  sort.right_angle_percent = sort.two_outputs_percent = sort.idler_percent = 5;
  for (std::uint64_t seed = 70000; seed < 70400; ++seed) {
    compare(seed, sort, met);
    if (HasFatalFailure()) return;
  }
  met.print();
  EXPECT_GT(met.infeasible, 50);
  EXPECT_GT(met.joined, 20);
}

TEST(Route, RoutersOfOneRoomAnswerLikeRoutersOfTheirOwn) {
  int met = 0, fewer = 0;
  for (std::uint64_t seed = 60000; seed < 60100; ++seed) {
    const Problem p = random_problem(seed, {});
    const Router alone(p);
    expect_same(alone.routes(p.trains), Router(p, alone).routes(p.trains), seed);
    Problem other = p;
    other.inputs.erase(other.inputs.begin());
    if (!other.inputs.empty()) {
      ++fewer;
      const Routes routes = route(other);
      met += routes.layouts.empty() ? 0 : 1;
      expect_same(routes, Router(other, alone).routes(other.trains), seed);
      // And the other way round: the room that knows fewer motors may lack an axis.
      expect_same(alone.routes(p.trains), Router(p, Router(other)).routes(p.trains), seed);
    }
    other = p;
    other.box.high.x_hp += 1;
    EXPECT_ANY_THROW(Router(other, alone));
  }
  EXPECT_GT(fewer, 10);
  EXPECT_GE(met, 3);
}

TEST(Route, FieldsOfInputsAnswerLikeTheirInputsOneByOne) {
  int met = 0, with_several = 0;
  for (std::uint64_t seed = 80000; seed < 80200; ++seed) {
    Problem single = random_problem(seed, {});
    Problem fields = single;
    single.inputs.clear();
    fields.inputs.clear();
    std::vector<int> numbers;  // in the fields, of the inputs one by one
    int first = 0;
    std::uint64_t pattern = seed * 0x9e3779b97f4a7c15ULL;
    for (const Input& in : random_problem(seed, {}).inputs) {
      const Terminal& motor = in.motors.front();
      const Cross at = lattice::across(motor.axis, motor.face);
      InputField field;
      field.at_origin = in;
      field.low = {-at.u_hp, -at.v_hp};
      field.at_origin = InputField(field).on(field.low);
      field.low = {at.u_hp - 1, at.v_hp - 2};
      field.columns = 3;
      field.rows = 4;
      for (int i = 0; i < field.lines(); ++i, pattern = pattern >> 1 | pattern << 63) {
        const Cross line{at.u_hp - 1 + i / 4, at.v_hp - 2 + i % 4};
        const bool free = line == at || (pattern & 3) == 0;
        field.free.push_back(free ? 1 : 0);
        if (!free) continue;
        Input moved = in;
        for (Terminal& t : moved.motors) {
          const auto shift = [&](Point3& p) {
            p.set(lattice::u_axis(t.axis), p.at(lattice::u_axis(t.axis)) + line.u_hp - at.u_hp);
            p.set(lattice::v_axis(t.axis), p.at(lattice::v_axis(t.axis)) + line.v_hp - at.v_hp);
          };
          shift(t.face);
          for (Box3& b : t.solids) {
            shift(b.low);
            shift(b.high);
          }
        }
        numbers.push_back(first + i);
        single.inputs.push_back(std::move(moved));
      }
      first += field.lines();
      fields.input_fields.push_back(std::move(field));
    }
    with_several += single.inputs.size() > 2 ? 1 : 0;
    ASSERT_TRUE(has_inputs(fields));
    for (std::size_t i = 0; i < numbers.size(); ++i) {
      const Input in = input_of(fields, numbers[i]);
      ASSERT_EQ(in.motors.size(), single.inputs[i].motors.size());
      for (std::size_t m = 0; m < in.motors.size(); ++m) {
        EXPECT_EQ(in.motors[m].face, single.inputs[i].motors[m].face);
        EXPECT_EQ(in.motors[m].solids, single.inputs[i].motors[m].solids);
      }
    }
    const Routes one_by_one = route(single);
    Routes found = route(fields);
    EXPECT_EQ(one_by_one.found, found.found) << "problem " << seed;
    EXPECT_EQ(one_by_one.nodes, found.nodes) << "problem " << seed;
    ASSERT_EQ(one_by_one.layouts.size(), found.layouts.size()) << "problem " << seed;
    // Of equal ones the order goes by the inputs' numbers, which are others.
    for (std::size_t i = 0; i < found.layouts.size(); ++i) {
      Layout& l = found.layouts[i];
      EXPECT_EQ(one_by_one.layouts[i].cost, l.cost) << "problem " << seed;
      const auto number = std::find(numbers.begin(), numbers.end(), l.input);
      ASSERT_NE(number, numbers.end()) << "problem " << seed;
      l.input = static_cast<int>(number - numbers.begin());
      const std::vector<std::string> faults = check(single, l);
      EXPECT_TRUE(faults.empty()) << faults.front() << " in problem " << seed;
    }
    met += found.layouts.empty() ? 0 : 1;
  }
  EXPECT_GT(with_several, 100);
  EXPECT_GT(met, 20);
}

TEST(Route, AFieldWithoutAFreeLineIsNoInput) {
  Problem p = random_problem(80000, {});
  InputField field;
  field.at_origin = p.inputs.front();
  field.columns = field.rows = 1;
  field.free = {0};
  p.inputs.clear();
  p.input_fields = {field};
  EXPECT_FALSE(has_inputs(p));
  EXPECT_ANY_THROW((void)input_of(p, 0));
  EXPECT_ANY_THROW((void)input_of(p, 1));
  EXPECT_ANY_THROW((void)input_of(p, -1));
}

TEST(Route, TheJudgeApprovesLayoutsOfLargerBoxes) {
  // 12 x 8 pitches, up to three meshes: too large to enumerate, not too large to judge.
  int judged = 0;
  for (const auto& [u, v] : {std::pair{20, 4}, {12, 12}, {16, 8}, {6, 3}}) {
    Problem p;
    p.kit = test_kit::spur_kit({{8, 2}, {12, 3}, {16, 4, 2}, {20, 3}, {24, 4}, {28, 2}, {40, 2}});
    p.box = {{0, -6, 0}, {24, 14, 16}};
    p.walls.at_hp[1] = {-1, 4, 9};
    p.inputs = {{{test_kit::motor(Axis::y, {4, -6, 8}, 1)}}, {{test_kit::motor(Axis::y, {4, 14, 8}, -1)}}};
    Output out;
    Place place;
    place.at = {u, v};
    place.attachments = {{11, 13, 12, "sprocket"}};
    out.places = {place};
    place.attachments.clear();
    out.places.push_back(place);
    out.low = base::Rational(1, 12);
    out.high = base::Rational(1, 6);
    p.outputs = {out};
    p.most_idlers = 1;
    RouteOptions options;
    options.best = 200;
    for (const Layout& l : route(p, options).layouts) {
      const std::vector<std::string> faults = check(p, l);
      ASSERT_TRUE(faults.empty()) << faults.front() << "\n" << test::geometry_of(p, l);
      ++judged;
    }
  }
  EXPECT_GT(judged, 200);
}

TEST(Route, AnAxleMayEndBelowABevelBeyondTheWalls) {
  // The bevel on the shaft at x 17 stands at y 11.1 and is 11 mm in radius, 8 mm from the shaft at x 15, which the wall
  // at y 10 lets end at y 11.
  Problem p;
  Kit& k = p.kit;
  k.axle_radius_mm = 2.4;
  k.bush_radius_mm = 3.7;
  Wheel bevel = test::spur_wheel(20, 4);
  bevel.name = "bevel 20";
  bevel.face_mm = 3.2;
  k.wheels = {test::spur_wheel(8, 3), test::spur_wheel(32, 1), bevel};
  k.pairs = test::pairs_of(k, {false, false, true}, 0.1);
  for (int length = 2; length < 12; ++length) k.axles.push_back({length, length, 4});
  p.box = {{0, 0, 0}, {26, 20, 20}};
  p.walls.at_hp[0] = {5, 22};
  p.walls.at_hp[1] = {4, 10};
  Terminal motor;
  motor.face = {10, 0, 10};
  motor.solids = {{{8, -4, 8}, {12, 0, 12}}};
  p.inputs = {{{motor}}};
  Output out;
  Place place;
  place.at = {17, 10};
  out.places = {place};
  p.outputs = {out};
  place.at = {15, 12};
  out.places = {place};
  out.low = out.high = base::Rational(4);
  p.outputs.push_back(out);
  p.most_stages = 2;
  p.most_right_angles = 2;
  p.wheels_outside = false;
  const test::BruteResult want = test::enumerate(p);
  ASSERT_EQ(want.least_cost.size(), 4U);  // the crossing shaft at y 14, 15, 16 or 17
  RouteOptions options;
  options.count_all = true;
  const Routes got = route(p, options);
  EXPECT_EQ(got.found, 4);
  ASSERT_FALSE(got.layouts.empty());
  EXPECT_EQ(got.layouts[0].cost, want.best->cost);
}

}  // namespace
}  // namespace routing
