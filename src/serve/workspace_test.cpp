// Covers serve/workspace and base/save_file: edits reach the disk, undo and redo, changes by others are never written
// over unasked, two programs cannot have one project, a damaged file loses nothing more. What happens when the program
// or the disk fails is in crash_test.
#include "serve/workspace.h"

#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <random>
#include <set>
#include <sstream>
#include <thread>

using serve::Workspace;
namespace fs = std::filesystem;

namespace {

constexpr const char* kText = "# mine\n[project]\nname = \"Rig\"   # called so\nsystem = \"metric8\"\n";

class TemporaryFolder {
 public:
  TemporaryFolder() {
    std::string name = (fs::temp_directory_path() / "kw_serve_XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  ~TemporaryFolder() { fs::remove_all(path_); }
  [[nodiscard]] std::string at(const std::string& name) const { return (path_ / name).string(); }
  [[nodiscard]] std::string path() const { return path_.string(); }

 private:
  fs::path path_;
};

std::string read(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

void write(const std::string& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

document::Edit set_name(const std::string& name) {
  document::Edit e;
  e.at = "/project/name";
  e.value.kind = document::Node::Kind::text;
  e.value.text = name;
  return e;
}

std::string codes(const document::Diagnostics& d) {
  std::string out;
  for (const auto& one : d.sorted()) out += one.code + ";";
  return out;
}

TEST(Workspace, EditsReachTheDiskAndCanBeUndone) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), kText);
  document::Diagnostics d;
  auto w = Workspace::open(folder.path(), "test", d);
  ASSERT_TRUE(w) << codes(d);
  EXPECT_EQ(w->revision(), 1);
  ASSERT_EQ(w->edit(1, "name", {set_name("Crane")}, d), Workspace::Outcome::done);
  const std::string crane = "# mine\n[project]\nname = \"Crane\"   # called so\nsystem = \"metric8\"\n";
  EXPECT_EQ(read(folder.at("project.toml")), crane);
  EXPECT_EQ(read(folder.at("project.toml.previous")), kText);
  EXPECT_FALSE(fs::exists(folder.at("project.toml.part")));
  EXPECT_EQ(w->revision(), 2);
  EXPECT_EQ(w->edit(1, "late", {set_name("Late")}, d), Workspace::Outcome::stale);
  EXPECT_EQ(w->undo_labels(), std::vector<std::string>{"name"});

  ASSERT_EQ(w->undo(d), Workspace::Outcome::done);
  EXPECT_EQ(read(folder.at("project.toml")), kText);
  EXPECT_EQ(w->redo_labels(), std::vector<std::string>{"name"});
  EXPECT_EQ(w->undo(d), Workspace::Outcome::refused);
  ASSERT_EQ(w->redo(d), Workspace::Outcome::done);
  EXPECT_EQ(read(folder.at("project.toml")), crane);
  EXPECT_EQ(w->revision(), 4);
  // A new change takes the steps forward away; one that changes nothing is no step.
  ASSERT_EQ(w->undo(d), Workspace::Outcome::done);
  ASSERT_EQ(w->edit(5, "other", {set_name("Bridge")}, d), Workspace::Outcome::done);
  EXPECT_TRUE(w->redo_labels().empty());
  ASSERT_EQ(w->edit(6, "same", {set_name("Bridge")}, d), Workspace::Outcome::done);
  EXPECT_EQ(w->revision(), 6);
}

TEST(Workspace, ManyEditsAndTheirUndoEndWhereTheyBegan) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), kText);
  document::Diagnostics d;
  auto w = Workspace::open(folder.path(), "test", d);
  ASSERT_TRUE(w);
  constexpr int kEdits = 40;  // each is two fsyncs
  for (int i = 0; i < kEdits; ++i)
    ASSERT_EQ(w->edit(w->revision(), "name", {set_name("N" + std::to_string(i))}, d), Workspace::Outcome::done);
  for (int i = 0; i < kEdits; ++i) ASSERT_EQ(w->undo(d), Workspace::Outcome::done);
  EXPECT_EQ(read(folder.at("project.toml")), kText);
}

/// One to three damages of the kinds disks, editors and transfers do: bits, missing and doubled pieces, cut ends.
std::string damaged(std::string text, std::mt19937_64& draws) {
  const auto below = [&](std::size_t n) { return static_cast<std::size_t>(draws() % std::max<std::size_t>(n, 1)); };
  for (std::size_t left = 1 + below(3); left > 0; --left) {
    const std::size_t at = below(text.size() + 1), length = 1 + below(40);
    switch (below(6)) {
      case 0:
        if (at < text.size()) text[at] = static_cast<char>(text[at] ^ static_cast<char>(1 << below(8)));
        break;
      case 1:
        text.erase(at, length);
        break;
      case 2:
        text.insert(at, text.substr(below(text.size()), length));
        break;
      case 3:
        text.resize(at);
        break;
      case 4:
        text.insert(at, length, '\0');
        break;
      default:
        text.insert(at, std::array{"\xff\xfe", "\r\n", "[[", "\"\"\"", "= =", "#"}[below(6)]);
        break;
    }
  }
  return text;
}

