// Rows of a boom laid from the stock: against a plain enumeration, and what every row must keep.
#include "functions/luff/beam_rows.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <map>

#include "base/triple.h"

namespace functions::luff {
namespace {

using structure::BoomBeam;

int holes(const BoomBeam& b) {
  return b.to_p - b.from_p + 1;
}

/// What any rows must keep, whatever the stock.
void expect_sound(const BeamRows& rows, int length_p, int thickness, int copies, const std::vector<BeamStock>& stock) {
  std::map<int, int> used;
  for (const BoomBeam& b : rows.beams) used[holes(b)] += copies;
  for (const auto& [length, count] : used) {
    const auto at = std::find_if(stock.begin(), stock.end(), [l = length](const BeamStock& s) { return s.holes == l; });
    ASSERT_NE(at, stock.end()) << length;
    EXPECT_LE(count, at->count);
  }
  for (int station = 0; station <= length_p; ++station) {
    int here = 0;
    for (const BoomBeam& b : rows.beams) here += b.from_p <= station && station <= b.to_p ? 1 : 0;
    EXPECT_GE(here, thickness) << station;
    // Nowhere does the boom hang on nothing: between two stations some beam passes through.
    if (station == length_p) continue;
    EXPECT_TRUE(std::any_of(rows.beams.begin(), rows.beams.end(), [&](const BoomBeam& b) {
      return b.from_p <= station && station + 1 <= b.to_p;
    })) << station;
  }
  for (std::size_t i = 0; i < rows.beams.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const BoomBeam &a = rows.beams[i], &b = rows.beams[j];
      EXPECT_FALSE(a.plane == b.plane && a.from_p <= b.to_p && b.from_p <= a.to_p) << "two beams in one place";
    }
    EXPECT_LT(rows.beams[i].plane, rows.planes);
  }
}

/// Fewest beams of a lapped row, and of these the fewest holes: every sequence up to four, nothing clever.
std::pair<int, int> fewest_lapped(int length_p, int copies, const std::vector<BeamStock>& stock) {
  std::pair<int, int> best{99, 0};
  const std::function<void(std::vector<int>)> look = [&](std::vector<int> row) {
    const int joints = static_cast<int>(row.size()) - 1;
    int sum = 0;
    std::map<int, int> used;
    for (const int h : row) sum += h, used[h] += copies;
    const int spare = sum - (length_p + 1);
    bool good = joints >= 0 && (joints == 0 ? spare == 0 : spare >= 3 * joints);
    for (const auto& [h, n] : used) {
      for (const BeamStock& s : stock) good &= s.holes != h || s.count >= n;
    }
    if (good) {
      // Laps as even as can be, the longer ones first.
      for (std::size_t i = 0; i < row.size(); ++i) {
        const auto lap = [&](int k) { return spare / joints + (k < spare % joints ? 1 : 0); };
        const int before = i > 0 ? lap(static_cast<int>(i) - 1) : 0;
        const int after = i + 1 < row.size() ? lap(static_cast<int>(i)) : 0;
        good &= before + after <= row[i] && before < row[i] && after < row[i];
      }
    }
    if (good) best = std::min(best, {static_cast<int>(row.size()), sum});
    if (row.size() == 4) return;
    for (const BeamStock& s : stock) {
      row.push_back(s.holes);
      look(row);
      row.pop_back();
    }
  };
  look({});
  return best;
}

TEST(BeamRows, OneBeamWhereItIsLongEnough) {
  const std::vector<BeamStock> stock{{15, 4}, {9, 4}, {7, 4}};
  const auto rows = lay_rows(14, 1, 2, stock);
  ASSERT_TRUE(rows);
  ASSERT_EQ(rows->beams.size(), 1U);
  EXPECT_EQ(holes(rows->beams[0]), 15);
  EXPECT_EQ(rows->planes, 1);
  EXPECT_TRUE(pins_of(*rows, 3, {}).empty());
}

TEST(BeamRows, LapsAreTheFewestAndShortestOfAll) {
  for (std::uint64_t k = 0; k < 60; ++k) {
    const auto draw = [&](std::uint64_t s) { return base::uniform_draw(5, s, k); };
    std::vector<BeamStock> stock;
    for (const int length : {4, 5, 7, 9, 11, 15}) stock.push_back({length, static_cast<int>(6 * draw(1 + length))});
    const int length_p = 4 + static_cast<int>(26 * draw(0)), copies = k % 2 == 0 ? 1 : 2;
    const auto [pieces, sum] = fewest_lapped(length_p, copies, stock);
    const auto rows = lay_rows(length_p, 1, copies, stock);
    ASSERT_EQ(rows.has_value(), pieces < 99) << length_p << " " << k;
    if (!rows) continue;
    EXPECT_EQ(static_cast<int>(rows->beams.size()), pieces);
    int all = 0;
    for (const BoomBeam& b : rows->beams) all += holes(b);
    EXPECT_EQ(all, sum);
    expect_sound(*rows, length_p, 1, copies, stock);
    for (std::size_t i = 0; i + 1 < rows->beams.size(); ++i)
      EXPECT_GE(rows->beams[i].to_p - rows->beams[i + 1].from_p + 1, kLeastLap);
  }
}

TEST(BeamRows, ThickRowsBreakTheirJoints) {
  // 25 holes from beams of 15, 13, 11 and 9: no one row can have its joint where its neighbour has.
  const std::vector<BeamStock> stock{{15, 20}, {13, 20}, {11, 20}, {9, 20}, {5, 20}};
  for (const int thickness : {2, 3, 4}) {
    for (const int length_p : {14, 19, 24, 29}) {
      const auto rows = lay_rows(length_p, thickness, 2, stock);
      ASSERT_TRUE(rows) << thickness << " " << length_p;
      expect_sound(*rows, length_p, thickness, 2, stock);
      EXPECT_EQ(rows->planes, thickness);
      for (const BoomBeam& a : rows->beams) {
        for (const BoomBeam& b : rows->beams) {
          const bool joint_a = a.to_p < length_p, joint_b = b.to_p < length_p;
          if (b.plane != a.plane + 1 || !joint_a || !joint_b) continue;
          EXPECT_GE(std::abs(a.to_p - b.to_p), 2);
        }
      }
      // Two pins carry across every joint.
      const auto pins = pins_of(*rows, 3, {});
      for (const BoomBeam& a : rows->beams) {
        if (a.to_p == length_p) continue;
        const auto across = [&](int from, int to) {
          return std::count_if(pins.begin(), pins.end(), [&](const structure::BoomPin& p) {
            return (p.plane == a.plane || p.plane + 1 == a.plane) && p.at_p >= from && p.at_p <= to;
          });
        };
        EXPECT_GE(across(a.from_p, a.to_p), 2);
      }
    }
  }
}

TEST(BeamRows, TooLittleStockIsAnAnswer) {
  EXPECT_FALSE(lay_rows(24, 1, 2, std::vector<BeamStock>{{15, 3}}));
  EXPECT_TRUE(lay_rows(24, 1, 2, std::vector<BeamStock>{{15, 4}}));
  EXPECT_FALSE(lay_rows(24, 2, 2, std::vector<BeamStock>{}));
  // 24 + 1 holes of 15 and 10 end to end, joints at 14 and 9.
  EXPECT_TRUE(lay_rows(24, 2, 1, std::vector<BeamStock>{{15, 2}, {10, 2}}));
  EXPECT_FALSE(lay_rows(24, 2, 1, std::vector<BeamStock>{{15, 2}, {10, 1}}));
}

TEST(BeamRows, PinsKeepOffTheAxles) {
  const auto rows = lay_rows(14, 2, 1, std::vector<BeamStock>{{15, 2}});
  ASSERT_TRUE(rows);
  const int taken[] = {0, 14, 6};
  std::vector<int> stations;
  for (const structure::BoomPin& p : pins_of(*rows, 3, taken)) stations.push_back(p.at_p);
  EXPECT_EQ(stations, (std::vector<int>{3, 9, 12}));
}

}  // namespace
}  // namespace functions::luff
