// The scale study in the background: it designs the whole project at every scale and takes its time.
#pragma once

#include <atomic>
#include <mutex>
#include <string>
#include <thread>

#include "design/scale.h"

namespace serve {

class ScaleJob {
 public:
  explicit ScaleJob(int threads) : threads_(threads) {}
  ScaleJob(const ScaleJob&) = delete;
  ScaleJob& operator=(const ScaleJob&) = delete;
  ~ScaleJob() { close(); }

  /// Gives up a study that runs and starts this one.
  void start(design::ScaleOptions options, int revision);
  /// {state: none | running | done | failed, share, text, revision, study}; study is null until it is done.
  [[nodiscard]] std::string told() const;
  void forget();  ///< another project
  void close();

 private:
  void end();

  int threads_;
  std::mutex starting_;
  mutable std::mutex mutex_;
  std::string state_ = "none", text_, study_ = "null";
  double share_ = 0;
  int revision_ = 0;
  std::atomic<bool> stop_{false};
  std::thread thread_;
};

}  // namespace serve
