// Covers rescale.h: what goes with the size and by which power, what stays, nested tables and variants.
#include "document/rescale.h"

#include <gtest/gtest.h>

#include "document/toml_reader.h"

namespace {

using document::FieldDoc;

FieldDoc field(std::string key, FieldDoc::Type type, std::string unit = {}) {
  FieldDoc f;
  f.key = std::move(key);
  f.type = type;
  f.unit = std::move(unit);
  return f;
}

}  // namespace

TEST(Rescale, LengthsMassesAndMomentsGoWithTheirPowers) {
  document::Diagnostics d;
  auto root = document::parse_toml(
      "reach_mm = 100\nload_g = { low = 8, nominal = 16, high = 24 }\nhold_nmm = 2\nangle_deg = 30\n"
      "[room]\nx = [-3, 5]\n[[parts]]\nkind = \"a\"\n[parts.wants]\nforce_n = 8\ncount = 3\n"
      "[[parts]]\nkind = \"b\"\n[parts.wants]\nforce_n = 8\n",
      "x.toml", d);
  ASSERT_TRUE(root);
  FieldDoc room = field("room", FieldDoc::Type::table), parts = field("parts", FieldDoc::Type::tables),
           wants = field("wants", FieldDoc::Type::any);
  room.children = {field("x", FieldDoc::Type::range, "p")};
  wants.variant_key = "kind";
  wants.variants = {
      {"a", "", {field("force_n", FieldDoc::Type::number, "N"), field("count", FieldDoc::Type::integer)}}};
  parts.children = {field("kind", FieldDoc::Type::text), wants};
  document::rescale(*root,
                    {field("reach_mm", FieldDoc::Type::number, "mm"), field("load_g", FieldDoc::Type::triple, "g"),
                     field("hold_nmm", FieldDoc::Type::number, "N mm"),
                     field("angle_deg", FieldDoc::Type::number, "deg"), room, parts},
                    0.5);
  EXPECT_EQ(root->find("reach_mm")->number(), 50);
  EXPECT_EQ(root->find("load_g")->find("low")->number(), 1);
  EXPECT_EQ(root->find("load_g")->find("high")->number(), 3);
  EXPECT_EQ(root->find("hold_nmm")->number(), 0.125);
  EXPECT_EQ(root->find("angle_deg")->number(), 30);
  // Half-pitches.
  EXPECT_EQ(root->find("room")->find("x")->items[0].number(), -1.5);
  EXPECT_EQ(root->find("room")->find("x")->items[1].number(), 2.5);
  const document::Node& first = root->find("parts")->items[0];
  EXPECT_EQ(first.find("wants")->find("force_n")->number(), 1);
  EXPECT_EQ(first.find("wants")->find("count")->number(), 3);
  // Whole numbers stay whole, and no less than they may be.
  auto bars = document::parse_toml("beam_p = 7\nends_p = 3\n", "y.toml", d);
  ASSERT_TRUE(bars);
  FieldDoc beam = field("beam_p", FieldDoc::Type::integer, "p"), ends = field("ends_p", FieldDoc::Type::integer, "p");
  ends.low = 2;
  document::rescale(*bars, {beam, ends}, 0.4);
  EXPECT_EQ(bars->find("beam_p")->kind, document::Node::Kind::integer);
  EXPECT_EQ(bars->find("beam_p")->integer, 3);
  EXPECT_EQ(bars->find("ends_p")->integer, 2);
  // A variant that nobody described is left alone.
  EXPECT_EQ(root->find("parts")->items[1].find("wants")->find("force_n")->number(), 8);
}
