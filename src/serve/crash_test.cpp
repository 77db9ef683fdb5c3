// Covers serve/workspace and base/save_file when something fails: a kill at any instant, a full disk, a folder that may
// not be written or is gone, a clock that goes backwards. The project on the disk is always the old version or the new
// one.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <filesystem>
#include <functional>
#include <new>
#include <thread>

#include "serve/test_client.h"
#include "serve/workspace.h"

using serve::Workspace;
using serve::testing::read;
using serve::testing::TemporaryFolder;
using serve::testing::write;
namespace fs = std::filesystem;

namespace {

/// Long enough that writing takes a while; every version is one letter throughout, so a torn one shows.
std::string version(int n) {
  return "text = \"" + std::string(200'000, static_cast<char>('a' + n % 26)) + "\"\n";
}

bool is_whole(const std::string& text) {
  for (int n = 0; n < 26; ++n) {
    if (text == version(n)) return true;
  }
  return false;
}

/// Runs in a child, whose limits and user do not bind the tests that follow; what it returns is its exit code.
int in_child(const std::function<int()>& run) {
  const pid_t child = ::fork();
  if (child == 0) ::_exit(run());
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 1000 + WTERMSIG(status);
}

bool told(const document::Diagnostics& d, const std::string& code) {
  for (const auto& one : d.sorted()) {
    if (one.code == code) return true;
  }
  return false;
}

TEST(Crash, KilledAtAnyInstantLeavesAWholeVersion) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), version(0));
  // Counted where both processes see it.
  void* shared = ::mmap(nullptr, sizeof(std::atomic<int>), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  ASSERT_NE(shared, MAP_FAILED);
  auto* const saves = new (shared) std::atomic<int>(0);
  std::uint64_t random = 5;
  int kills = 0;
  for (; kills < 20 || *saves < 500; ++kills) {
    fs::remove(folder.at("ready"));
    const pid_t child = ::fork();
    if (child == 0) {
      document::Diagnostics d;
      auto w = Workspace::open(folder.at(), "child", d);
      if (!w) ::_exit(1);
      write(folder.at("ready"), "yes");
      for (int n = kills;; ++n) {
        if (w->replace(w->revision(), "text", version(n), d) != Workspace::Outcome::done) ::_exit(1);
        ++*saves;
      }
    }
    while (!fs::exists(folder.at("ready"))) std::this_thread::sleep_for(std::chrono::microseconds(200));
    random = random * 6364136223846793005ULL + 1442695040888963407ULL;
    std::this_thread::sleep_for(std::chrono::microseconds((random >> 33) % 60'000));
    ::kill(child, SIGKILL);
    int status = 0;
    ::waitpid(child, &status, 0);
    ASSERT_TRUE(WIFSIGNALED(status)) << "the child ended by itself";
    ASSERT_TRUE(is_whole(read(folder.at("project.toml")))) << "kill " << kills;
    if (fs::exists(folder.at("project.toml.previous"))) {
      ASSERT_TRUE(is_whole(read(folder.at("project.toml.previous")))) << "kill " << kills;
    }
  }
  RecordProperty("saves", saves->load());
  RecordProperty("kills", kills);
  ::munmap(shared, sizeof(std::atomic<int>));
}

TEST(Crash, AFullDiskKeepsTheOldVersionAndIsTold) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), version(0));
  // A limit on the size of files fails in the middle of a write, as a full disk does.
  const int outcome = in_child([&] {
    ::signal(SIGXFSZ, SIG_IGN);
    document::Diagnostics d;
    auto w = Workspace::open(folder.at(), "test", d);
    if (!w) return 1;
    const rlimit little{100'000, RLIM_INFINITY};
    if (::setrlimit(RLIMIT_FSIZE, &little) != 0) return 2;
    if (w->replace(w->revision(), "text", version(1), d) != Workspace::Outcome::refused) return 3;
    if (!told(d, "file.not_written")) return 4;
    if (w->text() != version(0) || w->revision() != 1) return 5;
    if (read(folder.at("project.toml")) != version(0)) return 6;
    if (fs::exists(folder.at("project.toml.part"))) return 7;
    // Space again: the same change goes through.
    const rlimit plenty{RLIM_INFINITY, RLIM_INFINITY};
    if (::setrlimit(RLIMIT_FSIZE, &plenty) != 0) return 8;
    if (w->replace(w->revision(), "text", version(1), d) != Workspace::Outcome::done) return 9;
    return read(folder.at("project.toml")) == version(1) ? 0 : 10;
  });
  EXPECT_EQ(outcome, 0);
}

