// How a path is written in a command that people copy into a terminal.
#pragma once

#include <string>
#include <string_view>

namespace base {

/// `text` as one word of a POSIX shell: in single quotes when it is empty or holds more than letters (all beyond ASCII
/// count as such), digits and _-./+,:@%=.
[[nodiscard]] std::string shell_word(std::string_view text);

}  // namespace base
