// Covers document/fields: every reader with code and place of each message, nearest names, and several problems at
// once.
#include "document/fields.h"

#include <gtest/gtest.h>

#include <cmath>

#include "document/toml_reader.h"

using document::Diagnostics;
using document::FieldTable;

namespace {

enum class Colour { red, green };

struct Inner {
  double depth_mm = 7;
};

struct Sample {
  double load_g = 1;
  std::optional<double> time_s;
  int count = 2;
  base::Triple friction{0.1, 0.2, 0.3};
  bool hold = false;
  std::string name = "unset";
  std::vector<std::string> parts;
  std::array<double, 2> at_p{};
  std::array<double, 3> pivot_mm{};
  std::array<double, 2> angle_deg{};
  Colour colour = Colour::red;
  Inner inner;
  std::optional<Inner> maybe;
  std::vector<Inner> list;
  document::Node wants;
  document::LocatedText body;
  std::vector<document::LocatedText> uses;
  std::vector<std::array<double, 3>> points_mm;
  document::Location where;
  std::string path;
};

const FieldTable<Inner>& inner_fields() {
  static const FieldTable<Inner> table =
      FieldTable<Inner>("inner").number("depth_mm", &Inner::depth_mm, {.unit = "mm", .low = 0, .high = 50});
  return table;
}

const FieldTable<Sample>& fields() {
  static const FieldTable<Sample> table =
      FieldTable<Sample>("s")
          .number("load_g", &Sample::load_g, {.unit = "g", .low = 0, .high = 20000, .doc = "what hangs on the hook"})
          .number("time_s", &Sample::time_s, {.unit = "s", .low = 0})
          .integer("count", &Sample::count, {.low = 0, .high = 100})
          .triple("friction", &Sample::friction, {.low = 0, .high = 2})
          .boolean("hold", &Sample::hold, {})
          .text("name", &Sample::name, {})
          .texts("parts", &Sample::parts, {})
          .point2("at_p", &Sample::at_p, {})
          .point3("pivot_mm", &Sample::pivot_mm, {.unit = "mm", .low = -1000, .high = 1000})
          .range("angle_deg", &Sample::angle_deg, {.unit = "deg", .low = -90, .high = 120})
          .choice("colour", &Sample::colour, {{"red", Colour::red}, {"green", Colour::green}}, {})
          .table("inner", &Sample::inner, inner_fields(), {})
          .table("maybe", &Sample::maybe, inner_fields(), {})
          .tables("list", &Sample::list, inner_fields(), {})
          .opaque("wants", &Sample::wants, {})
          .text("body", &Sample::body, {})
          .texts("uses", &Sample::uses, {})
          .points("points_mm", &Sample::points_mm, {})
          .place(&Sample::where, &Sample::path);
  return table;
}

struct Reading {
  Sample sample;
  bool good = false;
  std::vector<document::Diagnostic> problems;
  /// "code @ line:column /path; ..." of all problems.
  std::string summary;
};

Reading read(std::string_view text) {
  Reading out;
  Diagnostics d;
  const auto root = document::parse_toml(text, "x.toml", d);
  if (root) out.good = fields().read(*root, out.sample, d);
  out.problems = d.sorted();
  for (const auto& p : out.problems) {
    out.summary += (out.summary.empty() ? "" : "; ") + p.code + " @ " + std::to_string(p.where.line) + ":" +
                   std::to_string(p.where.column) + " " + p.path;
  }
  return out;
}

}  // namespace

TEST(Fields, GoodValuesLandInTheirMembers) {
  const Reading r = read(R"(
load_g = 250
time_s = 3.5
count = 7
friction = { low = 0.1, nominal = 0.15, high = 0.25 }
hold = true
name = "boom"
parts = ["a", "b"]
at_p = [3, -4.5]
pivot_mm = [1, 2, 3]
angle_deg = [-10, 60]
colour = "green"
inner = { depth_mm = 9 }
maybe = {}
wants = { anything = [1, "x"] }
body = "upper"
uses = "gear_24"
points_mm = [[1, 2], [3, 4, 5]]
[[list]]
depth_mm = 1
[[list]]
)");
  EXPECT_EQ(r.summary, "");
  EXPECT_TRUE(r.good);
  const Sample& s = r.sample;
  EXPECT_EQ(s.load_g, 250);
  EXPECT_EQ(s.time_s, 3.5);
  EXPECT_EQ(s.count, 7);
  EXPECT_EQ(s.friction, (base::Triple{0.1, 0.15, 0.25}));
  EXPECT_TRUE(s.hold);
  EXPECT_EQ(s.name, "boom");
  EXPECT_EQ(s.parts, (std::vector<std::string>{"a", "b"}));
  EXPECT_EQ(s.at_p, (std::array<double, 2>{3, -4.5}));
  EXPECT_EQ(s.pivot_mm, (std::array<double, 3>{1, 2, 3}));
  EXPECT_EQ(s.angle_deg, (std::array<double, 2>{-10, 60}));
  EXPECT_EQ(s.colour, Colour::green);
  EXPECT_EQ(s.inner.depth_mm, 9);
  ASSERT_TRUE(s.maybe);
  EXPECT_EQ(s.maybe->depth_mm, 7);
  ASSERT_EQ(s.list.size(), 2u);
  EXPECT_EQ(s.list[0].depth_mm, 1);
  EXPECT_EQ(s.list[1].depth_mm, 7);
  EXPECT_EQ(s.wants.find("anything")->items.size(), 2u);
  EXPECT_EQ(s.body.where.line, 16);
  EXPECT_EQ(s.body.path, "/body");
  ASSERT_EQ(s.uses.size(), 1u);
  EXPECT_EQ(s.uses[0].text, "gear_24");
  EXPECT_EQ(s.points_mm[0], (std::array<double, 3>{1, 2, 0}));
  EXPECT_EQ(s.points_mm[1], (std::array<double, 3>{3, 4, 5}));
}

