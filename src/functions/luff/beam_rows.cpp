#include "functions/luff/beam_rows.h"

#include <algorithm>
#include <functional>
#include <map>
#include <numeric>
#include <set>

#include "base/check.h"

namespace functions::luff {
namespace {

using structure::BoomBeam;
using Lengths = std::vector<int>;  ///< holes of the beams of one row, from the foot outwards

/// How many of each length are needed.
bool served(const std::vector<const Lengths*>& rows, int copies, std::span<const BeamStock> stock) {
  std::map<int, int> needed;
  for (const Lengths* row : rows) {
    for (const int holes : *row) needed[holes] += copies;
  }
  return std::all_of(needed.begin(), needed.end(), [&](const auto& need) {
    return std::any_of(stock.begin(), stock.end(),
                       [&](const BeamStock& s) { return s.holes == need.first && s.count >= need.second; });
  });
}

/// Every row of `pieces` beams whose lengths `accept` takes, longest beams first.
std::vector<Lengths> rows_of(int pieces, const std::vector<int>& lengths,
                             const std::function<bool(const Lengths&)>& accept) {
  std::vector<Lengths> out;
  Lengths row;
  const std::function<void()> extend = [&] {
    if (static_cast<int>(row.size()) == pieces) {
      if (accept(row)) out.push_back(row);
      return;
    }
    for (const int holes : lengths) {
      row.push_back(holes);
      extend();
      row.pop_back();
    }
  };
  extend();
  return out;
}

/// Laps of one row that has `spare` holes more than the boom: as even as can be, the longer ones nearer to the foot,
/// where the bending is greatest. Empty when a lap would be too short or a beam would meet the next but one.
std::optional<std::vector<int>> laps_of(const Lengths& row, int spare) {
  const int joints = static_cast<int>(row.size()) - 1;
  if (joints == 0) return spare == 0 ? std::optional(std::vector<int>{}) : std::nullopt;
  std::vector<int> laps(static_cast<std::size_t>(joints), spare / joints);
  for (int i = 0; i < spare % joints; ++i) ++laps[static_cast<std::size_t>(i)];
  for (std::size_t i = 0; i < row.size(); ++i) {
    const int before = i > 0 ? laps[i - 1] : 0, after = i + 1 < row.size() ? laps[i] : 0;
    if ((i > 0 && before < kLeastLap) || (i + 1 < row.size() && after < kLeastLap)) return std::nullopt;
    if (before + after > row[i] || (i > 0 && before >= row[i]) || (i + 1 < row.size() && after >= row[i]))
      return std::nullopt;
  }
  return laps;
}

std::optional<BeamRows> lapped(int holes, int copies, std::span<const BeamStock> stock,
                               const std::vector<int>& lengths) {
  for (int pieces = 1; pieces <= kMostInRow; ++pieces) {
    const auto sum = [](const Lengths& row) { return std::accumulate(row.begin(), row.end(), 0); };
    std::vector<Lengths> rows = rows_of(pieces, lengths, [&](const Lengths& row) {
      return laps_of(row, sum(row) - holes).has_value() && served({&row}, copies, stock);
    });
    if (rows.empty()) continue;
    const Lengths& best = *std::min_element(rows.begin(), rows.end(),
                                            [&](const Lengths& a, const Lengths& b) { return sum(a) < sum(b); });
    const std::vector<int> laps = *laps_of(best, sum(best) - holes);
    BeamRows out;
    int from = 0;
    for (std::size_t i = 0; i < best.size(); ++i) {
      out.beams.push_back({from, from + best[i] - 1, static_cast<int>(i % 2)});
      if (i < laps.size()) from += best[i] - laps[i];
    }
    out.planes = best.size() > 1 ? 2 : 1;
    return out;
  }
  return std::nullopt;
}

/// Last hole before each joint.
std::set<int> joints_of(const Lengths& row) {
  std::set<int> out;
  int at = -1;
  for (std::size_t i = 0; i + 1 < row.size(); ++i) out.insert(at += row[i]);
  return out;
}
/// A joint must have two pins on either side in the other plane's beam.
bool staggered(const Lengths& a, const Lengths& b) {
  for (const int i : joints_of(a)) {
    for (const int j : joints_of(b)) {
      if (std::abs(i - j) < 2) return false;
    }
  }
  return true;
}

std::optional<BeamRows> end_to_end(int holes, int thickness, int copies, std::span<const BeamStock> stock,
                                   const std::vector<int>& lengths) {
  std::vector<Lengths> known;  // fewest beams first
  for (int pieces = 1; pieces <= kMostInRow; ++pieces) {
    const auto more = rows_of(pieces, lengths, [&](const Lengths& row) {
      const bool stubs = row.size() > 1 && *std::min_element(row.begin(), row.end()) < 2;
      return !stubs && std::accumulate(row.begin(), row.end(), 0) == holes && served({&row}, copies, stock);
    });
    known.insert(known.end(), more.begin(), more.end());
  }
  std::vector<const Lengths*> chosen;
  int left = 0;
  const std::function<bool()> add = [&] {
    if (static_cast<int>(chosen.size()) == thickness) return left == 0;
    const int to_come = thickness - static_cast<int>(chosen.size()) - 1;
    for (const Lengths& row : known) {
      const int pieces = static_cast<int>(row.size());
      if (pieces > left - to_come) break;
      if (!chosen.empty() && !staggered(*chosen.back(), row)) continue;
      chosen.push_back(&row);
      left -= pieces;
      if (served(chosen, copies, stock) && add()) return true;
      left += pieces;
      chosen.pop_back();
    }
    return false;
  };
  for (int total = thickness; total <= kMostInRow * thickness; ++total) {
    left = total;
    if (!add()) continue;
    BeamRows out;
    out.planes = thickness;
    for (std::size_t plane = 0; plane < chosen.size(); ++plane) {
      int from = 0;
      for (const int length : *chosen[plane]) {
        out.beams.push_back({from, from + length - 1, static_cast<int>(plane)});
        from += length;
      }
    }
    return out;
  }
  return std::nullopt;
}

}  // namespace

std::optional<BeamRows> lay_rows(int length_p, int thickness, int copies, std::span<const BeamStock> stock) {
  KW_CHECK(length_p >= 1 && thickness >= 1 && copies >= 1, "a boom has a length and a thickness");
  const int holes = length_p + 1;
  std::vector<int> lengths;
  for (const BeamStock& s : stock) {
    if (s.count >= copies && s.holes >= 2 && s.holes <= holes) lengths.push_back(s.holes);
  }
  std::sort(lengths.begin(), lengths.end(), std::greater<>());
  lengths.erase(std::unique(lengths.begin(), lengths.end()), lengths.end());
  return thickness == 1 ? lapped(holes, copies, stock, lengths) : end_to_end(holes, thickness, copies, stock, lengths);
}

std::vector<structure::BoomPin> pins_of(const BeamRows& rows, int every_p, std::span<const int> taken) {
  std::set<std::pair<int, int>> at;  // plane, station
  for (const BoomBeam& a : rows.beams) {
    for (const BoomBeam& b : rows.beams) {
      if (b.plane != a.plane + 1) continue;
      const int first = std::max(a.from_p, b.from_p), last = std::min(a.to_p, b.to_p);
      for (int s = first; s <= last; ++s) {
        if (s != first && s != last && (s - first) % every_p != 0) continue;
        if (std::find(taken.begin(), taken.end(), s) == taken.end()) at.insert({a.plane, s});
      }
    }
  }
  std::vector<structure::BoomPin> out;
  for (const auto& [plane, station] : at) out.push_back({station, plane});
  return out;
}

}  // namespace functions::luff
