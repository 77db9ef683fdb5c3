// What a long computation is told from outside: stop now, and where to report progress. Carries no result.
#pragma once

#include <atomic>
#include <functional>
#include <string_view>

namespace base {

/// Leaves a computation that nobody wants any more.
struct GivenUp {};

struct RunControl {
  const std::atomic<bool>* stop = nullptr;  ///< set by Ctrl-C or by a newer request; looked at within 50 ms
  /// When stopped, nothing is wanted of the result: stages end at once, rather than judge the best that was found.
  bool give_up = false;
  int jobs = 1;  ///< threads to use; never changes a result
  /// Called now and then from the calling thread: what is being done, and how far (0..1, negative = unknown).
  std::function<void(std::string_view what, double share)> progress;

  [[nodiscard]] bool stopped() const { return stop != nullptr && stop->load(std::memory_order_relaxed); }
  [[nodiscard]] bool given_up() const { return give_up && stopped(); }
  /// Throws GivenUp when it is; for the middle of long judgements.
  void check() const {
    if (given_up()) throw GivenUp{};
  }
  void report(std::string_view what, double share) const {
    if (progress) progress(what, share);
  }
};

}  // namespace base
