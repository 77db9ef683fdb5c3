// Covers the program end to end on a small project: exit codes, valid JSON, equal bytes, stopping, ways out that work,
// located messages, written files.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "program.h"

using nlohmann::json;
using program::Answer;
using program::Folder;

namespace {

// Machine and kit are invented. Two functions that need one motor each.
constexpr const char* kProject = R"([project]
name = "Well head"
system = "metric8"
draws = 60

[supply]
hubs = 1

[support]
type = "fixed_base"
length_mm = 160
width_mm = 120

[[bodies]]
id = "frame"
centre_mm = [0, 0, 60]
size_mm = [160, 120, 120]

[[functions]]
id = "bucket"
kind = "hoist"
[functions.wants]
load_g = 60
hook_travel_mm = 150
speed_mm_s = 15

[[functions]]
id = "wheel"
kind = "spin"
[functions.wants]
most_stages = 2
outputs = [{ name = "wheel", rpm = [60, 300] }]
)";

std::string stock_with_motors(int motors) {
  return "Description;Quantity\nmotor, medium;" + std::to_string(motors) +
         "\n\"hub, 4 ports\";1\n\"gear, 8 teeth\";4\n\"gear, 24 teeth\";4\n\"gear, 40 teeth\";3\n\"gear, 12 teeth\";2\n"
         "\"gear, 20 teeth\";2\nworm;1\naxle, length 4;6\n\"axle, length 5\";6\n\"axle, length 6\";6\n\"axle, length "
         "7\";4\n"
         "\"axle, length 8\";4\nbush;20\n\"beam, length 5\";6\n\"beam, length 7\";8\n\"beam, length 9\";6\n";
}

/// Names as the catalogue spells them, so that every row is certain.
std::string stock_by_class(const std::map<std::string, int>& counts) {
  std::string out = "class,quantity,name\n";
  for (const auto& [id, count] : counts) out += id + "," + std::to_string(count) + "," + id + "\n";
  return out;
}

std::map<std::string, int> ample() {
  return {{"motor_medium", 2}, {"motor_small", 1},  {"hub_4", 1},      {"gear_8", 4}, {"gear_12", 2},
          {"gear_20", 2},      {"gear_24", 4},      {"gear_40", 3},    {"worm_1", 1}, {"axle_3", 4},
          {"axle_4", 6},       {"axle_5", 6},       {"axle_6", 6},     {"axle_7", 4}, {"axle_8", 4},
          {"axle_9", 2},       {"axle_10", 2},      {"bush_half", 20}, {"beam_5", 6}, {"beam_7", 8},
          {"beam_9", 6},       {"pin_tight_2", 60}, {"drum_16", 1},    {"drum_8", 1}, {"rope_1000", 1},
          {"hook_small", 1}};
}

struct Small {
  Folder folder;
  explicit Small(const std::map<std::string, int>& counts = ample()) {
    folder.write("project.toml", kProject);
    folder.write("stock.csv", stock_by_class(counts));
  }
};

json parsed(const Answer& a) {
  json out = json::parse(a.out, nullptr, false);
  EXPECT_FALSE(out.is_discarded()) << a.out.substr(0, 500) << a.err;
  if (!out.is_discarded()) {
    EXPECT_EQ(program::schema_problems(out), "") << a.out.substr(0, 2000);
  }
  return out;
}

}  // namespace

TEST(CliFlow, ASmallProjectIsDesignedAndProven) {
  const Small small;
  const Answer a = program::run({"design", small.folder.path(), "--json"});
  ASSERT_EQ(a.exit, 0) << a.err << a.out.substr(0, 3000);
  const json j = parsed(a);
  EXPECT_EQ(j["status"], "feasible");
  EXPECT_EQ(j["allocation"]["status"], "optimal");
  EXPECT_GE(j["allocation"]["worst_margin"], 1.0);
  EXPECT_EQ(j["assessment"]["certainty"]["draws"], 60);
  for (const json& part : j["assessment"]["parts"]) EXPECT_GE(part["left"], 0);
}

