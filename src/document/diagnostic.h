// What is wrong with the user's file, where, and what to try. Collected, never thrown: one run shows every problem.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace document {

struct Location {
  std::string file;  ///< as the user named it
  int line = 0;      ///< 1-based; 0 = the file as a whole
  int column = 0;
};

enum class Severity { error, warning };

struct Diagnostic {
  Severity severity = Severity::error;
  std::string code;  ///< stable, "luff.angle_range"
  Location where;
  std::string path;     ///< JSON pointer, "/functions/2/wants/load_g"; empty for text-level problems
  std::string message;  ///< what was found and what is allowed
  std::string hint;     ///< what to try; may be empty
};

class Diagnostics {
 public:
  void error(std::string code, Location where, std::string path, std::string message, std::string hint = {});
  void warning(std::string code, Location where, std::string path, std::string message, std::string hint = {});
  void add(Diagnostic d);
  void add_all(const Diagnostics& other);

  [[nodiscard]] bool has_errors() const;
  /// In file order: by file, line, column; equal places in the order they were reported.
  [[nodiscard]] std::vector<Diagnostic> sorted() const;
  [[nodiscard]] bool empty() const { return items_.empty(); }

 private:
  std::vector<Diagnostic> items_;
};

/// The user's own words for a message: in quotes, control characters and broken UTF-8 as \xNN, cut after 60 characters.
[[nodiscard]] std::string quoted(std::string_view text);

/// "quay.toml:41:17 error luff.angle_range  /functions/2/angle_deg" + message line + "try: ..." line.
[[nodiscard]] std::string text_of(const Diagnostic& d);

}  // namespace document
