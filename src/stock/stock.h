// The stock: how many of which part the donor kit holds, matched to part classes.
#pragma once

#include <string>
#include <vector>

#include "stock/part.h"

namespace stock {

/// One part type: a class in one colour.
struct StockType {
  ClassId part{};
  std::string colour;  ///< the user's word, lower case; empty = not said
  int count = 0;
  int first_row = 0;  ///< row of the file it came from, for messages
};

struct Stock {
  std::string file;
  std::vector<StockType> types;  ///< sorted by class, then colour; each pair once

  /// Pieces of a class in all colours.
  [[nodiscard]] int count_of(ClassId part) const;
  [[nodiscard]] int pieces() const;
};

}  // namespace stock