TEST(Fields, AbsentKeysKeepTheDefaultAndOptionalOnesStayEmpty) {
  const Reading r = read("name = \"x\"\n");
  EXPECT_TRUE(r.good);
  EXPECT_EQ(r.sample.load_g, 1);
  EXPECT_FALSE(r.sample.time_s);
  EXPECT_FALSE(r.sample.maybe);
}

TEST(Fields, WrongTypesAreLocatedAtTheValue) {
  EXPECT_EQ(read("load_g = \"250 g\"\n").summary, "s.wrong_type @ 1:10 /load_g");
  EXPECT_EQ(read("load_g = true\n").summary, "s.wrong_type @ 1:10 /load_g");
  EXPECT_EQ(read("load_g = 1979-05-27\n").summary, "s.wrong_type @ 1:10 /load_g");
  EXPECT_EQ(read("count = [1]\n").summary, "s.wrong_type @ 1:9 /count");
  EXPECT_EQ(read("friction = \"low\"\n").summary, "s.wrong_type @ 1:12 /friction");
  EXPECT_EQ(read("hold = 1\n").summary, "s.wrong_type @ 1:8 /hold");
  EXPECT_EQ(read("name = 3\n").summary, "s.wrong_type @ 1:8 /name");
  EXPECT_EQ(read("parts = { a = 1 }\n").summary, "s.wrong_type @ 1:9 /parts");
  EXPECT_EQ(read("parts = [\"a\", 2]\n").summary, "s.wrong_type @ 1:15 /parts/1");
  EXPECT_EQ(read("at_p = 3\n").summary, "s.wrong_type @ 1:8 /at_p");
  EXPECT_EQ(read("pivot_mm = [1, \"2\", 3]\n").summary, "s.wrong_type @ 1:16 /pivot_mm/1");
  EXPECT_EQ(read("colour = 1\n").summary, "s.wrong_type @ 1:10 /colour");
  EXPECT_EQ(read("inner = 4\n").summary, "inner.wrong_type @ 1:9 /inner");
  EXPECT_EQ(read("list = 4\n").summary, "s.wrong_type @ 1:8 /list");
  EXPECT_EQ(read("list = [4]\n").summary, "inner.wrong_type @ 1:9 /list/0");
  EXPECT_EQ(read("body = 4\n").summary, "s.wrong_type @ 1:8 /body");
  EXPECT_EQ(read("uses = [4]\n").summary, "s.wrong_type @ 1:9 /uses/0");
  EXPECT_EQ(read("points_mm = [1, 2]\n").summary, "s.wrong_type @ 1:14 /points_mm/0; s.wrong_type @ 1:17 /points_mm/1");
}

TEST(Fields, AWholeNumberWithAPointIsNotTakenButTheWayOutIsSaid) {
  const Reading r = read("count = 3.0\n");
  EXPECT_EQ(r.summary, "s.wrong_type @ 1:9 /count");
  EXPECT_EQ(r.problems[0].message, "count must be a whole number, found 3.0");
  EXPECT_EQ(r.problems[0].hint, "write 3, without a decimal point");
  EXPECT_EQ(read("count = 3.5\n").problems[0].message, "count must be a whole number, found 3.5");
  EXPECT_EQ(read("count = 1e300\n").summary, "s.wrong_type @ 1:9 /count");
}

