// Covers project: every key of a full file, defaults, problems with code and place, and the schema.
#include "project/project.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

using document::Diagnostics;
using project::Project;

namespace {

constexpr std::string_view kFull = R"(# an invented machine
[project]
name = "Bog crawler"
description = "invented"
system = "metric8"
stock = "kits/donor.csv"
seed = 7
draws = 200

[supply]
hubs = ["hub_4", "hub_4"]
cells = { voltage_v = 8.1, capacity_mah = { low = 700, nominal = 800, high = 900 }, resistance_ohm = 0.6 }

[limits]
mass_g = 3200
run_time_min = 25
tipping_angle_deg = 20
envelope_mm = [430, 210, 260]

[support]
type = "tracks"
length_mm = 220
width_mm = 180
center_mm = [5, 0]

[parameters]
pin_friction = { low = 0.1, nominal = 0.2, high = 0.3 }
mass_factor = 1

[[bodies]]
id = "chassis"
mass_g = 1400
centre_mm = [0, 0, 60]
size_mm = [240, 180, 90]

[[bodies]]
id = "upper"
parent = "chassis"
joint = { type = "slew", pivot_mm = [0, 0, 100], range_deg = [-180, 180] }

[[reserves]]
part = ["panel_5x13", "panel, 3 x 13"]
count = 6
colour = "green"
reason = "bonnet"
body = "upper"

[[functions]]
id = "travel"
kind = "crawler"
priority = "wished"
weight = 2.5
sides = 2
duty = 0.6
body = "chassis"
lock = "m:motor_l"
must_use = "motor_l"
must_not_use = ["gear_40"]
[functions.wants]
speed_mm_s = 120

[[functions]]
id = "swing"
kind = "slew"
)";

struct Reading {
  std::optional<Project> project;
  std::vector<document::Diagnostic> problems;
  std::string summary;
};

Reading read(std::string_view text, const std::string& file = "x.toml") {
  Reading out;
  Diagnostics d;
  out.project = project::parse_project(text, file, d);
  out.problems = d.sorted();
  for (const auto& p : out.problems) {
    out.summary += (out.summary.empty() ? "" : "; ") + p.code + " @ " + std::to_string(p.where.line) + ":" +
                   std::to_string(p.where.column) + " " + p.path;
  }
  return out;
}

const std::string kHead = "[project]\nname = \"a\"\nsystem = \"metric8\"\n";

}  // namespace

