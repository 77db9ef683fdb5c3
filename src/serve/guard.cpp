#include "serve/guard.h"

#include <fmt/format.h>
#include <sys/random.h>

#include <array>

#include "base/check.h"

namespace serve {

std::string fresh_token() {
  std::array<unsigned char, 16> bytes{};
  KW_CHECK(::getrandom(bytes.data(), bytes.size(), 0) == static_cast<ssize_t>(bytes.size()),
           "the system gives no random bytes");
  std::string out;
  for (const unsigned char b : bytes) out += fmt::format("{:02x}", b);
  return out;
}

bool same_secret(std::string_view a, std::string_view b) {
  unsigned difference = a.size() == b.size() ? 0 : 1;
  for (std::size_t i = 0; i < a.size(); ++i) {
    difference |= static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i % (b.empty() ? 1 : b.size())]);
  }
  return !b.empty() && difference == 0;
}

std::string Guard::cookie_name() const {
  return fmt::format("kitwright_{}", port_);
}

bool Guard::is_own_host(const std::string& host) const {
  return host == fmt::format("127.0.0.1:{}", port_) || host == fmt::format("localhost:{}", port_);
}

bool Guard::knows_token(const httplib::Request& request) const {
  constexpr std::string_view kBearer = "Bearer ";
  if (const std::string told = request.get_header_value("Authorization"); told.starts_with(kBearer)) {
    return same_secret(std::string_view(told).substr(kBearer.size()), token_);
  }
  const std::string cookies = request.get_header_value("Cookie");
  const std::string name = cookie_name() + "=";
  for (std::size_t at = 0; at < cookies.size();) {
    while (at < cookies.size() && cookies[at] == ' ') ++at;
    const std::size_t end = std::min(cookies.find(';', at), cookies.size());
    const std::string_view one = std::string_view(cookies).substr(at, end - at);
    if (one.starts_with(name)) return same_secret(one.substr(name.size()), token_);
    at = end + 1;
  }
  return false;
}

std::optional<Reply> Guard::refusal(const httplib::Request& request) const {
  if (!is_own_host(request.get_header_value("Host"))) {
    return Reply::problem(421, "another host", fmt::format("ask at http://127.0.0.1:{}.", port_));
  }
  if (request.has_header("Origin")) {
    const std::string origin = request.get_header_value("Origin");
    if (!origin.starts_with("http://") || !is_own_host(origin.substr(7))) {
      return Reply::problem(403, "another site", "only the workbench's own page may ask.");
    }
  }
  if (request.path.size() > kLongestPath) {
    return Reply::problem(414, "too long an address", fmt::format("at most {} bytes.", kLongestPath));
  }
  const bool reads = request.method == "GET" || request.method == "HEAD";
  // The token travels in the address just once, and is swapped for the cookie there.
  const bool enters = reads && request.path == "/open";
  if (!enters && !knows_token(request)) {
    return Reply::problem(401, "no token", "open the address that the program printed when it started.");
  }
  // The size limit of the library holds for bodies of stated length only.
  if (request.has_header("Transfer-Encoding")) {
    return Reply::problem(411, "no stated length", "send Content-Length instead of Transfer-Encoding.");
  }
  if (reads) return std::nullopt;
  if (request.method != "POST" && request.method != "PUT" && request.method != "DELETE") {
    return Reply::problem(405, "no such method", "use GET, POST, PUT or DELETE.");
  }
  if (!request.has_header("Content-Length")) {
    if (request.method == "DELETE") return std::nullopt;  // browsers state none for what has no body
    return Reply::problem(411, "no stated length", "send Content-Length.");
  }
  const std::string length = request.get_header_value("Content-Length");
  if (length.empty() || length.size() > 12 || length.find_first_not_of("0123456789") != std::string::npos) {
    return Reply::problem(400, "no length", "Content-Length must be a number.");
  }
  if (std::stoull(length) > kMostBodyBytes) {
    return Reply::problem(413, "too large a request", fmt::format("at most {} bytes.", kMostBodyBytes));
  }
  return std::nullopt;
}

void Guard::add_headers(httplib::Response& response) {
  if (response.has_header("Content-Security-Policy")) return;
  response.set_header("X-Content-Type-Options", "nosniff");
  response.set_header("Referrer-Policy", "no-referrer");
  response.set_header("Cross-Origin-Opener-Policy", "same-origin");
  response.set_header("Cross-Origin-Resource-Policy", "same-origin");
  response.set_header("Content-Security-Policy",
                      "default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; "
                      "connect-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; "
                      "form-action 'none'");
}

}  // namespace serve
