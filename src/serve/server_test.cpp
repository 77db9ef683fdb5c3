// Covers serve/server and serve/guard: who is let in, what is refused, streams beside requests, an end that is quick.
#include "serve/server.h"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <thread>

#include "serve/events.h"
#include "serve/test_client.h"

using namespace serve::testing;
using nlohmann::json;

namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point begin) {
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

/// A server without a project: nothing is computed.
class ServerTest : public ::testing::Test {
 protected:
  void SetUp() override {
    serve::Settings settings;
    settings.version = "test";
    server = std::make_unique<serve::Server>(settings);
    document::Diagnostics d;
    ASSERT_TRUE(server->start(d));
    client = std::make_unique<TestClient>(*server);
  }
  [[nodiscard]] std::string host() const { return "127.0.0.1:" + std::to_string(server->port()); }
  [[nodiscard]] std::string bearer() const { return "Authorization: Bearer " + server->token() + "\r\n"; }
  /// First line of the answer to a request sent byte for byte.
  [[nodiscard]] std::string status_of(const std::string& request, int wait_ms = 300) const {
    const std::string all = raw(server->port(), request, wait_ms);
    return all.substr(0, all.find("\r\n"));
  }

  std::unique_ptr<serve::Server> server;
  std::unique_ptr<TestClient> client;
};

TEST_F(ServerTest, LetsInWhoHasTheToken) {
  EXPECT_EQ(client->get("/api/session").status, 200);
  httplib::Client stranger("127.0.0.1", server->port());
  for (const char* path : {"/", "/api/session", "/api/project", "/api/events", "/assets/a.js", "/api/nothing"})
    EXPECT_EQ(stranger.Get(path)->status, 401) << path;
  EXPECT_EQ(stranger.Get("/api/session", {{"Authorization", "Bearer " + std::string(32, '0')}})->status, 401);
  EXPECT_EQ(stranger.Get("/api/session", {{"Authorization", "Bearer "}})->status, 401);
  EXPECT_EQ(stranger.Get("/api/session", {{"Authorization", "Bearer " + server->token() + "0"}})->status, 401);
  EXPECT_EQ(stranger.Get("/open?t=wrong")->status, 401);
  EXPECT_EQ(stranger.Get("/open")->status, 401);
}

TEST_F(ServerTest, SwapsTheTokenForACookie) {
  httplib::Client browser("127.0.0.1", server->port());
  const auto entered = browser.Get("/open?t=" + server->token());
  ASSERT_EQ(entered->status, 303);
  EXPECT_EQ(entered->get_header_value("Location"), "/");
  const std::string cookie = entered->get_header_value("Set-Cookie");
  EXPECT_NE(cookie.find("kitwright_" + std::to_string(server->port()) + "=" + server->token()), std::string::npos);
  EXPECT_NE(cookie.find("HttpOnly; SameSite=Strict"), std::string::npos);
  const std::string pair = cookie.substr(0, cookie.find(';'));
  const auto page = browser.Get("/", {{"Cookie", "other=1; " + pair + "; more=2"}});
  ASSERT_EQ(page->status, 200);
  EXPECT_NE(page->body.find("<html"), std::string::npos);
  // The same name with something else in it, and the cookie of another program.
  EXPECT_EQ(browser.Get("/", {{"Cookie", pair.substr(0, pair.find('=')) + "=no"}})->status, 401);
  EXPECT_EQ(browser.Get("/", {{"Cookie", "kitwright_1=" + server->token()}})->status, 401);
}

TEST_F(ServerTest, SendsTheGuardingHeadersWithEveryAnswer) {
  for (const char* path : {"/", "/api/session", "/api/nothing", "/nothing.js"}) {
    const Answer a = client->get(path);
    for (const char* name : {"Content-Security-Policy", "X-Content-Type-Options", "Referrer-Policy",
                             "Cross-Origin-Opener-Policy", "Cross-Origin-Resource-Policy"})
      EXPECT_EQ(a.headers.count(name), 1U) << path << " " << name;
    EXPECT_EQ(a.headers.count("Content-Encoding"), 0U) << path;
  }
}

TEST_F(ServerTest, RefusesOtherHostsAndSites) {
  EXPECT_EQ(status_of("GET /api/session HTTP/1.1\r\nHost: evil.example\r\n" + bearer() + "\r\n"),
            "HTTP/1.1 421 Misdirected Request");
  EXPECT_EQ(status_of("GET /api/session HTTP/1.1\r\n" + bearer() + "\r\n"), "HTTP/1.1 421 Misdirected Request");
  EXPECT_EQ(client->get("/api/session", {{"Origin", "http://evil.example"}}).status, 403);
  EXPECT_EQ(client->get("/api/session", {{"Origin", "https://" + host()}}).status, 403);
  EXPECT_EQ(client->get("/api/session", {{"Origin", "http://127.0.0.1:1"}}).status, 403);
  EXPECT_EQ(client->get("/api/session", {{"Origin", "null"}}).status, 403);
  EXPECT_EQ(client->get("/api/session", {{"Origin", "http://" + host()}}).status, 200);
}

TEST_F(ServerTest, RefusesBodiesOfUnknownOrGreatLengthBeforeReadingThem) {
  const std::string head = " HTTP/1.1\r\nHost: " + host() + "\r\n" + bearer();
  EXPECT_EQ(status_of("POST /api/edits" + head + "Transfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n"),
            "HTTP/1.1 411 Length Required");
  EXPECT_EQ(status_of("GET /api/session" + head + "Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n"),
            "HTTP/1.1 411 Length Required");
  EXPECT_EQ(status_of("POST /api/undo" + head + "\r\n"), "HTTP/1.1 411 Length Required");
  const auto begin = Clock::now();
  EXPECT_EQ(status_of("PUT /api/pictures/a.png" + head + "Content-Length: 900000000\r\n\r\n"),
            "HTTP/1.1 413 Payload Too Large");
  EXPECT_EQ(status_of("PUT /api/pictures/a.png" + head + "Content-Length: 99999999999999999999\r\n\r\n"),
            "HTTP/1.1 400 Bad Request");
  EXPECT_EQ(status_of("PUT /api/pictures/a.png" + head + "Content-Length: -5\r\n\r\n"), "HTTP/1.1 400 Bad Request");
  EXPECT_LT(seconds_since(begin), 4.0);
  EXPECT_EQ(status_of("BREW /api/session" + head + "Content-Length: 0\r\n\r\n").substr(0, 12), "HTTP/1.1 400");
  EXPECT_EQ(status_of("OPTIONS /api/session" + head + "\r\n").substr(0, 12), "HTTP/1.1 405");
  EXPECT_EQ(client->get("/" + std::string(600, 'a')).status, 414);
}

TEST_F(ServerTest, WhatFollowsARefusedHeadHasNoRights) {
  // The body of a refused request is not read and may look like a request of its own: it then needs the token, too.
  const std::string inner = "GET /api/session HTTP/1.1\r\nHost: " + host() + "\r\n\r\n";
  const std::string all =
      raw(server->port(),
          "POST /api/open HTTP/1.1\r\nHost: evil.example\r\nContent-Length: " + std::to_string(inner.size()) +
              "\r\n\r\n" + inner,
          300);
  EXPECT_EQ(all.find("200 OK"), std::string::npos) << all;
}

TEST_F(ServerTest, AnswersWithoutAProject) {
  const json session = client->get("/api/session").json();
  EXPECT_EQ(schema_problems("Session", session), "");
  EXPECT_FALSE(session.at("open"));
  EXPECT_GE(session.at("examples").size(), 5U);
  EXPECT_GE(session.at("archetypes").size(), 1U);
  for (const char* path : {"/api/project", "/api/result", "/api/stock", "/api/variants", "/api/trace", "/api/chart",
                           "/api/chart?radii=8", "/api/explain?function=a", "/api/drawing/candidate.svg?function=a",
                           "/api/drawing/chart.svg", "/api/files/report.txt", "/api/pictures/a.png"}) {
    const Answer a = client->get(path);
    EXPECT_EQ(a.status, 404) << path;
    EXPECT_EQ(schema_problems("Refusal", a.json()), "") << path;
  }
  for (const char* path : {"/api/undo", "/api/redo"}) EXPECT_EQ(client->post(path, json::object()).status, 404);
  EXPECT_EQ(client->get("/api/jobs").json(), json::array());
  EXPECT_EQ(client->get("/api/schema").json().at("title"), "Kitwright project");
}

TEST_F(ServerTest, RefusesMalformedBodiesAtEveryPlace) {
  const std::string deep = std::string(5000, '[') + std::string(5000, ']');
  const std::vector<std::string> bad{"", "{", "nonsense", "[]", "{\"unknown\":1}", "null", deep, "\"\xff\xfe\""};
  for (const std::string& body : bad) {
    for (const char* path : {"/api/open", "/api/edits", "/api/reload"}) {
      const Answer a = client->post_text(path, body);
      EXPECT_TRUE(a.status == 400 || a.status == 422) << path << " " << a.status << " " << body.substr(0, 20);
      EXPECT_EQ(schema_problems("Refusal", a.json()), "") << path << " " << a.body;
    }
    for (const char* path : {"/api/text", "/api/stock"}) {
      const Answer a = client->put(path, body);
      EXPECT_TRUE(a.status == 400 || a.status == 422) << path << " " << a.status << " " << body.substr(0, 20);
      EXPECT_EQ(schema_problems("Refusal", a.json()), "") << path << " " << a.body;
    }
  }
  const Answer a = client->post("/api/edits", {{"revision", "x"}, {"edits", {{{"op", "swap"}, {"at", 3}}}}});
  EXPECT_EQ(a.status, 422);
  std::vector<std::string> places;
  const json answer = a.json();
  for (const json& p : answer.at("problems")) places.push_back(p.at("at"));
  for (const char* at : {"/revision", "/edits/0/op", "/edits/0/at"})
    EXPECT_NE(std::find(places.begin(), places.end(), at), places.end()) << at;
}

TEST_F(ServerTest, KeepsToItsFolders) {
  for (const char* path : {"/../kw", "/..%2f..%2fetc%2fpasswd", "/assets/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd",
                           "//etc/passwd", "/api/pictures/..%2fproject.toml", "/api/pictures/../project.toml",
                           "/api/variants/..%2fproject", "/api/files/..%2fstock.csv", "/api/pictures/%00a.png"}) {
    const std::string all = raw(
        server->port(),
        std::string("GET ") + path + " HTTP/1.1\r\nHost: " + host() + "\r\n" + bearer() + "Connection: close\r\n\r\n",
        1000);
    // An address without an ending is the page's own affair; a file it never is.
    const bool page = all.find("<html") != std::string::npos;
    EXPECT_TRUE(page || all.find("200 OK") == std::string::npos) << path;
    EXPECT_EQ(all.find("root:"), std::string::npos) << path;
  }
}

TEST_F(ServerTest, AnswersQuicklyBesideAsManyStreamsAsThereMayBe) {
  std::atomic<int> open{0}, ended{0};
  std::atomic<bool> quit{false};
  std::vector<std::thread> streams;
  for (int i = 0; i < serve::EventLog::kMostStreams; ++i) {
    streams.emplace_back([&] {
      httplib::Client c("127.0.0.1", server->port());
      c.set_default_headers({{"Authorization", "Bearer " + server->token()}});
      c.set_read_timeout(30);
      bool first = true;
      c.Get("/api/events", [&](const char*, std::size_t) {
        if (first) ++open;
        first = false;
        return !quit.load();
      });
      ++ended;
    });
  }
  const auto begin = Clock::now();
  while (open < serve::EventLog::kMostStreams && seconds_since(begin) < 20)
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  EXPECT_EQ(open, serve::EventLog::kMostStreams);
  EXPECT_EQ(client->get("/api/events").status, 503);
  double slowest = 0;
  for (int i = 0; i < 20; ++i) {
    const auto asked = Clock::now();
    EXPECT_EQ(client->post("/api/undo", json::object()).status, 404);
    slowest = std::max(slowest, seconds_since(asked));
  }
  EXPECT_LT(slowest, 1.0);  // 1 ms on a quiet machine; a starved one would wait for a stream to end

  const auto stopping = Clock::now();
  server->stop();
  EXPECT_LT(seconds_since(stopping), 2.0);
  for (std::thread& t : streams) t.join();
  EXPECT_EQ(ended, serve::EventLog::kMostStreams);
}

TEST_F(ServerTest, AClosedStreamGivesItsPlaceBack) {
  for (int i = 0; i < 3; ++i) {
    httplib::Client c("127.0.0.1", server->port());
    c.set_default_headers({{"Authorization", "Bearer " + server->token()}});
    c.Get("/api/events", [](const char*, std::size_t) { return false; });
  }
  const auto begin = Clock::now();
  while (server->desk().events().streams() > 0 && seconds_since(begin) < 10)
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  EXPECT_EQ(server->desk().events().streams(), 0);
}

TEST_F(ServerTest, SaysThatAPortIsTaken) {
  serve::Settings settings;
  settings.port = server->port();
  serve::Server second(settings);
  document::Diagnostics d;
  EXPECT_FALSE(second.start(d));
  ASSERT_TRUE(d.has_errors());
  EXPECT_EQ(d.sorted().front().code, "serve.port");
}

TEST(ServerSchema, IsTheOneInTheSources) {
  EXPECT_TRUE(serve::server_schema() == read(std::string(KW_SOURCE_DIR) + "/schema/server.schema.json"))
      << "write it anew with: kitwright schema --server --out schema/server.schema.json";
}

}  // namespace
