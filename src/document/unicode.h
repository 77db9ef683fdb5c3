// Well-formed UTF-8: table 3-7 of the Unicode Standard.
#pragma once

#include <cstddef>
#include <string_view>

namespace document {

/// Length in bytes of the well-formed sequence at the start of `text`; 0 when there is none.
[[nodiscard]] std::size_t utf8_length(std::string_view text);

/// Offset of the first byte that starts no well-formed sequence; npos when all of it is UTF-8.
[[nodiscard]] std::size_t find_broken_utf8(std::string_view text);

}  // namespace document