TEST(CliFlow, EveryStageCanBeTheLast) {
  const Small small;
  for (const std::string stage : {"brief", "candidates", "allocation", "assessment"}) {
    const Answer a = program::run({"design", small.folder.path(), "--json", "--stop-after", stage});
    EXPECT_EQ(a.exit, 0) << stage << a.err;
    EXPECT_EQ(parsed(a)["reached"], stage);
    const Answer text = program::run({"design", small.folder.path(), "--stop-after", stage});
    EXPECT_EQ(text.exit, 0);
    EXPECT_FALSE(text.out.empty()) << stage;
  }
  const Answer wrong = program::run({"design", small.folder.path(), "--stop-after", "alocation"});
  EXPECT_EQ(wrong.exit, 2);
  EXPECT_NE(wrong.err.find("allocation"), std::string::npos) << wrong.err;
}

TEST(CliFlow, AFewTrainsOfEachMotorAreLookedAtWhenAsked) {
  const Small small;
  const Answer a = program::run({"design", small.folder.path(), "--json", "--best", "1"});
  ASSERT_EQ(a.exit, 0) << a.err;
  const json few = parsed(a), all = parsed(program::run({"design", small.folder.path(), "--json"}));
  EXPECT_EQ(few["status"], "feasible");
  EXPECT_LE(few["allocation"]["worst_margin"], all["allocation"]["worst_margin"]);
  EXPECT_NE(a.out.find("only the best train of each motor"), std::string::npos);
  EXPECT_EQ(program::run({"design", small.folder.path(), "--json", "--best", "1", "--jobs", "2"}).out, a.out);
  const Answer none = program::run({"design", small.folder.path(), "--best", "0"});
  EXPECT_EQ(none.exit, 2);
  EXPECT_NE(none.err.find("--best"), std::string::npos) << none.err;
}

TEST(CliFlow, ThreadsNeverChangeABytes) {
  const Small small;
  const Answer one = program::run({"design", small.folder.path(), "--json", "--jobs", "1"});
  const Answer two = program::run({"design", small.folder.path(), "--json", "--jobs", "2"});
  EXPECT_EQ(one.exit, two.exit);
  EXPECT_EQ(one.out, two.out);
}

TEST(CliFlow, CheckAndExplainAnswerInBothForms) {
  const Small small;
  EXPECT_EQ(program::run({"check", small.folder.path()}).exit, 0);
  EXPECT_EQ(parsed(program::run({"check", small.folder.path(), "--json"}))["status"], "sound");
  const Answer text = program::run({"explain", small.folder.path(), "bucket"});
  EXPECT_EQ(text.exit, 0) << text.err;
  const json j = parsed(program::run({"explain", small.folder.path(), "bucket", "--json"}));
  ASSERT_TRUE(j["chosen"].is_string());
  EXPECT_EQ(j["shown"]["key"], j["chosen"]);
  const Answer wrong = program::run({"explain", small.folder.path(), "buckte"});
  EXPECT_EQ(wrong.exit, 2);
  EXPECT_NE(wrong.err.find("bucket"), std::string::npos) << wrong.err;
}

TEST(CliFlow, ResultFilesAreCompleteAndNeedNothingElse) {
  const Small small;
  const std::string out = small.folder.path("results");
  ASSERT_EQ(program::run({"design", small.folder.path(), "--out", out}).exit, 0);
  EXPECT_EQ(program::schema_problems(json::parse(program::read(out + "/design.json"))), "");
  EXPECT_EQ(program::read(out + "/sheet.svg").rfind("<svg", 0), 0u);
  const std::string page = program::read(out + "/results.html");
  EXPECT_NE(page.find("</html>"), std::string::npos);
  for (const std::string outside : {"src=", "href=\"http", "url(", "@import", "<script"}) {
    EXPECT_EQ(page.find(outside), std::string::npos) << outside;
  }
  const std::string report = program::read(out + "/report.txt");
  EXPECT_EQ(report.find('\x1b'), std::string::npos);
}

