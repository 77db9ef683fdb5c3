#include "assembly/units.h"

#include <algorithm>
#include <map>

#include "assembly/blocking.h"

namespace assembly {
namespace {

using lattice::Axis;

/// Highest cell of each column along an axis, negated coordinates for the other sense.
using Columns = std::map<lattice::Cross, std::pair<int, int>>;  // lowest, highest cell

Columns columns_of(const Unit& unit, Axis axis) {
  Columns out;
  for (const lattice::Point3& c : unit.cells) {
    const int along = c.at(axis);
    const auto [it, fresh] = out.try_emplace(lattice::across(axis, c), along, along);
    if (!fresh) it->second = {std::min(it->second.first, along), std::max(it->second.second, along)};
  }
  return out;
}

/// Some cell of `standing` lies in a column of `moving` at or ahead of its rearmost cell there.
bool in_way(const Columns& moving, const Columns& standing, int sign) {
  for (const auto& [column, span] : moving) {
    const auto it = standing.find(column);
    if (it == standing.end()) continue;
    if (sign > 0 ? it->second.second >= span.first : it->second.first <= span.second) return true;
  }
  return false;
}

}  // namespace

UnitOrder order_of(const std::vector<Unit>& units) {
  const std::size_t n = units.size();
  std::array<std::vector<Columns>, 3> columns;
  for (const Axis a : lattice::kAxes) {
    for (const Unit& u : units) columns[static_cast<std::size_t>(lattice::index(a))].push_back(columns_of(u, a));
  }
  // Upwards first: what can be lifted off is put on from above.
  static constexpr std::array<lattice::Way, 6> kOut{
      {{Axis::z, 1}, {Axis::x, 1}, {Axis::x, -1}, {Axis::y, 1}, {Axis::y, -1}, {Axis::z, -1}}};
  std::array<std::vector<std::vector<int>>, 6> blockers;
  for (std::size_t w = 0; w < kOut.size(); ++w) {
    const auto& c = columns[static_cast<std::size_t>(lattice::index(kOut[w].axis))];
    blockers[w].resize(n);
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < n; ++j) {
        if (i != j && in_way(c[i], c[j], kOut[w].sign)) blockers[w][i].push_back(static_cast<int>(j));
      }
    }
  }
  std::vector<int> left(n);
  for (std::size_t i = 0; i < n; ++i) left[i] = static_cast<int>(i);
  UnitOrder out;
  while (!left.empty()) {
    std::vector<int> best;
    lattice::Way best_way;
    for (std::size_t w = 0; w < kOut.size(); ++w) {
      std::vector<std::vector<int>> arrows(left.size());
      for (std::size_t i = 0; i < left.size(); ++i) {
        for (const int j : blockers[w][static_cast<std::size_t>(left[i])]) {
          const auto it = std::lower_bound(left.begin(), left.end(), j);
          if (it != left.end() && *it == j) arrows[i].push_back(static_cast<int>(it - left.begin()));
        }
      }
      const auto groups = closed_groups(arrows);
      // Of equal ones the last goes first, so that building keeps the order given.
      for (auto g = groups.rbegin(); g != groups.rend(); ++g) {
        if (!best.empty() && g->size() >= best.size()) continue;
        best.clear();
        for (const int i : *g) best.push_back(left[static_cast<std::size_t>(i)]);
        best_way = {kOut[w].axis, -kOut[w].sign};
      }
    }
    if (best.size() > 1) out.locked.insert(out.locked.end(), best.begin(), best.end());
    out.steps.push_back({best, best_way});
    std::vector<int> rest;
    std::set_difference(left.begin(), left.end(), best.begin(), best.end(), std::back_inserter(rest));
    left = std::move(rest);
  }
  std::reverse(out.steps.begin(), out.steps.end());
  std::sort(out.locked.begin(), out.locked.end());
  return out;
}

}  // namespace assembly
