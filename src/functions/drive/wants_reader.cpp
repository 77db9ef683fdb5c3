#include "functions/drive/wants_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "base/text.h"
#include "brief/body_tree.h"

namespace functions::drive {

Place place_of(const brief::Function& function, std::string_view key) {
  if (const document::Node* node = function.wants.find(key)) return {node->where, node->path};
  return {function.wants.where.line > 0 ? function.wants.where : function.where, function.wants.path};
}

void WantsErrors::operator()(std::string_view code, std::string_view key, std::string text, std::string help) const {
  const Place place = place_of(function_, key);
  diagnostics_.error(fmt::format("{}.{}", function_.kind, code), place.where, place.path, std::move(text),
                     std::move(help));
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

std::optional<stock::ClassId> find_class(const brief::Function& function, const brief::Brief& brief,
                                         std::string_view key, const std::string& id, stock::Family family,
                                         document::Diagnostics& diagnostics) {
  if (id.empty()) return std::nullopt;
  const std::optional<stock::ClassId> found = brief.catalogue->find(id);
  if (found && brief.catalogue->at(*found).family == family) return found;
  std::vector<std::string> known;
  for (const stock::ClassId c : brief.catalogue->of(family)) known.push_back(brief.catalogue->at(c).id);
  const std::optional<std::string> near = base::nearest_name(id, known);
  const Place place = place_of(function, key);
  diagnostics.error(
      function.kind + ".unknown_part", place.where, place.path,
      fmt::format("{} is not a {} of kit system {}", document::quoted(id), stock::name_of(family), brief.system().id),
      near ? fmt::format("\"{}\"", *near)
           : (known.empty() ? "this kit system has none" : "one of: " + base::list_text(known, "or")));
  return std::nullopt;
}

Footprint footprint(const brief::Support& support) {
  Footprint f;
  if (support.points_mm.empty()) return f;
  f.low_x_mm = f.high_x_mm = support.points_mm.front().x_mm;
  f.low_y_mm = f.high_y_mm = support.points_mm.front().y_mm;
  for (const brief::Vec3& p : support.points_mm) {
    f.low_x_mm = std::min(f.low_x_mm, p.x_mm);
    f.high_x_mm = std::max(f.high_x_mm, p.x_mm);
    f.low_y_mm = std::min(f.low_y_mm, p.y_mm);
    f.high_y_mm = std::max(f.high_y_mm, p.y_mm);
  }
  return f;
}

}  // namespace functions::drive
