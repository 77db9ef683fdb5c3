#include "document/rescale.h"

#include <algorithm>
#include <cmath>

namespace document {
namespace {

/// Every number in a value of one unit: itself, the items of a list, the members of a triple.
/// Whole numbers stay whole and in their range, and holes on the lattice of half-pitches.
void multiply(Node& node, double by, const FieldDoc& field) {
  if (node.is_number() && field.type == FieldDoc::Type::integer) {
    node.integer = static_cast<std::int64_t>(std::clamp(std::round(node.number() * by), field.low, field.high));
    node.kind = Node::Kind::integer;
  } else if (node.is_number()) {
    node.real = node.number() * by;
    if (field.unit == "p") node.real = std::round(2 * node.real) / 2;
    node.kind = Node::Kind::real;
  }
  for (Node& item : node.items) multiply(item, by, field);
  for (Entry& e : node.entries) multiply(e.value, by, field);
}

const std::vector<FieldDoc>* children_of(const FieldDoc& field, const Node& parent) {
  if (field.variant_key.empty()) return &field.children;
  const Node* which = parent.find(field.variant_key);
  if (which == nullptr || which->kind != Node::Kind::text) return nullptr;
  const auto at = std::find_if(field.variants.begin(), field.variants.end(),
                               [&](const FieldVariant& v) { return v.value == which->text; });
  return at == field.variants.end() ? nullptr : &at->children;
}

}  // namespace

int scale_power(std::string_view unit) {
  if (unit == "mm" || unit == "mm/s" || unit == "p") return 1;
  if (unit == "g" || unit == "N") return 3;
  if (unit == "N mm") return 4;
  return 0;
}

void rescale(Node& table, const std::vector<FieldDoc>& fields, double factor) {
  if (table.kind != Node::Kind::table) return;
  for (Entry& e : table.entries) {
    const auto field = std::find_if(fields.begin(), fields.end(), [&](const FieldDoc& f) { return f.key == e.key; });
    if (field == fields.end()) continue;
    if (field->type == FieldDoc::Type::table || field->type == FieldDoc::Type::tables || !field->variants.empty()) {
      const std::vector<FieldDoc>* inner = children_of(*field, table);
      if (inner == nullptr) continue;
      rescale(e.value, *inner, factor);
      for (Node& item : e.value.items) rescale(item, *inner, factor);
      continue;
    }
    const int power = scale_power(field->unit);
    if (power > 0) multiply(e.value, std::pow(factor, power), *field);
  }
}

}  // namespace document
