// One vehicle that a page drives: stepped at real time by a thread of its own. A page that has gone, or leaves the
// sticks alone for long, ends it; so does the next one.
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "trial/machine.h"

namespace serve {

class LiveTrial {
 public:
  static constexpr int kFrames_per_s = 60;
  static constexpr int kMostStreams = 4;
  /// Without a stream, and with the sticks left alone.
  struct Patience {
    std::chrono::milliseconds unseen{5000};
    std::chrono::milliseconds idle{300000};
  };

  LiveTrial() = default;
  explicit LiveTrial(Patience patience) : patience_(patience) {}
  LiveTrial(const LiveTrial&) = delete;
  LiveTrial& operator=(const LiveTrial&) = delete;
  ~LiveTrial() { close(); }

  /// Ends the one before. 0, with the reason, when the vehicle cannot be driven.
  int start(const trial::MachineRig& rig, const balance::GroundLine& ground, double slope_across_rad,
            const trial::DriveOptions& options, std::string& why_not);
  /// Where the sticks are, -1 (back, minus) to 1, the rig's own in its order; older inputs than the newest are left.
  /// False: no such drive runs.
  bool input(int id, std::uint64_t number, double throttle, std::vector<double> sticks);
  bool end(int id);
  void close();

  /// A place at its stream; false: no such drive runs, or all places are taken.
  bool enter(int id);
  void leave(int id);
  /// The newest instant after number `seen`, as one line of JSON, waiting up to `wait`; `seen` follows. Empty: nothing
  /// new. `over`: that was its last.
  [[nodiscard]] std::string frame_after(int id, std::uint64_t& seen, std::chrono::milliseconds wait, bool& over);

 private:
  using Clock = std::chrono::steady_clock;
  void run(trial::LiveMachine& drive);
  void end_thread();

  Patience patience_;
  std::mutex starting_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::thread thread_;
  int id_ = 0;  ///< of the newest
  bool running_ = false, stop_ = false;
  int streams_ = 0;
  Clock::time_point seen_last_, moved_last_;
  double throttle_ = 0;
  std::vector<double> sticks_;
  std::uint64_t input_ = 0;   ///< number of the newest input
  std::uint64_t frames_ = 0;  ///< made so far
  std::string frame_;
};

}  // namespace serve