TEST(Project, EveryKeyOfAFullFileIsRead) {
  const Reading r = read(kFull, "machines/bog/project.toml");
  EXPECT_EQ(r.summary, "");
  ASSERT_TRUE(r.project);
  const Project& p = *r.project;
  EXPECT_EQ(p.folder, "machines/bog");
  EXPECT_EQ(p.stock_file(), "machines/bog/kits/donor.csv");
  EXPECT_EQ(p.header.name, "Bog crawler");
  EXPECT_EQ(p.header.system.text, "metric8");
  EXPECT_EQ(p.header.system.where.line, 5);
  EXPECT_EQ(p.header.seed, 7);
  EXPECT_EQ(p.header.draws, 200);
  ASSERT_EQ(p.supply.hubs.named.size(), 2u);
  EXPECT_EQ(p.supply.hubs.named[1].text, "hub_4");
  EXPECT_FALSE(p.supply.hubs.count);
  EXPECT_EQ(p.supply.cells.voltage_v, 8.1);
  EXPECT_EQ(p.supply.cells.capacity_mah, (base::Triple{700, 800, 900}));
  EXPECT_EQ(p.supply.cells.resistance_ohm, base::Triple::exact(0.6));
  EXPECT_EQ(p.limits.mass_g, 3200);
  EXPECT_EQ(p.limits.run_time_min, 25);
  EXPECT_EQ(p.limits.tipping_angle_deg, 20);
  EXPECT_EQ(p.limits.envelope_mm, (project::Point3{430, 210, 260}));
  ASSERT_TRUE(p.support);
  EXPECT_EQ(p.support->type, project::SupportType::tracks);
  EXPECT_EQ(p.support->length_mm, 220);
  EXPECT_EQ(p.support->width_mm, 180);
  EXPECT_EQ(p.support->center_mm, (project::Point2{5, 0}));
  const auto& names = project::parameter_names();
  for (std::size_t i = 0; i < names.size(); ++i) {
    const bool given = names[i].name == "pin_friction" || names[i].name == "mass_factor";
    EXPECT_EQ(p.parameters.value[i].has_value(), given) << names[i].name;
  }
  ASSERT_EQ(p.bodies.size(), 2u);
  EXPECT_EQ(p.bodies[0].mass_g, base::Triple::exact(1400));
  EXPECT_EQ(p.bodies[0].size_mm, (project::Point3{240, 180, 90}));
  EXPECT_EQ(p.bodies[1].parent.text, "chassis");
  EXPECT_EQ(p.bodies[1].joint.type, project::JointType::slew);
  EXPECT_EQ(p.bodies[1].joint.pivot_mm, (project::Point3{0, 0, 100}));
  EXPECT_EQ(p.bodies[1].joint.range_deg, (std::array<double, 2>{-180, 180}));
  EXPECT_FALSE(p.bodies[1].mass_g);
  ASSERT_EQ(p.reserves.size(), 1u);
  EXPECT_EQ(p.reserves[0].part.size(), 2u);
  EXPECT_EQ(p.reserves[0].count, 6);
  EXPECT_EQ(p.reserves[0].colour, "green");
  EXPECT_EQ(p.reserves[0].reason, "bonnet");
  EXPECT_EQ(p.reserves[0].body.text, "upper");
  ASSERT_EQ(p.functions.size(), 2u);
  const project::Function& f = p.functions[0];
  EXPECT_EQ(f.id.text, "travel");
  EXPECT_EQ(f.kind.text, "crawler");
  EXPECT_EQ(f.priority, project::Priority::wished);
  EXPECT_EQ(f.weight, 2.5);
  EXPECT_EQ(f.sides, 2);
  EXPECT_EQ(f.duty, 0.6);
  EXPECT_EQ(f.body.text, "chassis");
  EXPECT_EQ(f.lock, "m:motor_l");
  EXPECT_EQ(f.must_use.at(0).text, "motor_l");
  EXPECT_EQ(f.must_not_use.at(0).text, "gear_40");
  EXPECT_EQ(f.wants.find("speed_mm_s")->integer, 120);
  EXPECT_EQ(f.wants.path, "/functions/0/wants");
}

TEST(Project, ARoomIsThreeRanges) {
  const std::string function = kHead + "[[functions]]\nid = \"swing\"\nkind = \"slew\"\n";
  EXPECT_EQ(read(function).project->functions.at(0).room_p.where.line, 0);
  const Reading r = read(function + "room_p = { x = [-6, 6], y = [-4.5, 4], z = [0, 9] }\n");
  EXPECT_EQ(r.summary, "");
  const project::Room& room = r.project->functions.at(0).room_p;
  EXPECT_EQ(room.where.line, 7);
  EXPECT_EQ(room.y, (std::array<double, 2>{-4.5, 4}));
  EXPECT_EQ(read(function + "room_p = { x = [-6, 6], y = [4, 4] }\n").summary,
            "room.missing_key @ 7:10 /functions/0/room_p/z");
  EXPECT_EQ(read(function + "room_p = { x = [6, -6], y = [4, 5], z = [0, 1] }\n").summary,
            "room.not_ordered @ 7:16 /functions/0/room_p/x");
}

TEST(Project, DefaultsStandWhereNothingIsSaid) {
  const Reading r = read(kHead + "[[functions]]\nid = \"swing\"\nkind = \"slew\"\n");
  EXPECT_EQ(r.summary, "");
  const Project& p = *r.project;
  EXPECT_EQ(p.header.draws, 1000);
  EXPECT_EQ(p.stock_file(), "stock.csv");
  EXPECT_FALSE(p.support);
  EXPECT_FALSE(p.supply.hubs.count);
  EXPECT_TRUE(p.supply.hubs.named.empty());
  const project::Function& f = p.functions.at(0);
  EXPECT_EQ(f.priority, project::Priority::required);
  EXPECT_EQ(f.sides, 1);
  EXPECT_EQ(f.duty, 1);
}

TEST(Project, AbsentWantsStandAtTheFunctionSoThatWhatIsMissingHasAPlace) {
  const Reading r = read(kHead + "[[functions]]\nid = \"swing\"\nkind = \"slew\"\n");
  const document::Node& wants = r.project->functions.at(0).wants;
  EXPECT_EQ(wants.kind, document::Node::Kind::table);
  EXPECT_EQ(wants.where.line, 4);
  EXPECT_EQ(wants.path, "/functions/0/wants");
}

