// Covers malformed input: every file of the corpus gives exactly the errors of expected.txt, code and place, once
// through the libraries and once through the program, which must end with exit code 2. Files too large to keep in the
// repository are made here.
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "brief/build.h"
#include "document/toml_reader.h"
#include "project/project.h"
#include "stock/catalogue.h"
#include "stock/import.h"

namespace {

namespace fs = std::filesystem;
using document::Diagnostics;

const std::string kFolder = KW_SOURCE_DIR "/tests/bad_files/";
const std::string kCatalogue = KW_SOURCE_DIR "/catalogue";

struct Case {
  std::string file;                 ///< "projects/nan.toml"
  std::vector<std::string> errors;  ///< "limits.not_finite @ 13:10"
};

void PrintTo(const Case& c, std::ostream* os) {
  *os << c.file;
}

/// Lines "file: code @ line:column; ..." of expected.txt whose file starts with `part`.
std::vector<Case> cases(const std::string& part) {
  Diagnostics d;
  const auto text = document::read_text_file(kFolder + "expected.txt", 1'000'000, d);
  std::vector<Case> out;
  std::size_t begin = 0;
  while (text && begin < text->size()) {
    const std::size_t end = std::min(text->find('\n', begin), text->size());
    const std::string line = text->substr(begin, end - begin);
    begin = end + 1;
    const std::size_t colon = line.find(": ");
    if (!line.starts_with(part) || colon == std::string::npos) continue;
    Case c{line.substr(0, colon), {}};
    for (std::size_t at = colon + 2; at < line.size();) {
      const std::size_t stop = std::min(line.find("; ", at), line.size());
      c.errors.push_back(line.substr(at, stop - at));
      at = stop + 2;
    }
    out.push_back(std::move(c));
  }
  return out;
}

std::string test_name(const testing::TestParamInfo<Case>& info) {
  std::string out = fs::path(info.param.file).stem().string();
  for (char& c : out) {
    if (std::isalnum(static_cast<unsigned char>(c)) == 0) c = '_';
  }
  return out;
}

std::vector<std::string> errors_of(const Diagnostics& d) {
  std::vector<std::string> out;
  for (const document::Diagnostic& p : d.sorted()) {
    if (p.severity != document::Severity::error) continue;
    out.push_back(p.code + " @ " + std::to_string(p.where.line) + ":" + std::to_string(p.where.column));
    EXPECT_FALSE(p.message.empty()) << p.code;
    EXPECT_FALSE(p.where.file.empty()) << p.code;
  }
  return out;
}

/// What `check` does with a project, without the kinds' own wants.
Diagnostics check_project(const std::string& file) {
  Diagnostics d;
  const auto project = project::read_project(file, d);
  if (!project || project->header.system.empty()) return d;
  Diagnostics loading;
  auto catalogue = stock::load_kit_system(project->header.system.text, kCatalogue, loading);
  for (document::Diagnostic p : loading.sorted()) {
    // Who loads a kit system knows where the project names it.
    if (p.code == "catalogue.unknown_system") p.where = project->header.system.where;
    d.add(std::move(p));
  }
  if (!catalogue) return d;
  const auto shared = std::make_shared<const stock::Catalogue>(std::move(*catalogue));
  auto imported = stock::import_stock_file(project->stock_file(), *shared, {}, d);
  const std::vector<std::string> kinds = {"crawler", "hoist", "luff", "slew", "spin"};
  const auto brief =
      brief::build(*project, shared, std::make_shared<const stock::Stock>(std::move(imported.stock)), d, kinds);
  EXPECT_FALSE(brief);
  return d;
}

const stock::Catalogue& metric8() {
  static const stock::Catalogue catalogue = [] {
    Diagnostics d;
    auto c = stock::load_kit_system("metric8", kCatalogue, d);
    return c ? std::move(*c) : stock::Catalogue{};
  }();
  return catalogue;
}

std::string temporary(const std::string& name) {
  return (fs::temp_directory_path() / ("kw_bad_" + std::to_string(::getpid()) + "_" + name)).string();
}

/// A file that is gone after the test.
class MadeFile {
 public:
  MadeFile(const std::string& name, const std::function<void(std::FILE*)>& write) : path_(temporary(name)) {
    std::FILE* f = std::fopen(path_.c_str(), "wb");
    EXPECT_NE(f, nullptr);
    if (f == nullptr) return;
    write(f);
    EXPECT_EQ(std::fclose(f), 0);
  }
  MadeFile(const MadeFile&) = delete;
  MadeFile& operator=(const MadeFile&) = delete;
  ~MadeFile() { fs::remove(path_); }
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  std::string path_;
};

void put(std::FILE* f, const std::string& text, int times = 1) {
  for (int i = 0; i < times; ++i) ASSERT_EQ(std::fwrite(text.data(), 1, text.size(), f), text.size());
}

const std::string kHead = "[project]\nname = \"bad\"\nsystem = \"metric8\"\n";

#ifdef KW_PROGRAM
struct Outcome {
  int exit_code = -1;  ///< -1 = ended by a signal
  std::string output;  ///< both streams
};

Outcome run(const std::vector<std::string>& arguments) {
  std::string command = "'" KW_PROGRAM "'";
  for (const std::string& a : arguments) command += " '" + a + "'";
  std::FILE* pipe = ::popen((command + " 2>&1 </dev/null").c_str(), "r");
  Outcome out;
  EXPECT_NE(pipe, nullptr);
  if (pipe == nullptr) return out;
  std::string block(1 << 14, '\0');
  while (const std::size_t got = std::fread(block.data(), 1, block.size(), pipe)) out.output.append(block, 0, got);
  const int status = ::pclose(pipe);
  if (WIFEXITED(status)) out.exit_code = WEXITSTATUS(status);
  return out;
}

/// "file:line:column error code", or "file error code" for a file as a whole. A problem of another file that the bad
/// one names stands at that file, so only what follows the name is compared.
void expect_reported(const Outcome& outcome, const Case& c) {
  EXPECT_EQ(outcome.exit_code, 2) << outcome.output;
  for (const std::string& error : c.errors) {
    const std::size_t at = error.find(" @ ");
    const std::string code = error.substr(0, at);
    const std::string place = error.substr(at + 3);
    const std::string wanted = (place == "0:0" ? "" : ":" + place) + " error " + code;
    EXPECT_NE(outcome.output.find(wanted), std::string::npos) << "no \"" << wanted << "\" in\n" << outcome.output;
  }
}
#endif

class BadProject : public testing::TestWithParam<Case> {};
class BadStock : public testing::TestWithParam<Case> {};

}  // namespace

