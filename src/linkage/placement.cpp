#include "linkage/placement.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"

namespace linkage {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr int kReasons = 6;
// Lattice distances often equal an actuator's length exactly; a micrometre's thousandth keeps rounding out of it.
constexpr double kSlackMm = 1e-6;
// Forces and strokes are compared in whole micronewtons and nanometres: mirror images of one placement then tie instead
// of differing in their last bit.
constexpr double kPerUnit = 1e6;
constexpr double kMostKey = 1e12;
// Base mounts per piece of parallel work: a few hundred microseconds, so that a stop is seen at once.
constexpr std::size_t kChunk = 16;

double degrees(double rad) {
  return rad * 180 / kPi;
}

std::int64_t key_of(double value) {
  return static_cast<std::int64_t>(std::llround(std::min(value, kMostKey) * kPerUnit));
}

/// What does not change during the search.
struct Plan {
  const PlacementTask& task;
  double half_pitch_mm;
  std::vector<double> rod_x, rod_z, rod_inverse_square;  // from the pivot
  std::vector<double> cosine, sine, worst_moment_nmm;    // per table angle; worst over the cases
  std::vector<double> closed_sq, open_sq;                // per actuator, slack included
  double min_lever_sq;

  explicit Plan(const PlacementTask& t) : task(t), half_pitch_mm(t.pitch_mm / 2) {
    for (const lattice::Point2 rod : t.rod_mounts) {
      const lattice::Point2 from_pivot = rod - t.pivot_body;
      rod_x.push_back(half_pitch_mm * from_pivot.x_hp);
      rod_z.push_back(half_pitch_mm * from_pivot.z_hp);
      const double square = rod_x.back() * rod_x.back() + rod_z.back() * rod_z.back();
      rod_inverse_square.push_back(square > 0 ? 1 / square : kInfinity);
    }
    const std::size_t angles = t.cases.front().moment_nmm.size();
    for (std::size_t k = 0; k < angles; ++k) {
      const double angle = angle_at(k);
      cosine.push_back(std::cos(angle));
      sine.push_back(std::sin(angle));
      double worst = 0;
      for (const MomentCase& c : t.cases) worst = std::max(worst, std::fabs(c.moment_nmm[k]));
      worst_moment_nmm.push_back(worst);
    }
    for (const ActuatorType& a : t.actuators) {
      closed_sq.push_back((a.closed_mm - kSlackMm) * (a.closed_mm - kSlackMm));
      open_sq.push_back((a.open_mm + kSlackMm) * (a.open_mm + kSlackMm));
    }
    const double least = std::max(0.0, t.min_lever_mm - kSlackMm);
    min_lever_sq = least * least;
  }

  [[nodiscard]] double angle_at(std::size_t k) const {
    const std::size_t angles = task.cases.front().moment_nmm.size();
    return k + 1 == angles ? task.high_rad
                           : task.low_rad + static_cast<double>(k) * (task.high_rad - task.low_rad) /
                                                static_cast<double>(angles - 1);
  }
  [[nodiscard]] std::size_t angles() const { return cosine.size(); }
};

/// The nearest miss of one reason, by a score whose least value is nearest.
struct Nearest {
  std::int64_t count = 0;
  double score = kInfinity;
  int base = -1, rod = -1;

  void offer(double value, int base_index, int rod_index) {
    ++count;
    if (value < score) {
      score = value;
      base = base_index;
      rod = rod_index;
    }
  }
  void merge(const Nearest& later) {
    count += later.count;
    if (later.score < score || base < 0) {
      score = later.score;
      base = later.base;
      rod = later.rod;
    }
  }
};

struct Kept {
  std::int64_t force_key, stroke_key;
  int base, rod, peak;  // indices; table angle of the peak
};

/// Non-dominated pairs, force rising and stroke falling. The first of equals stays.
class Front {
 public:
  void offer(const Kept& one) {
    auto after = std::upper_bound(kept_.begin(), kept_.end(), one.force_key,
                                  [](std::int64_t force, const Kept& k) { return force < k.force_key; });
    if (after != kept_.begin() && std::prev(after)->stroke_key <= one.stroke_key) return;
    auto first = after;
    if (first != kept_.begin() && std::prev(first)->force_key == one.force_key) --first;
    auto last = after;
    while (last != kept_.end() && last->stroke_key >= one.stroke_key) ++last;
    first = kept_.erase(first, last);
    kept_.insert(first, one);
  }
  [[nodiscard]] const std::vector<Kept>& kept() const { return kept_; }