TEST(CliFlow, WhatStandsInTheWayIsNamedAndEveryWayOutWorks) {
  auto counts = ample();
  counts["motor_medium"] = 1;
  counts.erase("motor_small");
  const Small small(counts);
  const Answer a = program::run({"design", small.folder.path(), "--json"});
  ASSERT_EQ(a.exit, 1) << a.err;
  const json j = parsed(a);
  EXPECT_EQ(j["status"], "infeasible");
  ASSERT_EQ(j["allocation"]["conflicts"].size(), 1u);
  const json& conflict = j["allocation"]["conflicts"][0];
  EXPECT_EQ(conflict["minimal"], true);
  EXPECT_EQ(conflict["members"], json({"bucket", "wheel"}));
  EXPECT_NE(conflict["text"].get<std::string>().find("motor"), std::string::npos) << conflict["text"];

  int applied = 0;
  for (const json& way : j["allocation"]["ways_out"]) {
    if (way["type"] == "more_parts") {
      auto more = counts;
      for (const json& piece : way["pieces"]) more[piece["part"]] += piece["more"].get<int>();
      const Small changed(more);
      EXPECT_EQ(program::run({"design", changed.folder.path(), "--quiet"}).exit, 0) << way.dump();
      ++applied;
    } else if (way["type"] == "drop_function") {
      const Small changed(counts);
      std::string text = kProject;
      for (const json& f : way["functions"]) {
        const std::string id = "id = \"" + f.get<std::string>() + "\"";
        text.insert(text.find(id), "priority = \"wished\"\n");
      }
      changed.folder.write("project.toml", text);
      EXPECT_EQ(program::run({"design", changed.folder.path(), "--quiet"}).exit, 0) << way.dump();
      ++applied;
    }
  }
  EXPECT_GE(applied, 2);
}

TEST(CliFlow, APairOfChangesIsEnoughAndLessIsNot) {
  // One motor too few, and a limit that the bodies alone exceed: no single change is enough but leaving both out.
  auto counts = ample();
  counts["motor_medium"] = 1;
  counts["motor_small"] = 1;
  const std::string reserve = "[[reserves]]\npart = \"motor_small\"\ncount = 1\nreason = \"another machine\"\n\n";
  const auto project = [&](const std::string& before, double mass_g) {
    std::string text = kProject;
    text.insert(text.find("[[bodies]]"), "[limits]\nmass_g = " + std::to_string(mass_g) + "\n\n" + before);
    return text;
  };
  const Small small(counts);
  small.folder.write("project.toml", project(reserve, 20));
  const Answer a = program::run({"design", small.folder.path(), "--json"});
  ASSERT_EQ(a.exit, 1) << a.err;
  const json j = parsed(a);
  EXPECT_EQ(program::schema_problems(j), "");
  const json& found = j["allocation"]["pairs_out"];
  EXPECT_EQ(found["looked_for"], true) << j["allocation"]["ways_out"].dump();
  EXPECT_EQ(found["complete"], true);
  double needed_g = 0;
  for (const json& pair : found["pairs"]) {
    if (pair["ways"][0]["type"] == "release_reserve" && pair["ways"][1]["type"] == "raise_budget")
      needed_g = pair["ways"][1]["changes"][0]["value"];
  }
  ASSERT_GT(needed_g, 20) << found.dump();
  EXPECT_NE(program::run({"design", small.folder.path()}).out.find("two changes together"), std::string::npos);
  // Both together, and neither a gram less nor either of them alone.
  const auto exit_of = [&](const std::string& before, double mass_g) {
    small.folder.write("project.toml", project(before, mass_g));
    return program::run({"design", small.folder.path(), "--quiet"}).exit;
  };
  EXPECT_EQ(exit_of("", needed_g), 0);
  EXPECT_EQ(exit_of("", needed_g - 1), 1);
  EXPECT_EQ(exit_of("", 20), 1);
  EXPECT_EQ(exit_of(reserve, needed_g), 1);
}

TEST(CliFlow, DonorKitsAreCompared) {
  const Small small;
  auto fewer = ample();
  fewer["motor_medium"] = 1;
  fewer.erase("motor_small");
  small.folder.write("poor.csv", stock_by_class(fewer));
  const std::vector<std::string> kits{"--stock", small.folder.path("stock.csv"), "--stock",
                                      small.folder.path("poor.csv")};
  std::vector<std::string> words{"design", small.folder.path()};
  words.insert(words.end(), kits.begin(), kits.end());
  const Answer text = program::run(words);
  EXPECT_EQ(text.exit, 0) << text.err;
  words.push_back("--json");
  const json j = parsed(program::run(words));
  ASSERT_EQ(j["kits"].size(), 2u);
  EXPECT_EQ(j["kits"][0]["status"], "feasible");
  EXPECT_EQ(j["kits"][1]["status"], "infeasible");
}

TEST(CliFlow, AnUnknownLockIsReportedWhereItStands) {
  const Small small;
  std::string text = kProject;
  text.insert(text.find("kind = \"hoist\""), "lock = \"nothing like it\"\n");
  small.folder.write("project.toml", text);
  const Answer a = program::run({"design", small.folder.path()});
  EXPECT_EQ(a.exit, 2);
  EXPECT_NE(a.err.find("design.unknown_lock"), std::string::npos) << a.err;
  EXPECT_NE(a.err.find("project.toml:"), std::string::npos) << a.err;
}

