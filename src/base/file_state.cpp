#include "base/file_state.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <ctime>

namespace base {
namespace {

/// File systems keep times in steps of up to two seconds.
constexpr time_t kStep_s = 2;

}  // namespace

std::string file_state(const std::string& file) {
  struct stat s {};
  if (::stat(file.c_str(), &s) != 0) return "gone";
  return fmt::format("{} {} {} {}.{:09}", s.st_dev, s.st_ino, s.st_size, s.st_mtim.tv_sec, s.st_mtim.tv_nsec);
}

bool file_settled(const std::string& file) {
  struct stat s {};
  if (::stat(file.c_str(), &s) != 0) return true;
  timespec now{};
  ::clock_gettime(CLOCK_REALTIME, &now);
  return s.st_mtim.tv_sec + kStep_s < now.tv_sec;
}

}  // namespace base
