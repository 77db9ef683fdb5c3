// Orders of whole functions: stacks, interlocked hooks and boxes in boxes, against a search through all orders.
#include "assembly/units.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <random>
#include <set>

namespace {

using assembly::Unit;
using assembly::UnitOrder;
using lattice::Point3;

Unit box(std::string name, Point3 low, Point3 high) {
  Unit u;
  u.name = std::move(name);
  for (int x = low.x_hp; x < high.x_hp; ++x) {
    for (int y = low.y_hp; y < high.y_hp; ++y) {
      for (int z = low.z_hp; z < high.z_hp; ++z) u.cells.push_back({x, y, z});
    }
  }
  return u;
}

/// Whether the units `moved` leave the others by single steps of a cell, far enough: another formulation than columns.
bool leaves(const std::vector<Unit>& units, const std::set<int>& moved, const std::set<int>& others, lattice::Way way) {
  std::set<Point3> stand;
  for (const int o : others) {
    for (const Point3& c : units[static_cast<std::size_t>(o)].cells) stand.insert(c);
  }
  for (int step = 0; step < 30; ++step) {
    for (const int m : moved) {
      for (Point3 c : units[static_cast<std::size_t>(m)].cells) {
        c.set(way.axis, c.at(way.axis) + way.sign * step);
        if (stand.contains(c)) return false;
      }
    }
  }
  return true;
}

/// Every unit alone, in any order that works: tried through all of them.
bool some_order(const std::vector<Unit>& units, std::set<int> left) {
  if (left.empty()) return true;
  for (const int i : left) {
    std::set<int> others = left;
    others.erase(i);
    for (const lattice::Way w : lattice::kWays) {
      if (leaves(units, {i}, others, w) && some_order(units, others)) return true;
    }
  }
  return false;
}

void replay(const std::vector<Unit>& units, const UnitOrder& order) {
  std::set<int> there;
  for (const assembly::UnitStep& s : order.steps) {
    const std::set<int> moved(s.units.begin(), s.units.end());
    EXPECT_TRUE(leaves(units, moved, there, {s.way.axis, -s.way.sign}));
    for (const int i : moved) EXPECT_TRUE(there.insert(i).second);
  }
  EXPECT_EQ(there.size(), units.size());
}

TEST(UnitOrder, WhatStandsInAPitGoesInBeforeItsLid) {
  // A trough open above, a block in it, a lid over both.
  Unit trough = box("trough", {0, 0, 0}, {6, 6, 1});
  for (const Unit& wall : {box("", {0, 0, 1}, {1, 6, 4}), box("", {5, 0, 1}, {6, 6, 4}), box("", {1, 0, 1}, {5, 1, 4}),
                           box("", {1, 5, 1}, {5, 6, 4})})
    trough.cells.insert(trough.cells.end(), wall.cells.begin(), wall.cells.end());
  std::sort(trough.cells.begin(), trough.cells.end());
  const std::vector<Unit> units{box("lid", {0, 0, 4}, {6, 6, 5}), box("block", {2, 2, 1}, {4, 4, 4}), trough};
  const UnitOrder order = assembly::order_of(units);
  replay(units, order);
  EXPECT_TRUE(order.locked.empty());
  const auto at = [&](int unit) {
    return std::find_if(order.steps.begin(), order.steps.end(), [&](const auto& s) { return s.units[0] == unit; }) -
           order.steps.begin();
  };
  EXPECT_LT(at(1), at(0));
  EXPECT_LT(at(2), at(0));
}

TEST(UnitOrder, AClosedBoxAndItsContentGoInTogether) {
  Unit shell = box("shell", {0, 0, 0}, {5, 5, 5});
  std::erase_if(shell.cells, [](const Point3& c) {
    return c.x_hp > 0 && c.x_hp < 4 && c.y_hp > 0 && c.y_hp < 4 && c.z_hp > 0 && c.z_hp < 4;
  });
  const std::vector<Unit> units{shell, box("content", {2, 2, 2}, {3, 3, 3}), box("beside", {8, 0, 0}, {9, 1, 1})};
  const UnitOrder order = assembly::order_of(units);
  replay(units, order);
  EXPECT_EQ(order.locked, (std::vector<int>{0, 1}));
}

TEST(UnitOrder, RandomHeapsAgreeWithASearchThroughAllOrders) {
  std::mt19937 random(5);
  const auto pick = [&](int low, int high) {
    return low + static_cast<int>(random() % static_cast<unsigned>(high - low + 1));
  };
  int locked = 0;
  for (int round = 0; round < 200; ++round) {
    // Cells of a small block given out at random: the fuller, the more of them are locked.
    std::vector<Unit> units{{"a", {}}, {"b", {}}, {"c", {}}, {"d", {}}};
    const int percent = pick(20, 80);
    for (int x = 0; x < 3; ++x) {
      for (int y = 0; y < 3; ++y) {
        for (int z = 0; z < 3; ++z) {
          if (pick(1, 100) <= percent) units[static_cast<std::size_t>(pick(0, 3))].cells.push_back({x, y, z});
        }
      }
    }
    std::erase_if(units, [](const Unit& u) { return u.cells.empty(); });
    const UnitOrder order = assembly::order_of(units);
    replay(units, order);
    std::set<int> all;
    for (int i = 0; i < static_cast<int>(units.size()); ++i) all.insert(i);
    EXPECT_EQ(order.locked.empty(), some_order(units, all)) << "round " << round;
    locked += order.locked.empty() ? 0 : 1;
  }
  EXPECT_GT(locked, 10);
  EXPECT_LT(locked, 190);
}

}  // namespace