TEST_P(BadProject, GivesExactlyTheseErrors) {
  EXPECT_EQ(errors_of(check_project(kFolder + GetParam().file)), GetParam().errors);
}

TEST_P(BadStock, GivesExactlyTheseErrors) {
  Diagnostics d;
  (void)stock::import_stock_file(kFolder + GetParam().file, metric8(), {}, d);
  EXPECT_EQ(errors_of(d), GetParam().errors);
}

#ifdef KW_PROGRAM
TEST_P(BadProject, EndsTheProgramWithExitCode2AndItsPlace) {
  expect_reported(run({"check", kFolder + GetParam().file, "--catalogue", kCatalogue}), GetParam());
}

TEST_P(BadStock, EndsTheProgramWithExitCode2AndItsPlace) {
  expect_reported(run({"stock", kFolder + GetParam().file, "--system", "metric8", "--catalogue", kCatalogue}),
                  GetParam());
}
#endif

INSTANTIATE_TEST_SUITE_P(Corpus, BadProject, testing::ValuesIn(cases("projects/")), test_name);
INSTANTIATE_TEST_SUITE_P(Corpus, BadStock, testing::ValuesIn(cases("stocks/")), test_name);

TEST(BadFiles, TheCorpusIsCompleteAndEveryFileOfItIsExpected) {
  for (const char* part : {"projects/", "stocks/"}) {
    std::vector<std::string> expected;
    for (const Case& c : cases(part)) {
      expected.push_back(c.file);
      EXPECT_FALSE(c.errors.empty()) << c.file;
    }
    std::vector<std::string> there;
    for (const auto& entry : fs::directory_iterator(kFolder + part)) {
      const std::string name = entry.path().filename().string();
      if (name != "stock.csv") there.push_back(part + name);  // the good list that the bad projects name
    }
    std::sort(expected.begin(), expected.end());
    std::sort(there.begin(), there.end());
    EXPECT_EQ(expected, there);
  }
  EXPECT_GE(cases("").size(), 60u);
}

TEST(BadFiles, TheListThatTheBadProjectsNameIsGood) {
  Diagnostics d;
  const auto imported = stock::import_stock_file(kFolder + "projects/stock.csv", metric8(), {}, d);
  EXPECT_EQ(errors_of(d), std::vector<std::string>{});
  EXPECT_EQ(imported.stock.pieces(), 19);
}

TEST(BadFiles, AbsentFilesAndFoldersAreSaid) {
  EXPECT_EQ(errors_of(check_project(temporary("absent"))), std::vector<std::string>{"file.missing @ 0:0"});
  // A folder is taken for a project; this one has none.
  EXPECT_EQ(errors_of(check_project(kFolder + "projects")), std::vector<std::string>{"file.missing @ 0:0"});
  Diagnostics d;
  (void)stock::import_stock_file(kFolder, metric8(), {}, d);
  EXPECT_EQ(errors_of(d), std::vector<std::string>{"file.is_folder @ 0:0"});
}

