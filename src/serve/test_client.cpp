#include "serve/test_client.h"

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <unistd.h>

#include <chrono>
#include <fstream>
#include <sstream>
#include <thread>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

namespace serve::testing {
namespace {

namespace fs = std::filesystem;

Answer answer_of(const httplib::Result& r) {
  if (!r) return {-1, httplib::to_string(r.error()), {}};
  return {r->status, r->body, r->headers};
}

}  // namespace

TemporaryFolder::TemporaryFolder() {
  std::string name = (fs::temp_directory_path() / "kw_serve_XXXXXX").string();
  path_ = ::mkdtemp(name.data());
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

std::string read(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

void write(const std::string& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

std::string copy_of(const std::string& example, const TemporaryFolder& folder) {
  fs::copy(fs::path(KW_SOURCE_DIR) / "examples" / example, folder.at(example), fs::copy_options::recursive);
  return folder.at(example);
}

std::string schema_problems(const std::string& message, const nlohmann::json& document) {
  const nlohmann::json all = nlohmann::json::parse(read(std::string(KW_SOURCE_DIR) + "/schema/server.schema.json"));
  valijson::Schema schema;
  const nlohmann::json& one = all.at("$defs").at(message);
  valijson::SchemaParser().populateSchema(valijson::adapters::NlohmannJsonAdapter(one), schema);
  valijson::ValidationResults results;
  valijson::Validator validator;
  if (validator.validate(schema, valijson::adapters::NlohmannJsonAdapter(document), &results)) return "";
  std::string out;
  valijson::ValidationResults::Error error;
  while (results.popError(error)) {
    for (const std::string& place : error.context) out += place;
    out += ": " + error.description + "\n";
  }
  return out.empty() ? "not valid" : out;
}

TestClient::TestClient(const Server& server) : http_("127.0.0.1", server.port()) {
  http_.set_keep_alive(true);
  http_.set_tcp_nodelay(true);
  http_.set_read_timeout(60);
  http_.set_default_headers({{"Authorization", "Bearer " + server.token()}});
}

Answer TestClient::get(const std::string& path, httplib::Headers headers) {
  return answer_of(http_.Get(path, headers));
}

Answer TestClient::post(const std::string& path, const nlohmann::json& body, httplib::Headers headers) {
  return answer_of(http_.Post(path, headers, body.dump(), "application/json"));
}

Answer TestClient::post_text(const std::string& path, const std::string& body, const std::string& type) {
  return answer_of(http_.Post(path, body, type));
}

Answer TestClient::put(const std::string& path, const std::string& body, const std::string& type) {
  return answer_of(http_.Put(path, body, type));
}

Answer TestClient::drop(const std::string& path) {
  return answer_of(http_.Delete(path, "", "text/plain"));
}

Answer TestClient::set(int revision, const std::string& at, const nlohmann::json& value) {
  return post("/api/edits",
              {{"revision", revision}, {"label", "test"}, {"edits", {{{"op", "set"}, {"at", at}, {"value", value}}}}});
}

nlohmann::json TestClient::design_of(int revision) {
  const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(120);
  while (std::chrono::steady_clock::now() < end) {
    const Answer a = get("/api/result");
    if (a.status == 200 && a.json().at("revision") >= revision) return a.json();
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  ADD_FAILURE() << "no design of revision " << revision << ": " << get("/api/jobs").body;
  return {};
}

std::string raw(int port, const std::string& bytes, int wait_ms) {
  const int s = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in to{};
  to.sin_family = AF_INET;
  to.sin_port = htons(static_cast<std::uint16_t>(port));
  to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  timeval wait{wait_ms / 1000, (wait_ms % 1000) * 1000};
  ::setsockopt(s, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait);
  std::string out;
  if (::connect(s, reinterpret_cast<const sockaddr*>(&to), sizeof to) == 0) {
    if (::send(s, bytes.data(), bytes.size(), MSG_NOSIGNAL) < 0) out = "";
    char block[4096];
    for (ssize_t got = 0; (got = ::recv(s, block, sizeof block, 0)) > 0;)
      out.append(block, static_cast<std::size_t>(got));
  }
  ::close(s);
  return out;
}

}  // namespace serve::testing
