// What a long computation is told from outside: stop now, and where to report progress. Carries no result.
#pragma once

#include <atomic>
#include <functional>
#include <string_view>

namespace base {

struct RunControl {
  const std::atomic<bool>* stop = nullptr;  ///< set by Ctrl-C or by a newer request; looked at within 50 ms
  int jobs = 1;                             ///< threads to use; never changes a result
  /// Called now and then from the calling thread: what is being done, and how far (0..1, negative = unknown).
  std::function<void(std::string_view what, double share)> progress;

  [[nodiscard]] bool stopped() const { return stop != nullptr && stop->load(std::memory_order_relaxed); }
  void report(std::string_view what, double share) const {
    if (progress) progress(what, share);
  }
};

}  // namespace base