TEST(Fields, NumbersInQuotesGetAHint) {
  EXPECT_EQ(read("load_g = \"2,5\"\n").problems[0].hint, "write the number without quotes, with a decimal point");
  EXPECT_EQ(read("load_g = \"250 g\"\n").problems[0].hint, "write a plain number in g");
}

TEST(Fields, NonFiniteNumbersAreRefusedEverywhere) {
  EXPECT_EQ(read("load_g = nan\n").summary, "s.not_finite @ 1:10 /load_g");
  EXPECT_EQ(read("time_s = inf\n").summary, "s.not_finite @ 1:10 /time_s");
  EXPECT_EQ(read("friction = -inf\n").summary, "s.not_finite @ 1:12 /friction");
  EXPECT_EQ(read("friction = { low = 0, nominal = nan, high = 1 }\n").summary, "s.not_finite @ 1:33 /friction/nominal");
  EXPECT_EQ(read("angle_deg = [nan, 1]\n").summary, "s.not_finite @ 1:14 /angle_deg/0");
  EXPECT_EQ(read("count = inf\n").summary, "s.wrong_type @ 1:9 /count");
}

TEST(Fields, RangesAreClosedAndSaidWithUnits) {
  EXPECT_TRUE(read("load_g = 0\n").good);
  EXPECT_TRUE(read("load_g = 20000\n").good);
  const Reading r = read("load_g = 20000.5\n");
  EXPECT_EQ(r.summary, "s.out_of_range @ 1:10 /load_g");
  EXPECT_EQ(r.problems[0].message, "load_g must be between 0 and 20000 g, found 20000.5 g");
  EXPECT_EQ(r.sample.load_g, 1);
  EXPECT_EQ(read("time_s = -1\n").problems[0].message, "time_s must be at least 0 s, found -1 s");
  EXPECT_EQ(read("time_s = 1e308\n").summary, "s.out_of_range @ 1:10 /time_s");
  EXPECT_EQ(read("at_p = [1e308, 0]\n").summary, "s.out_of_range @ 1:9 /at_p/0");
  EXPECT_EQ(read("count = 101\n").summary, "s.out_of_range @ 1:9 /count");
  EXPECT_EQ(read("count = 9223372036854775807\n").summary, "s.out_of_range @ 1:9 /count");
  EXPECT_EQ(read("friction = 2.1\n").summary, "s.out_of_range @ 1:12 /friction");
  EXPECT_EQ(read("pivot_mm = [0, 0, 1001]\n").summary, "s.out_of_range @ 1:19 /pivot_mm/2");
}

TEST(Fields, ListsNeedTheRightCountAndOrder) {
  EXPECT_EQ(read("at_p = [1]\n").summary, "s.wrong_count @ 1:8 /at_p");
  EXPECT_EQ(read("pivot_mm = []\n").summary, "s.wrong_count @ 1:12 /pivot_mm");
  const Reading r = read("angle_deg = [60, -10]\n");
  EXPECT_EQ(r.summary, "s.not_ordered @ 1:13 /angle_deg");
  EXPECT_EQ(r.problems[0].hint, "[-10, 60]");
  EXPECT_EQ(read("friction = { low = 0.3, nominal = 0.2, high = 0.4 }\n").summary, "s.not_ordered @ 1:12 /friction");
}

TEST(Fields, TriplesNeedAllThreeAndNothingElse) {
  EXPECT_EQ(read("friction = { low = 0.1, high = 0.2 }\n").summary, "s.missing_key @ 1:12 /friction/nominal");
  const Reading r = read("friction = { low = 0.1, nominel = 0.15, high = 0.2 }\n");
  EXPECT_EQ(r.summary, "s.missing_key @ 1:12 /friction/nominal; s.unknown_key @ 1:25 /friction/nominel");
  EXPECT_EQ(r.problems[1].hint, "nominal");
}

TEST(Fields, UnknownKeysAreErrorsWithTheNearestKnownOne) {
  const Reading r = read("laod_g = 3\n");
  EXPECT_EQ(r.summary, "s.unknown_key @ 1:1 /laod_g");
  EXPECT_EQ(r.problems[0].hint, "load_g");
  EXPECT_FALSE(r.good);
  EXPECT_EQ(read("[inner]\ndeepness = 3\n").problems[0].hint, "one of depth_mm");
}

TEST(Fields, WrongChoiceNamesTheNearest) {
  const Reading r = read("colour = \"grean\"\n");
  EXPECT_EQ(r.summary, "s.not_a_choice @ 1:10 /colour");
  EXPECT_EQ(r.problems[0].hint, "\"green\"");
  EXPECT_EQ(r.problems[0].message, "colour must be one of \"red\" or \"green\", found \"grean\"");
}

