#include "program.h"

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

namespace program {

std::string read(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

Answer run(const std::vector<std::string>& arguments, int interrupt_ms) {
  const Folder folder;
  const std::string out = folder.path("out"), err = folder.path("err");
  std::vector<std::string> words{KITWRIGHT};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (std::string& w : words) argv.push_back(w.data());
  argv.push_back(nullptr);
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error("no process can be started");
  if (child == 0) {
    const int o = open(out.c_str(), O_CREAT | O_WRONLY | O_TRUNC, 0600);
    const int e = open(err.c_str(), O_CREAT | O_WRONLY | O_TRUNC, 0600);
    dup2(o, STDOUT_FILENO);
    dup2(e, STDERR_FILENO);
    execv(argv[0], argv.data());
    _exit(127);
  }
  if (interrupt_ms >= 0) {
    usleep(static_cast<useconds_t>(interrupt_ms) * 1000);
    kill(child, SIGINT);
  }
  int status = 0;
  waitpid(child, &status, 0);
  Answer answer;
  answer.exit = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  answer.out = read(out);
  answer.err = read(err);
  return answer;
}

std::string schema_problems(const nlohmann::json& document) {
  static const auto schema = [] {
    auto parsed = std::make_unique<valijson::Schema>();
    const nlohmann::json text = nlohmann::json::parse(read(std::string(KW_SOURCE_DIR) + "/schema/result.schema.json"));
    valijson::SchemaParser parser;
    parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(text), *parsed);
    return parsed;
  }();
  valijson::Validator validator;
  valijson::ValidationResults results;
  if (validator.validate(*schema, valijson::adapters::NlohmannJsonAdapter(document), &results)) return "";
  std::string out;
  valijson::ValidationResults::Error error;
  while (results.popError(error)) {
    for (const std::string& place : error.context) out += place;
    out += ": " + error.description + "\n";
  }
  return out.empty() ? "not valid" : out;
}

Folder::Folder() {
  std::string name = (std::filesystem::temp_directory_path() / "kitwright-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
  path_ = name;
}

Folder::~Folder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

void Folder::write(const std::string& name, const std::string& text) const {
  std::ofstream(path_ / name, std::ios::binary) << text;
}

}  // namespace program
