// Runs the program in a child process and checks its JSON against schema/result.schema.json.
#pragma once

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace program {

struct Answer {
  int exit = -1;  ///< exit code; 128 + signal when a signal ended it
  std::string out, err;
};

/// `interrupt_ms` >= 0: Ctrl-C after that time.
[[nodiscard]] Answer run(const std::vector<std::string>& arguments, int interrupt_ms = -1);

/// Parses and checks; the problems, empty when it is valid.
[[nodiscard]] std::string schema_problems(const nlohmann::json& document);

/// A folder that is removed with the object.
class Folder {
 public:
  Folder();
  ~Folder();
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] std::string path(const std::string& name = "") const { return (path_ / name).string(); }
  void write(const std::string& name, const std::string& text) const;

 private:
  std::filesystem::path path_;
};

[[nodiscard]] std::string read(const std::string& file);

}  // namespace program
