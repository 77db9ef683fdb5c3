// Covers archetypes: arithmetic, places and forms, defaults, refusals; and that every delivered archetype grows.
#include "project/archetype.h"

#include <gtest/gtest.h>

using namespace project;

namespace {

double value_of(std::string_view expression) {
  std::string problem;
  const auto value = evaluate(expression, {{"length", 320}, {"pitch", 8}}, problem);
  EXPECT_EQ(problem, "") << expression;
  return value.value_or(-1e9);
}

std::string problem_of(std::string_view expression) {
  std::string problem;
  EXPECT_FALSE(evaluate(expression, {{"length", 320}}, problem)) << expression;
  return problem;
}

Archetype small() {
  Archetype a;
  a.id = "small";
  a.title = "small rig";
  a.dimensions = {{"length", "length", "mm", 100, 500, "320"}, {"boom", "boom", "mm", 50, 400, "length * 2"}};
  a.figures = {{"half", "length / 2"}};
  a.project = "name = ${text : name}\nx = ${half + 1 : hp}\np = ${boom : p}\ng = ${boom : g}\nraw = ${length / 3}\n";
  return a;
}

}  // namespace

TEST(Expression, FollowsTheRulesOfArithmetic) {
  EXPECT_DOUBLE_EQ(value_of("1 + 2 * 3"), 7);
  EXPECT_DOUBLE_EQ(value_of("(1 + 2) * 3"), 9);
  EXPECT_DOUBLE_EQ(value_of("-length / 2"), -160);
  EXPECT_DOUBLE_EQ(value_of("8 - 4 - 2"), 2);
  EXPECT_DOUBLE_EQ(value_of("max(10 * pitch, length * 0.28)"), 89.6);
  EXPECT_DOUBLE_EQ(value_of("min(1.5, 0.25)"), 0.25);
}

TEST(Expression, SaysWhatIsWrong) {
  EXPECT_NE(problem_of("lenght * 2").find("did you mean \"length\""), std::string::npos);
  EXPECT_NE(problem_of("1 / 0").find("finite"), std::string::npos);
  EXPECT_NE(problem_of("(1 + 2").find(")"), std::string::npos);
  EXPECT_NE(problem_of("").find("expected"), std::string::npos);
  EXPECT_NE(problem_of("1 2").find("not expected"), std::string::npos);
  EXPECT_NE(problem_of(std::string(1000, '-') + "1").find("deep"), std::string::npos);
}

TEST(Archetype, PlacesAreFilledInTheirForms) {
  document::Diagnostics d;
  Wishes w;
  w.words["name"] = "\"A\"";
  w.dimensions["length"] = 310;
  const auto text = grow(small(), w, d);
  ASSERT_TRUE(text) << (d.sorted().empty() ? "" : document::text_of(d.sorted()[0]));
  // boom: 2 * 310 = 620, held at its most, 400.
  EXPECT_EQ(*text, "name = \"A\"\nx = 156\np = 50\ng = 400\nraw = 103.3\n");
}

TEST(Archetype, RefusesWhatMakesNoSense) {
  document::Diagnostics d;
  Wishes w;
  w.words["name"] = "\"A\"";
  w.dimensions = {{"length", 5000}, {"span", 3}};
  EXPECT_FALSE(grow(small(), w, d));
  ASSERT_EQ(d.sorted().size(), 2u);
  EXPECT_EQ(d.sorted()[0].code, "new.out_of_range");
  EXPECT_EQ(d.sorted()[1].code, "new.unknown_dimension");
}

TEST(Archetype, EveryDeliveredOneGrowsAtItsBounds) {
  document::Diagnostics d;
  const auto all = read_archetypes(std::string(KW_SOURCE_DIR) + "/catalogue/archetypes", d);
  EXPECT_FALSE(d.has_errors());
  EXPECT_GE(all.size(), 6u);
  for (const Archetype& a : all) {
    for (const bool high : {false, true}) {
      Wishes w;
      w.words = {{"name", "\"x\""}, {"system", "metric8"}, {"stock", "stock.csv"}, {"archetype", a.id}};
      for (const Dimension& dim : a.dimensions) w.dimensions[dim.name] = high ? dim.high : dim.low;
      document::Diagnostics own;
      EXPECT_TRUE(grow(a, w, own)) << a.id << (own.sorted().empty() ? "" : document::text_of(own.sorted()[0]));
    }
  }
}