TEST(CliFlow, ALockIsKept) {
  const Small small;
  const json j = parsed(program::run({"explain", small.folder.path(), "wheel", "--json"}));
  const json& candidates = j["candidates"];
  ASSERT_GE(candidates.size(), 1u);
  const std::string key = candidates.back()["key"];
  std::string text = kProject;
  text.insert(text.find("kind = \"spin\""), "lock = '" + key + "'\n");
  small.folder.write("project.toml", text);
  const Answer a = program::run({"design", small.folder.path(), "--json"});
  ASSERT_EQ(a.exit, 0) << a.err;
  EXPECT_EQ(parsed(a)["functions"][1]["chosen"]["key"], key);
}

TEST(CliFlow, BadInputGetsALocatedMessageAndTwo) {
  const Folder folder;
  folder.write("a_file", "x");
  const std::string nothing = folder.path("nothing"), file = folder.path("a_file");
  std::filesystem::create_directories(folder.path("empty"));
  const std::string empty = folder.path("empty");
  for (const std::string& path : {nothing, file, empty}) {
    for (const std::vector<std::string>& words :
         {std::vector<std::string>{"check", path}, {"design", path}, {"explain", path, "x"}, {"stock", path}}) {
      const Answer a = program::run(words);
      EXPECT_EQ(a.exit, 2) << words[0] << " " << path << "\n" << a.out << a.err;
      EXPECT_NE(a.err.find(folder.path()), std::string::npos) << words[0] << " " << path << "\n" << a.err;
      std::vector<std::string> as_json = words;
      as_json.push_back("--json");
      const Answer b = program::run(as_json);
      EXPECT_EQ(b.exit, 2);
      EXPECT_EQ(parsed(b)["status"], "bad_input") << words[0] << " " << path;
    }
  }
  EXPECT_EQ(program::run({"design"}).exit, 2);
  EXPECT_EQ(program::run({"desing", "x"}).exit, 2);
  EXPECT_EQ(program::run({"--version"}).exit, 0);
}

TEST(CliFlow, CtrlCEndsSoonWithAnAnswer) {
  const Folder folder;
  ASSERT_EQ(program::run({"new", "--like", "crawler_rig", folder.path("rig")}).exit, 0);
  for (const int ms : {30, 150, 400}) {
    const Answer a = program::run({"design", folder.path("rig"), "--json", "--jobs", "1"}, ms);
    // Before the handler is set the signal ends the program itself; afterwards it answers.
    if (a.exit == 128 + 2) continue;
    EXPECT_TRUE(a.exit == 0 || a.exit == 1) << a.exit << a.err;
    parsed(a);
  }
}

TEST(CliFlow, StockListsSayWhatIsNotKnown) {
  const Folder folder;
  folder.write("list.csv", stock_with_motors(2) + "quixotic frobnicator;3\n");
  const Answer a = program::run({"stock", folder.path("list.csv"), "--system", "metric8", "--json"});
  EXPECT_EQ(a.exit, 0) << a.err;
  const json j = parsed(a);
  int unmatched = 0;
  for (const json& row : j["rows"]) unmatched += row["state"] == "unmatched" ? 1 : 0;
  EXPECT_EQ(unmatched, 1);
  EXPECT_NE(program::run({"stock", folder.path("list.csv")}).out.find("frobnicator"), std::string::npos);
}

TEST(CliFlow, TheWorkbenchStartsAndEndsWhenAsked) {
  const program::Folder folder;
  const Answer a = program::run({"serve", "--json"}, 1500);
  EXPECT_EQ(a.exit, 0) << a.err;
  const json j = json::parse(a.out);
  EXPECT_EQ(j.at("status"), "serving");
  EXPECT_EQ(j.at("address"), "http://127.0.0.1:" + std::to_string(j.at("port").get<int>()) +
                                 "/open?t=" + j.at("token").get<std::string>());
  EXPECT_EQ(j.at("token").get<std::string>().size(), 32U);
  const Answer none = program::run({"serve", folder.path()});
  EXPECT_EQ(none.exit, 2);
  EXPECT_NE(none.err.find("file.missing"), std::string::npos) << none.err;
}