TEST(BadFiles, AStockListOf50MegabytesIsRefusedWithItsPlace) {
  const MadeFile file("large.csv", [](std::FILE* f) {
    put(f, "description,quantity,colour\n");
    put(f, "\"gear, 24 teeth\",4,grey\n", 2'100'000);
  });
  ASSERT_GT(fs::file_size(file.path()), 50'000'000u);
  Diagnostics d;
  const auto imported = stock::import_stock_file(file.path(), metric8(), {}, d);
  EXPECT_EQ(errors_of(d), std::vector<std::string>{"stock.too_many_rows @ 50001:1"});
  EXPECT_EQ(imported.stock.pieces(), 0);
#ifdef KW_PROGRAM
  expect_reported(run({"stock", file.path(), "--system", "metric8", "--catalogue", kCatalogue}),
                  {"", {"stock.too_many_rows @ 50001:1"}});
#endif
}

TEST(BadFiles, AStockListOfOneLineOf50MegabytesIsRefusedWithItsPlace) {
  const MadeFile file("line.csv", [](std::FILE* f) {
    put(f, "description,quantity\n\"");
    put(f, "gear, 24 teeth ", 3'400'000);
  });
  Diagnostics d;
  (void)stock::import_stock_file(file.path(), metric8(), {}, d);
  ASSERT_EQ(errors_of(d).size(), 1u);
  EXPECT_EQ(d.sorted().front().where.line, 2);
}

TEST(BadFiles, AStockListBeyondTheLimitIsRefused) {
  const MadeFile file("beyond.csv", [](std::FILE* f) { put(f, "beam 7,4\n", 7'200'000); });
  Diagnostics d;
  (void)stock::import_stock_file(file.path(), metric8(), {}, d);
  EXPECT_EQ(errors_of(d), std::vector<std::string>{"file.too_big @ 0:0"});
}

TEST(BadFiles, AProjectOf11MegabytesIsRefused) {
  const MadeFile file("large.toml", [](std::FILE* f) {
    put(f, kHead);
    put(f, "# nothing but comments\n", 480'000);
  });
  EXPECT_EQ(errors_of(check_project(file.path())), std::vector<std::string>{"file.too_big @ 0:0"});
#ifdef KW_PROGRAM
  expect_reported(run({"check", file.path(), "--catalogue", kCatalogue}), {"", {"file.too_big @ 0:0"}});
#endif
}

TEST(BadFiles, HordesOfFunctionsAreRefusedInOneMessage) {
  const MadeFile file("functions.toml", [](std::FILE* f) {
    put(f, kHead + "stock = \"" + kFolder + "projects/stock.csv\"\n");
    put(f, "[support]\ntype = \"tracks\"\nlength_mm = 200\nwidth_mm = 100\n");
    put(f, "[[bodies]]\nid = \"chassis\"\nmass_g = 900\ncentre_mm = [0, 0, 40]\n");
    put(f, "[[functions]]\nid = \"a\"\nkind = \"spin\"\n", 50'000);
  });
  EXPECT_EQ(errors_of(check_project(file.path())), std::vector<std::string>{"project.too_many @ 13:1"});
}

TEST(BadFiles, ALongChainOfBodiesInWrongOrderEndsInATree) {
  Diagnostics d;
  std::string text = kHead + "[support]\ntype = \"tracks\"\nlength_mm = 200\nwidth_mm = 100\n";
  constexpr int kBodies = 2000;
  for (int i = 0; i < kBodies; ++i) {
    text += "[[bodies]]\nid = \"b" + std::to_string(i) + "\"\nmass_g = 1\ncentre_mm = [0, 0, 1]\n";
    if (i + 1 < kBodies) text += "parent = \"b" + std::to_string(i + 1) + "\"\n";
  }
  const auto project = project::parse_project(text, "x.toml", d);
  ASSERT_TRUE(project);
  const auto brief = brief::build(*project, std::make_shared<const stock::Catalogue>(metric8()),
                                  std::make_shared<const stock::Stock>(), d);
  ASSERT_TRUE(brief);
  ASSERT_EQ(brief->bodies.size(), static_cast<std::size_t>(kBodies));
  for (int i = 0; i < kBodies; ++i) EXPECT_EQ(brief->bodies[static_cast<std::size_t>(i)].parent, i - 1);
}

TEST(BadFiles, AProjectCutAtAnyByteGivesATreeOrAMessage) {
  // What a save that was interrupted leaves behind.
  const std::string whole = kHead +
                            "[support]\ntype = \"tracks\"\nlength_mm = 200\nwidth_mm = 100\n"
                            "[[bodies]]\nid = \"chassis\"\nmass_g = { low = 1, nominal = 2, high = 3 }\n"
                            "[[functions]]\nid = \"fan\"\nkind = \"spin\"\nmust_use = [\"gear_24\"]\n";
  for (std::size_t length = 0; length < whole.size(); ++length) {
    Diagnostics d;
    const auto project = project::parse_project(whole.substr(0, length), "x.toml", d);
    EXPECT_TRUE(project || d.has_errors()) << length;
    if (!project) continue;
    const auto brief = brief::build(*project, std::make_shared<const stock::Catalogue>(metric8()),
                                    std::make_shared<const stock::Stock>(), d);
    EXPECT_NE(brief.has_value(), d.has_errors()) << length;
  }
}
