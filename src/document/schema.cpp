#include "document/schema.h"

#include <nlohmann/json.hpp>

namespace document {
namespace {

using Json = nlohmann::ordered_json;

constexpr double kNoLimit = 1e299;  // FieldDoc bounds beyond this mean "no bound"

/// 20000 rather than 20000.0: the bounds of the tables are mostly whole.
Json json_number(double v) {
  constexpr double kExact = 9e15;  // whole numbers up to here are exact in a double
  if (v >= -kExact && v <= kExact && v == static_cast<double>(static_cast<std::int64_t>(v))) {
    return static_cast<std::int64_t>(v);
  }
  return v;
}

Json number_schema(const FieldDoc& f, const char* type) {
  Json out = {{"type", type}};
  if (f.low > -kNoLimit) out["minimum"] = json_number(f.low);
  if (f.high < kNoLimit) out["maximum"] = json_number(f.high);
  return out;
}

Json list_schema(Json item, std::size_t least, std::size_t most) {
  return {{"type", "array"}, {"items", std::move(item)}, {"minItems", least}, {"maxItems", most}};
}

Json text_schema() {
  return {{"type", "string"}, {"maxLength", kLongestText}};
}

Json object_schema(const std::vector<FieldDoc>& fields);

Json any_table_schema() {
  return {{"type", "object"}};
}

Json type_schema(const FieldDoc& f) {
  switch (f.type) {
    case FieldDoc::Type::number:
      return number_schema(f, "number");
    case FieldDoc::Type::integer:
      return number_schema(f, "integer");
    case FieldDoc::Type::triple: {
      const Json number = number_schema(f, "number");
      const Json spread = {{"type", "object"},
                           {"properties", {{"low", number}, {"nominal", number}, {"high", number}}},
                           {"required", {"low", "nominal", "high"}},
                           {"additionalProperties", false}};
      return {{"oneOf", {number, spread}}};
    }
    case FieldDoc::Type::boolean:
      return {{"type", "boolean"}};
    case FieldDoc::Type::text:
      return text_schema();
    case FieldDoc::Type::choice:
      return {{"enum", f.choices}};
    case FieldDoc::Type::point2:
    case FieldDoc::Type::range:
      return list_schema(number_schema(f, "number"), 2, 2);
    case FieldDoc::Type::point3:
      return list_schema(number_schema(f, "number"), 3, 3);
    case FieldDoc::Type::point_list:
      return list_schema(list_schema(number_schema(f, "number"), 2, 3), 0, kMostItems);
    case FieldDoc::Type::text_list:
      return {{"oneOf", {text_schema(), list_schema(text_schema(), 0, kMostItems)}}};
    case FieldDoc::Type::texts_or_count:
      return {{"oneOf", {text_schema(), list_schema(text_schema(), 0, kMostItems), number_schema(f, "integer")}}};
    case FieldDoc::Type::table:
      return object_schema(f.children);
    case FieldDoc::Type::tables:
      return list_schema(object_schema(f.children), 0, kMostItems);
    case FieldDoc::Type::any:
      return f.variants.empty() ? Json::object() : any_table_schema();
  }
  return Json::object();
}

/// The default as JSON: what parses as JSON is taken so, anything else is a text.
Json default_json(const std::string& typed) {
  Json value = Json::parse(typed, nullptr, false);
  return value.is_discarded() ? Json(typed) : value;
}

Json field_schema(const FieldDoc& f) {
  Json out = type_schema(f);
  if (!f.doc.empty()) out["description"] = f.doc;
  if (!f.unit.empty()) out["x-unit"] = f.unit;
  if (!f.default_text.empty()) out["default"] = default_json(f.default_text);
  return out;
}

Json object_schema(const std::vector<FieldDoc>& fields) {
  Json properties = Json::object();
  Json required = Json::array();
  Json conditions = Json::array();
  for (const FieldDoc& f : fields) {
    properties[f.key] = field_schema(f);
    if (f.required) required.push_back(f.key);
    for (const FieldVariant& v : f.variants) {
      Json when = {{"properties", {{f.variant_key, {{"const", v.value}}}}}, {"required", Json::array({f.variant_key})}};
      Json inner = object_schema(v.children);
      if (!v.doc.empty()) inner["description"] = v.doc;
      Json then = {{"properties", {{f.key, std::move(inner)}}}};
      bool needs_table = false;
      for (const FieldDoc& c : v.children) needs_table = needs_table || c.required;
      if (needs_table) then["required"] = Json::array({f.key});
      conditions.push_back({{"if", std::move(when)}, {"then", std::move(then)}});
    }
  }
  Json out = {{"type", "object"}, {"properties", std::move(properties)}};
  if (!required.empty()) out["required"] = std::move(required);
  out["additionalProperties"] = false;
  if (!conditions.empty()) out["allOf"] = std::move(conditions);
  return out;
}

}  // namespace

std::string json_schema(const std::string& title, const std::string& description, const std::vector<FieldDoc>& fields) {
  Json out = {
      {"$schema", "https://json-schema.org/draft/2020-12/schema"}, {"title", title}, {"description", description}};
  const Json body = object_schema(fields);
  for (const auto& [key, value] : body.items()) out[key] = value;
  return out.dump(2) + "\n";
}

}  // namespace document