TEST(CliFlow, TheCommittedSchemaIsTheOneTheTablesGive) {
  const Answer a = program::run({"schema"});
  EXPECT_EQ(a.exit, 0);
  EXPECT_TRUE(a.out == program::read(std::string(KW_SOURCE_DIR) + "/schema/project.schema.json"))
      << "write it anew with: kitwright schema --out schema/project.schema.json";
}

TEST(CliFlow, ADesignWithALoadShowsTheCautionsThatGoWithIt) {
  const Small small;  // a hoist among its functions
  const Answer a = program::run({"design", small.folder.path()});
  ASSERT_EQ(a.exit, 0) << a.err;
  const std::size_t at = a.out.find("Cautions");
  ASSERT_NE(at, std::string::npos);
  EXPECT_NE(a.out.find("pinch and shear", at), std::string::npos);
  EXPECT_NE(a.out.find("raised load", at), std::string::npos);
  EXPECT_NE(a.out.find("local rules", at), std::string::npos);
}

TEST(CliFlow, TheLoadChartIsToldInEveryForm) {
  const Folder folder;
  const std::string project = std::string(KW_SOURCE_DIR) + "/examples/bascule_bridge";
  const Answer a = program::run({"chart", project, "--json", "--radii", "5", "--svg", folder.path("chart.svg"), "--csv",
                                 folder.path("chart.csv")});
  EXPECT_EQ(a.exit, 0) << a.err;
  const json j = json::parse(a.out);
  EXPECT_EQ(program::schema_problems(j), "");
  ASSERT_TRUE(j["lifting"]["judged"]);
  EXPECT_EQ(j["lifting"]["radius_mm"].size(), 5u);
  const json& row = j["lifting"]["states"][0]["postures"][0]["rows"][0];
  // Every cell that the hook reaches is a row of the list, with the same load.
  const std::string csv = program::read(folder.path("chart.csv"));
  std::size_t reached = 0;
  for (const json& load : row["rated_g"]) reached += load.is_null() ? 0 : 1;
  EXPECT_EQ(static_cast<std::size_t>(std::count(csv.begin(), csv.end(), '\n')), reached + 1);
  EXPECT_NE(program::read(folder.path("chart.svg")).find("never for real lifting"), std::string::npos);

  const Answer none =
      program::run({"chart", std::string(KW_SOURCE_DIR) + "/examples/tow_tractor", "--csv", folder.path("none.csv")});
  EXPECT_EQ(none.exit, 2);
  EXPECT_NE(none.err.find("no body of the project luffs"), std::string::npos) << none.err;
}

TEST(CliFlow, ObstaclesAreToldOverFriction) {
  const Answer a = program::run({"design", std::string(KW_SOURCE_DIR) + "/examples/vineyard_sprayer", "--json"});
  EXPECT_EQ(a.exit, 0) << a.err;
  const json j = json::parse(a.out);
  EXPECT_EQ(program::schema_problems(j), "");
  const json& ground = j["assessment"]["ground"];
  ASSERT_TRUE(ground["judged"]) << ground["why_not"];
  EXPECT_EQ(ground["obstacles"].size(), 5u);
  for (const char* family : {"step", "trench"}) {
    const json& at = ground[family]["at"];
    ASSERT_EQ(at.size(), 3u);
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_GE(at[i]["passed_mm"], at[i > 0 ? i - 1 : 0]["passed_mm"]) << family;
      EXPECT_LE(at[i]["passed_mm"], at[i]["fails_mm"]) << family;
    }
  }
  for (const json& o : ground["obstacles"]) EXPECT_EQ(o.contains("slope"), o["type"] == "slope") << o["id"];
  EXPECT_FALSE(j["assessment"]["site"]["judged"]);
}

TEST(CliFlow, AScaleStudyDesignsAtEveryScale) {
  const Small small;
  const Answer none = program::run({"scale", small.folder.path()});
  EXPECT_EQ(none.exit, 2);
  EXPECT_NE(none.err.find("main dimensions"), std::string::npos) << none.err;

  small.folder.write("project.toml", std::string(kProject) + "\n[real]\nscale = 20\nlength_mm = 4000\n");
  const Answer a = program::run({"scale", small.folder.path(), "--from", "20", "--to", "40", "--steps", "2", "--json"});
  EXPECT_LE(a.exit, 1) << a.err;
  const json j = json::parse(a.out);
  EXPECT_EQ(program::schema_problems(j), "");
  ASSERT_EQ(j["scales"].size(), 2u);
  EXPECT_EQ(j["scales"][0]["factor"], 1);
  EXPECT_EQ(j["scales"][1]["factor"], 0.5);
  EXPECT_EQ(j["scales"][1]["length_mm"], 100);
  // At its own scale it is what "design" finds.
  const json own = json::parse(program::run({"design", small.folder.path(), "--json"}).out);
  EXPECT_EQ(j["scales"][0]["feasible"], own["status"] == "feasible");
}

