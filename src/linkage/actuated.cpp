#include "linkage/actuated.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "base/check.h"

namespace linkage {
namespace {

double farthest_mm(const std::vector<lattice::Point2>& mounts, lattice::Point2 from, double pitch_mm) {
  double most = 0;
  for (const lattice::Point2 p : mounts) {
    most = std::max(most, pitch_mm / 2 * std::hypot(p.x_hp - from.x_hp, p.z_hp - from.z_hp));
  }
  return most;
}

std::int64_t key_of(double force_n) {
  return std::llround(std::min(force_n, 1e12) * 1e6);
}

}  // namespace

Actuated find_actuated(const ActuatedTask& task, const base::RunControl& control) {
  KW_CHECK(task.keep >= 1, "at least one to keep");
  Actuated out;
  FourBarTask all = task.linkage;
  all.every_travel = true;
  out.linkages = find_four_bars(all, control);
  out.travels = static_cast<std::int64_t>(out.linkages.best.size());

  struct Candidate {
    std::size_t index;
    double bound_n;
  };
  std::vector<Candidate> travels;
  const double rod_mm = farthest_mm(task.rod_mounts, {}, all.pitch_mm);
  for (std::size_t i = 0; i < out.linkages.best.size(); ++i) {
    const FourBarChoice& c = out.linkages.best[i];
    const double lever_mm = std::min(rod_mm, farthest_mm(task.base_mounts, c.crank_pivot, all.pitch_mm));
    travels.push_back({i, lever_mm > 0 ? c.torque_nmm / lever_mm : std::numeric_limits<double>::infinity()});
  }
  std::stable_sort(travels.begin(), travels.end(),
                   [](const Candidate& a, const Candidate& b) { return key_of(a.bound_n) < key_of(b.bound_n); });

  using Key = std::tuple<int, int, int, int, int>;
  std::map<Key, ActuatedChoice> kept;
  const auto worst_kept = [&] {
    std::vector<std::int64_t> forces;
    for (const auto& [key, choice] : kept) forces.push_back(key_of(choice.placement.peak_force_n));
    if (forces.size() < static_cast<std::size_t>(task.keep)) return std::numeric_limits<std::int64_t>::max();
    std::nth_element(forces.begin(), forces.begin() + task.keep - 1, forces.end());
    return forces[static_cast<std::size_t>(task.keep) - 1];
  };
  std::int64_t worst = worst_kept();
  out.complete = out.linkages.complete;
  for (std::size_t t = 0; t < travels.size(); ++t) {
    if (control.stopped()) {
      out.complete = false;
      break;
    }
    // Strictly above: what merely ties could still come first in order.
    if (key_of(travels[t].bound_n) > worst) {
      out.bounded = static_cast<std::int64_t>(travels.size() - t);
      break;
    }
    const FourBarChoice& c = out.linkages.best[travels[t].index];
    PlacementTask place;
    place.pitch_mm = all.pitch_mm;
    place.pivot_base = c.crank_pivot;
    place.base_mounts = task.base_mounts;
    place.rod_mounts = task.rod_mounts;
    place.actuators = task.actuators;
    place.low_rad = c.start_rad;
    place.high_rad = c.start_rad + all.swing_rad;
    place.min_lever_mm = task.min_lever_mm;
    place.cases = {{"load", crank_torques_nmm(all, c)}};
    const PlacementResult placed = place_actuators(place, control);
    ++out.placed;
    const Placement* best = nullptr;
    for (const auto& front : placed.fronts) {
      if (!front.empty() && (best == nullptr || key_of(front.front().peak_force_n) < key_of(best->peak_force_n))) {
        best = &front.front();
      }
    }
    if (best == nullptr) {
      ++out.without;
      out.misses = placed.misses;
      continue;
    }
    const lattice::Point2 d = c.rocker_pivot - c.crank_pivot;
    const auto [at, fresh] =
        kept.try_emplace(Key{c.crank_p, c.coupler_p, c.rocker_p, d.x_hp, d.z_hp}, ActuatedChoice{c, *best});
    if (!fresh && key_of(best->peak_force_n) < key_of(at->second.placement.peak_force_n)) at->second = {c, *best};
    worst = worst_kept();
  }
  for (const auto& [key, choice] : kept) out.best.push_back(choice);
  std::stable_sort(out.best.begin(), out.best.end(), [](const ActuatedChoice& a, const ActuatedChoice& b) {
    return key_of(a.placement.peak_force_n) < key_of(b.placement.peak_force_n);
  });
  if (out.best.size() > static_cast<std::size_t>(task.keep)) out.best.resize(static_cast<std::size_t>(task.keep));
  out.linkages.best.clear();
  out.covered = out.linkages.covered + "; of " + std::to_string(out.travels) + " travels that serve, " +
                std::to_string(out.placed) + " with all " +
                std::to_string(task.base_mounts.size() * task.rod_mounts.size() * task.actuators.size()) +
                " actuator placements, " + std::to_string(out.bounded) + " proven no better" +
                (out.complete ? "" : ", stopped before the end");
  return out;
}

}  // namespace linkage