TEST(Workspace, ADamagedFileLosesNothingMore) {
  std::mt19937_64 draws(20261126);
  int opened = 0, edited = 0, refused = 0;
  std::set<fs::path> examples;
  for (const auto& entry : fs::directory_iterator(fs::path(KW_SOURCE_DIR) / "examples")) examples.insert(entry.path());
  for (const fs::path& example : examples) {
    const std::string whole = read((example / "project.toml").string());
    ASSERT_FALSE(whole.empty()) << example;
    for (int i = 0; i < 30; ++i) {
      TemporaryFolder folder;
      const std::string file = folder.at("project.toml"), text = damaged(whole, draws);
      write(file, text);
      document::Diagnostics d;
      auto w = Workspace::open(folder.path(), "test", d);
      if (!w) {  // told why, and left alone
        EXPECT_TRUE(d.has_errors());
        EXPECT_EQ(read(file), text);
        continue;
      }
      ++opened;
      EXPECT_EQ(w->text(), text);
      document::Diagnostics told;
      if (w->edit(w->revision(), "name", {set_name("Crane")}, told) == Workspace::Outcome::done) {
        ++edited;
        EXPECT_EQ(read(file), w->text());
        if (w->text() != text) {
          EXPECT_EQ(read(file + ".previous"), text);
          ASSERT_EQ(w->undo(told), Workspace::Outcome::done);
          EXPECT_EQ(read(file), text);
        }
      } else {
        ++refused;
        EXPECT_TRUE(told.has_errors()) << example << " " << i;
        EXPECT_EQ(read(file), text);
      }
    }
  }
  // Enough of each sort for the cases above to mean something.
  EXPECT_GT(opened, 100);
  EXPECT_GT(edited, 20);
  EXPECT_GT(refused, 20);
}

TEST(Workspace, NeverWritesOverAChangeByOthers) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), kText);
  document::Diagnostics d;
  auto w = Workspace::open(folder.path(), "test", d);
  ASSERT_TRUE(w);
  const std::string theirs = std::string(kText) + "seed = 5\n";
  write(folder.at("project.toml"), theirs);
  EXPECT_TRUE(w->changed_outside());
  EXPECT_EQ(w->edit(1, "name", {set_name("Crane")}, d), Workspace::Outcome::outside);
  EXPECT_EQ(w->undo(d), Workspace::Outcome::refused);
  EXPECT_EQ(read(folder.at("project.toml")), theirs);

  ASSERT_EQ(w->reload(Workspace::Keep::mine, d), Workspace::Outcome::done);
  EXPECT_EQ(read(folder.at("project.toml")), kText);
  EXPECT_EQ(read(folder.at("project.toml.previous")), theirs);

  write(folder.at("project.toml"), theirs);
  ASSERT_EQ(w->reload(Workspace::Keep::file, d), Workspace::Outcome::done);
  EXPECT_EQ(w->text(), theirs);
  EXPECT_EQ(w->revision(), 2);
  ASSERT_EQ(w->undo(d), Workspace::Outcome::done);  // taking theirs is a step like any other
  EXPECT_EQ(read(folder.at("project.toml")), kText);

  fs::remove(folder.at("project.toml"));
  EXPECT_TRUE(w->changed_outside());
  EXPECT_EQ(w->edit(w->revision(), "name", {set_name("Crane")}, d), Workspace::Outcome::outside);
}

TEST(Workspace, TwoProgramsCannotHaveOneProject) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), kText);
  document::Diagnostics d;
  auto first = Workspace::open(folder.path(), "the first, http://127.0.0.1:1/", d);
  ASSERT_TRUE(first);
  EXPECT_FALSE(Workspace::open(folder.at("project.toml"), "the second", d));
  ASSERT_EQ(codes(d), "workspace.locked;");
  EXPECT_NE(d.sorted().front().message.find("the first, http://127.0.0.1:1/"), std::string::npos);
  first.reset();
  document::Diagnostics none;
  EXPECT_TRUE(Workspace::open(folder.path(), "the second", none)) << codes(none);
  EXPECT_FALSE(fs::exists(folder.at(".kitwright.lock")));
}

TEST(Workspace, ALockDoesNotOutliveItsProgram) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), kText);
  const pid_t child = ::fork();
  if (child == 0) {
    document::Diagnostics d;
    auto w = Workspace::open(folder.path(), "child", d);
    write(folder.at("locked"), w ? "yes" : "no");
    for (;;) ::pause();
  }
  while (read(folder.at("locked")).empty()) std::this_thread::sleep_for(std::chrono::milliseconds(2));
  document::Diagnostics d;
  EXPECT_FALSE(Workspace::open(folder.path(), "parent", d));
  ::kill(child, SIGKILL);
  ::waitpid(child, nullptr, 0);
  document::Diagnostics none;
  EXPECT_TRUE(Workspace::open(folder.path(), "parent", none)) << codes(none);
}

TEST(Workspace, SaysWhatCannotBeOpened) {
  TemporaryFolder folder;
  document::Diagnostics d;
  EXPECT_FALSE(Workspace::open(folder.path(), "test", d));
  EXPECT_EQ(codes(d), "file.missing;");
  write(folder.at("project.toml"), "[project\nbroken");
  document::Diagnostics broken;
  auto w = Workspace::open(folder.path(), "test", broken);  // it can be mended in the workbench
  ASSERT_TRUE(w);
  EXPECT_EQ(w->edit(1, "name", {set_name("Crane")}, broken), Workspace::Outcome::refused);
  EXPECT_EQ(codes(broken), "toml.syntax;");
  EXPECT_EQ(w->replace(1, "text", kText, broken), Workspace::Outcome::done);
  EXPECT_EQ(read(folder.at("project.toml")), kText);
}

}  // namespace