TEST(Crash, AFolderThatMayNotBeWrittenIsTold) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), version(0));
  if (::getuid() == 0) {  // root may write anywhere; somebody else tries
    constexpr uid_t kNobody = 65534;
    ASSERT_EQ(::chown(folder.at().c_str(), kNobody, kNobody), 0);
    ASSERT_EQ(::chown(folder.at("project.toml").c_str(), kNobody, kNobody), 0);
  }
  const int outcome = in_child([&] {
    if (::getuid() == 0 && ::setuid(65534) != 0) return 1;
    document::Diagnostics d;
    auto w = Workspace::open(folder.at(), "test", d);
    if (!w) return 2;
    if (::chmod(folder.at().c_str(), 0555) != 0) return 3;
    if (w->replace(w->revision(), "text", version(1), d) != Workspace::Outcome::refused) return 4;
    if (!told(d, "file.not_written")) return 5;
    if (read(folder.at("project.toml")) != version(0) || w->text() != version(0)) return 6;
    if (::chmod(folder.at().c_str(), 0755) != 0) return 7;
    return w->replace(w->revision(), "text", version(1), d) == Workspace::Outcome::done ? 0 : 8;
  });
  EXPECT_EQ(outcome, 0);
}

TEST(Crash, AVanishedFolderLosesNothing) {
  TemporaryFolder folder;
  fs::create_directory(folder.at("model"));
  write(folder.at("model/project.toml"), version(0));
  document::Diagnostics d;
  auto w = Workspace::open(folder.at("model"), "test", d);
  ASSERT_TRUE(w);
  ASSERT_EQ(w->replace(1, "text", version(1), d), Workspace::Outcome::done);
  fs::rename(folder.at("model"), folder.at("elsewhere"));
  // The file is not what was written last: the user is asked, and what was typed stays in memory.
  EXPECT_EQ(w->replace(2, "text", version(2), d), Workspace::Outcome::outside);
  document::Diagnostics gone;
  EXPECT_EQ(w->reload(Workspace::Keep::mine, gone), Workspace::Outcome::refused);
  EXPECT_TRUE(told(gone, "file.not_written"));
  EXPECT_EQ(w->text(), version(1));
  fs::rename(folder.at("elsewhere"), folder.at("model"));
  document::Diagnostics back;
  EXPECT_EQ(w->replace(2, "text", version(2), back), Workspace::Outcome::done);
  EXPECT_EQ(read(folder.at("model/project.toml")), version(2));
}

TEST(Crash, AClockThatGoesBackwardsHidesNoChange) {
  TemporaryFolder folder;
  write(folder.at("project.toml"), version(0));
  document::Diagnostics d;
  auto w = Workspace::open(folder.at(), "test", d);
  ASSERT_TRUE(w);
  const auto times = [&](long seconds) {
    const timespec both[2] = {{seconds, 0}, {seconds, 0}};
    ASSERT_EQ(::utimensat(AT_FDCWD, folder.at("project.toml").c_str(), both, 0), 0);
  };
  // Same text, written in the past or in the future: nobody's change.
  times(1);
  EXPECT_EQ(w->replace(1, "text", version(1), d), Workspace::Outcome::done);
  times(4'000'000'000);
  EXPECT_EQ(w->replace(2, "text", version(2), d), Workspace::Outcome::done);
  // Another text with the time of the old one: a change all the same.
  write(folder.at("project.toml"), version(7));
  times(4'000'000'000);
  EXPECT_EQ(w->replace(3, "text", version(3), d), Workspace::Outcome::outside);
  EXPECT_EQ(read(folder.at("project.toml")), version(7));
}

}  // namespace
