// What the readers of wants share: reporting a problem at the key it belongs to, and finding a body by its id.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "brief/brief.h"
#include "document/diagnostic.h"

namespace functions::drive {

/// Where a key's value stands; a key that was not written: the wants table, or the function when there is none.
struct Place {
  document::Location where;
  std::string path;
};
[[nodiscard]] Place place_of(const brief::Function& function, std::string_view key);

/// Reports errors "<kind>.<code>" at the key they belong to.
class WantsErrors {
 public:
  WantsErrors(const brief::Function& function, document::Diagnostics& diagnostics)
      : function_(function), diagnostics_(diagnostics) {}
  void operator()(std::string_view code, std::string_view key, std::string text, std::string help) const;

 private:
  const brief::Function& function_;
  document::Diagnostics& diagnostics_;
};

/// Index of the body a key names; otherwise reports "<kind>.unknown_body" with the nearest id and returns -1.
[[nodiscard]] int find_body(const brief::Function& function, const brief::Brief& brief, std::string_view key,
                            const std::string& id, document::Diagnostics& diagnostics);

/// A part class that a key names, of the family; reports "<kind>.unknown_part" with the nearest id otherwise. Empty for
/// an empty id too.
[[nodiscard]] std::optional<stock::ClassId> find_class(const brief::Function& function, const brief::Brief& brief,
                                                       std::string_view key, const std::string& id,
                                                       stock::Family family, document::Diagnostics& diagnostics);

/// Outermost contacts of the machine on the ground; zeros when it has none of its own.
struct Footprint {
  double low_x_mm = 0, high_x_mm = 0, low_y_mm = 0, high_y_mm = 0;
};
[[nodiscard]] Footprint footprint(const brief::Support& support);

}  // namespace functions::drive
