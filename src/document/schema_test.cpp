// Covers document/schema: what a table declares is what the schema says, down to the exact text of a small one.
#include "document/schema.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

using document::FieldDoc;
using document::FieldVariant;
using nlohmann::json;

namespace {

FieldDoc field(std::string key, FieldDoc::Type type) {
  FieldDoc f;
  f.key = std::move(key);
  f.type = type;
  return f;
}

json schema_of(const std::vector<FieldDoc>& fields) {
  return json::parse(document::json_schema("t", "d", fields));
}

}  // namespace

TEST(Schema, SaysKeysTypesRangesUnitsAndDefaults) {
  FieldDoc load = field("load_g", FieldDoc::Type::number);
  load.unit = "g";
  load.low = 0;
  load.high = 2.5;
  load.required = true;
  load.default_text = "1.5";
  load.doc = "what hangs on the hook";
  EXPECT_EQ(document::json_schema("t", "d", {load}), R"({
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "t",
  "description": "d",
  "type": "object",
  "properties": {
    "load_g": {
      "type": "number",
      "minimum": 0,
      "maximum": 2.5,
      "description": "what hangs on the hook",
      "x-unit": "g",
      "default": 1.5
    }
  },
  "required": [
    "load_g"
  ],
  "additionalProperties": false
}
)");
}

TEST(Schema, TriplesAreANumberOrThreeNamedOnes) {
  FieldDoc f = field("friction", FieldDoc::Type::triple);
  f.high = 2;
  const json s = schema_of({f})["properties"]["friction"];
  EXPECT_EQ(s["oneOf"][0], json::parse(R"({"type":"number","maximum":2})"));
  EXPECT_EQ(s["oneOf"][1]["required"], json::parse(R"(["low","nominal","high"])"));
  EXPECT_EQ(s["oneOf"][1]["additionalProperties"], false);
}

TEST(Schema, ListsSayTheirCountAndChoicesTheirNames) {
  FieldDoc choice = field("type", FieldDoc::Type::choice);
  choice.choices = {"a", "b"};
  const json p = schema_of({field("p", FieldDoc::Type::point3), choice, field("u", FieldDoc::Type::text_list),
                            field("h", FieldDoc::Type::texts_or_count)})["properties"];
  EXPECT_EQ(p["p"]["minItems"], 3);
  EXPECT_EQ(p["p"]["maxItems"], 3);
  EXPECT_EQ(p["type"]["enum"], json::parse(R"(["a","b"])"));
  EXPECT_EQ(p["u"]["oneOf"].size(), 2u);
  EXPECT_EQ(p["h"]["oneOf"].size(), 3u);
}

TEST(Schema, NestedTablesRefuseUnknownKeysToo) {
  FieldDoc inner = field("joint", FieldDoc::Type::table);
  inner.children = {field("low", FieldDoc::Type::number)};
  FieldDoc many = field("bodies", FieldDoc::Type::tables);
  many.children = {inner};
  const json s = schema_of({many});
  const json body = s["properties"]["bodies"]["items"];
  EXPECT_EQ(body["additionalProperties"], false);
  EXPECT_EQ(body["properties"]["joint"]["additionalProperties"], false);
  EXPECT_FALSE(s.contains("required"));
}

TEST(Schema, KeysThatDependOnASiblingBecomeConditions) {
  FieldDoc kind = field("kind", FieldDoc::Type::text);
  FieldDoc must = field("load_g", FieldDoc::Type::number);
  must.required = true;
  FieldDoc wants = field("wants", FieldDoc::Type::any);
  wants.variant_key = "kind";
  wants.variants = {{"luff", "raises a boom", {must}}, {"spin", "", {field("rpm", FieldDoc::Type::number)}}};
  const json s = schema_of({kind, wants});
  EXPECT_EQ(s["properties"]["wants"]["type"], "object");
  ASSERT_EQ(s["allOf"].size(), 2u);
  EXPECT_EQ(s["allOf"][0]["if"]["properties"]["kind"]["const"], "luff");
  EXPECT_EQ(s["allOf"][0]["if"]["required"], json::parse(R"(["kind"])"));
  EXPECT_EQ(s["allOf"][0]["then"]["required"], json::parse(R"(["wants"])"));
  EXPECT_EQ(s["allOf"][0]["then"]["properties"]["wants"]["required"], json::parse(R"(["load_g"])"));
  EXPECT_EQ(s["allOf"][1]["then"]["properties"]["wants"]["additionalProperties"], false);
  EXPECT_FALSE(s["allOf"][1]["then"].contains("required"));
}
