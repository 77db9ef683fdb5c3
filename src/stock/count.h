// Counts as people and spreadsheets write them: "12", "12,0", "1.200", "1 200", "12 pcs".
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace stock {

/// More of one part than any kit holds: a slip.
inline constexpr int kMostPieces = 20'000;

/// How a column of numbers uses "." and ",".
struct NumberStyle {
  char decimal = 0;    ///< '.' or ',' when a cell shows decimals; 0 = none seen
  char thousands = 0;  ///< '.', ',' or '\'' when a cell shows groups of three
};

/// Looks at all cells of the column. A lone separator before exactly three digits ("1.200") groups thousands, unless
/// another cell shows that it is the decimal one ("12.0") or every number of the column (two at least) ends in it and
/// three zeros ("12.000"), which is how lists with fixed decimals look.
[[nodiscard]] NumberStyle style_of(const std::vector<std::string>& cells);

struct Count {
  enum class State { good, blank, not_a_number, negative, fractional, absurd };
  State state = State::blank;
  int value = 0;         ///< good only
  bool grouped = false;  ///< the value was read with a thousands separator that could have been a decimal one
};

[[nodiscard]] Count parse_count(std::string_view cell, const NumberStyle& style);

}  // namespace stock
