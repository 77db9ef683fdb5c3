// Covers obstacles, loads, places of work and the wheels of a support: conversion, and what is refused where.
#include "brief/site.h"

#include <gtest/gtest.h>

#include <numbers>

#include "brief/bodies.h"

namespace {

constexpr double kDeg = std::numbers::pi / 180;

struct Read {
  brief::Brief brief;
  brief::Support support;
  std::vector<std::string> codes;  ///< with their lines
};

Read read(const std::string& text) {
  document::Diagnostics d;
  const auto project = project::parse_project("[project]\nname = \"a\"\nsystem = \"tiny\"\n" + text, "project.toml", d);
  Read out;
  EXPECT_TRUE(project);
  brief::build_site(*project, out.brief, d);
  if (project->support) out.support = brief::build_support(*project, d);
  for (const auto& p : d.sorted()) out.codes.push_back(p.code + ":" + std::to_string(p.where.line));
  return out;
}

using Codes = std::vector<std::string>;

}  // namespace

TEST(Site, ObstaclesAreInRadiansWithTheirFriction) {
  const Read r = read(
      "[[obstacles]]\nid = \"kerb\"\ntype = \"step\"\nheight_mm = 12\n"
      "friction = { low = 0.4, nominal = 0.5, high = 0.7 }\n"
      "[[obstacles]]\nid = \"bank\"\ntype = \"slope\"\nslope_deg = 15\nheading_deg = -90\n"
      "[[obstacles]]\nid = \"ditch\"\ntype = \"trench\"\nwidth_mm = 40\n");
  EXPECT_EQ(r.codes, Codes{});
  ASSERT_EQ(r.brief.obstacles.size(), 3u);
  EXPECT_EQ(r.brief.obstacles[0].height_mm, 12);
  ASSERT_TRUE(r.brief.obstacles[0].friction);
  EXPECT_EQ(r.brief.obstacles[0].friction->high, 0.7);
  EXPECT_NEAR(r.brief.obstacles[1].slope_rad, 15 * kDeg, 1e-12);
  EXPECT_NEAR(r.brief.obstacles[1].heading_rad, -90 * kDeg, 1e-12);
  EXPECT_EQ(r.brief.obstacles[2].depth_mm, 0);
}

TEST(Site, AnObstacleNeedsTheSizesOfItsType) {
  EXPECT_EQ(read("[[obstacles]]\nid = \"a\"\ntype = \"step\"\n").codes, Codes{"brief.obstacle_size:4"});
  EXPECT_EQ(read("[[obstacles]]\nid = \"a\"\ntype = \"step\"\nheight_mm = 9\nwidth_mm = 9\n").codes,
            Codes{"brief.obstacle_size:4"});
  EXPECT_EQ(read("[[obstacles]]\nid = \"a\"\ntype = \"ridge\"\nheight_mm = 9\n").codes, Codes{"brief.obstacle_size:4"});
  EXPECT_EQ(read("[[obstacles]]\nid = \"a\"\ntype = \"step\"\nheight_mm = 9\nheading_deg = 4\n").codes,
            Codes{"brief.heading_of_slope:4"});
  EXPECT_EQ(read("[[obstacles]]\nid = \"a\"\ntype = \"drop\"\nheight_mm = 9\n"
                 "[[obstacles]]\nid = \"a\"\ntype = \"drop\"\nheight_mm = 9\n")
                .codes,
            Codes{"obstacle.duplicate_id:9"});
}

TEST(Site, LoadsAndPlacesAreTakenOver) {
  const Read r = read(
      "[limits]\nlifting_slope_deg = 3\nlifting_downhill_deg = 90\n"
      "[[loads]]\nid = \"crate\"\nmass_g = 300\nsize_mm = [60, 40, 30]\nfrom_mm = [200, 0, 0]\nto_mm = [0, 200, 20]\n"
      "sling_mm = 25\nleast_part_g = 90\n"
      "[[work_places]]\nid = \"gate\"\nat_mm = [50, 60]\nheading_deg = 90\nfeet_down = true\n"
      "[[stow_places]]\nid = \"deck\"\nat_mm = [-60, 0, 80]\nroom_mm = [80, 60, 60]\nmost_g = 250\n"
      "[real]\nscale = 25\nlength_mm = 5200\nwheel_diameter_mm = 1100\n");
  EXPECT_EQ(r.codes, Codes{});
  EXPECT_NEAR(r.brief.limits.lifting_slope_rad, 3 * kDeg, 1e-12);
  EXPECT_NEAR(r.brief.limits.lifting_downhill_rad.value_or(0), 90 * kDeg, 1e-12);
  ASSERT_EQ(r.brief.site_loads.size(), 1u);
  EXPECT_EQ(r.brief.site_loads[0].to_mm.y_mm, 200);
  EXPECT_EQ(r.brief.site_loads[0].least_part_g, 90);
  ASSERT_EQ(r.brief.work_places.size(), 1u);
  EXPECT_TRUE(r.brief.work_places[0].feet_down);
  EXPECT_NEAR(r.brief.work_places[0].heading_rad, 90 * kDeg, 1e-12);
  ASSERT_EQ(r.brief.stow_places.size(), 1u);
  EXPECT_EQ(r.brief.stow_places[0].most_g, 250);
  ASSERT_TRUE(r.brief.real);
  EXPECT_EQ(r.brief.real->size_mm.x_mm, 5200);
  EXPECT_EQ(r.brief.real->ring_diameter_mm, 0);
}

TEST(Site, RefusesWhatCannotBe) {
  EXPECT_EQ(
      read("[[loads]]\nid = \"a\"\nmass_g = 10\nfrom_mm = [0, 0, 0]\nto_mm = [1, 0, 0]\nleast_part_g = 11\n").codes,
      Codes{"brief.part_too_heavy:4"});
  EXPECT_EQ(read("[limits]\nlifting_downhill_deg = 10\n").codes, Codes{"brief.downhill_without_slope:4"});
  EXPECT_EQ(read("[real]\nlength_mm = 10\n").codes, Codes{"real.missing_key:4"});
}

TEST(Site, ASupportTellsItsWheels) {
  const std::string rectangle = "length_mm = 160\nwidth_mm = 80\n";
  const Read r = read("[support]\ntype = \"wheels\"\n" + rectangle +
                      "wheels_per_side = 4\nwheel_diameter_mm = 32\nrocking = \"pairs\"\npin_height_mm = 24\n"
                      "underside_mm = [[-90, 30], [0, 20], [90, 30]]\n");
  EXPECT_EQ(r.codes, Codes{});
  EXPECT_EQ(r.support.wheels_per_side, 4);
  EXPECT_EQ(r.support.rocking, brief::Support::Rocking::pairs);
  EXPECT_NEAR(r.support.rocks_rad, 20 * kDeg, 1e-12);
  ASSERT_EQ(r.support.underside_mm.size(), 3u);
  EXPECT_EQ(r.support.underside_mm[1][1], 20);
  EXPECT_EQ(read("[support]\ntype = \"feet\"\n" + rectangle + "wheels_per_side = 4\n").codes,
            Codes{"brief.not_rolling:4"});
  EXPECT_EQ(read("[support]\ntype = \"wheels\"\n" + rectangle + "wheels_per_side = 2\nrocking = \"pairs\"\n").codes,
            Codes{"brief.rocking_wheels:4"});
  EXPECT_EQ(read("[support]\ntype = \"wheels\"\n" + rectangle + "underside_mm = [[9, 9], [0, 9]]\n").codes,
            Codes{"brief.underside_order:4"});
}
