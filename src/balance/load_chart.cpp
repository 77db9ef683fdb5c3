#include "balance/load_chart.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/parallel.h"

namespace balance {

std::size_t LoadChart::governed_by(Limit limit) const {
  return static_cast<std::size_t>(
      std::count_if(cells.begin(), cells.end(), [&](const LiftCell& c) { return c.reached && c.governs == limit; }));
}

double LoadChart::rated_all_round_n(std::size_t state, std::size_t posture, std::size_t radius) const {
  double least = at(state, posture, 0, radius).rated_n;
  for (std::size_t s = 0; s < axes.slew_rad.size(); ++s) least = std::min(least, at(state, posture, s, radius).rated_n);
  return least;
}

LoadChart load_chart(const LiftingMachine& machine, const ChartAxes& axes, const LiftOptions& options, int jobs) {
  KW_CHECK(!axes.radius_mm.empty() && !axes.slew_rad.empty(), "a chart has radii and slew angles");
  LoadChart out;
  out.axes = axes;
  out.states = machine.states.size();
  out.postures = machine.postures.size();
  const std::size_t radii = axes.radius_mm.size(), slews = axes.slew_rad.size();
  out.cells.resize(out.states * out.postures * slews * radii);

  const Lifter common(machine, options);
  std::vector<Lifter::Reach> reach;
  {
    Lifter lifter = common;
    for (std::size_t p = 0; p < out.postures; ++p) {
      for (const double radius_mm : axes.radius_mm) reach.push_back(lifter.reach(static_cast<int>(p), radius_mm));
    }
  }
  // A piece of work is a few rows, enough to pay for a lifter of its own; what a lifter did before leaves no trace.
  constexpr std::size_t kRows = 8;
  const std::size_t rows = out.states * out.postures * slews;
  base::parallel_for((rows + kRows - 1) / kRows, jobs, [&](std::size_t piece) {
    Lifter lifter = common;
    for (std::size_t row = piece * kRows; row < std::min(rows, (piece + 1) * kRows); ++row) {
      const std::size_t slew = row % slews, posture = row / slews % out.postures, state = row / slews / out.postures;
      for (std::size_t r = 0; r < radii; ++r) {
        out.cells[row * radii + r] = lifter.cell(static_cast<int>(state), static_cast<int>(posture),
                                                 axes.slew_rad[slew], axes.radius_mm[r], reach[posture * radii + r]);
      }
    }
  });
  return out;
}

ChartAxes even_axes(const LiftingMachine& machine, int radii, int slews, double slew_from_rad, double slew_to_rad) {
  KW_CHECK(radii >= 2 && slews >= 1, "a chart has at least two radii and one slew angle");
  Lifter lifter(machine, {});
  ChartAxes out;
  double least = 0, most = 0;
  for (std::size_t p = 0; p < machine.postures.size(); ++p) {
    const auto [low, high] = lifter.radius_range_mm(static_cast<int>(p));
    least = p == 0 ? low : std::min(least, low);
    most = std::max(most, high);
  }
  for (int i = 0; i < radii; ++i)
    out.radius_mm.push_back(i == radii - 1 ? most : least + (most - least) * i / (radii - 1));
  const bool whole = slew_to_rad - slew_from_rad >= 2 * std::numbers::pi - 1e-9;
  const int steps = std::max(1, whole ? slews : slews - 1);
  for (int i = 0; i < slews; ++i) out.slew_rad.push_back(slew_from_rad + (slew_to_rad - slew_from_rad) * i / steps);
  return out;
}

Between between(const LoadChart& chart, std::size_t state, std::size_t posture, double slew_rad, double radius_mm) {
  constexpr double kTurn = 2 * std::numbers::pi, kOn = 1e-9;
  const std::vector<double>& radii = chart.axes.radius_mm;
  const std::vector<double>& slews = chart.axes.slew_rad;
  // Neighbours at or around a value; empty outside.
  const auto around = [](const std::vector<double>& axis, double x) {
    std::vector<std::size_t> out;
    for (std::size_t i = 0; i < axis.size(); ++i) {
      if (std::fabs(axis[i] - x) <= kOn * std::max(1.0, std::fabs(x))) return std::vector<std::size_t>{i};
      if (i + 1 < axis.size() && axis[i] < x && x < axis[i + 1]) out = {i, i + 1};
    }
    return out;
  };
  const double from_first = slew_rad - slews.front();
  const double slew = slews.front() + from_first - kTurn * std::floor(from_first / kTurn + kOn);
  std::vector<std::size_t> slew_at = around(slews, slew);
  // A whole turn has its last step from the last angle to the first.
  const bool wraps = slews.size() > 2 && kTurn - (slews.back() - slews.front()) <= slews[1] - slews[0] + kOn;
  if (slew_at.empty() && wraps && slew > slews.back()) slew_at = {slews.size() - 1, 0};
  const std::vector<std::size_t> radius_at = around(radii, radius_mm);
  Between out;
  for (const std::size_t s : slew_at) {
    for (const std::size_t r : radius_at) {
      const LiftCell& cell = chart.at(state, posture, s, r);
      if (!cell.reached) return {};
      out.rated_n = out.reached ? std::min(out.rated_n, cell.rated_n) : cell.rated_n;
      out.least_height_mm = out.reached ? std::min(out.least_height_mm, cell.hook_height_mm) : cell.hook_height_mm;
      out.most_height_mm = out.reached ? std::max(out.most_height_mm, cell.hook_height_mm) : cell.hook_height_mm;
      out.reached = true;
    }
  }
  return out;
}

}  // namespace balance
