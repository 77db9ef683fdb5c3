// Covers placed things and openables: boxes, ways, hinges and their problems, with a kit system without parts.
#include "brief/placed.h"

#include <gtest/gtest.h>

#include <numbers>

#include "brief/build.h"

using lattice::Axis;
using lattice::Box3;

namespace {

struct Result {
  std::optional<brief::Brief> brief;
  std::string errors;  ///< codes
};

Result build(const std::string& rest) {
  auto catalogue = std::make_shared<stock::Catalogue>();
  catalogue->system.id = "tiny";
  catalogue->system.pitch_mm = 8;
  catalogue->system.craft.fill_density_g_cm3.value = base::Triple::exact(0.1);
  const std::string text =
      "[project]\nname = \"a\"\nsystem = \"tiny\"\n[supply]\nhubs = 0\n"
      "[support]\ntype = \"wheels\"\nlength_mm = 160\nwidth_mm = 80\n"
      "[[bodies]]\nid = \"chassis\"\nmass_g = 500\ncentre_mm = [0, 0, 40]\nsize_mm = [160, 80, 64]\n"
      "[[bodies]]\nid = \"upper\"\nparent = \"chassis\"\nmass_g = 100\ncentre_mm = [0, 0, 96]\n"
      "joint = { type = \"slew\", pivot_mm = [16, 0, 72], range_deg = [-90, 90] }\n"
      "[[bodies]]\nid = \"deck\"\nparent = \"upper\"\nmass_g = 10\ncentre_mm = [0, 0, 120]\n" +
      rest;
  document::Diagnostics d;
  const auto project = project::parse_project(text, "project.toml", d);
  Result out;
  if (project) out.brief = brief::build(*project, catalogue, std::make_shared<stock::Stock>(), d, {});
  for (const auto& p : d.sorted()) {
    if (p.severity == document::Severity::error) out.errors += (out.errors.empty() ? "" : " ") + p.code;
  }
  return out;
}

const std::string kBattery = "[[placed]]\nid = \"battery\"\nbox_p = { x = [-4, 0], y = [-2, 2], z = [3, 6.5] }\n";

}  // namespace

TEST(Placed, IsABoxOnTheLatticeOfItsBody) {
  const Result r =
      build(kBattery + "draws_out = [\"up\", \"back\", \"up\"]\npressed = \"left\"\n" +
            "[[placed]]\nid = \"seat\"\nbody = \"deck\"\nbox_p = { x = [0, 2], y = [0, 2], z = [3, 6] }\n");
  EXPECT_EQ(r.errors, "");
  ASSERT_TRUE(r.brief);
  ASSERT_EQ(r.brief->placed.size(), 2u);
  const brief::Placed& p = r.brief->placed[0];
  EXPECT_EQ(p.box, (Box3{{-8, -4, 6}, {0, 4, 13}}));
  EXPECT_EQ(p.draws_out, (std::vector<lattice::Way>{{Axis::z, 1}, {Axis::x, -1}}));
  EXPECT_EQ(p.pressed, (std::vector<lattice::Way>{{Axis::y, 1}}));
  EXPECT_FALSE(p.kept_clear);
  EXPECT_EQ(r.brief->placed[1].body, 1);  // the deck is fixed to the upper body
  const std::vector<brief::TakenRoom> taken = r.brief->taken_room();
  ASSERT_EQ(taken.size(), 2u);
  EXPECT_EQ(taken[0].box, p.box);
  EXPECT_EQ(taken[0].id, "battery");
  EXPECT_EQ(taken[1].body, 1);
}

TEST(Placed, AWayKeptClearLeadsOutOfEverythingOnTheLattice) {
  const Result r = build(kBattery + "draws_out = \"up\"\nkeep_clear = true\n");
  EXPECT_EQ(r.errors, "");
  ASSERT_TRUE(r.brief && r.brief->placed.at(0).kept_clear);
  const Box3 way = *r.brief->placed[0].kept_clear;
  EXPECT_EQ(way.low, (lattice::Point3{-8, -4, 13}));
  // Envelope up to 72 mm = 18 half-pitches, 12 more for what stands out, and the battery's own height.
  EXPECT_EQ(way.high, (lattice::Point3{0, 4, 18 + 12 + 7}));
  EXPECT_EQ(r.brief->taken_room().size(), 2u);
}

TEST(Placed, ProblemsAreTold) {
  EXPECT_EQ(build(kBattery + "draws_out = \"upwards\"\n").errors, "brief.unknown_way");
  EXPECT_EQ(build(kBattery + "keep_clear = true\n").errors, "brief.clear_for_nothing");
  EXPECT_EQ(build(kBattery + "draws_out = \"out\"\nkeep_clear = true\n").errors, "brief.unknown_way");
  EXPECT_EQ(build(kBattery + "[[placed]]\nid = \"seat\"\nbox_p = { x = [-1, 3], y = [0, 2], z = [6, 8] }\n").errors,
            "brief.placed_in_placed");
  EXPECT_EQ(build(kBattery + kBattery).errors, "brief.placed_in_placed placed.duplicate_id");
  EXPECT_EQ(build("[[placed]]\nid = \"seat\"\nbox_p = { x = [0, 0.5], y = [0, 2], z = [6, 8] }\n").errors,
            "brief.room_too_narrow");
  EXPECT_EQ(
      build("[[placed]]\nid = \"seat\"\nbody = \"roof\"\nbox_p = { x = [0, 1], y = [0, 2], z = [6, 8] }\n").errors,
      "brief.unknown_body");
}

TEST(Openables, SweepFromClosedToOpen) {
  const std::string door =
      "[[openables]]\nid = \"rear door\"\nbox_p = { x = [-11, -10], y = [-4, 4], z = [3, 8] }\naxis = \"z\"\n";
  const Result r = build(door + "hinge_p = [-10, 4, 3]\nopens_deg = -90\n");
  EXPECT_EQ(r.errors, "");
  ASSERT_TRUE(r.brief);
  const brief::Openable& o = r.brief->openables.at(0);
  EXPECT_NEAR(o.opens_rad, -std::numbers::pi / 2, 1e-12);
  EXPECT_TRUE(o.keep_clear);
  const auto passes = [&](const lattice::Point3& cell) {
    for (const Box3& b : o.swept)
      if (lattice::holds(b, cell)) return true;
    return false;
  };
  EXPECT_TRUE(passes({-21, 0, 8}));    // closed
  EXPECT_TRUE(passes({-30, 9, 8}));    // open: it stands out to the rear, clockwise seen from above
  EXPECT_FALSE(passes({-12, 0, 8}));   // inside the machine
  EXPECT_FALSE(passes({-30, 9, 16}));  // above the door
  EXPECT_EQ(build(door + "hinge_p = [-10.2, 4, 3]\n").errors, "brief.hinge_off_lattice");
  EXPECT_EQ(build(door + "hinge_p = [-10, 4, 3]\nopens_deg = 0\n").errors, "brief.opens_nowhere");
}
