#include "motor/cells.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "base/check.h"

namespace motor {
namespace {

using stock::Chemistry;

struct Spot {
  double x, y;
};

/// Straight between the spots, flat beyond them.
double between(std::span<const Spot> table, double x) {
  if (x <= table.front().x) return table.front().y;
  for (std::size_t i = 1; i < table.size(); ++i) {
    if (x > table[i].x) continue;
    const Spot a = table[i - 1], b = table[i];
    return a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x);
  }
  return table.back().y;
}

struct Shape {
  std::span<const Spot> voltage;     ///< share of the fresh voltage over depth
  std::span<const Spot> resistance;  ///< times the fresh resistance over depth
  double cell_v = 0;                 ///< fresh
  double exponent = 1;               ///< Peukert
  double spread = 0;
};

// Typical shapes, from memory of makers' sheets. Ends: alkaline 0.8 V, NiMH 1.0 V, Li-ion 3.0 V a cell.
constexpr std::array<Spot, 8> kAlkalineVoltage{
    {{0, 1}, {0.1, 0.93}, {0.3, 0.87}, {0.5, 0.83}, {0.7, 0.78}, {0.85, 0.73}, {0.95, 0.63}, {1, 0.53}}};
constexpr std::array<Spot, 4> kAlkalineResistance{{{0, 1}, {0.5, 1.3}, {0.8, 1.8}, {1, 2.6}}};
constexpr std::array<Spot, 8> kNimhVoltage{
    {{0, 1}, {0.05, 0.963}, {0.2, 0.94}, {0.5, 0.926}, {0.8, 0.9}, {0.9, 0.87}, {0.97, 0.8}, {1, 0.74}}};
constexpr std::array<Spot, 3> kNimhResistance{{{0, 1}, {0.8, 1.1}, {1, 1.5}}};
constexpr std::array<Spot, 7> kLiIonVoltage{
    {{0, 1}, {0.1, 0.967}, {0.3, 0.926}, {0.5, 0.888}, {0.7, 0.864}, {0.9, 0.826}, {1, 0.714}}};
constexpr std::array<Spot, 3> kLiIonResistance{{{0, 1}, {0.8, 1.15}, {1, 1.6}}};
// Exponents of NiMH and Li-ion: near 1, from memory. Spread: alkaline as in the tests named in the header; the others
// from the ratio of minimum to typical capacity on Panasonic's HHR70AAAJ sheet, 2005.
const Shape& shape_of(Chemistry c) {
  static const Shape alkaline{kAlkalineVoltage, kAlkalineResistance, 1.5, 1, 0.15};
  static const Shape nimh{kNimhVoltage, kNimhResistance, 1.35, 1.05, 0.03};
  static const Shape li_ion{kLiIonVoltage, kLiIonResistance, 4.2, 1.03, 0.03};
  return c == Chemistry::alkaline ? alkaline : c == Chemistry::nimh ? nimh : li_ion;
}

// PowerStream, AA battery discharge tests, 2020, steady drain: A, Ah. The end of discharge there is 0.1 V, so they are
// upper bounds; only their proportions are used.
constexpr std::array<Spot, 4> kAlkalineCharge{{{0.1, 2.20}, {0.5, 1.30}, {1, 0.83}, {2, 0.54}}};
constexpr double kAlkalineReference_a = 0.5, kAlkalineReference_ah = 1.30;
constexpr double kRatedHours = 5;         // 0.2 C
constexpr double kLeastRatedShare = 0.1;  // Peukert's law would promise endless charge at no drain

double alkaline_share(double drain_a) {
  std::array<Spot, 4> logs{};
  for (std::size_t i = 0; i < logs.size(); ++i)
    logs[i] = {std::log(kAlkalineCharge[i].x), std::log(kAlkalineCharge[i].y)};
  const double x = std::log(std::max(drain_a, kAlkalineCharge.front().x));
  if (x <= logs.back().x) return std::exp(between(logs, x)) / kAlkalineReference_ah;
  const Spot a = logs[2], b = logs[3];  // on along the last piece
  return std::exp(b.y + (b.y - a.y) * (x - b.x) / (b.x - a.x)) / kAlkalineReference_ah;
}

}  // namespace

int cells_for(Chemistry chemistry, double voltage_v) {
  return std::max(1, static_cast<int>(std::lround(voltage_v / shape_of(chemistry).cell_v)));
}

double reference_drain_a(const Cells& cells) {
  return cells.chemistry == Chemistry::alkaline ? kAlkalineReference_a : cells.capacity_ah / kRatedHours;
}

double capacity_ah(const Cells& cells, double drain_a) {
  KW_CHECK(cells.capacity_ah > 0, "cells hold a charge");
  if (cells.chemistry == Chemistry::alkaline) return cells.capacity_ah * alkaline_share(drain_a);
  const double used_a = std::max(drain_a, kLeastRatedShare * reference_drain_a(cells));
  return used_a * peukert_hours(cells.capacity_ah, kRatedHours, shape_of(cells.chemistry).exponent, used_a);
}

double depth_per_s(const Cells& cells, double drain_a) {
  return drain_a > 0 ? drain_a / (3600 * capacity_ah(cells, drain_a)) : 0;
}

double open_voltage_v(const Cells& cells, double depth) {
  return cells.fresh_voltage_v * between(shape_of(cells.chemistry).voltage, depth);
}

double resistance_ohm(const Cells& cells, double depth) {
  return cells.resistance_ohm * between(shape_of(cells.chemistry).resistance, depth);
}

Supply supply_at(const Cells& cells, double depth) {
  Supply out;
  out.open_voltage_v = open_voltage_v(cells, depth);
  out.resistance_ohm = resistance_ohm(cells, depth);
  return out;
}

double cell_spread(Chemistry chemistry) {
  return shape_of(chemistry).spread;
}

double peukert_hours(double capacity_at_one_ampere, double exponent, double drain_a) {
  return capacity_at_one_ampere / std::pow(drain_a, exponent);
}

double peukert_hours(double capacity_ah, double rated_hours, double exponent, double drain_a) {
  return rated_hours * std::pow(capacity_ah / (drain_a * rated_hours), exponent);
}

double peukert_exponent(double drain1_a, double hours1, double drain2_a, double hours2) {
  return (std::log(hours2) - std::log(hours1)) / (std::log(drain1_a) - std::log(drain2_a));
}

}  // namespace motor
