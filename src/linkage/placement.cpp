#include "linkage/placement.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>

#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"
#include "linkage/placement_search.h"

namespace linkage {
namespace {

using search::Kept;
using search::Nearest;
using search::Plan;
using search::Tally;

constexpr double kPi = std::numbers::pi;
// Base mounts that a thread takes at a time, some ten microseconds: few enough that threads end together.
constexpr std::size_t kChunk = 16;

double degrees(double rad) {
  return rad * 180 / kPi;
}

Placement describe(const PlacementTask& task, const Plan& plan, const Kept& kept, int actuator) {
  Placement out;
  out.base = task.base_mounts[static_cast<std::size_t>(kept.base)];
  out.rod = task.rod_mounts[static_cast<std::size_t>(kept.rod)];
  out.actuator = actuator;
  const auto peak = static_cast<std::size_t>(kept.peak);
  const ActuatorTriangle triangle = triangle_of(task, out.base, out.rod);
  out.peak_angle_rad = plan.angle_at(peak);
  double moment_nmm = 0;
  for (std::size_t c = 0; c < task.cases.size(); ++c) {
    if (std::fabs(task.cases[c].moment_nmm[peak]) > std::fabs(moment_nmm)) {
      moment_nmm = task.cases[c].moment_nmm[peak];
      out.peak_case = static_cast<int>(c);
    }
  }
  const double force_n = actuator_force_n(pose(triangle, out.peak_angle_rad), moment_nmm);
  out.peak_force_n = std::fabs(force_n);
  out.peak_pushes = force_n > 0;
  const TrianglePose low = pose(triangle, task.low_rad), high = pose(triangle, task.high_rad);
  out.length_low_mm = low.length_mm;
  out.length_high_mm = high.length_mm;
  out.stroke_mm = std::fabs(high.length_mm - low.length_mm);
  out.min_lever_mm = std::min(std::fabs(low.lever_mm), std::fabs(high.lever_mm));
  return out;
}

/// The nearest miss in numbers, measured again from its triangle.
Miss describe(const PlacementTask& task, const Plan& plan, Reason reason, int actuator, const Nearest& nearest) {
  Miss out;
  out.reason = reason;
  out.actuator = actuator;
  out.count = reason == Reason::dead_centre || reason == Reason::lever
                  ? nearest.count * static_cast<std::int64_t>(task.actuators.size())
                  : nearest.count;
  out.base = task.base_mounts[static_cast<std::size_t>(nearest.base)];
  out.rod = task.rod_mounts[static_cast<std::size_t>(nearest.rod)];
  const ActuatorTriangle triangle = triangle_of(task, out.base, out.rod);
  const TrianglePose low = pose(triangle, task.low_rad), high = pose(triangle, task.high_rad);
  const bool low_is_longer = low.length_mm > high.length_mm;
  const TrianglePose& longest = low_is_longer ? low : high;
  const TrianglePose& shortest = low_is_longer ? high : low;
  const double longest_rad = low_is_longer ? task.low_rad : task.high_rad;
  const double shortest_rad = low_is_longer ? task.high_rad : task.low_rad;
  const auto type = actuator < 0 ? ActuatorType{} : task.actuators[static_cast<std::size_t>(actuator)];
  switch (reason) {
    case Reason::dead_centre: {
      const double from_low = dead_centre_distance_rad(triangle, task.low_rad);
      const double from_high = dead_centre_distance_rad(triangle, task.high_rad);
      const bool at_low = from_low <= from_high;
      out.shortfall = degrees(std::min(from_low, from_high));
      out.angle_rad = at_low ? task.low_rad + from_low : task.high_rad - from_high;
      break;
    }
    case Reason::lever: {
      const bool at_low = std::fabs(low.lever_mm) < std::fabs(high.lever_mm);
      out.reached = std::fabs(at_low ? low.lever_mm : high.lever_mm);
      out.angle_rad = at_low ? task.low_rad : task.high_rad;
      out.shortfall = task.min_lever_mm - out.reached;
      break;
    }
    case Reason::too_short:
      out.reached = longest.length_mm;
      out.angle_rad = longest_rad;
      out.shortfall = out.reached - type.open_mm;
      break;
    case Reason::too_long:
      out.reached = shortest.length_mm;
      out.angle_rad = shortest_rad;
      out.shortfall = type.closed_mm - out.reached;
      break;
    case Reason::stroke:
      out.reached = longest.length_mm - shortest.length_mm;
      out.angle_rad = longest_rad;
      out.shortfall = out.reached - (type.open_mm - type.closed_mm);
      break;
    case Reason::force: {
      double worst = 0;
      for (std::size_t k = 0; k < plan.angles(); ++k) {
        const double force_n = std::fabs(actuator_force_n(pose(triangle, plan.angle_at(k)), plan.worst_moment_nmm[k]));
        if (force_n > worst) {
          worst = force_n;
          out.angle_rad = plan.angle_at(k);
        }
      }
      out.reached = worst;
      out.shortfall = worst - type.max_force_n;
      break;
    }
  }
  return out;
}

void check(const PlacementTask& task) {
  KW_CHECK(task.pitch_mm > 0, "the lattice needs a pitch");
  KW_CHECK(task.low_rad < task.high_rad, "the travel is empty");
  KW_CHECK(!task.cases.empty() && task.cases.front().moment_nmm.size() >= 2, "moments at both ends at least");
  for (const MomentCase& c : task.cases) {
    KW_CHECK(c.moment_nmm.size() == task.cases.front().moment_nmm.size(), "moment tables of unequal length");
  }
  for (const ActuatorType& a : task.actuators) {
    KW_CHECK(a.closed_mm > 0 && a.closed_mm <= a.open_mm, "actuator " + a.name + " is longer closed than open");
  }
}

/// "longest actuator" and the like when the list has several.
std::string who(const PlacementTask& task, int actuator, bool by_open) {
  if (actuator < 0) return "actuator";
  const auto& list = task.actuators;
  const ActuatorType& one = list[static_cast<std::size_t>(actuator)];
  const bool extreme = list.size() > 1 && std::all_of(list.begin(), list.end(), [&](const ActuatorType& other) {
                         return by_open ? other.open_mm <= one.open_mm : other.closed_mm >= one.closed_mm;
                       });
  const std::string named = one.name.empty() ? "" : " (" + one.name + ")";
  if (extreme) return (by_open ? "longest actuator" : "shortest actuator") + named;
  return one.name.empty() ? "actuator " + std::to_string(actuator + 1) : one.name;
}

}  // namespace

std::vector<lattice::Point2> mounts_in(const lattice::Box2& box, int step_hp, std::span<const lattice::Box2> keep_out) {
  KW_CHECK(step_hp >= 1, "mounts stand at least one half-pitch apart");
  std::vector<lattice::Point2> out;
  for (int x = box.low.x_hp; x <= box.high.x_hp; x += step_hp) {
    for (int z = box.low.z_hp; z <= box.high.z_hp; z += step_hp) {
      const lattice::Point2 p{x, z};
      if (std::none_of(keep_out.begin(), keep_out.end(), [&](const lattice::Box2& k) { return k.contains(p); })) {
        out.push_back(p);
      }
    }
  }
  return out;
}

std::string_view code_of(Reason reason) {
  switch (reason) {
    case Reason::dead_centre:
      return "dead_centre";
    case Reason::lever:
      return "lever_too_small";
    case Reason::too_short:
      return "actuator_too_short";
    case Reason::too_long:
      return "actuator_too_long";
    case Reason::stroke:
      return "stroke_too_small";
    case Reason::force:
      return "force_too_high";
  }
  return "";
}

std::string_view unit_of(Reason reason) {
  return reason == Reason::dead_centre ? "deg" : reason == Reason::force ? "N" : "mm";
}

std::string text(const PlacementTask& task, const Miss& miss) {
  const std::string at = " at " + base::plain(degrees(miss.angle_rad), 3) + " deg";
  const std::string by = base::plain(miss.shortfall, 3);
  switch (miss.reason) {
    case Reason::dead_centre:
      if (task.high_rad - task.low_rad >= kPi) return "a travel of half a turn or more always passes a dead centre";
      return "passes its dead centre" + at + ", " + by + " deg inside the travel";
    case Reason::lever:
      return "lever arm falls to " + base::plain(miss.reached, 3) + " mm" + at + ", " + by + " mm too little";
    case Reason::too_short:
      return who(task, miss.actuator, true) + " is " + by + " mm too short" + at;
    case Reason::too_long:
      return who(task, miss.actuator, false) + " is " + by + " mm too long" + at;
    case Reason::stroke:
      return who(task, miss.actuator, true) + " lacks " + by + " mm of stroke (" + base::plain(miss.reached, 4) +
             " mm needed)";
    case Reason::force:
      return "force reaches " + base::plain(miss.reached, 3) + " N" + at + ", " + by + " N more than " +
             who(task, miss.actuator, true) + " stands";
  }
  return "";
}

ActuatorTriangle triangle_of(const PlacementTask& task, lattice::Point2 base, lattice::Point2 rod) {
  const double half_mm = task.pitch_mm / 2;
  const lattice::Point2 rod_here = rod - task.pivot_body + task.pivot_base;
  const auto mm = [&](lattice::Point2 p) { return Vec2{half_mm * p.x_hp, half_mm * p.z_hp}; };
  return {mm(task.pivot_base), mm(base), mm(rod_here)};
}

PlacementResult place_actuators(const PlacementTask& task, const base::RunControl& control) {
  check(task);
  const Plan plan(task);
  const std::size_t actuators = task.actuators.size();
  const std::size_t chunks = (task.base_mounts.size() + kChunk - 1) / kChunk;
  std::vector<std::unique_ptr<search::Worker>> workers(base::workers(chunks, control.jobs));
  base::parallel_for_workers(chunks, control.jobs, [&](std::size_t c, std::size_t w) {
    if (!workers[w]) workers[w] = std::make_unique<search::Worker>(plan);
    workers[w]->search(c * kChunk, std::min((c + 1) * kChunk, task.base_mounts.size()), control);
  });

  Tally all(actuators);
  for (const auto& worker : workers) {
    if (worker) all.merge(worker->tally());
  }
  PlacementResult out;
  out.base_mounts_done = all.base_mounts;
  out.complete = all.base_mounts == static_cast<std::int64_t>(task.base_mounts.size());
  out.examined = all.base_mounts * static_cast<std::int64_t>(task.rod_mounts.size() * actuators);
  out.other_side = all.other_side * static_cast<std::int64_t>(actuators);
  out.feasible = all.feasible;
  for (std::size_t a = 0; a < actuators; ++a) {
    auto& front = out.fronts.emplace_back();
    for (const Kept& k : all.fronts[a].kept()) front.push_back(describe(task, plan, k, static_cast<int>(a)));
  }
  if (all.dead_centre.count > 0) {
    out.misses.push_back(describe(task, plan, Reason::dead_centre, -1, all.dead_centre));
  }
  if (all.lever.count > 0) out.misses.push_back(describe(task, plan, Reason::lever, -1, all.lever));
  for (const Reason reason : {Reason::too_short, Reason::too_long, Reason::stroke, Reason::force}) {
    for (std::size_t a = 0; a < actuators; ++a) {
      const Nearest& nearest = all.per_actuator[a][static_cast<std::size_t>(reason)];
      if (nearest.count > 0) out.misses.push_back(describe(task, plan, reason, static_cast<int>(a), nearest));
    }
  }
  return out;
}

}  // namespace linkage
