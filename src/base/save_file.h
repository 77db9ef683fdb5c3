// Writing files so that a crash at any instant leaves the old version or the new one, never half of either.
#pragma once

#include <memory>
#include <string>
#include <string_view>

namespace base {

/// Writes `text` to `path`: a temporary file beside it ("<path>.part"), fsync, rename, fsync of the folder. With
/// `keep_as` the version that stood there before is kept under that name. Returns what went wrong, empty = saved.
[[nodiscard]] std::string save_file(const std::string& path, std::string_view text, const std::string& keep_as = {});

/// A lock that two programs cannot hold at once: a file that is locked as long as the program lives, so that nothing is
/// left locked by a crash.
class FolderLock {
 public:
  FolderLock() = default;
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;
  FolderLock(FolderLock&& other) noexcept;
  FolderLock& operator=(FolderLock&& other) noexcept;
  ~FolderLock();

  /// Locks `file`, which says `note` while it is locked. Returns an empty text, or who holds it (the note of the
  /// holder), or why it cannot be locked.
  [[nodiscard]] static std::string take(const std::string& file, const std::string& note, FolderLock& out);
  [[nodiscard]] bool held() const { return handle_ >= 0; }
  void release();

 private:
  int handle_ = -1;
  std::string file_;
};

}  // namespace base
