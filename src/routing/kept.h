// The best distinct layouts of a search. Inside of routing/.
#pragma once

#include <cstdint>
#include <limits>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "routing/layout.h"

namespace routing {

/// Keeps the cheapest layout of each distinct one: other ratios, other parts or another size of envelope.
class Kept {
 public:
  Kept(const Problem& problem, std::size_t most) : problem_(problem), most_(most) {}
  /// What a layout must cost less than to matter.
  [[nodiscard]] std::int64_t limit() const {
    return by_cost_.size() < most_ ? std::numeric_limits<std::int64_t>::max() : std::prev(by_cost_.end())->first.first;
  }
  void add(Layout&& layout);
  [[nodiscard]] std::vector<Layout> take();

 private:
  using CostAndKey = std::pair<std::int64_t, std::string>;
  const Problem& problem_;
  std::size_t most_;
  std::map<std::string, CostAndKey> marks_;
  std::map<CostAndKey, std::pair<std::string, Layout>> by_cost_;
};

}  // namespace routing
