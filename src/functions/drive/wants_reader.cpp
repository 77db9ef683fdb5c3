#include "functions/drive/wants_reader.h"

#include <fmt/format.h>

#include <vector>

#include "base/text.h"
#include "brief/body_tree.h"

namespace functions::drive {

Place place_of(const brief::Function& function, std::string_view key) {
  if (const document::Node* node = function.wants.find(key)) return {node->where, node->path};
  return {function.wants.where.line > 0 ? function.wants.where : function.where, function.wants.path};
}

int find_body(const brief::Function& function, const brief::Brief& brief, std::string_view key, const std::string& id,
              document::Diagnostics& diagnostics) {
  const int found = brief::body_index(brief, id);
  if (found >= 0) return found;
  std::vector<std::string> ids;
  for (const brief::Body& b : brief.bodies) ids.push_back(b.id);
  const auto near = base::nearest_name(id, ids);
  const Place place = place_of(function, key);
  diagnostics.error(function.kind + ".unknown_body", place.where, place.path,
                    fmt::format("{} is not a body of this project.", document::quoted(id)),
                    near ? fmt::format("\"{}\"", *near) : fmt::format("one of: {}", base::list_text(ids, "or")));
  return -1;
}

}  // namespace functions::drive