TEST(CliFlow, ADesignIsDrivenThroughAScript) {
  const Small small;
  const Answer cycle = program::run({"simulate", small.folder.path(), "--time", "30", "--json", "--csv",
                                     small.folder.path("run.csv"), "--svg", small.folder.path("run.svg")});
  ASSERT_EQ(cycle.exit, 0) << cycle.err << cycle.out.substr(0, 2000);
  const json j = parsed(cycle);
  EXPECT_LT(j["simulation"]["energy"]["error_share"].get<double>(), 1e-3);
  EXPECT_EQ(j["simulation"]["steps"], 30000);
  const std::string csv = program::read(small.folder.path("run.csv"));
  EXPECT_EQ(static_cast<std::size_t>(std::count(csv.begin(), csv.end(), '\n')), j["simulation"]["samples"].size() + 1);
  EXPECT_NE(program::read(small.folder.path("run.svg")).find("supply voltage"), std::string::npos);

  const std::string drive = j["simulation"]["drives"][0]["name"];
  small.folder.write("up.csv", "time_s," + drive + "\n0,1\n5,0\n6,0\n");
  const Answer told = program::run({"simulate", small.folder.path(), "--script", small.folder.path("up.csv")});
  EXPECT_EQ(told.exit, 0) << told.err;
  EXPECT_NE(told.out.find("balance open by"), std::string::npos);
  small.folder.write("bad.csv", "time_s,nothing\n0,1\n5,0\n");
  const Answer bad =
      program::run({"simulate", small.folder.path(), "--script", small.folder.path("bad.csv"), "--json"});
  EXPECT_EQ(bad.exit, 2);
  EXPECT_EQ(parsed(bad)["diagnostics"][0]["code"], "script.unknown_name");
}

// A wide machine whose longest axle is shorter than the way between two actuators: its cross shafts are two axles end
// to end in a joiner, which is drawn, listed, put in by a step of its own and told in every language.
TEST(CliFlow, ACrossShaftOfTwoAxlesIsDrawnListedAndPutTogether) {
  const Folder folder;
  const std::string gangway = std::string(KW_SOURCE_DIR) + "/tests/cli/dock_gangway";
  const Answer told = program::run({"explain", gangway, "legs", "--json", "--svg", folder.path("legs.svg")});
  ASSERT_EQ(told.exit, 0) << told.err;
  const json chosen = parsed(told)["shown"];
  std::map<std::string, int> needs;
  for (const json& n : chosen["needs"]) needs[n["label"].get<std::string>()] += n["count"].get<int>();
  EXPECT_EQ(needs["axle joiner"], 2) << chosen["needs"];
  // Faces 14 p apart and a pitch inside each actuator: 16 p of two axles, 10 being the longest in stock.
  int together_p = 0;
  for (const auto& [label, count] : needs)
    if (label.starts_with("axle, length ")) together_p += std::stoi(label.substr(13)) * count / 2;
  EXPECT_EQ(together_p, 16 + 5);  // the motor's own axle is 5 p long
  bool play = false;
  for (const json& f : chosen["figures"]) play = play || f["name"] == "play in the joiner, shaft B";
  EXPECT_TRUE(play);
  const std::string svg = program::read(folder.path("legs.svg"));
  EXPECT_NE(svg.find(">axle joiner<"), std::string::npos);
  const Answer pack =
      program::run({"dossier", gangway, "--out", folder.path("pack"), "--language", "de", "--json", "--quiet"});
  ASSERT_EQ(pack.exit, 0) << pack.err;
  EXPECT_TRUE(parsed(pack)["untranslated"].empty()) << parsed(pack)["untranslated"];
  const std::string page = program::read(folder.path("pack/dossier.html"));
  EXPECT_NE(page.find("Achsverbinder: von vorn auf Welle B schieben"), std::string::npos);
  EXPECT_NE(page.find("6 + 10 (x"), std::string::npos);
  EXPECT_NE(program::read(folder.path("pack/parts.csv")).find("joiner_axle"), std::string::npos);
}

