#include "functions/kinds.h"

#include <vector>

// One include and one line per kind, in alphabetical order.

namespace functions {

std::span<const candidate::Kind> kinds() {
  static const std::vector<candidate::Kind> kAll = {
      // e.g. luff::kind(),
  };
  return kAll;
}

const candidate::Kind* find_kind(std::string_view name) {
  for (const candidate::Kind& kind : kinds()) {
    if (kind.name == name) return &kind;
  }
  return nullptr;
}

}  // namespace functions
