// Covers handset scripts: both forms say the same, and every fault is told at its place.
#include "simulation/script.h"

#include <gtest/gtest.h>

#include <cmath>

using simulation::parse_script;
using simulation::Script;

namespace {

const std::vector<std::string> kNames{"travel", "travel left", "winch"};
const std::vector<std::string> kFunctions{"travel", "winch"};

std::vector<std::string> codes(const std::string& text, const std::string& file = "s.csv") {
  document::Diagnostics d;
  EXPECT_FALSE(parse_script(text, file, kNames, kFunctions, d).has_value());
  std::vector<std::string> out;
  for (const document::Diagnostic& p : d.sorted()) out.push_back(p.code);
  return out;
}

}  // namespace

TEST(Script, CsvAndTomlSayTheSame) {
  document::Diagnostics d;
  const auto csv = parse_script("time_s;winch;load winch\n0;1;0,5\n2,5;;\n4;-1;1\n", "s.csv", kNames, kFunctions, d);
  const auto toml = parse_script(
      "[[step]]\ntime_s = 0\ninputs = { winch = 1 }\nloads = { winch = 0.5 }\n[[step]]\ntime_s = 2.5\n"
      "[[step]]\ntime_s = 4\ninputs = { winch = -1 }\nloads = { winch = 1 }\n",
      "s.toml", kNames, kFunctions, d);
  ASSERT_TRUE(csv && toml);
  for (const Script* s : {&*csv, &*toml}) {
    ASSERT_EQ(s->steps.size(), 3u);
    EXPECT_EQ(s->inputs, std::vector<std::string>{"winch"});
    EXPECT_EQ(s->steps[0].load[0], 0.5);
    EXPECT_EQ(s->steps[1].time_s, 2.5);
    EXPECT_TRUE(std::isnan(s->steps[1].input[0]));
    EXPECT_EQ(s->steps[2].input[0], -1);
    EXPECT_EQ(s->end_s(), 4);
  }
}

TEST(Script, FaultsAreToldAtTheirPlace) {
  using V = std::vector<std::string>;
  EXPECT_EQ(codes("time_s,which\n0,1\n1,1\n"), V{"script.unknown_name"});
  EXPECT_EQ(codes("time_s,winch,winch\n0,1,0\n1,1,0\n"), V{"script.twice"});
  EXPECT_EQ(codes("winch\n1\n"), V{"script.no_time"});
  EXPECT_EQ(codes("time_s,winch\n0,1\n0,1\n"), V{"script.time_order"});
  EXPECT_EQ(codes("time_s,winch\n0,2\n1,1\n"), V{"script.out_of_range"});
  EXPECT_EQ(codes("time_s,winch\n0,fast\n1,1\n"), V{"script.not_a_number"});
  EXPECT_EQ(codes("time_s,winch\n0,1\n"), V{"script.one_row"});
  EXPECT_EQ(codes(""), V{"script.empty"});
  EXPECT_EQ(codes("[[step]]\ntime = 1\n[[step]]\ntime_s = 2\n", "s.toml"), (V{"script.no_time", "script.unknown_key"}));
  document::Diagnostics d;
  EXPECT_FALSE(parse_script("time_s,winch\n0,1\n1,1.5\n", "s.csv", kNames, kFunctions, d));
  EXPECT_EQ(d.sorted().front().where.line, 3);
  EXPECT_EQ(d.sorted().front().where.column, 3);
}
