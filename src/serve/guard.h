// Who may ask what: loopback only, one token per launch, no other site's page, no body that has no stated length.
#pragma once

#include <httplib.h>

#include <optional>
#include <string>

#include "serve/desk.h"

namespace serve {

/// Bytes of a request body: a picture, a stock list.
inline constexpr std::size_t kMostBodyBytes = 20'000'000;
inline constexpr std::size_t kLongestPath = 512;

/// 128 random bits of the system, as 32 hex digits.
[[nodiscard]] std::string fresh_token();

/// Without a time that depends on where they differ.
[[nodiscard]] bool same_secret(std::string_view a, std::string_view b);

class Guard {
 public:
  Guard(int port, std::string token) : port_(port), token_(std::move(token)) {}

  [[nodiscard]] const std::string& token() const { return token_; }
  /// The cookie is named with the port: cookies ignore ports, and two programs would overwrite each other's.
  [[nodiscard]] std::string cookie_name() const;

  /// The refusal of a request by what its head says; nothing = let it in. Looked at before its body is read.
  [[nodiscard]] std::optional<Reply> refusal(const httplib::Request& request) const;

  /// On every answer.
  static void add_headers(httplib::Response& response);

 private:
  [[nodiscard]] bool is_own_host(const std::string& host) const;
  [[nodiscard]] bool knows_token(const httplib::Request& request) const;

  int port_;
  std::string token_;
};

}  // namespace serve
