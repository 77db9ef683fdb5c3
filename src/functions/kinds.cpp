#include "functions/kinds.h"

#include <vector>

// One include and one line per kind, in alphabetical order.
#include "functions/crawler/crawler.h"
#include "functions/hoist/hoist.h"
#include "functions/luff/luff.h"
#include "functions/slew/slew.h"
#include "functions/spin/spin.h"
#include "functions/steer/steer.h"

namespace functions {

std::span<const candidate::Kind> kinds() {
  static const std::vector<candidate::Kind> kAll = {
      crawler::kind(), hoist::kind(), luff::kind(), slew::kind(), spin::kind(), steer::kind(),
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
