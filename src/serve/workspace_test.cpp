// Covers serve/workspace and base/save_file: edits reach the disk, undo and redo, changes by others are never written
// over unasked, two programs cannot have one project. What
// happens when the program or the disk fails is in crash_test.
#include "serve/workspace.h"

#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
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
