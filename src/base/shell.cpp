#include "base/shell.h"

#include <algorithm>

namespace base {
namespace {

bool needs_no_quotes(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
         (static_cast<unsigned char>(c) & 0x80U) != 0 ||
         std::string_view("_-./+,:@%=").find(c) != std::string_view::npos;
}

}  // namespace

std::string shell_word(std::string_view text) {
  if (!text.empty() && std::all_of(text.begin(), text.end(), needs_no_quotes)) return std::string(text);
  std::string out = "'";
  for (const char c : text) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return out + "'";
}

}  // namespace base
