// Covers access: drawing out, pressing and opening, each against boxes laid by hand. Kit and figures invented.
#include "assessment/access.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

using namespace assessment;
using lattice::Axis;
using lattice::Box3;
using lattice::Point3;
using lattice::Way;

namespace {

constexpr double kDeg = std::numbers::pi / 180;
constexpr Way kUp{Axis::z, 1}, kDown{Axis::z, -1}, kLeft{Axis::y, 1}, kForward{Axis::x, 1};

/// Pitch 8 mm; two axles of 4 p and one of 9 p in the stock.
struct World {
  std::shared_ptr<stock::Catalogue> catalogue = std::make_shared<stock::Catalogue>();
  brief::Brief brief;
  brief::Function function;
  candidate::Candidate candidate;
  std::vector<PartLine> parts;

  World() {
    catalogue->system.pitch_mm = 8;
    for (const int length_p : {4, 9}) {
      stock::PartClass axle;
      axle.family = stock::Family::axle;
      axle.data = stock::Axle{length_p, false};
      catalogue->classes.push_back(axle);
      PartLine line;
      line.part = stock::ClassId{static_cast<int>(parts.size())};
      line.stock = 1;
      parts.push_back(line);
    }
    brief.catalogue = catalogue;
    brief::Body chassis;
    chassis.id = "chassis";
    brief.bodies = {chassis};
    function.id = "travel";
  }

  void block(const Box3& box) {
    if (candidate.cells.empty()) candidate.cells.push_back({0, {}});
    std::vector<Point3> cells = candidate.cells[0].cells.list();
    for (int x = box.low.x_hp; x < box.high.x_hp; ++x)
      for (int y = box.low.y_hp; y < box.high.y_hp; ++y)
        for (int z = box.low.z_hp; z < box.high.z_hp; ++z) cells.push_back({x, y, z});
    candidate.cells[0].cells = lattice::Cells(cells);
  }

  [[nodiscard]] Assessment judge() const {
    Assessment a;
    const std::vector<Chosen> chosen{{&function, &candidate}};
    a.parts = parts;
    a.access = judge_access(brief, chosen, parts);
    a.findings = access_findings(brief, chosen, a);
    return a;
  }
};

brief::Placed battery(std::vector<Way> draws_out, std::vector<Way> pressed = {}) {
  return {"battery", 0, {{-4, -4, 10}, {4, 4, 18}}, std::move(draws_out), std::move(pressed), std::nullopt};
}

}  // namespace

TEST(DrawingOut, TellsWhatIsInEachWayAndMovesUntilOneIsFree) {
  World w;
  w.brief.placed = {battery({kUp, kLeft})};
  w.block({{3, -4, 30}, {8, 4, 34}});    // above the front edge: one half-pitch of it overlaps
  w.block({{-4, 20, 16}, {4, 22, 17}});  // far left
  const Assessment a = w.judge();
  ASSERT_EQ(a.access.placed.at(0).ways.size(), 2u);
  EXPECT_EQ(a.access.placed[0].ways[0].obstacles.at(0).what, "function \"travel\"");
  EXPECT_EQ(a.access.placed[0].ways[0].obstacles[0].cells, 1 * 8 * 4);
  EXPECT_EQ(a.access.placed[0].ways[1].obstacles[0].cells, 8 * 2 * 1);
  ASSERT_EQ(a.findings.size(), 1u);
  EXPECT_EQ(a.findings[0].code, "access.shut_in");
  ASSERT_EQ(a.findings[0].remedies.size(), 1u);
  EXPECT_EQ(a.findings[0].remedies[0].text, "move \"battery\" 0.5 p back");

  // The remedy holds: with the battery there the finding is gone.
  World moved = w;
  for (Point3* p : {&moved.brief.placed[0].box.low, &moved.brief.placed[0].box.high}) p->x_hp -= 1;
  EXPECT_TRUE(moved.judge().findings.empty());
}

TEST(DrawingOut, CoversAreOpenedAndMovingBodiesMovedFirst) {
  World w;
  w.brief.placed = {battery({kUp})};
  // A lid over it, hinged at its rear edge; about y the right hand turns z to x, so it opens by a negative angle.
  w.brief.openables = {{"lid", 0, {{-6, -6, 20}, {6, 6, 22}}, Axis::y, {-6, 0, 22}, -100 * kDeg, true, {}}};
  brief::Body boom;
  boom.id = "boom";
  boom.parent = 0;
  boom.joint = {brief::Joint::Type::pitch, {-40, 0, 120}, 0, 1};
  boom.centre_mm = {20, 0, 120};
  boom.size_mm = {120, 16, 16};
  w.brief.bodies.push_back(boom);
  const Assessment a = w.judge();
  EXPECT_TRUE(a.access.placed[0].ways[0].free());
  EXPECT_EQ(a.access.placed[0].ways[0].first, (std::vector<std::string>{"open \"lid\"", "move \"boom\" aside"}));
  ASSERT_EQ(a.findings.size(), 1u);
  EXPECT_EQ(a.findings[0].code, "access.moved_first");

  // Half open it still stands in the way.
  w.brief.openables[0].opens_rad = -40 * kDeg;
  EXPECT_EQ(w.judge().findings.at(0).code, "access.shut_in");
}