TEST(Fields, BracketsOfTablesAreExplained) {
  EXPECT_EQ(read("[[inner]]\n").problems[0].hint, "single brackets: this table may be there only once");
  EXPECT_EQ(read("[list]\n").problems[0].hint, "double brackets: [[list]]");
}

TEST(Fields, AllProblemsAreReportedAtOnce) {
  const Reading r = read("load_g = -1\ncount = \"x\"\nhold = 3\nfoo = 1\n[[list]]\ndepth_mm = 99\n[[list]]\nx = 1\n");
  EXPECT_EQ(r.summary,
            "s.out_of_range @ 1:10 /load_g; s.wrong_type @ 2:9 /count; s.wrong_type @ 3:8 /hold; "
            "s.unknown_key @ 4:1 /foo; inner.out_of_range @ 6:12 /list/0/depth_mm; inner.unknown_key @ 8:1 /list/1/x");
}

TEST(Fields, RequiredKeysAreMissedAtTheTable) {
  const FieldTable<Inner> table =
      FieldTable<Inner>("inner").number("depth_mm", &Inner::depth_mm, {.doc = "how deep"}).required();
  Diagnostics d;
  const auto root = document::parse_toml("[a]\n[b]\n", "x.toml", d);
  Inner inner;
  EXPECT_FALSE(table.read(*root->find("b"), inner, d));
  const auto p = d.sorted().at(0);
  EXPECT_EQ(p.code, "inner.missing_key");
  EXPECT_EQ(p.where.line, 2);
  EXPECT_EQ(p.path, "/b/depth_mm");
  EXPECT_EQ(p.hint, "add depth_mm (how deep)");
}

TEST(Fields, ThePlaceOfATableIsKept) {
  Diagnostics d;
  const auto root = document::parse_toml("x = 1\n[t]\n", "x.toml", d);
  Sample s;
  fields().read(*root->find("t"), s, d);
  EXPECT_EQ(s.where.line, 2);
  EXPECT_EQ(s.path, "/t");
}

TEST(Fields, HordesOfEntriesAreCountedNotListed) {
  std::string keys;
  for (int i = 0; i < 5000; ++i) keys += "zzzzzzzzzz" + std::to_string(i) + " = 1\n";
  const Reading many_keys = read(keys);
  ASSERT_EQ(many_keys.problems.size(), document::kMostUnknownKeys + 1);
  EXPECT_EQ(many_keys.problems.back().message, "and 4900 more unknown keys in this table, this one among them");
  std::string tables;
  for (int i = 0; i < 10001; ++i) tables += "[[list]]\n";
  EXPECT_EQ(read(tables).summary, "s.too_many @ 1:1 /list");
  EXPECT_EQ(read("name = \"" + std::string(10001, 'x') + "\"\n").summary, "s.too_long @ 1:8 /name");
}

TEST(Fields, CheckingByDocumentationAloneFindsWhatTheReaderFinds) {
  struct Inner {
    double angle_deg = 0;
  };
  struct Outer {
    double load_g = 0;
    int count = 1;
    bool hold = true;
    std::array<double, 2> range_deg{};
    std::vector<Inner> parts;
  };
  document::FieldTable<Inner> inner("wants");
  inner.number("angle_deg", &Inner::angle_deg, {.unit = "deg", .low = 0, .high = 90, .doc = "angle"}).required();
  document::FieldTable<Outer> table("wants");
  table.number("load_g", &Outer::load_g, {.unit = "g", .low = 0, .high = 100, .doc = "load"})
      .required()
      .integer("count", &Outer::count, {.low = 1, .high = 4, .doc = "count"})
      .boolean("hold", &Outer::hold, {.doc = "hold"})
      .range("range_deg", &Outer::range_deg, {.unit = "deg", .low = -90, .high = 90, .doc = "range"})
      .tables("parts", &Outer::parts, inner, {.doc = "parts"});
  for (const char* text :
       {"load_g = 5\n", "count = 2.5\nhold = \"yes\"\n", "load_g = 1e9\nrange_deg = [5, 1]\n",
        "load_g = nan\nparts = [{ angle_deg = 99 }, {}, { angel_deg = 3 }]\n", "load_g = 1\nlaod_g = 2\nparts = 3\n"}) {
    document::Diagnostics parsing, by_reader, by_docs;
    const auto node = document::parse_toml(text, "t.toml", parsing);
    ASSERT_TRUE(node.has_value()) << text;
    Outer out;
    (void)table.read(*node, out, by_reader);
    document::check_fields(*node, table.docs(), "wants", by_docs);
    std::vector<std::string> expected, got;
    for (const auto& d : by_reader.sorted()) expected.push_back(document::text_of(d));
    for (const auto& d : by_docs.sorted()) got.push_back(document::text_of(d));
    EXPECT_EQ(got, expected) << text;
  }
}
