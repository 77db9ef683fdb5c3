// What happened, numbered, for pages that listen: a stream is told everything after the number it saw last.
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <mutex>
#include <string>
#include <vector>

namespace serve {

struct Event {
  std::uint64_t id = 0;
  std::string name;  ///< "progress", "margins", "result", "project", "outside", "lost"
  std::string data;  ///< JSON in one line
};

/// The event as text/event-stream writes it.
[[nodiscard]] std::string stream_text(const Event& event);

class EventLog {
 public:
  /// Older events are forgotten; whoever missed them is told so by "lost" and reads everything anew.
  static constexpr std::size_t kMostKept = 1000;
  static constexpr int kMostStreams = 32;

  void publish(std::string name, std::string data);
  [[nodiscard]] std::uint64_t last() const;

  /// Events after `seen`, waiting up to `wait` for one; empty when there was none or the log is closed.
  [[nodiscard]] std::vector<Event> after(std::uint64_t seen, std::chrono::milliseconds wait);

  /// A place among the streams; false when all are taken or the log is closed.
  [[nodiscard]] bool enter();
  void leave();
  [[nodiscard]] int streams() const;

  /// Wakes all waiters for good.
  void close();
  [[nodiscard]] bool closed() const;

 private:
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<Event> kept_;
  std::uint64_t last_ = 0;
  int streams_ = 0;
  bool closed_ = false;
};

}  // namespace serve