TEST(DrawingOut, DownwardsTheGroundIsInTheWay) {
  World w;
  w.brief.placed = {battery({kDown})};
  EXPECT_TRUE(w.judge().access.placed[0].ways[0].first.empty());  // 40 mm up and 32 mm high: it just comes out
  w.brief.placed[0].box.low.z_hp -= 2;
  EXPECT_EQ(w.judge().access.placed[0].ways[0].first, (std::vector<std::string>{"lift the model"}));
}

TEST(Pressing, AFingerReachesAShallowSwitchAndAPusherADeepOne) {
  World w;
  w.brief.placed = {battery({}, {kUp})};
  Assessment a = w.judge();
  EXPECT_EQ(a.access.placed[0].presses.at(0).by, Press::By::finger);
  EXPECT_EQ(a.access.placed[0].presses[0].depth_mm, 0);
  EXPECT_TRUE(a.findings.empty());

  // A shaft of 2 by 2 half-pitches, 6 p deep: too narrow for a finger, an axle of 7 p or more reaches it.
  w.block({{-30, -30, 18}, {-1, 30, 30}});
  w.block({{1, -30, 18}, {30, 30, 30}});
  w.block({{-1, -30, 18}, {1, -1, 30}});
  w.block({{-1, 1, 18}, {1, 30, 30}});
  a = w.judge();
  const Press& press = a.access.placed[0].presses.at(0);
  EXPECT_EQ(press.by, Press::By::pusher);
  EXPECT_DOUBLE_EQ(press.depth_mm, 6 * 8);
  EXPECT_EQ(press.pusher_p, 9);
  ASSERT_EQ(a.findings.size(), 1u);
  EXPECT_EQ(a.findings[0].code, "access.by_pusher");

  // Without that axle nothing reaches it, and the finding says which length is missing.
  w.parts[1].used = 1;
  a = w.judge();
  EXPECT_EQ(a.findings.at(0).code, "access.out_of_reach");
  EXPECT_NE(a.findings[0].text.find("no axle of 7 p or more"), std::string::npos) << a.findings[0].text;
}

TEST(Pressing, AWideButDeepShaftIsTooDeepForTheFingerAlone) {
  World w;
  w.brief.placed = {battery({}, {kUp})};
  const auto ring = [&](int top_hp) {  // round a well of 6 by 6 half-pitches, wide enough for a finger of 20 mm
    w.candidate.cells.clear();
    w.block({{-30, -30, 18}, {-3, 30, top_hp}});
    w.block({{3, -30, 18}, {30, 30, top_hp}});
    w.block({{-3, -30, 18}, {3, -3, top_hp}});
    w.block({{-3, 3, 18}, {3, 30, top_hp}});
  };
  ring(18 + 16);  // 64 mm
  EXPECT_EQ(w.judge().access.placed[0].presses[0].by, Press::By::finger);
  ring(18 + 17);  // 68 mm
  EXPECT_NE(w.judge().access.placed[0].presses[0].by, Press::By::finger);
}

// A bar of 12 by 2 hinged at its lower rear corner, swinging up; a post stands over its middle. It strikes where its
// upper face meets the post's lower front... by hand: the post's corner (4, 8) from the hinge lies at 63.4 deg and
// sqrt(80) out, the bar's upper face 2 away from the hinge's line, so it touches at 63.4 - asin(2 / sqrt(80)) = 50.5.
TEST(Opening, StopsAtTheAngleOfTheClosedForm) {
  World w;
  w.brief.openables = {{"flap", 0, {{0, 0, 0}, {12, 4, 2}}, Axis::y, {0, 0, 0}, -90 * kDeg, true, {}}};
  w.block({{0, 1, 8}, {4, 3, 20}});
  const Assessment a = w.judge();
  const double touch_deg = (std::atan2(8, 4) - std::asin(2 / std::sqrt(80.0))) / kDeg;
  EXPECT_EQ(a.access.openables.at(0).free_deg, -std::floor(touch_deg));
  ASSERT_EQ(a.findings.size(), 1u);
  EXPECT_EQ(a.findings[0].code, "access.strikes");
  // Hinged at the other end the bar swings clear of the post.
  ASSERT_FALSE(a.findings[0].remedies.empty());
  EXPECT_TRUE(a.findings[0].remedies[0].enough);
  EXPECT_DOUBLE_EQ(a.findings[0].remedies[0].after, 90);
}