TEST(CliFlow, ACourseIsDrivenAndToldBesideTheClosedForm) {
  const Small small;
  const Answer missing = program::run({"trial", small.folder.path(), "--course", "step"});
  EXPECT_EQ(missing.exit, 2);
  EXPECT_NE(missing.err.find("--height"), std::string::npos);
  const Answer strange = program::run({"trial", small.folder.path(), "--course", "mud", "--json"});
  EXPECT_EQ(strange.exit, 2);
  EXPECT_EQ(parsed(strange)["diagnostics"][0]["code"], "cli.course");

  const std::string cart = std::string(KW_SOURCE_DIR) + "/examples/market_cart";
  const Answer a = program::run({"trial", cart, "--course", "trench", "--width", "12", "--json", "--csv",
                                 small.folder.path("run.csv"), "--svg", small.folder.path("run.svg")});
  ASSERT_EQ(a.exit, 0) << a.err;
  const json j = parsed(a);
  if (j["trial"].contains("why_not")) GTEST_SKIP() << j["trial"]["why_not"];
  EXPECT_EQ(j["trial"]["passed"], true);
  EXPECT_EQ(j["trial"]["closed"]["passed"], true);
  const std::string csv = program::read(small.folder.path("run.csv"));
  EXPECT_EQ(static_cast<std::size_t>(std::count(csv.begin(), csv.end(), '\n')), j["trial"]["samples"].size() + 1);
  EXPECT_NE(program::read(small.folder.path("run.svg")).find("trench 12 mm wide"), std::string::npos);
  const json across = parsed(program::run({"trial", cart, "--course", "side_slope", "--angle", "8", "--json"}));
  EXPECT_EQ(across["trial"]["passed"], true);
  EXPECT_EQ(across["trial"]["closed"]["passed"], true);
  EXPECT_GT(across["trial"]["across"]["tips_at_deg"], 8);
}

TEST(CliFlow, ALoadIsLiftedAndSetDownAtTheChartsEdge) {
  const Small small;
  EXPECT_EQ(
      parsed(program::run({"trial", small.folder.path(), "--task", "juggle", "--json"}))["diagnostics"][0]["code"],
      "cli.task");
  EXPECT_EQ(program::run({"trial", small.folder.path(), "--task", "lift", "--course", "flat"}).exit, 2);
  const std::string platform = std::string(KW_SOURCE_DIR) + "/examples/orchard_platform";
  const Answer a = program::run({"trial", platform, "--task", "lift", "--json", "--csv", small.folder.path("lift.csv"),
                                 "--svg", small.folder.path("lift.svg")});
  ASSERT_EQ(a.exit, 0) << a.err;
  const json j = parsed(a);
  if (j["trial"].contains("why_not")) GTEST_SKIP() << j["trial"]["why_not"];
  EXPECT_EQ(j["trial"]["tipped"], false);
  EXPECT_EQ(j["trial"]["set_down"], true);
  small.folder.write("raise.csv", "time_s,boom_lift\n0,1\n1.5,0\n2,0\n");
  const json driven = parsed(program::run({"trial", platform, "--script", small.folder.path("raise.csv"), "--json",
                                           "--svg", small.folder.path("raise.svg")}));
  ASSERT_EQ(driven["trial"]["moves"].size(), 1U);
  EXPECT_EQ(driven["trial"]["moves"][0]["drive"], "boom_lift");
  EXPECT_NE(program::read(small.folder.path("raise.svg")).find("simulation"), std::string::npos);
  EXPECT_TRUE(j["trial"]["doubts"].empty()) << j["trial"]["doubts"];
  const std::string csv = program::read(small.folder.path("lift.csv"));
  EXPECT_EQ(static_cast<std::size_t>(std::count(csv.begin(), csv.end(), '\n')), j["trial"]["samples"].size() + 1);
  EXPECT_NE(program::read(small.folder.path("lift.svg")).find("tipping lines"), std::string::npos);
}

