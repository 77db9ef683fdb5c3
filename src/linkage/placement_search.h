// The search behind place_actuators: what is prepared once, what a thread adds up over its base mounts, and how the
// sums of several threads merge. Internal to the folder.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <utility>
#include <vector>

#include "linkage/placement.h"
#include "linkage/placement_lanes.h"

namespace linkage::search {

inline constexpr int kReasons = 6;

/// What does not change during the search. Doubles in mm decide; the lanes' floats are in half-pitches.
struct Plan {
  const PlacementTask& task;
  double half_pitch_mm;
  std::vector<double> rod_x, rod_z, rod_inverse_square;  // from the pivot
  std::vector<double> cosine, sine, worst_moment_nmm;    // per table angle; worst over the cases
  std::vector<double> closed_sq, open_sq;                // per actuator, slack included
  double min_lever_sq;
  lanes::Rods rods;
  lanes::Limits limits;
  std::vector<float> moment_sq;  // as shares of the greatest
  double moment_scale_nmm = 1;

  explicit Plan(const PlacementTask& t);
  [[nodiscard]] double angle_at(std::size_t k) const;
  [[nodiscard]] std::size_t angles() const { return cosine.size(); }
};

/// The nearest miss of one reason, by a score whose least value is nearest.
struct Nearest {
  std::int64_t count = 0;
  double score = std::numeric_limits<double>::infinity();
  int base = -1, rod = -1;

  void offer(double value, int base_index, int rod_index) {
    ++count;
    if (value < score) {
      score = value;
      base = base_index;
      rod = rod_index;
    }
  }
  /// Of equals the one with the lower indices stays, as in one search through all.
  void merge(const Nearest& other) {
    count += other.count;
    const bool first = std::pair(other.base, other.rod) < std::pair(base, rod);
    if (base < 0 || (other.base >= 0 && (other.score < score || (other.score == score && first)))) {
      score = other.score;
      base = other.base;
      rod = other.rod;
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
  /// True when it was taken.
  bool offer(const Kept& one);
  /// As if both had been offered in the order of their indices.
  void merge(const Front& other);
  /// Whether anything of at least this force and stroke would be turned away.
  [[nodiscard]] bool beats(std::int64_t least_force_key, std::int64_t stroke_key) const;
  [[nodiscard]] const std::vector<Kept>& kept() const { return kept_; }

 private:
  std::vector<Kept> kept_;
};

/// Result of some of the base mounts; whichever and in which order they were merged leaves no trace.
struct Tally {
  std::vector<Front> fronts;
  std::vector<std::int64_t> feasible;
  Nearest dead_centre, lever;
  std::vector<std::array<Nearest, kReasons>> per_actuator;
  std::int64_t base_mounts = 0, other_side = 0;  ///< the latter in pairs

  explicit Tally(std::size_t actuators) : fronts(actuators), feasible(actuators), per_actuator(actuators) {}
  void merge(const Tally& other);
};

class Piece;

/// What one thread searches, with its buffers. A worker that has a front already turns most of what follows away
/// cheaply, so it is kept from one range of base mounts to the next.
class Worker {
 public:
  explicit Worker(const Plan& plan);
  ~Worker();
  Worker(const Worker&) = delete;
  Worker& operator=(const Worker&) = delete;
  /// Base mounts [first, last), behind those of earlier calls; ends early when stopped.
  void search(std::size_t first, std::size_t last, const base::RunControl& control);
  [[nodiscard]] const Tally& tally() const { return tally_; }

 private:
  const Plan& plan_;
  Tally tally_;
  std::unique_ptr<Piece> piece_;
};

}  // namespace linkage::search
