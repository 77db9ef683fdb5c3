#include "base/save_file.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <system_error>
#include <utility>

namespace base {
namespace {

namespace fs = std::filesystem;

std::string reason(int number) {
  return std::generic_category().message(number);
}

bool write_all(int file, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(file, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return false;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

/// Writes a file and makes sure that it is on the disk.
std::string write_through(const std::string& path, std::string_view text, mode_t mode) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, mode);
  if (file < 0) return reason(errno);
  std::string problem;
  if (!write_all(file, text) || ::fsync(file) != 0) problem = reason(errno);
  if (::close(file) != 0 && problem.empty()) problem = reason(errno);
  if (!problem.empty()) ::unlink(path.c_str());
  return problem;
}

/// A rename is only sure to survive a power cut once the folder is on the disk, too.
void sync_folder(const std::string& path) {
  const fs::path folder = fs::path(path).parent_path();
  const int handle = ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (handle < 0) return;
  ::fsync(handle);
  ::close(handle);
}

/// Keeps the present version under another name. A second name for the same bytes where the file system has them, so
/// that `path` is never away; else a copy.
std::string keep_version(const std::string& path, const std::string& keep_as) {
  struct stat now {};
  if (::stat(path.c_str(), &now) != 0) return "";  // there is none yet
  const std::string part = keep_as + ".part";
  ::unlink(part.c_str());
  if (::link(path.c_str(), part.c_str()) != 0) {
    std::error_code error;
    fs::copy_file(path, part, fs::copy_options::overwrite_existing, error);
    if (error) return error.message();
  }
  return ::rename(part.c_str(), keep_as.c_str()) == 0 ? "" : reason(errno);
}

}  // namespace

std::string save_file(const std::string& path, std::string_view text, const std::string& keep_as) {
  struct stat now {};
  const mode_t mode = ::stat(path.c_str(), &now) == 0 ? now.st_mode & 07777 : 0666;
  const std::string part = path + ".part";
  if (std::string problem = write_through(part, text, mode); !problem.empty()) return problem;
  std::string problem;
  if (!keep_as.empty()) problem = keep_version(path, keep_as);
  if (problem.empty() && ::rename(part.c_str(), path.c_str()) != 0) problem = reason(errno);
  if (!problem.empty()) {
    ::unlink(part.c_str());
    return problem;
  }
  sync_folder(path);
  return "";
}

FolderLock::FolderLock(FolderLock&& other) noexcept
    : handle_(std::exchange(other.handle_, -1)), file_(std::move(other.file_)) {}

FolderLock& FolderLock::operator=(FolderLock&& other) noexcept {
  if (this != &other) {
    release();
    handle_ = std::exchange(other.handle_, -1);
    file_ = std::move(other.file_);
  }
  return *this;
}

FolderLock::~FolderLock() {
  release();
}

void FolderLock::release() {
  if (handle_ < 0) return;
  ::unlink(file_.c_str());  // before the lock ends: whoever waits finds a file without a name and makes a new one
  ::close(handle_);
  handle_ = -1;
}

std::string FolderLock::take(const std::string& file, const std::string& note, FolderLock& out) {
  for (;;) {
    const int handle = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (handle < 0) return reason(errno);
    if (::flock(handle, LOCK_EX | LOCK_NB) != 0) {
      const int why = errno;
      std::string holder(400, '\0');
      const ssize_t got = ::read(handle, holder.data(), holder.size());
      ::close(handle);
      if (why != EWOULDBLOCK) return reason(why);
      holder.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
      return holder.empty() ? "another program" : holder;
    }
    struct stat named {
    }, locked{};
    const bool same = ::fstat(handle, &locked) == 0 && ::stat(file.c_str(), &named) == 0 &&
                      named.st_ino == locked.st_ino && named.st_dev == locked.st_dev;
    if (!same) {  // its holder let go and took the name away in between
      ::close(handle);
      continue;
    }
    if (::ftruncate(handle, 0) != 0 || !write_all(handle, note)) {
      const int why = errno;
      ::close(handle);
      return reason(why);
    }
    FolderLock lock;
    lock.handle_ = handle;
    lock.file_ = file;
    out = std::move(lock);
    return "";
  }
}

}  // namespace base
