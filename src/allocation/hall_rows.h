// The parts question as linear rows: by Hall's theorem the needs can be served from the stock exactly when, for every
// union T of acceptable sets, the needs whose whole set lies inside T do not exceed the stock of T.
// Only unions of overlapping sets matter: the row of two disjoint unions is the sum of theirs.
// docs/theory/allocation.md.
#pragma once

#include <cstdint>
#include <vector>

#include "allocation/problem.h"

namespace allocation {

/// One row: sum of needs of `classes` <= cap.
struct HallRow {
  std::vector<int> types;    ///< merged part types of T, ascending
  std::vector<int> classes;  ///< classes whose set lies inside T, ascending
  std::int64_t cap = 0;      ///< stock of T minus reserves that must come from T; may be negative
};

struct HallSystem {
  std::vector<std::vector<int>> types;        ///< merged type -> part indices (equal class membership), ascending
  std::vector<std::int64_t> type_stock;       ///< per merged type
  std::vector<std::vector<int>> class_types;  ///< class -> merged types; empty for classes nobody needs
  std::vector<std::int64_t> reserved;         ///< class -> pieces kept back
  std::vector<HallRow> rows;
  bool complete = true;  ///< false: more unions exist than were listed; a max-flow must confirm an answer
};

/// Lists the rows over classes that some candidate or reserve needs; at most about `max_rows`, small components first.
[[nodiscard]] HallSystem make_hall_system(const Problem& problem, int max_rows);

/// The row of one union of merged types (ascending).
[[nodiscard]] HallRow make_hall_row(const HallSystem& system, std::vector<int> types);

}  // namespace allocation
