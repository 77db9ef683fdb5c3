#include "serve/connections.h"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cstring>
#include <string_view>
#include <thread>

namespace serve {

namespace {

using Clock = std::chrono::steady_clock;

/// Waits until `events` or the end of the connection; false when the time is over.
bool ready(socket_t socket, short events, Clock::time_point until) {
  for (;;) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(until - Clock::now()).count();
    if (left < 0) return false;
    pollfd one{socket, events, 0};
    const int got = ::poll(&one, 1, static_cast<int>(std::min<long>(left, 60'000)) + 1);
    if (got > 0) return true;
    if (got < 0 && errno != EINTR) return false;
  }
}

/// Whether the other side has not closed the connection.
bool there(socket_t socket) {
  char peeked = 0;
  const ssize_t got = ::recv(socket, &peeked, 1, MSG_PEEK | MSG_DONTWAIT);
  return got > 0 || (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK));
}

/// One connection as the library reads and writes it.
class TimedStream : public httplib::Stream {
 public:
  TimedStream(socket_t socket, std::chrono::seconds patience) : socket_(socket), patience_(patience) {}

  /// Whether another request begins within `idle`; its time starts then.
  bool begins(std::chrono::seconds idle) {
    if (at_ == end_ && !ready(socket_, POLLIN, Clock::now() + idle)) return false;
    late_ = Clock::now() + std::chrono::seconds(kLongestRequest_s);
    return true;
  }

  bool is_readable() const override { return at_ < end_ || ready(socket_, POLLIN, next_byte_by()); }

  bool is_writable() const override { return ready(socket_, POLLOUT, Clock::now() + patience_) && there(socket_); }

  ssize_t read(char* to, std::size_t size) override {
    if (at_ == end_) {
      if (!ready(socket_, POLLIN, next_byte_by())) return -1;
      const ssize_t got = ::recv(socket_, block_.data(), block_.size(), 0);
      if (got <= 0) return got;
      at_ = 0;
      end_ = static_cast<std::size_t>(got);
    }
    const std::size_t n = std::min(size, end_ - at_);
    std::memcpy(to, block_.data() + at_, n);
    at_ += n;
    return static_cast<ssize_t>(n);
  }

  ssize_t write(const char* from, std::size_t size) override {
    if (!ready(socket_, POLLOUT, Clock::now() + patience_)) return -1;
    return ::send(socket_, from, size, MSG_NOSIGNAL);
  }

  void get_remote_ip_and_port(std::string& ip, int& port) const override {
    ip = "127.0.0.1";  // it listens nowhere else
    port = 0;
  }
  void get_local_ip_and_port(std::string& ip, int& port) const override { get_remote_ip_and_port(ip, port); }
  socket_t socket() const override { return socket_; }

 private:
  [[nodiscard]] Clock::time_point next_byte_by() const { return std::min(late_, Clock::now() + patience_); }

  socket_t socket_;
  std::chrono::seconds patience_;
  Clock::time_point late_;
  std::array<char, 4096> block_{};
  std::size_t at_ = 0, end_ = 0;
};

thread_local socket_t answered = INVALID_SOCKET;

}  // namespace

bool caller_gone() {
  return answered != INVALID_SOCKET && !there(answered);
}

/// The library asks its queue to run each connection, and to end.
class Listener::Threads : public httplib::TaskQueue {
 public:
  explicit Threads(Listener& owner) : owner_(owner) {}
  void enqueue(std::function<void()> run) override { run(); }  // the owner makes the thread: it knows the socket
  void shutdown() override { owner_.cut_all(); }

 private:
  Listener& owner_;
};

Listener::Listener() {
  new_task_queue = [this] { return new Threads(*this); };
}

std::size_t Listener::open() const {
  const std::lock_guard lock(mutex_);
  return sockets_.size();
}

bool Listener::process_and_close_socket(socket_t socket) {
  const std::lock_guard lock(mutex_);
  if (ending_ || sockets_.size() >= kMostConnections) {
    constexpr std::string_view kFull =
        "HTTP/1.1 503 Service Unavailable\r\nContent-Length: 0\r\nConnection: close\r\n\r\n";
    (void)::send(socket, kFull.data(), kFull.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    ::close(socket);
    return false;
  }
  sockets_.insert(socket);
  try {
    std::thread([this, socket] { answer(socket); }).detach();  // cut_all waits until every one has gone
  } catch (const std::system_error&) {                         // no thread left on this machine
    sockets_.erase(socket);
    ::close(socket);
    return false;
  }
  return true;
}

void Listener::answer(socket_t socket) {
  TimedStream stream(socket, std::chrono::seconds(read_timeout_sec_));
  answered = socket;
  for (std::size_t left = keep_alive_max_count_; left > 0; --left) {
    if (svr_sock_ == INVALID_SOCKET || !stream.begins(std::chrono::seconds(keep_alive_timeout_sec_))) break;
    bool closed = false;
    if (!process_request(stream, left == 1, closed, nullptr) || closed) break;
  }
  ::shutdown(socket, SHUT_RDWR);
  const std::lock_guard lock(mutex_);
  ::close(socket);  // under the lock: the number may be given out again at once
  sockets_.erase(socket);
  none_left_.notify_all();
}

void Listener::cut_all() {
  std::unique_lock lock(mutex_);
  ending_ = true;
  for (const socket_t s : sockets_) ::shutdown(s, SHUT_RDWR);
  none_left_.wait(lock, [this] { return sockets_.empty(); });
}

}  // namespace serve
