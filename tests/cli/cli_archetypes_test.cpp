// Covers `new`: every archetype, small, usual and large, passes `check`, and `design` answers with a reason.
#include <gtest/gtest.h>

#include <algorithm>
#include <regex>
#include <set>
#include <sstream>

#include "program.h"

using program::Answer;
using program::Folder;

namespace {

std::vector<std::string> archetypes() {
  std::vector<std::string> out;
  for (const auto& entry : std::filesystem::directory_iterator(std::string(KW_SOURCE_DIR) + "/catalogue/archetypes")) {
    if (entry.path().extension() == ".toml") out.push_back(entry.path().stem().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

class Archetype : public testing::TestWithParam<std::string> {};

}  // namespace

TEST_P(Archetype, GrowsIntoAProjectThatIsSoundAndAnswered) {
  const Folder folder;
  const std::string project = folder.path("machine");
  // Cranes carry their load once, whichever of their functions speak of it.
  const bool crane = std::set<std::string>{"crawler_rig", "slewing_crane", "wheeled_rig"}.contains(GetParam());
  std::vector<std::string> words{"new", "--like", GetParam(), "--name", "A \"good\" machine", project};
  if (crane) words.insert(words.end(), {"--load", "130"});
  const Answer made = program::run(words);
  ASSERT_EQ(made.exit, 0) << made.err;
  const Answer checked = program::run({"check", project});
  ASSERT_EQ(checked.exit, 0) << checked.err;
  const Answer designed = program::run({"design", project, "--json"});
  ASSERT_TRUE(designed.exit == 0 || designed.exit == 1) << designed.err;
  const auto j = nlohmann::json::parse(designed.out);
  EXPECT_EQ(program::schema_problems(j), "");
  if (crane) {
    ASSERT_EQ(designed.exit, 0) << designed.err;
    EXPECT_DOUBLE_EQ(j["assessment"]["stance"]["load_g"].get<double>(), 130);
  }
  if (designed.exit == 1) {
    EXPECT_FALSE(j["allocation"]["conflicts"].empty());
  }
  EXPECT_EQ(program::run({"new", "--like", GetParam(), project}).exit, 2) << "an existing project is kept";
}

INSTANTIATE_TEST_SUITE_P(All, Archetype, testing::ValuesIn(archetypes()));

// Boom, upper and winch speak of one load: it hangs from the boom, not from the ballast, and is counted once.
TEST(New, ListsArchetypesWithTheirDimensions) {
  const Answer a = program::run({"new", "--list"});
  EXPECT_EQ(a.exit, 0);
  for (const std::string& id : archetypes()) EXPECT_NE(a.out.find(id), std::string::npos);
}

// Every dimension that the list names is an option, at both of its ends.
TEST(New, TakesEveryDimensionItLists) {
  // "    --length  whole length, 200 to 700 mm; 320 when left out", wrapped at times, below its archetype's line.
  std::string list = program::run({"new", "--list"}).out;
  list = std::regex_replace(list, std::regex("\\n    (?!--)"), " ");
  std::istringstream lines(list);
  const std::regex head("([a-z_]+)  for kit system.*"), dimension("    (--[a-z_]+) .*, ([0-9.]+) to ([0-9.]+) .*");
  std::string archetype;
  int taken = 0;
  for (std::string line; std::getline(lines, line);) {
    std::smatch m;
    if (std::regex_match(line, m, head)) archetype = m[1];
    if (!std::regex_match(line, m, dimension)) continue;
    for (const std::string& value : {m[2].str(), m[3].str()}) {
      const Folder folder;
      const Answer made = program::run({"new", "--like", archetype, m[1], value, folder.path("x")});
      EXPECT_EQ(made.exit, 0) << archetype << " " << m[1] << " " << value << ": " << made.err;
      ++taken;
    }
  }
  EXPECT_GE(taken, 80);
}

TEST(New, RefusesWhatMakesNoSenseAndHelps) {
  const Folder folder;
  const Answer near = program::run({"new", "--like", "crawler_rg", folder.path("x")});
  EXPECT_EQ(near.exit, 2);
  EXPECT_NE(near.err.find("crawler_rig"), std::string::npos) << near.err;
  const Answer far = program::run({"new", "--like", "crawler_rig", "--length", "90000", folder.path("x")});
  EXPECT_EQ(far.exit, 2);
  EXPECT_NE(far.err.find("--length"), std::string::npos) << far.err;
  const Answer misspelt = program::run({"new", "--like", "crawler_rig", "--lenght", "300", folder.path("x")});
  EXPECT_EQ(misspelt.exit, 2);
  EXPECT_EQ(misspelt.err, "\"new\" has no option \"--lenght\"\n  try: --length\n");
  EXPECT_FALSE(std::filesystem::exists(folder.path("x")));
}
