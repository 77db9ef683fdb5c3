// What the readers of wants share: reporting a problem at the key it belongs to, and finding a body by its id.
#pragma once

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

/// Index of the body a key names; otherwise reports "<kind>.unknown_body" with the nearest id and returns -1.
[[nodiscard]] int find_body(const brief::Function& function, const brief::Brief& brief, std::string_view key,
                            const std::string& id, document::Diagnostics& diagnostics);

}  // namespace functions::drive
