// The workbench's server: HTTP on the loopback address, one token per launch, streams of events.
#pragma once

#include <memory>
#include <string>

#include "document/diagnostic.h"
#include "serve/desk.h"

namespace serve {

class Server {
 public:
  explicit Server(const Settings& settings);
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;
  ~Server();

  /// Takes the port, opens the project and answers from now on. False, with the reason reported, when it cannot.
  bool start(document::Diagnostics& diagnostics);
  /// Ends all streams and answers nothing more; at once, also while streams are open.
  void stop();

  [[nodiscard]] int port() const;
  [[nodiscard]] const std::string& token() const;
  /// What the user opens: it holds the token.
  [[nodiscard]] std::string address() const;
  [[nodiscard]] Desk& desk();

 private:
  struct Wires;  // keeps the HTTP library out of this header
  std::unique_ptr<Wires> wires_;
};

/// Text of schema/server.schema.json: every request and every answer of the server.
[[nodiscard]] std::string server_schema();

}  // namespace serve
