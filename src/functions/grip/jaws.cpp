#include "functions/grip/jaws.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <set>
#include <tuple>

namespace functions::grip {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
/// Swings of the crank that are searched, and the grid of their starts: coarser misses linkages, finer only repeats
/// them (the ends are then set exactly).
constexpr double kSwings_rad[] = {50 * kPi / 180, 90 * kPi / 180, 130 * kPi / 180};
constexpr double kStartStep_rad = 5 * kPi / 180;

constexpr double kHair = 1e-9;      // the ends of a travel belong to it
constexpr double kSame_rad = 1e-6;  // one closure's rocker is never that near the other's away from a dead point

struct Pins {
  double px = 0, pz = 0;  ///< crank pin
  double qx = 0, qz = 0;  ///< rocker pin
  double rocker_rad = kNan;
};

Pins pins_at(const JawDrive& d, double pitch_mm, double crank_rad) {
  const double a = d.crank_p * pitch_mm, b = d.coupler_p * pitch_mm, c = d.rocker_p * pitch_mm;
  Pins p;
  p.px = d.crank_pivot.x_hp * pitch_mm / 2 + a * std::cos(crank_rad);
  p.pz = d.crank_pivot.z_hp * pitch_mm / 2 + a * std::sin(crank_rad);
  const double far = std::hypot(p.px, p.pz);
  const double cosine = (c * c + far * far - b * b) / (2 * c * far);
  if (!(std::fabs(cosine) <= 1)) return p;
  // Left of the line from crank pin to rocker pivot is clockwise of the line back.
  p.rocker_rad = std::atan2(p.pz, p.px) - d.closure * std::acos(cosine);
  p.qx = c * std::cos(p.rocker_rad);
  p.qz = c * std::sin(p.rocker_rad);
  return p;
}

double wrapped(double angle) {
  return std::remainder(angle, 2 * kPi);
}

}  // namespace

double jaw_angle_rad(const JawPair& pair, double opening_mm) {
  const double sine = (pair.both ? opening_mm / 2 - pair.half_spread_mm : opening_mm) / pair.jaw_mm;
  return std::fabs(sine) < 1 ? std::asin(sine) : kNan;
}

double jaw_moment_nmm(const JawPair& pair, double opening_mm, double force_n, double gear_efficiency) {
  const double one = force_n * pair.jaw_mm * std::cos(jaw_angle_rad(pair, opening_mm));
  return pair.both ? one * (1 + 1 / gear_efficiency) : one;
}

double rocker_rad(const JawDrive& drive, double pitch_mm, double crank_rad) {
  return pins_at(drive, pitch_mm, crank_rad).rocker_rad;
}

double rocker_rate(const JawDrive& d, double pitch_mm, double crank_rad) {
  const Pins p = pins_at(d, pitch_mm, crank_rad);
  const double coupler = std::atan2(p.qz - p.pz, p.qx - p.px);
  return d.crank_p * std::sin(coupler - crank_rad) / (d.rocker_p * std::sin(coupler - p.rocker_rad));
}

double crank_at(const JawDrive& d, const JawPair& pair, double pitch_mm, double opening_mm) {
  const double a = d.crank_p * pitch_mm, b = d.coupler_p * pitch_mm, c = d.rocker_p * pitch_mm;
  const double rocker = jaw_angle_rad(pair, opening_mm) - d.quarter * kPi / 2;
  const double qx = c * std::cos(rocker) - d.crank_pivot.x_hp * pitch_mm / 2;
  const double qz = c * std::sin(rocker) - d.crank_pivot.z_hp * pitch_mm / 2;
  const double far = std::hypot(qx, qz);
  const double cosine = (a * a + far * far - b * b) / (2 * a * far);
  if (!(std::fabs(cosine) <= 1)) return kNan;
  const double low = std::min(d.closed_rad, d.open_rad), high = std::max(d.closed_rad, d.open_rad);
  for (const double side : {1.0, -1.0}) {
    // Of the two the one in the travel whose closure is the linkage's.
    double crank = std::atan2(qz, qx) + side * std::acos(cosine);
    crank += 2 * kPi * std::ceil((low - kHair - crank) / (2 * kPi));
    if (crank > high + kHair) continue;
    if (std::fabs(wrapped(rocker_rad(d, pitch_mm, crank) - rocker)) < kSame_rad) return crank;
  }
  return kNan;
}

std::vector<double> torque_per_n(const JawDrive& d, const JawPair& pair, double pitch_mm,
                                 std::array<double, 2> opening_mm, double gear_efficiency) {
  std::vector<double> out;
  for (int i = 0; i < kOpenings; ++i) {
    const double opening = opening_mm[0] + (opening_mm[1] - opening_mm[0]) * i / (kOpenings - 1);
    const double crank = crank_at(d, pair, pitch_mm, opening);
    out.push_back(std::fabs(rocker_rate(d, pitch_mm, crank)) * jaw_moment_nmm(pair, opening, 1, gear_efficiency));
  }
  return out;
}

