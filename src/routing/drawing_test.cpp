// Covers drawing.h, visibility.h and labels.h: what is seen and hidden, by hand, and where labels may stand.
#include "routing/drawing.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "routing/labels.h"
#include "routing/outline_union.h"
#include "routing/samples.h"
#include "routing/visibility.h"

namespace {

using routing::Axis;
using routing::Mark;
using routing::MarkRole;
using routing::PlacedSolid;
using routing::Run;
using routing::Scene;

PlacedSolid box(double x0, double y0, double z0, double x1, double y1, double z1) {
  PlacedSolid s;
  s.role = PlacedSolid::Role::bearing;
  s.low_mm = {x0, y0, z0};
  s.high_mm = {x1, y1, z1};
  return s;
}

PlacedSolid disc(double x, double z, double y0, double y1, double radius, int shaft) {
  PlacedSolid s = box(x - radius, y0, z - radius, x + radius, y1, z + radius);
  s.role = PlacedSolid::Role::wheel;
  s.round = true;
  s.axis = Axis::y;
  s.radius_mm = radius;
  s.shaft = shaft;
  return s;
}

double length(const std::vector<Run>& runs, Run::State state) {
  double sum = 0;
  for (const Run& r : runs) {
    if (r.state != state) continue;
    for (std::size_t i = 1; i < r.points.size(); ++i) {
      sum += std::hypot(r.points[i].right_mm - r.points[i - 1].right_mm, r.points[i].up_mm - r.points[i - 1].up_mm);
    }
  }
  return sum;
}

constexpr routing::Sight kFromRight{Axis::x, Axis::z, -1};

TEST(Visibility, AHalfCoveredCircleIsHiddenByHalf) {
  // A box before the left half of a disc of radius 10: from the eye's side (small y) the half circle 10 pi is hidden.
  const std::vector<PlacedSolid> all{disc(0, 0, 5, 9, 10, 0), box(-20, 0, -20, 0, 3, 20)};
  const auto runs = Scene(all, kFromRight).outline(0);
  EXPECT_NEAR(length(runs, Run::State::hidden), 10 * std::numbers::pi, 1);
  EXPECT_NEAR(length(runs, Run::State::seen), 10 * std::numbers::pi, 1);
  // From the other side nothing stands before the disc.
  const auto behind = Scene(all, {Axis::x, Axis::z, 1}).outline(0);
  EXPECT_EQ(length(behind, Run::State::hidden), 0);
}

TEST(Visibility, ACurvedSideHidesOnlyWhatLiesBelowIt) {
  // A cylinder of radius 10 along y about (0, 0) seen from above reaches z = 10 over its axis and z = 6 at x = 8. A
  // plate's edge along y at height 8 is hidden at x = 3 and seen at x = 8, both inside the cylinder's outline.
  for (const double x : {3.0, 8.0}) {
    const std::vector<PlacedSolid> all{disc(0, 0, 0, 40, 10, 0), box(x, 10, 7, 30, 30, 8)};
    const auto runs = Scene(all, {Axis::x, Axis::y, 1}).outline(1);
    const double hidden = length(runs, Run::State::hidden);
    if (x == 3.0) {
      // The edge of 20 mm at x = 3 and both ends of it out to x = 6, where the surface falls below 8.
      EXPECT_NEAR(hidden, 20 + 2 * 3, 1.5);
    } else {
      EXPECT_EQ(hidden, 0);
    }
  }
}

TEST(Visibility, AnAxleDisappearsInWhatSitsOnIt) {
  PlacedSolid axle = disc(0, 0, 0, 30, 2, 0);
  axle.role = PlacedSolid::Role::axle;
  const std::vector<PlacedSolid> all{axle, disc(0, 0, 10, 20, 8, 0)};
  const auto side = Scene(all, {Axis::x, Axis::y, 1}).outline(0);
  EXPECT_NEAR(length(side, Run::State::buried), 2 * 10, 1.1);
  EXPECT_EQ(length(side, Run::State::hidden), 0);
  // End on it shows through its own wheel: a builder looks for the hole.
  const auto front = Scene(all, kFromRight).outline(0);
  EXPECT_NEAR(length(front, Run::State::seen), 4 * std::numbers::pi, 0.02);
}

routing::DrawingOptions options() {
  routing::DrawingOptions o;
  o.text_mm = 2;
  o.width_em = [](std::string_view t) { return 0.65 * static_cast<double>(t.size()); };
  return o;
}

TEST(Drawing, EveryWheelIsACircleWhereItIsSeenEndOn) {
  const auto s = routing::samples::two_stage();
  const auto d = routing::drawing(s.problem, s.layout, options());
  int areas = 0;
  for (const Mark& m : d.from_right.marks) {
    if (m.role == MarkRole::wheel && m.fill) {
      EXPECT_EQ(m.form, Mark::Form::circle);
      ++areas;
    }
  }
  EXPECT_EQ(areas, 4);
  for (const Mark& m : d.above.marks) EXPECT_FALSE(m.role == MarkRole::wheel && m.form == Mark::Form::circle);
}

TEST(Drawing, ARoomThatABodySweepsIsToldFromABody) {
  auto s = routing::samples::two_stage();
  const auto count = [](const routing::View& view, const auto& is) {
    return std::count_if(view.marks.begin(), view.marks.end(), is);
  };
  const auto sweep = [](const Mark& m) { return m.role == MarkRole::sweep; };
  const auto terminal = [](const Mark& m) { return m.role == MarkRole::terminal; };
  routing::Terminal& motor = s.problem.inputs.front().motors.front();
  motor.name = "motor";
  const auto still = routing::drawing(s.problem, s.layout, options());
  EXPECT_EQ(count(still.from_right, sweep), 0);
  EXPECT_GT(count(still.from_right, terminal), 0);
  // The same room swept: as one box, what slides; as two, what swings.
  motor.swept = true;
  for (const int boxes : {1, 2}) {
    if (boxes == 2) {
      routing::Box3 half = motor.solids.front();
      half.low.z_hp = motor.solids.front().high.z_hp = (half.low.z_hp + half.high.z_hp) / 2;
      motor.solids.push_back(half);
    }
    const auto moves = routing::drawing(s.problem, s.layout, options());
    EXPECT_GT(count(moves.from_right, sweep), 0) << boxes;
    EXPECT_EQ(count(moves.from_right, terminal), 0) << boxes;
    for (const routing::View* view : {&moves.above, &moves.from_right, &moves.from_front}) {
      EXPECT_EQ(count(*view, [](const Mark& m) { return m.text == "sweep of motor"; }), 1) << boxes;
      EXPECT_EQ(count(*view, [](const Mark& m) { return m.text == "motor"; }), 0) << boxes;
    }
  }
}

// A centre line through letters reads as a stroke of theirs. Clipping here is by hand: centre lines run along the
// paper.
TEST(Drawing, NoLabelStandsOnACentreLine) {
  for (const routing::samples::Sample& s :
       {routing::samples::two_stage(), routing::samples::bevel(), routing::samples::worm(), routing::samples::ring(),
        routing::samples::two_outputs()}) {
    routing::DrawingOptions o = options();
    const auto d = routing::drawing(s.problem, s.layout, o);
    const routing::LabelPlacer placer(o, {});
    for (const routing::View* view : {&d.above, &d.from_right, &d.from_front}) {
      for (const Mark& text : view->marks) {
        if (text.form != Mark::Form::text || text.role == MarkRole::lattice_edge) continue;
        const routing::Window box = placer.box_of(text.text, text.points[0], text.size);
        for (const Mark& line : view->marks) {
          if (line.role != MarkRole::centre_line) continue;
          const routing::Spot a = line.points[0], b = line.points[1];
          const bool crossed = std::max(a.right_mm, b.right_mm) > box.low.right_mm &&
                               std::min(a.right_mm, b.right_mm) < box.high.right_mm &&
                               std::max(a.up_mm, b.up_mm) > box.low.up_mm &&
                               std::min(a.up_mm, b.up_mm) < box.high.up_mm;
          EXPECT_FALSE(crossed) << view->name << ": " << text.text;
        }
      }
    }
  }
}

TEST(Drawing, AJoinerIsDrawnAndNamedBesideItsShaft) {
  auto s = routing::samples::two_stage();
  routing::Kit& kit = s.problem.kit;
  // The longest shaft, of two axles: the stock's own lengths, so only the drawing is right.
  auto longest = std::max_element(s.layout.shafts.begin(), s.layout.shafts.end(), [](const auto& a, const auto& b) {
    return a.to_hp - a.from_hp < b.to_hp - b.from_hp;
  });
  kit.joiner_hp = 4;
  const int length_p = (longest->to_hp - longest->from_hp) / 2, low_p = length_p / 2;
  const auto of_length = [&](int p) {
    return static_cast<int>(
        std::find_if(kit.axles.begin(), kit.axles.end(), [&](const auto& a) { return a.length_p == p; }) -
        kit.axles.begin());
  };
  kit.axles.push_back({-1, length_p, 0, of_length(low_p), of_length(length_p - low_p)});
  longest->axle = static_cast<int>(kit.axles.size()) - 1;
  const auto d = routing::drawing(s.problem, s.layout, options());
  int named = 0;
  for (const routing::View* view : {&d.above, &d.from_right, &d.from_front}) {
    EXPECT_TRUE(std::any_of(view->marks.begin(), view->marks.end(), [](const Mark& m) {
      return m.role == MarkRole::joiner && m.fill;
    })) << view->name;
    for (const Mark& m : view->marks) named += m.text == "axle joiner" ? 1 : 0;
  }
  EXPECT_EQ(named, 1);  // where shafts are named
}

TEST(Drawing, NearestIsDarkestAndFarthestLightest) {
  const auto s = routing::samples::two_stage();
  const auto d = routing::drawing(s.problem, s.layout, options());
  double nearest = 1, farthest = 0;
  for (const Mark& m : d.from_right.marks) {
    if (!m.fill) continue;
    if (m.role == MarkRole::terminal) nearest = m.depth;  // the motor is nearest to the eye
    if (m.role == MarkRole::bearing) farthest = std::max(farthest, m.depth);
  }
  EXPECT_EQ(nearest, 0);
  EXPECT_EQ(farthest, 1);
}

TEST(Drawing, HolesStandOnWholePitchesOnly) {
  const auto s = routing::samples::bevel();
  const auto d = routing::drawing(s.problem, s.layout, options());
  for (const routing::View* v : {&d.above, &d.from_right, &d.from_front}) {
    int holes = 0;
    for (const Mark& m : v->marks) {
      if (m.role != MarkRole::lattice_point) continue;
      ++holes;
      EXPECT_EQ(std::fmod(m.points[0].right_mm, 8), 0);
      EXPECT_EQ(std::fmod(m.points[0].up_mm, 8), 0);
    }
    const auto whole = [](double low, double high) {
      return std::floor(high / 8 + 1e-9) - std::ceil(low / 8 - 1e-9) + 1;
    };
    EXPECT_EQ(holes, whole(v->lattice.low.right_mm, v->lattice.high.right_mm) *
                         whole(v->lattice.low.up_mm, v->lattice.high.up_mm));
  }
}

TEST(Drawing, CallsOutAMisfitOnlyAboveTheLimit) {
  const auto s = routing::samples::bevel();  // 0.059 mm too close
  const auto count = [&](double limit_mm) {
    auto o = options();
    o.misfit_shown_mm = limit_mm;
    const auto d = routing::drawing(s.problem, s.layout, o);
    int texts = 0;
    for (const routing::View* v : {&d.above, &d.from_right, &d.from_front}) {
      for (const Mark& m : v->marks) texts += m.role == MarkRole::misfit && m.form == Mark::Form::text ? 1 : 0;
    }
    return texts;
  };
  EXPECT_EQ(count(0.05), 1);
  EXPECT_EQ(count(0.06), 0);
}

TEST(Labels, FindAPlaceEvenWhereTheAnchorIsWalledIn) {
  const auto o = options();
  routing::LabelPlacer placer(o, {{0, 0}, {100, 100}});
  std::vector<Mark> marks;
  placer.fix("a text that lies right on the anchor", MarkRole::part_label, {50, 50}, marks);
  routing::LabelPlacer::Request q;
  q.text = "inside";
  q.anchor = {50, 50};
  placer.place(q, marks);
  ASSERT_EQ(marks.back().text, "inside");
  EXPECT_FALSE(placer.box_of("inside", marks.back().points[0])
                   .overlaps(placer.box_of("a text that lies right on the anchor", {50, 50})));
}

TEST(Labels, PreferAFreePlaceOverOneOnLines) {
  const auto o = options();
  routing::LabelPlacer placer(o, {{0, 0}, {100, 100}});
  for (double up = 45; up <= 55; up += 1) placer.mind({{40, up}, {60, up}});
  std::vector<Mark> marks;
  routing::LabelPlacer::Request q;
  q.text = "B";
  q.anchor = {50, 50};
  q.preferred = {{50, 50}, {70, 50}};
  placer.place(q, marks);
  ASSERT_EQ(marks.size(), 1U);  // no leader
  EXPECT_EQ(marks[0].points[0].right_mm, 70);
}

TEST(Labels, KeepOffABodyThatTheyWouldSeemToName) {
  const auto o = options();
  routing::LabelPlacer placer(o, {{0, 0}, {100, 100}});
  const routing::Window other{{52, 40}, {90, 60}};
  std::vector<Mark> marks;
  routing::LabelPlacer::Request q;
  q.text = "sweep of actuator";
  q.anchor = {48, 50};
  q.preferred = {{66, 50}};
  q.off = {other};
  placer.place(q, marks);
  EXPECT_FALSE(placer.box_of(q.text, marks.back().points[0]).overlaps(other));
}

TEST(Labels, LeadToAnotherPointWhereTheAnchorLiesUnderAText) {
  const auto o = options();
  routing::LabelPlacer placer(o, {{0, 0}, {100, 100}});
  std::vector<Mark> marks;
  placer.fix("a text that lies right on the anchor", MarkRole::part_label, {50, 50}, marks);
  routing::LabelPlacer::Request q;
  q.text = "wheel";
  q.anchor = {50, 50};
  q.or_at = {{51, 50}, {50, 60}};  // the first lies under the text too
  placer.place(q, marks);
  const Mark& leader = marks[1];
  ASSERT_TRUE(leader.leader);
  EXPECT_EQ(leader.points[0].up_mm, 60);
  EXPECT_LT(std::hypot(leader.points[1].right_mm - 50, leader.points[1].up_mm - 60), 10);
}

// Two boxes of 4 x 2 and 2 x 2 mm side by side with their lower edges in line: an outline of 6 + 2 + 6 + 2 mm, and none
// of the 2 mm between them. Told twice over, nothing is left to draw.
TEST(OutlineUnion, LeavesOutWhatLiesBetweenBoxes) {
  const std::vector<routing::Window> boxes{{{0, 0}, {4, 2}}, {{4, 0}, {6, 2}}};
  std::vector<routing::Piece> drawn;
  const auto drawn_mm = [&] {
    double sum = 0;
    for (const routing::Window& w : boxes) {
      const std::vector<routing::Spot> round{
          w.low, {w.high.right_mm, w.low.up_mm}, w.high, {w.low.right_mm, w.high.up_mm}, w.low};
      for (const auto& line : routing::outside_of(boxes, round, drawn)) {
        for (std::size_t i = 1; i < line.size(); ++i)
          sum += std::hypot(line[i].right_mm - line[i - 1].right_mm, line[i].up_mm - line[i - 1].up_mm);
      }
    }
    return sum;
  };
  EXPECT_NEAR(drawn_mm(), 16, 1e-9);
  EXPECT_EQ(drawn_mm(), 0);
}

}  // namespace
