// In how many ways the drivers and the driven gears of a train can be paired off: tables for up to four stages, made
// when the program is compiled.
#pragma once

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>

namespace gearing {

/// All orders of up to four things; the first 1, 2, 6, 24 rows permute the first 1, 2, 3, 4 of them.
inline constexpr auto kOrders = [] {
  std::array<std::array<std::uint8_t, 4>, 24> rows{};
  std::size_t next = 0;
  for (std::uint8_t moved = 0; moved < 4; ++moved) {
    // Rows that fix everything after `moved` and do not fix `moved` itself.
    for (std::uint8_t a = 0; a < 4; ++a) {
      for (std::uint8_t b = 0; b < 4; ++b) {
        for (std::uint8_t c = 0; c < 4; ++c) {
          const std::array<std::uint8_t, 4> row{a, b, c, static_cast<std::uint8_t>(6 - a - b - c)};
          if (a == b || b == c || a == c) continue;
          bool fixes_rest = true;
          for (std::uint8_t i = static_cast<std::uint8_t>(moved + 1); i < 4; ++i)
            fixes_rest = fixes_rest && row[i] == i;
          const bool first = next == 0 && moved == 0;
          if (fixes_rest && (first || (moved > 0 && row[moved] != moved))) rows[next++] = row;
        }
      }
    }
  }
  return rows;
}();
inline constexpr std::array<std::size_t, 5> kOrdersOf{1, 1, 2, 6, 24};
static_assert(kOrders[1] == std::array<std::uint8_t, 4>{1, 0, 2, 3} && kOrders[5][3] == 3 && kOrders[23][3] != 3);

/// Equal neighbours in an ascending list of four: bit i when entries i and i + 1 are the same.
using Repeats = unsigned;
inline constexpr std::size_t kRepeatPatterns = 8;

/// Orders that pair off differently when drivers and driven gears repeat as told: bit k for kOrders[k], the first of
/// each lot of orders that only swap equals. Three in four pairs of sets repeat something, so most need a few orders.
inline constexpr auto kDistinctOrders = [] {
  const auto kind = [](Repeats repeats, std::size_t i) {
    std::size_t k = 0;
    for (std::size_t j = 0; j < i; ++j) k += repeats >> j & 1u ? 0u : 1u;
    return k;
  };
  std::array<std::array<std::uint32_t, kRepeatPatterns>, kRepeatPatterns> distinct{};
  for (Repeats drivers = 0; drivers < kRepeatPatterns; ++drivers) {
    for (Repeats driven = 0; driven < kRepeatPatterns; ++driven) {
      std::array<std::uint64_t, kOrders.size()> met{};  // how often each kind of pair meets, four bits each
      for (std::size_t k = 0; k < kOrders.size(); ++k) {
        bool first = true;
        for (std::size_t i = 0; i < 4; ++i)
          met[k] += std::uint64_t{1} << (4 * (4 * kind(drivers, i) + kind(driven, kOrders[k][i])));
        for (std::size_t earlier = 0; earlier < k; ++earlier) first = first && met[earlier] != met[k];
        if (first) distinct[drivers][driven] |= 1u << k;
      }
    }
  }
  return distinct;
}();
/// The same as lists.
struct OrderList {
  std::array<std::uint8_t, kOrders.size()> k{};
  std::size_t count = 0;
};
inline constexpr auto kOrderLists = [] {
  std::array<std::array<std::array<OrderList, kRepeatPatterns>, kRepeatPatterns>, kOrdersOf.size()> lists{};
  for (std::size_t stages = 1; stages < kOrdersOf.size(); ++stages) {
    for (Repeats drivers = 0; drivers < kRepeatPatterns; ++drivers) {
      for (Repeats driven = 0; driven < kRepeatPatterns; ++driven) {
        OrderList& list = lists[stages][drivers][driven];
        for (std::size_t k = 0; k < kOrdersOf[stages]; ++k) {
          if ((kDistinctOrders[drivers][driven] >> k & 1u) == 0) continue;
          list.k[list.count++] = static_cast<std::uint8_t>(k);
        }
      }
    }
  }
  return lists;
}();
static_assert(kDistinctOrders[0][0] == 0xffffff && kDistinctOrders[7][0] == 1 && kDistinctOrders[0][7] == 1);
static_assert(std::popcount(kDistinctOrders[1][0]) == 12 && std::popcount(kDistinctOrders[1][1]) == 7);

}  // namespace gearing
