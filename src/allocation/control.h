// Limits of one call, shared by all its searches.
#pragma once

#include <chrono>
#include <cstdint>

#include "allocation/solution.h"

namespace allocation {

/// Counts nodes and says when to stop. Once stopped it stays stopped.
class Control {
 public:
  Control(const Options& options, Stats& stats)
      : options_(options), stats_(stats), start_(std::chrono::steady_clock::now()), first_node_(stats.nodes) {}

  /// One search node. False = stop now.
  bool tick() {
    ++stats_.nodes;
    if (stopped_) return false;
    if (options_.node_limit > 0 && stats_.nodes - first_node_ > options_.node_limit) stopped_ = true;
    if (options_.cancel != nullptr && options_.cancel->load(std::memory_order_relaxed)) stopped_ = true;
    if (options_.time_limit_s > 0) {
      const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - start_;
      if (spent.count() > options_.time_limit_s) stopped_ = true;
    }
    return !stopped_;
  }

  [[nodiscard]] bool stopped() const { return stopped_; }
  [[nodiscard]] const Options& options() const { return options_; }
  Stats& stats() { return stats_; }

 private:
  const Options& options_;
  Stats& stats_;
  std::chrono::steady_clock::time_point start_;
  std::int64_t first_node_;
  bool stopped_ = false;
};

}  // namespace allocation
