#include "base/check.h"

#include <fmt/format.h>

#include <cstring>

namespace base {

void fail_check(const char* expression, const char* file, int line, const std::string& detail) {
  const char* src = std::strstr(file, "src/");
  throw InternalFault(
      fmt::format("internal check failed at {}:{}: {} ({})", src ? src : file, line, expression, detail));
}

}  // namespace base
