#include "balance/grade.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "base/check.h"

namespace balance {

const char* name_of(GradeStop stop) {
  switch (stop) {
    case GradeStop::adhesion:
      return "adhesion";
    case GradeStop::effort:
      return "effort";
    case GradeStop::tipping:
      break;
  }
  return "tipping";
}

Grade gradeability(const Climber& v, double heading_rad) {
  KW_CHECK(v.driven.size() == v.state.supports.size(), "every support is driven or not");
  KW_CHECK(v.weight_n > 0, "a vehicle has a weight");
  double share = 0;
  GradeStop stop = GradeStop::tipping;
  const auto climbs = [&](double slope) {
    const Standing on = stand(v.state, v.weight_n, v.centre, {slope, heading_rad + std::numbers::pi});
    if (!on.stands) {
      stop = GradeStop::tipping;
      return false;
    }
    double driven_n = 0, free_n = 0;
    for (std::size_t i = 0; i < v.driven.size(); ++i) (v.driven[i] ? driven_n : free_n) += on.supports[i].load_n;
    share = driven_n / (driven_n + free_n);
    const double down_n = v.weight_n * std::sin(slope);
    if (v.effort_n > 0 && v.effort_n < down_n + v.rolling_resistance * (driven_n + free_n)) {
      stop = GradeStop::effort;
      return false;
    }
    stop = GradeStop::adhesion;
    if (v.friction * driven_n < down_n + v.rolling_resistance * free_n) return false;
    if (v.effort_n <= 0 || !v.own_motors) return true;
    // A lightly loaded support slips before its motors give all, and the others cannot take that over.
    const double part_n = v.effort_n / static_cast<double>(std::count(v.driven.begin(), v.driven.end(), true));
    double given_n = 0;
    for (std::size_t i = 0; i < v.driven.size(); ++i) {
      const double load_n = on.supports[i].load_n;
      if (v.driven[i]) given_n += std::min(v.friction * load_n, part_n - v.rolling_resistance * load_n);
    }
    stop = GradeStop::effort;
    return given_n >= down_n + v.rolling_resistance * free_n;
  };
  Grade out;
  // March, since weight moving on to driven supports may let a steeper slope be climbed than a flatter one it cannot
  // reach.
  constexpr double kMarch_rad = std::numbers::pi / 720;
  if (!climbs(0)) return {0, stop, share};
  double low = 0, high = kMarch_rad;
  while (high < std::numbers::pi / 2 && climbs(high)) {
    low = high;
    high += kMarch_rad;
  }
  high = std::min(high, std::numbers::pi / 2 - 1e-9);
  while (high - low > 1e-10) {
    const double middle = (low + high) / 2;
    (climbs(middle) ? low : high) = middle;
  }
  (void)climbs(high);
  const GradeStop why = stop;
  (void)climbs(low);
  return {low, why, share};
}

SpotTurn spot_turn(const SupportState& state, const Standing& standing, double turn_friction) {
  KW_CHECK(standing.supports.size() == state.supports.size(), "the loads belong to these supports");
  // Pieces of load along x: points, and the parts between a line's nodes at their own centres.
  std::vector<std::pair<double, double>> piece;  // x, load
  for (std::size_t i = 0; i < state.supports.size(); ++i) {
    const Support& s = state.supports[i];
    const SupportLoad& on = standing.supports[i];
    if (!s.is_line()) {
      piece.emplace_back(s.from.x_mm, on.load_n);
      continue;
    }
    // Each cell cut finely, its load running straight between its nodes.
    constexpr int kCut = 64;
    const double length = std::hypot(s.to.x_mm - s.from.x_mm, s.to.y_mm - s.from.y_mm),
                 cell = length / (kLineNodes - 1);
    for (std::size_t k = 0; k + 1 < on.along_n_per_mm.size(); ++k) {
      for (int c = 0; c < kCut; ++c) {
        const double t = (c + 0.5) / kCut, along = (static_cast<double>(k) + t) / (kLineNodes - 1);
        const double here = on.along_n_per_mm[k] + t * (on.along_n_per_mm[k + 1] - on.along_n_per_mm[k]);
        piece.emplace_back(s.from.x_mm + along * (s.to.x_mm - s.from.x_mm), here * cell / kCut);
      }
    }
  }
  std::stable_sort(piece.begin(), piece.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  double total = 0, sum = 0;
  for (const auto& [x, load] : piece) total += load;
  SpotTurn out;
  for (const auto& [x, load] : piece) {
    sum += load;
    out.about_x_mm = x;
    if (sum >= total / 2) break;
  }
  for (const auto& [x, load] : piece) out.moment_nmm += turn_friction * load * std::fabs(x - out.about_x_mm);
  return out;
}

}  // namespace balance