TEST(Project, HubsMayBeACount) {
  EXPECT_EQ(read(kHead + "[supply]\nhubs = 2\n").project->supply.hubs.count, 2);
  EXPECT_EQ(read(kHead + "[supply]\nhubs = []\n").project->supply.hubs.count, 0);
  EXPECT_EQ(read(kHead + "[supply]\nhubs = \"hub_4\"\n").project->supply.hubs.named.size(), 1u);
  EXPECT_EQ(read(kHead + "[supply]\nhubs = 2.0\n").summary, "supply.wrong_type @ 5:8 /supply/hubs");
  EXPECT_EQ(read(kHead + "[supply]\nhubs = -1\n").summary, "supply.out_of_range @ 5:8 /supply/hubs");
  EXPECT_EQ(read(kHead + "[supply]\nhubs = true\n").summary, "supply.wrong_type @ 5:8 /supply/hubs");
}

TEST(Project, MissingHeaderAndItsKeysAreReported) {
  EXPECT_EQ(read("[limits]\n").summary, "project.missing_key @ 0:0 /project");
  EXPECT_EQ(read("[project]\n").summary,
            "project.missing_key @ 1:1 /project/name; project.missing_key @ 1:1 /project/system");
}

TEST(Project, UnknownTablesAndKeysGetTheNearestName) {
  const Reading r = read(kHead + "sed = 3\n[limit]\nmass_g = 1\n[[function]]\nid = \"a\"\n");
  EXPECT_EQ(r.summary,
            "project.unknown_key @ 4:1 /project/sed; project.unknown_key @ 5:2 /limit; "
            "project.unknown_key @ 7:3 /function");
  EXPECT_EQ(r.problems[0].hint, "seed");
  EXPECT_EQ(r.problems[1].hint, "limits");
  EXPECT_EQ(r.problems[2].hint, "functions");
}

TEST(Project, DuplicateIdsPointAtTheSecondAndNameTheFirst) {
  const Reading r = read(kHead +
                         "[[bodies]]\nid = \"a\"\n[[bodies]]\nid = \"a\"\n"
                         "[[functions]]\nid = \"a\"\nkind = \"spin\"\n[[functions]]\nid = \"a\"\nkind = \"spin\"\n");
  EXPECT_EQ(r.summary, "body.duplicate_id @ 7:6 /bodies/1/id; function.duplicate_id @ 12:6 /functions/1/id");
  EXPECT_EQ(r.problems[0].message, "\"a\" is already the id of another body, in line 5");
}

TEST(Project, IdsAreShortAndPrintable) {
  EXPECT_EQ(read(kHead + "[[bodies]]\nid = \"\"\n").summary, "body.empty_id @ 5:6 /bodies/0/id");
  EXPECT_EQ(read(kHead + "[[bodies]]\nid = \" a\"\n").summary, "body.bad_id @ 5:6 /bodies/0/id");
  EXPECT_EQ(read(kHead + "[[bodies]]\nid = \"a\\u001b[2J\"\n").summary, "body.bad_id @ 5:6 /bodies/0/id");
  EXPECT_EQ(read(kHead + "[[bodies]]\nid = \"" + std::string(61, 'x') + "\"\n").summary,
            "body.bad_id @ 5:6 /bodies/0/id");
  EXPECT_EQ(read(kHead + "[[bodies]]\nid = \"Ausleger, groß\"\n").summary, "");
}

TEST(Project, ProblemsOfAllTablesComeAtOnce) {
  const Reading r = read(kHead +
                         "draws = 0\n"
                         "[limits]\nmass_g = -5\n"
                         "[support]\ntype = \"track\"\n"
                         "[parameters]\nspur_eficiency = 0.9\nring_efficiency = 1.5\n"
                         "[[bodies]]\nid = \"a\"\njoint = { type = \"yaw\" }\n"
                         "[[reserves]]\ncount = 0\n"
                         "[[functions]]\nid = \"f\"\nkind = \"spin\"\nsides = 3\nwants = 4\n");
  EXPECT_EQ(r.summary,
            "project.out_of_range @ 4:9 /project/draws; limits.out_of_range @ 6:10 /limits/mass_g; "
            "support.not_a_choice @ 8:8 /support/type; parameters.unknown_key @ 10:1 /parameters/spur_eficiency; "
            "parameters.out_of_range @ 11:19 /parameters/ring_efficiency; "
            "joint.not_a_choice @ 14:18 /bodies/0/joint/type; reserve.missing_key @ 15:1 /reserves/0/part; "
            "reserve.out_of_range @ 16:9 /reserves/0/count; function.out_of_range @ 20:9 /functions/0/sides; "
            "function.wrong_type @ 21:9 /functions/0/wants");
  EXPECT_EQ(r.problems[2].hint, "\"tracks\"");
  EXPECT_EQ(r.problems[3].hint, "spur_efficiency");
}

