// Orders of assembly: layouts laid by hand and routed ones come out complete and pass the independent judge; the judge
// refuses orders that were tampered with; parts that enclose each other are told with what frees them.
#include "assembly/order.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "assembly/checker.h"
#include "routing/random_problem.h"
#include "routing/route.h"
#include "routing/samples.h"
#include "routing/solids.h"

namespace {

using assembly::Order;
using assembly::PieceKind;
using assembly::Step;
using assembly::StepSort;
using routing::samples::Sample;

std::string all(const std::vector<std::string>& faults) {
  std::string out;
  for (const std::string& f : faults) out += f + "\n";
  return out;
}

std::vector<Sample> samples() {
  return {routing::samples::two_stage(), routing::samples::bevel(), routing::samples::worm(), routing::samples::ring(),
          routing::samples::two_outputs()};
}

TEST(Order, LayoutsLaidByHandCanBeBuiltAndTheJudgeAgrees) {
  for (const Sample& s : samples()) {
    const Order o = assembly::order_of(s.problem, s.layout);
    EXPECT_TRUE(o.complete()) << assembly::order_text(o);
    EXPECT_EQ(all(assembly::check(s.problem, s.layout, o)), "") << assembly::order_text(o);
    std::size_t put = 0;
    for (const Step& step : o.steps) {
      if (step.made_up < 0) put += step.pieces.size() + step.held.size();
    }
    EXPECT_EQ(put, o.pieces.size());
  }
}

TEST(Order, StepsNameHolesWaysAndWhatTheAxlePasses) {
  const Sample s = routing::samples::two_stage();
  const std::string text = assembly::order_text(assembly::order_of(s.problem, s.layout));
  EXPECT_NE(
      text.find("1. Set up the beams of the wall at y ½, from the left, with holes free at x 0, z 2; x 2, z 2 and "
                "x 4, z 2.\n"),
      std::string::npos)
      << text;
  EXPECT_NE(text.find("4. Hold the bush (from above, at y 2½–3) and the gear 8 (from above, at y 1½–2) in place. Slide "
                      "the 6-pitch axle of shaft A from the left through the wall at y 3½, through the bush, through "
                      "the gear 8 and through the wall at y ½: hole x 0, z 2, at y −2 to 4.\n"),
            std::string::npos)
      << text;
  EXPECT_NE(text.find("7. Put the motor in from the right, at y −4½ to −½.\n"), std::string::npos) << text;
}

TEST(Order, RoutedLayoutsPassTheJudge) {
  int layouts = 0;
  for (std::uint64_t seed = 1; seed <= 150; ++seed) {
    const routing::Problem p = routing::test::random_problem(seed);
    for (const routing::Layout& l : routing::route(p).layouts) {
      const Order o = assembly::order_of(p, l);
      EXPECT_EQ(all(assembly::check(p, l, o)), "") << "seed " << seed << "\n" << assembly::order_text(o);
      ++layouts;
    }
  }
  EXPECT_GT(layouts, 60);
}

// A body at the high end of a joined shaft holds the high one of its two axles.
TEST(Order, AJoinedShaftIsBuiltWhicheverEndABodyHolds) {
  routing::test::Sort sort;
  sort.joiner_percent = sort.loose_percent = 100;
  sort.most_stages = 1;
  sort.output_terminal_percent = 100;
  sort.far_terminal_percent = 70;
  sort.right_angle_percent = sort.two_outputs_percent = sort.idler_percent = sort.ring_percent = 0;
  int high_held = 0, built = 0;
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    const routing::Problem p = routing::test::random_problem(seed, sort);
    for (const routing::Layout& l : routing::route(p).layouts) {
      bool held = false;
      for (const routing::HeldBy& h : routing::terminals(p, l))
        held = held || (h.shaft >= 0 && h.terminal->direction < 0 &&
                        routing::joint_hp(p.kit, l.shafts[static_cast<std::size_t>(h.shaft)]));
      if (!held) continue;
      ++high_held;
      const Order o = assembly::order_of(p, l);
      built += o.complete() ? 1 : 0;
      EXPECT_EQ(all(assembly::check(p, l, o)), "") << "seed " << seed << "\n" << assembly::order_text(o);
    }
  }
  EXPECT_GT(high_held, 5);
  EXPECT_GT(2 * built, high_held);
}

