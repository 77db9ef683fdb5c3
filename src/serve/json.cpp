#include "serve/json.h"

#include <fmt/format.h>

#include <cstdint>
#include <limits>
#include <nlohmann/json.hpp>

namespace serve {
namespace {

using document::Diagnostics;
using document::Node;
using Json = nlohmann::ordered_json;

bool too_deep(std::string_view text) {
  int open = 0;
  bool in_text = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (in_text) {
      if (c == '\\') ++i;
      if (c == '"') in_text = false;
    } else if (c == '"') {
      in_text = true;
    } else if (c == '[' || c == '{') {
      if (++open > kDeepestJson) return true;
    } else if (c == ']' || c == '}') {
      --open;
    }
  }
  return false;
}

Node node_of(const Json& json, std::string path, Diagnostics& d) {
  Node out;
  out.path = std::move(path);
  if (json.is_object()) {
    for (const auto& [key, value] : json.items())
      out.entries.push_back({key, {}, node_of(value, document::child_path(out.path, key), d)});
  } else if (json.is_array()) {
    out.kind = Node::Kind::array;
    out.items.reserve(json.size());
    for (std::size_t i = 0; i < json.size(); ++i)
      out.items.push_back(node_of(json[i], document::child_path(out.path, i), d));
  } else if (json.is_string()) {
    out.kind = Node::Kind::text;
    out.text = json.get<std::string>();
  } else if (json.is_boolean()) {
    out.kind = Node::Kind::boolean;
    out.boolean = json.get<bool>();
  } else if (json.is_number_unsigned() &&
             json.get<std::uint64_t>() > static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max())) {
    out.kind = Node::Kind::real;
    out.real = json.get<double>();
  } else if (json.is_number_integer()) {
    out.kind = Node::Kind::integer;
    out.integer = json.get<std::int64_t>();
  } else if (json.is_number()) {
    out.kind = Node::Kind::real;
    out.real = json.get<double>();
  } else {
    d.error("json.null", {}, out.path, "null stands for nothing here", "leave it out, or remove what shall go");
  }
  return out;
}

}  // namespace

std::optional<Node> parse_json(std::string_view text, Diagnostics& d) {
  if (too_deep(text)) {
    d.error("json.too_deep", {}, "", fmt::format("lists and objects are nested more than {} deep", kDeepestJson));
    return std::nullopt;
  }
  const Json json = Json::parse(text, nullptr, false);
  if (json.is_discarded()) {
    d.error("json.syntax", {}, "", "the body is not JSON", "send an object as JSON text");
    return std::nullopt;
  }
  Diagnostics own;
  Node out = node_of(json, "", own);
  d.add_all(own);
  if (own.has_errors()) return std::nullopt;
  return out;
}

bool is_json_object(std::string_view text) {
  return !too_deep(text) && Json::parse(text, nullptr, false).is_object();
}

std::string compact(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace serve
