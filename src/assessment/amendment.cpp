#include "assessment/amendment.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "document/node_edit.h"

namespace assessment {

using document::Node;

Node number_value(double value) {
  Node out;
  const double rounded = std::round(value * 1000) / 1000;
  if (rounded == std::round(rounded) && std::fabs(rounded) < 1e15) {
    out.kind = Node::Kind::integer;
    out.integer = static_cast<std::int64_t>(rounded);
  } else {
    out.kind = Node::Kind::real;
    out.real = rounded;
  }
  return out;
}

Node text_value(std::string_view text) {
  Node out;
  out.kind = Node::Kind::text;
  out.text = text;
  return out;
}

Node list_value(std::vector<Node> items) {
  Node out;
  out.kind = Node::Kind::array;
  out.items = std::move(items);
  return out;
}

Node numbers_value(const std::vector<double>& values) {
  std::vector<Node> items;
  for (const double v : values) items.push_back(number_value(v));
  return list_value(std::move(items));
}

Node table_value(std::vector<std::pair<std::string, Node>> entries) {
  Node out;
  for (auto& [key, value] : entries) out.entries.push_back({key, {}, std::move(value)});
  return out;
}

const char* name_of(Amendment::Op op) {
  return op == Amendment::Op::set ? "set" : op == Amendment::Op::add ? "add" : "remove";
}

std::string text_of(const Amendment& a) {
  std::string key = a.key;
  std::replace(key.begin(), key.end(), '/', '.');
  if (a.op == Amendment::Op::remove) return fmt::format("{}.{} goes", a.table, document::toml_key(a.id));
  if (a.op == Amendment::Op::add) return fmt::format("{} gets {}", a.table, document::toml_text(a.value));
  return fmt::format("{}{}.{} = {}", a.table, a.id.empty() ? "" : "." + document::toml_key(a.id), key,
                     document::toml_text(a.value));
}

}  // namespace assessment
