// Covers serve/connections: idle and slow connections keep nobody waiting, and the end waits for none of them.
#include "serve/connections.h"

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <thread>

#include "serve/test_client.h"

using namespace serve::testing;

namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point begin) {
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

/// A connection that says what it is told to and no more.
class Plain {
 public:
  explicit Plain(int port) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(static_cast<std::uint16_t>(port));
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    // One at a time: more than a handful that wait to be accepted would be asked to come again a second later.
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
    connected_ = ::connect(socket_, reinterpret_cast<const sockaddr*>(&to), sizeof to) == 0;
  }
  Plain(Plain&& other) noexcept : socket_(std::exchange(other.socket_, -1)), connected_(other.connected_) {}
  Plain(const Plain&) = delete;
  ~Plain() {
    if (socket_ >= 0) ::close(socket_);
  }
  [[nodiscard]] bool connected() const { return connected_; }
  bool say(const std::string& text) const {
    return ::send(socket_, text.data(), text.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(text.size());
  }
  /// What the other side has sent within `wait_ms`; ends early when it closes.
  [[nodiscard]] std::string heard(int wait_ms) const {
    timeval wait{wait_ms / 1000, (wait_ms % 1000) * 1000};
    ::setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait);
    char block[512];
    const ssize_t got = ::recv(socket_, block, sizeof block, 0);
    return got > 0 ? std::string(block, static_cast<std::size_t>(got)) : std::string();
  }

 private:
  int socket_;
  bool connected_ = false;
};

class ConnectionsTest : public ::testing::Test {
 protected:
  void SetUp() override {
    serve::Settings settings;
    settings.version = "test";
    server = std::make_unique<serve::Server>(settings);
    document::Diagnostics d;
    ASSERT_TRUE(server->start(d));
    client = std::make_unique<TestClient>(*server);
  }
  std::unique_ptr<serve::Server> server;
  std::unique_ptr<TestClient> client;
};

TEST_F(ConnectionsTest, IdleAndSlowOnesKeepNobodyWaiting) {
  std::vector<Plain> idle, slow;
  for (int i = 0; i < 200; ++i) idle.emplace_back(server->port());
  for (int i = 0; i < 40; ++i) slow.emplace_back(server->port());
  for (const Plain& p : idle) ASSERT_TRUE(p.connected());
  for (const Plain& p : slow) ASSERT_TRUE(p.say("GET /api/session HTTP/1.1\r\nHo"));
  double slowest = 0;
  for (int i = 0; i < 20; ++i) {
    for (const Plain& p : slow) p.say("s");  // a byte at a time, for ever
    TestClient fresh(*server);
    const auto asked = Clock::now();
    EXPECT_EQ(fresh.get("/api/jobs").status, 200);
    slowest = std::max(slowest, seconds_since(asked));
  }
  EXPECT_LT(slowest, 1.0);  // 1 ms on a quiet machine; 5 s if one waited for another

  const auto stopping = Clock::now();
  server->stop();
  EXPECT_LT(seconds_since(stopping), 2.0);
}

TEST_F(ConnectionsTest, OneTooManyIsToldSo) {
  std::vector<Plain> all;
  for (std::size_t i = 0; i < serve::kMostConnections + 20; ++i) all.emplace_back(server->port());
  std::size_t refused = 0;
  for (std::size_t i = serve::kMostConnections; i < all.size(); ++i)
    if (all[i].heard(2000).starts_with("HTTP/1.1 503")) ++refused;
  EXPECT_EQ(refused, 20U);
  all.clear();
  // The places are free again.
  const auto begin = Clock::now();
  int status = 0;
  while (status != 200 && seconds_since(begin) < 10) {
    httplib::Client c("127.0.0.1", server->port());
    c.set_default_headers({{"Authorization", "Bearer " + server->token()}});
    const auto a = c.Get("/api/jobs");
    status = a ? a->status : 0;
  }
  EXPECT_EQ(status, 200);
}

TEST_F(ConnectionsTest, RequestsInOnePieceAreAnsweredInOrder) {
  const std::string head =
      "Host: 127.0.0.1:" + std::to_string(server->port()) + "\r\nAuthorization: Bearer " + server->token() + "\r\n";
  const std::string all = raw(server->port(), "GET /api/jobs HTTP/1.1\r\n" + head + "\r\nPOST /api/undo HTTP/1.1\r\n" +
                                                  head + "Content-Length: 2\r\n\r\n{}GET /api/nothing HTTP/1.1\r\n" +
                                                  head + "Connection: close\r\n\r\n");
  std::vector<std::string> lines;
  for (std::size_t at = all.find("HTTP/1.1 "); at != std::string::npos; at = all.find("HTTP/1.1 ", at + 1))
    lines.push_back(all.substr(at, 12));
  EXPECT_EQ(lines, (std::vector<std::string>{"HTTP/1.1 200", "HTTP/1.1 404", "HTTP/1.1 404"})) << all;
}

TEST(Listener, CutsOffARequestThatNeverEnds) {
  serve::Listener http;
  http.set_read_timeout(1);  // between two bytes
  http.Get("/", [](const httplib::Request&, httplib::Response& r) { r.set_content("here", "text/plain"); });
  const int port = http.bind_to_any_port("127.0.0.1");
  std::thread thread([&] { http.listen_after_bind(); });
  while (!http.is_running()) std::this_thread::yield();
  {
    const Plain silent(port);
    silent.say("GET / HT");
    const auto begin = Clock::now();
    (void)silent.heard(5000);
    EXPECT_LT(seconds_since(begin), 4.0);
  }
  const auto begin = Clock::now();
  while (http.open() > 0 && seconds_since(begin) < 5) std::this_thread::sleep_for(std::chrono::milliseconds(5));
  EXPECT_EQ(http.open(), 0U);
  http.stop();
  thread.join();
}

}  // namespace
