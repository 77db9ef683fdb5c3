// For the tests of this folder: a temporary project, a client that has the token, answers held against the schema.
#pragma once

#include <httplib.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "serve/server.h"

namespace serve::testing {

class TemporaryFolder {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  [[nodiscard]] std::string at(const std::string& name = "") const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

[[nodiscard]] std::string read(const std::string& file);
void write(const std::string& file, const std::string& text);
/// A copy of an example below the folder; its path.
[[nodiscard]] std::string copy_of(const std::string& example, const TemporaryFolder& folder);

/// What of an answer the schema forbids; empty when it is valid.
[[nodiscard]] std::string schema_problems(const std::string& message, const nlohmann::json& document);

/// One answer.
struct Answer {
  int status = 0;
  std::string body;
  httplib::Headers headers;
  [[nodiscard]] nlohmann::json json() const { return nlohmann::json::parse(body); }
};

class TestClient {
 public:
  explicit TestClient(const Server& server);

  Answer get(const std::string& path, httplib::Headers headers = {});
  Answer post(const std::string& path, const nlohmann::json& body, httplib::Headers headers = {});
  Answer post_text(const std::string& path, const std::string& body, const std::string& type = "application/json");
  Answer put(const std::string& path, const std::string& body, const std::string& type = "application/json");
  Answer drop(const std::string& path);
  /// One edit that sets a value.
  Answer set(int revision, const std::string& at, const nlohmann::json& value);
  /// Waits until a design of this revision (or a later one) is there.
  nlohmann::json design_of(int revision);

  httplib::Client& http() { return http_; }

 private:
  httplib::Client http_;
};

/// Sends bytes as they are and returns all that comes back until the other side closes or `wait_ms` pass.
[[nodiscard]] std::string raw(int port, const std::string& bytes, int wait_ms = 3000);

}  // namespace serve::testing