JawDrives find_jaw_drives(const JawTask& task, const base::RunControl& control) {
  JawDrives out;
  out.best.resize(task.pairs.size());
  if (task.pairs.empty() || task.bars.empty() || task.crank_pivots.empty()) return out;
  /// The jaw's travel with one pair.
  struct Wanted {
    double closed = 0, open = 0;
  };
  std::vector<Wanted> wanted;
  double least = std::numeric_limits<double>::infinity();
  for (const JawPair& pair : task.pairs) {
    wanted.push_back({jaw_angle_rad(pair, task.opening_mm[0]), jaw_angle_rad(pair, task.opening_mm[1])});
    least = std::min(least, wanted.back().open - wanted.back().closed);
  }
  struct Ranked {
    double cost = 0;
    JawDrive drive;
  };
  std::vector<std::map<lattice::Point2, Ranked>> by_pivot(task.pairs.size());
  // Starts and swings overlap; once cut to the jaw's travel the same linkage is the same whichever found it.
  using Known = std::tuple<std::size_t, lattice::Point2, int, int, int, int, int, bool>;
  std::set<Known> known;
  for (const double swing : kSwings_rad) {
    linkage::FourBarTask four;
    four.pitch_mm = task.pitch_mm;
    four.crank_pivots = task.crank_pivots;
    four.rocker_pivots = {{0, 0}};
    four.bars = task.bars;
    four.swing_rad = swing;
    four.start_step_rad = kStartStep_rad;
    four.output_swing_rad.least = least;
    four.min_transmission_rad = task.min_transmission_rad;
    four.every_travel = true;
    const linkage::FourBars found = linkage::find_four_bars(four, control);
    out.examined += found.examined;
    out.covered += (out.covered.empty() ? "" : "; ") + found.covered;
    if (!found.complete) {
      out.complete = false;
      return out;
    }
    for (const linkage::Misfit& m : found.misfits) {
      const auto same = std::find_if(out.misfits.begin(), out.misfits.end(),
                                     [&](const linkage::Misfit& o) { return o.reason == m.reason; });
      if (same == out.misfits.end()) {
        out.misfits.push_back(m);
      } else {
        const std::int64_t both = same->count + m.count;
        if (m.shortfall < same->shortfall) *same = m;
        same->count = both;
      }
    }
    for (const linkage::FourBarChoice& c : found.best) {
      const double way = c.output_swing_rad > 0 ? 1 : -1, reach = std::fabs(c.output_swing_rad);
      for (std::size_t pair = 0; pair < task.pairs.size(); ++pair) {
        const Wanted& jaw = wanted[pair];
        if (jaw.open - jaw.closed > reach) continue;
        for (int quarter = 0; quarter < 4; ++quarter) {
          // Both ends of the jaw's travel as turnings of the rocker from its start.
          const double first = way > 0 ? jaw.closed : jaw.open;
          double from = std::fmod(way * (first - quarter * kPi / 2 - c.output_from_rad), 2 * kPi);
          if (from < 0) from += 2 * kPi;
          if (from + (jaw.open - jaw.closed) > reach) continue;
          ++out.fitting;
          if (!known.insert({pair, c.crank_pivot, c.crank_p, c.coupler_p, c.rocker_p, c.closure, quarter, way > 0})
                   .second)
            continue;
          JawDrive d{c.crank_pivot, c.crank_p, c.coupler_p, c.rocker_p, c.closure, quarter, 0, 0};
          d.closed_rad = c.start_rad;
          d.open_rad = c.start_rad + swing;
          const double closed = crank_at(d, task.pairs[pair], task.pitch_mm, task.opening_mm[0]);
          const double open = crank_at(d, task.pairs[pair], task.pitch_mm, task.opening_mm[1]);
          if (!std::isfinite(closed) || !std::isfinite(open)) continue;
          d.closed_rad = closed;
          d.open_rad = open;
          const std::vector<double> torque = torque_per_n(d, task.pairs[pair], task.pitch_mm, task.opening_mm, 1);
          // Axles, teeth and wind-up limit a grip sooner than its time, so the greatest leverage comes first.
          const double cost = *std::max_element(torque.begin(), torque.end());
          const auto [it, fresh] = by_pivot[pair].try_emplace(c.crank_pivot, Ranked{cost, d});
          if (!fresh && cost < it->second.cost * (1 - 1e-12)) it->second = {cost, d};
        }
      }
    }
  }
  for (std::size_t pair = 0; pair < task.pairs.size(); ++pair) {
    std::vector<Ranked> all;
    for (const auto& [pivot, ranked] : by_pivot[pair]) all.push_back(ranked);
    std::stable_sort(all.begin(), all.end(), [](const Ranked& a, const Ranked& b) { return a.cost < b.cost; });
    for (std::size_t i = 0; i < all.size() && i < static_cast<std::size_t>(task.keep); ++i)
      out.best[pair].push_back(all[i].drive);
    const std::size_t kept = out.best[pair].size();
    out.beyond.push_back(static_cast<std::int64_t>(all.size() - kept));
    out.least_beyond.push_back(kept < all.size() && kept > 0 ? all[kept].cost / all[kept - 1].cost - 1 : 0);
  }
  return out;
}

}  // namespace functions::grip
