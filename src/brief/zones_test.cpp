// Zones from the project file: resolved against kit and stock, with what is wrong told at its place.
#include "brief/zones.h"

#include <gtest/gtest.h>

namespace {

using stock::ClassId;

std::string read(const std::string& zones, std::vector<looks::Zone>& out) {
  stock::Catalogue catalogue;
  for (const char* id : {"panel_3x5", "panel_5x9"}) {
    stock::PartClass c;
    c.id = c.name = id;
    catalogue.classes.push_back(std::move(c));
  }
  stock::Stock stock;
  stock.types = {{ClassId{0}, "red", 4, 1}, {ClassId{1}, "white", 4, 2}};
  document::Diagnostics d;
  const auto project = project::parse_project("[project]\nname = \"m\"\nsystem = \"metric8\"\n" + zones, "p.toml", d);
  if (project) out = brief::build_zones(*project, catalogue, stock, d);
  std::string told;
  for (const document::Diagnostic& x : d.sorted()) {
    told += (told.empty() ? "" : "; ") + x.code + " @ " + std::to_string(x.where.line) + " " + x.path;
  }
  return told;
}

TEST(Zones, AreReadWithClassesAndColours) {
  std::vector<looks::Zone> zones;
  EXPECT_EQ(read("[[zones]]\nid = \"cab\"\ncolour = \" Red \"\nweight = 4\n[[zones.parts]]\n"
                 "part = [\"panel_5x9\", \"panel_3x5\"]\ncount = 3\n",
                 zones),
            "");
  ASSERT_EQ(zones.size(), 1U);
  EXPECT_EQ(zones[0].id, "cab");
  EXPECT_EQ(zones[0].colour, "red");
  EXPECT_EQ(zones[0].weight, 4);
  ASSERT_EQ(zones[0].needs.size(), 1U);
  EXPECT_EQ(zones[0].needs[0].accepts, (std::vector<ClassId>{ClassId{0}, ClassId{1}}));
  EXPECT_EQ(zones[0].needs[0].count, 3);
}

TEST(Zones, SlipsAreToldAtTheirPlace) {
  std::vector<looks::Zone> zones;
  EXPECT_EQ(read("[[zones]]\nid = \"cab\"\ncolour = \"whit\"\n[[zones.parts]]\npart = \"panel_3x5\"\n", zones),
            "brief.colour_not_in_stock @ 6 /zones/0/colour");
  EXPECT_EQ(zones.size(), 1U);
  EXPECT_EQ(read("[[zones]]\nid = \"cab\"\ncolour = \"\"\n[[zones.parts]]\npart = \"panel_3x6\"\n", zones),
            "brief.no_colour @ 6 /zones/0/colour; brief.unknown_part @ 8 /zones/0/parts/0/part");
  EXPECT_EQ(read("[[zones]]\nid = \"cab\"\ncolour = \"red\"\nparts = []\n", zones), "brief.empty_zone @ 4 /zones/0");
  EXPECT_EQ(read("[[zones]]\nid = \"a\"\ncolour = \"red\"\n[[zones.parts]]\npart = []\n", zones),
            "zone.no_part @ 8 /zones/0/parts/0/part");
}

}  // namespace
