// Connections of the server: a thread each, so that idle ones keep nobody waiting; a request that comes too slowly is
// cut off; the end of the program waits for none.
#pragma once

#include <httplib.h>

#include <condition_variable>
#include <mutex>
#include <set>

namespace serve {

/// Connections open at a time; one more is told so and closed.
inline constexpr std::size_t kMostConnections = 400;
/// From the first byte of a request to its last. A sender that stays below would hold a thread for as long as it likes.
inline constexpr int kLongestRequest_s = 20;

/// Whether the one whose request this thread answers has gone: closed its page, or given the request up. For answers
/// that take long; false in a thread that answers nobody.
[[nodiscard]] bool caller_gone();

/// The library's server with its own way to carry connections.
class Listener : public httplib::Server {
 public:
  Listener();

  /// Connections that are open now.
  [[nodiscard]] std::size_t open() const;

 private:
  class Threads;

  bool process_and_close_socket(socket_t socket) override;
  void answer(socket_t socket);
  void cut_all();

  mutable std::mutex mutex_;
  std::condition_variable none_left_;
  std::set<socket_t> sockets_;
  bool ending_ = false;
};

}  // namespace serve