TEST(Project, AReserveNamesAtLeastOnePart) {
  EXPECT_EQ(read(kHead + "[[reserves]]\npart = []\n").summary, "reserve.no_part @ 5:8 /reserves/0/part");
}

TEST(Project, SupportIsSaidInOneWayOnly) {
  EXPECT_EQ(read(kHead + "[support]\ntype = \"feet\"\nlength_mm = 3\npoints_mm = [[0, 0]]\n").summary,
            "support.two_ways @ 4:1 /support");
}

TEST(Project, DecalsHaveOneFillingAndColoursThatCanBePrinted) {
  const Reading good = read(kHead +
                            "revision = \"B\"\n[[decals]]\nid = \"plate\"\ntext = \"UP 7\"\n"
                            "colour = \"Dark Grey\"\nground = \"#ffcc00\"\nwidth_mm = 30\ncount = 2\non = \"cab\"\n");
  EXPECT_EQ(good.summary, "");
  EXPECT_EQ(good.project->header.revision.text, "B");
  ASSERT_EQ(good.project->decals.size(), 1u);
  EXPECT_EQ(good.project->decals[0].text, "UP 7");
  EXPECT_EQ(good.project->decals[0].width_mm, 30);
  EXPECT_EQ(good.project->decals[0].height_mm, 8);
  EXPECT_EQ(read(kHead + "[[decals]]\nid = \"a\"\ntext = \"x\"\nstripes = 3\n").summary,
            "decal.two_ways @ 4:1 /decals/0");
  EXPECT_EQ(read(kHead + "[[decals]]\nid = \"a\"\nground = \"no such\"\n").summary,
            "decal.colour @ 6:10 /decals/0/ground");
  EXPECT_EQ(read(kHead + "[[decals]]\nid = \"a\"\nwidth_mm = 400\n").summary,
            "decal.out_of_range @ 6:12 /decals/0/width_mm");
  EXPECT_EQ(read(kHead + "revision = \"" + std::string(25, 'x') + "\"\n").summary,
            "project.long_revision @ 4:12 /project/revision");
}

TEST(Project, BrokenSyntaxGivesNoProjectButAMessage) {
  const Reading r = read("[project\n");
  EXPECT_FALSE(r.project);
  EXPECT_EQ(r.summary, "toml.syntax @ 1:9 ");
}

TEST(Project, EveryKeyIsExplained) {
  const std::function<void(const std::vector<document::FieldDoc>&)> check = [&](const auto& fields) {
    for (const document::FieldDoc& f : fields) {
      EXPECT_FALSE(f.doc.empty()) << f.key;
      for (const std::string_view unit : {"_mm", "_g", "_deg", "_min", "_mah", "_ohm"}) {
        if (f.key.ends_with(unit)) {
          EXPECT_FALSE(f.unit.empty()) << f.key;
        }
      }
      check(f.children);
    }
  };
  check(project::project_fields());
}

TEST(Project, SchemaTiesTheWantsToTheKind) {
  document::FieldDoc load;
  load.key = "load_g";
  load.required = true;
  const auto schema =
      nlohmann::json::parse(project::project_schema({{"luff", "raises a boom", {load}}, {"spin", "", {}}}));
  const auto& function = schema["properties"]["functions"]["items"];
  EXPECT_EQ(function["properties"]["kind"]["enum"], nlohmann::json::parse(R"(["luff","spin"])"));
  ASSERT_EQ(function["allOf"].size(), 2u);
  EXPECT_EQ(function["allOf"][0]["then"]["properties"]["wants"]["required"][0], "load_g");
  EXPECT_EQ(schema["required"], nlohmann::json::parse(R"(["project"])"));
  EXPECT_EQ(schema["properties"]["parameters"]["additionalProperties"], false);
}