 private:
  std::vector<Kept> kept_;
};

/// Result of one chunk of base mounts; merged in order.
struct Tally {
  std::vector<Front> fronts;
  std::vector<std::int64_t> feasible;
  Nearest dead_centre, lever;
  std::vector<std::array<Nearest, kReasons>> per_actuator;
  std::int64_t base_mounts = 0;

  explicit Tally(std::size_t actuators) : fronts(actuators), feasible(actuators), per_actuator(actuators) {}

  void merge(const Tally& later) {
    dead_centre.merge(later.dead_centre);
    lever.merge(later.lever);
    base_mounts += later.base_mounts;
    for (std::size_t a = 0; a < fronts.size(); ++a) {
      for (const Kept& k : later.fronts[a].kept()) fronts[a].offer(k);
      feasible[a] += later.feasible[a];
      for (int r = 0; r < kReasons; ++r) per_actuator[a][r].merge(later.per_actuator[a][r]);
    }
  }
};

/// Buffers of one thread's chunk, lanes over the rod mounts.
struct Lanes {
  std::vector<double> low_sq, high_sq, low_cross, high_cross;  // squared length and A x R at the two ends
  std::vector<int> rod;                                        // survivors of the geometry
  std::vector<double> x, z, peak_sq, peak_at;
  explicit Lanes(std::size_t n) : low_sq(n), high_sq(n), low_cross(n), high_cross(n) {}
};

/// Squared length and cross product of one rotated base mount with every rod mount.
void measure(const Plan& plan, double ax, double az, double* length_sq, double* cross) {
  const std::size_t n = plan.rod_x.size();
  const double* rx = plan.rod_x.data();
  const double* rz = plan.rod_z.data();
  for (std::size_t i = 0; i < n; ++i) {
    const double dx = rx[i] - ax, dz = rz[i] - az;
    length_sq[i] = dx * dx + dz * dz;
    cross[i] = ax * rz[i] - az * rx[i];
  }
}

/// Keeps the pairs whose end angles allow at least one actuator; tells why the others fell.
void prune(const Plan& plan, int base, double inverse_base_sq, Lanes& lanes, Tally& tally) {
  const std::size_t actuators = plan.closed_sq.size();
  lanes.rod.clear();
  for (std::size_t i = 0; i < plan.rod_x.size(); ++i) {
    const int rod = static_cast<int>(i);
    const double low_cross = lanes.low_cross[i], high_cross = lanes.high_cross[i];
    const double low_cross_sq = low_cross * low_cross, high_cross_sq = high_cross * high_cross;
    if (!(low_cross * high_cross > 0)) {
      // sin^2 of the smaller part of the travel cut off by the dead centre; a mount on the pivot counts as farthest.
      const double part = std::min(low_cross_sq, high_cross_sq) * inverse_base_sq * plan.rod_inverse_square[i];
      tally.dead_centre.offer(part <= 1 ? part : 2, base, rod);
      continue;
    }
    const double low_sq = lanes.low_sq[i], high_sq = lanes.high_sq[i];
    if (low_cross_sq < plan.min_lever_sq * low_sq || high_cross_sq < plan.min_lever_sq * high_sq) {
      tally.lever.offer(-std::min(low_cross_sq / low_sq, high_cross_sq / high_sq), base, rod);
      continue;
    }
    const double least_sq = std::min(low_sq, high_sq), most_sq = std::max(low_sq, high_sq);
    bool serves = false;
    for (std::size_t a = 0; a < actuators; ++a) {
      const bool too_long = least_sq<plan.closed_sq[a], too_short = most_sq> plan.open_sq[a];
      if (!too_long && !too_short) {
        serves = true;
      } else if (!too_long) {
        tally.per_actuator[a][static_cast<int>(Reason::too_short)].offer(most_sq, base, rod);
      } else if (!too_short) {
        tally.per_actuator[a][static_cast<int>(Reason::too_long)].offer(-least_sq, base, rod);
      } else {
        tally.per_actuator[a][static_cast<int>(Reason::stroke)].offer(std::sqrt(most_sq) - std::sqrt(least_sq), base,
                                                                      rod);
      }
    }
    if (serves) lanes.rod.push_back(rod);
  }
}

/// Peak of (M/h)^2 over the table for every survivor of one base mount.
void sweep(const Plan& plan, double base_x, double base_z, Lanes& lanes) {
  const std::size_t n = lanes.rod.size();
  lanes.x.resize(n);
  lanes.z.resize(n);
  lanes.peak_sq.assign(n, -1);
  lanes.peak_at.assign(n, 0);
  for (std::size_t i = 0; i < n; ++i) {
    lanes.x[i] = plan.rod_x[static_cast<std::size_t>(lanes.rod[i])];
    lanes.z[i] = plan.rod_z[static_cast<std::size_t>(lanes.rod[i])];
  }
  const double* x = lanes.x.data();
  const double* z = lanes.z.data();
  double* peak_sq = lanes.peak_sq.data();
  double* peak_at = lanes.peak_at.data();
  for (std::size_t k = 0; k < plan.angles(); ++k) {
    const double c = plan.cosine[k], s = plan.sine[k];
    const double ax = c * base_x + s * base_z, az = c * base_z - s * base_x;
    const double moment_sq = plan.worst_moment_nmm[k] * plan.worst_moment_nmm[k];
    const double at = static_cast<double>(k);
    for (std::size_t i = 0; i < n; ++i) {
      const double dx = x[i] - ax, dz = z[i] - az;
      const double cross = ax * z[i] - az * x[i];
      const double force_sq = moment_sq * (dx * dx + dz * dz) / (cross * cross);
      const bool higher = force_sq > peak_sq[i];
      peak_at[i] = higher ? at : peak_at[i];
      peak_sq[i] = higher ? force_sq : peak_sq[i];
    }
  }
}

void collect(const Plan& plan, int base, const Lanes& lanes, Tally& tally) {
  for (std::size_t i = 0; i < lanes.rod.size(); ++i) {
    const int rod = lanes.rod[i];
    const auto at = static_cast<std::size_t>(rod);
    const double force_n = std::sqrt(lanes.peak_sq[i]);
    const double stroke_mm = std::fabs(std::sqrt(lanes.high_sq[at]) - std::sqrt(lanes.low_sq[at]));
    const double least_sq = std::min(lanes.low_sq[at], lanes.high_sq[at]);
    const double most_sq = std::max(lanes.low_sq[at], lanes.high_sq[at]);
    const Kept one{key_of(force_n), key_of(stroke_mm), base, rod, static_cast<int>(lanes.peak_at[i])};
    for (std::size_t a = 0; a < plan.closed_sq.size(); ++a) {
      if (least_sq < plan.closed_sq[a] || most_sq > plan.open_sq[a]) continue;
      if (force_n > plan.task.actuators[a].max_force_n) {
        tally.per_actuator[a][static_cast<int>(Reason::force)].offer(force_n, base, rod);
        continue;
      }
      ++tally.feasible[a];
      tally.fronts[a].offer(one);
    }
  }
}

Tally search_chunk(const Plan& plan, std::size_t first, std::size_t last, const base::RunControl& control) {
  Tally tally(plan.task.actuators.size());
  Lanes lanes(plan.rod_x.size());
  const bool half_turn = plan.task.high_rad - plan.task.low_rad >= kPi;
  for (std::size_t b = first; b < last; ++b) {
    if (control.stopped()) break;
    const lattice::Point2 from_pivot = plan.task.base_mounts[b] - plan.task.pivot_base;
    const double x = plan.half_pitch_mm * from_pivot.x_hp, z = plan.half_pitch_mm * from_pivot.z_hp;
    const auto rotated = [&](std::size_t k, double* sq, double* cross) {
      const double c = plan.cosine[k], s = plan.sine[k];
      measure(plan, c * x + s * z, c * z - s * x, sq, cross);
    };
    const int base = static_cast<int>(b);
    ++tally.base_mounts;
    if (half_turn) {
      for (std::size_t i = 0; i < plan.rod_x.size(); ++i) tally.dead_centre.offer(0, base, static_cast<int>(i));
      continue;
    }
    rotated(0, lanes.low_sq.data(), lanes.low_cross.data());
    rotated(plan.angles() - 1, lanes.high_sq.data(), lanes.high_cross.data());
    const double base_sq = x * x + z * z;
    prune(plan, base, base_sq > 0 ? 1 / base_sq : kInfinity, lanes, tally);
    if (lanes.rod.empty()) continue;
    sweep(plan, x, z, lanes);
    collect(plan, base, lanes, tally);
  }
  return tally;
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
  std::vector<Tally> tallies(chunks, Tally(actuators));
  base::parallel_for(chunks, control.jobs, [&](std::size_t c) {
    tallies[c] = search_chunk(plan, c * kChunk, std::min((c + 1) * kChunk, task.base_mounts.size()), control);
  });

  Tally all(actuators);
  for (const Tally& t : tallies) all.merge(t);
  PlacementResult out;
  out.base_mounts_done = all.base_mounts;
  out.complete = all.base_mounts == static_cast<std::int64_t>(task.base_mounts.size());
  out.examined = all.base_mounts * static_cast<std::int64_t>(task.rod_mounts.size() * actuators);
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