TEST(Order, TheJudgeRefusesWhatWasTamperedWith) {
  const Sample s = routing::samples::two_stage();
  const Order good = assembly::order_of(s.problem, s.layout);
  // Built in reverse, the axles are in before the wheels between the walls.
  Order reversed = good;
  std::reverse(reversed.steps.begin(), reversed.steps.end());
  EXPECT_FALSE(assembly::check(s.problem, s.layout, reversed).empty());
  // An axle across its own holes.
  Order across = good;
  for (Step& step : across.steps) {
    if (step.sort == StepSort::slide) step.way = {lattice::Axis::z, 1};
  }
  EXPECT_FALSE(assembly::check(s.problem, s.layout, across).empty());
  // Nothing held: the wheels are left out.
  Order bare = good;
  for (Step& step : bare.steps) step.held.clear();
  EXPECT_NE(all(assembly::check(s.problem, s.layout, bare)).find("never put in"), std::string::npos);
  Order twice = good;
  twice.steps.push_back(twice.steps.front());
  EXPECT_NE(all(assembly::check(s.problem, s.layout, twice)).find("put in twice"), std::string::npos);
  // A piece that stands elsewhere than the layout says.
  Order moved = good;
  for (assembly::Piece& p : moved.pieces) {
    if (p.kind == PieceKind::bush) p.from_hp += 1;
  }
  EXPECT_FALSE(assembly::check(s.problem, s.layout, moved).empty());
}

TEST(Order, NoWheelIsPutInWithoutItsAxle) {
  for (const Sample& s : samples()) {
    Order o = assembly::order_of(s.problem, s.layout);
    // The first wheel that is held, put in on its own before.
    for (std::size_t n = 0; n < o.steps.size(); ++n) {
      if (o.steps[n].held.empty()) continue;
      Step loose;
      loose.sort = StepSort::put_in;
      loose.pieces = {o.steps[n].held.front().piece};
      loose.way = o.steps[n].held.front().way;
      o.steps[n].held.erase(o.steps[n].held.begin());
      o.steps.insert(o.steps.begin() + static_cast<std::ptrdiff_t>(n), loose);
      EXPECT_NE(all(assembly::check(s.problem, s.layout, o)).find("without its axle"), std::string::npos);
      break;
    }
  }
}

TEST(Order, WhatEnclosesEachOtherIsToldWithWhatFreesIt) {
  // A motor whose body is a closed shell round the first shaft: neither can leave the other along any way.
  Sample s = routing::samples::two_stage();
  const lattice::Box3 body = s.problem.inputs[0].motors[0].solids[0];
  s.problem.inputs[0].motors[0].solids = {body,
                                          {{-8, -9, -8}, {-7, 20, 20}},
                                          {{20, -9, -8}, {21, 20, 20}},
                                          {{-8, -9, -8}, {21, 20, -7}},
                                          {{-8, -9, 20}, {21, 20, 21}},
                                          {{-8, 20, -8}, {21, 21, 21}},
                                          {{-8, -10, -8}, {21, -9, 21}}};
  const Order o = assembly::order_of(s.problem, s.layout);
  ASSERT_FALSE(o.complete());
  ASSERT_EQ(o.locked.freed_by.size(), 1U) << o.locked.text;
  EXPECT_EQ(o.pieces[static_cast<std::size_t>(o.locked.freed_by[0])].kind, PieceKind::body);
  EXPECT_EQ(o.locked.rings.size(), 6U);
  EXPECT_NE(o.locked.text.find("motor"), std::string::npos);
}

TEST(Order, SameLayoutSameWords) {
  for (const Sample& s : samples()) {
    EXPECT_EQ(assembly::order_text(assembly::order_of(s.problem, s.layout)),
              assembly::order_text(assembly::order_of(s.problem, s.layout)));
  }
}

}  // namespace