TEST(CliFlow, TheHandsetIsToldWithAFigureForEveryStep) {
  const Small small;
  const Answer a = program::run({"handset", small.folder.path(), "--json", "--page", small.folder.path("guide.html")});
  ASSERT_EQ(a.exit, 0) << a.err;
  const json j = parsed(a);
  for (const json& step : j["handset"]["steps"]) {
    EXPECT_NE(step["figure_svg"].get<std::string>().find("<svg"), std::string::npos);
    EXPECT_FALSE(step["lines"].empty());
  }
  EXPECT_NE(program::read(small.folder.path("guide.html")).find("set-up guide"), std::string::npos);
}

TEST(CliFlow, TheDossierIsWrittenAndItsListOfPartsHeldAgainstAStock) {
  const Small small;
  const std::string out = small.folder.path("dossier");
  const Answer a = program::run({"dossier", small.folder.path(), "--out", out, "--language", "de", "--json"});
  ASSERT_EQ(a.exit, 0) << a.err;
  const json j = parsed(a);
  EXPECT_EQ(j["language"], "de");
  for (const json& name : j["files"]) EXPECT_FALSE(program::read(out + "/" + name.get<std::string>()).empty()) << name;
  EXPECT_NE(program::read(out + "/dossier.html").find("lang=\"de\""), std::string::npos);
  EXPECT_EQ(program::read(out + "/dossier_a4.pdf").substr(0, 5), "%PDF-");

  const Answer own = program::run({"stock", small.folder.path("stock.csv"), "--against", out, "--json"});
  EXPECT_EQ(own.exit, 0) << own.err << own.out;
  EXPECT_EQ(parsed(own)["missing"], 0);
  small.folder.write("theirs.csv", "name,quantity\n\"axle, length 3\",1\n");
  const Answer theirs =
      program::run({"stock", small.folder.path("theirs.csv"), "--against", out + "/dossier.html", "--json"});
  EXPECT_EQ(theirs.exit, 1) << theirs.err;
  const json lacks = parsed(theirs);
  EXPECT_EQ(lacks["status"], "lacking");
  EXPECT_GT(lacks["missing"], 0);
  EXPECT_GE(lacks["needed"], lacks["missing"]);
  EXPECT_EQ(program::run({"stock", small.folder.path("theirs.csv"), "--against", small.folder.path()}).exit, 2);
  EXPECT_EQ(program::run({"dossier", small.folder.path(), "--out", out, "--language", "xx"}).exit, 2);
}

TEST(CliFlow, BenchTestsNarrowWhatTheDesignUses) {
  const Small small;
  const json before = parsed(program::run({"design", small.folder.path(), "--json"}));
  EXPECT_FALSE(before.contains("bench"));
  small.folder.write("bench_tests.csv", "what,of,value,spread\nstall_torque_nmm,motor_medium,150,4\n");
  const Answer a = program::run({"design", small.folder.path(), "--json"});
  ASSERT_EQ(a.exit, 0) << a.err;
  const json after = parsed(a);
  ASSERT_EQ(after["bench"]["narrowed"].size(), 1u);
  EXPECT_EQ(after["bench"]["narrowed"][0]["name"], "motor_torque_factor");
  EXPECT_GT(after["bench"]["narrowed"][0]["narrower"].get<double>(), 0.2);
  EXPECT_NEAR(after["bench"]["narrowed"][0]["after"]["nominal"].get<double>(), 150.0 / 160, 0.03);
  small.folder.write("bench_tests.csv", "what,of,value,spread\nstall_torque_nmm,motor_medium,400,4\n");
  const Answer bad = program::run({"design", small.folder.path()});
  EXPECT_EQ(bad.exit, 2);
  EXPECT_NE(bad.err.find("bench_tests.csv:2"), std::string::npos) << bad.err;
}

TEST(CliFlow, WhatIsPlacedIsReachedAndWhatOpensStaysFree) {
  const Answer a = program::run({"design", std::string(KW_SOURCE_DIR) + "/examples/floodlight_cart", "--json"});
  EXPECT_EQ(a.exit, 0) << a.err;
  const json j = json::parse(a.out);
  EXPECT_EQ(program::schema_problems(j), "");
  const json& access = j["assessment"]["access"];
  EXPECT_EQ(access["openables"][0]["opens_deg"], access["openables"][0]["free_deg"]);
  for (const json& p : access["placed"]) {
    bool out = p["draws_out"].empty(), pressed = p["pressed"].empty();
    for (const json& way : p["draws_out"]) out = out || way["free"].get<bool>();
    for (const json& side : p["pressed"]) pressed = pressed || side["by"] != "nothing";
    EXPECT_TRUE(out && pressed) << p;
  }
}
