// The page's files, built into the program.
#pragma once

#include <string_view>

namespace serve {

struct Asset {
  std::string_view path;  ///< "index.html", "assets/index-1a2b3c.js"
  std::string_view bytes;
};

/// Null when the page has no such file, or when the program was built without the page.
[[nodiscard]] const Asset* find_asset(std::string_view path);

/// Media type by the ending of the name.
[[nodiscard]] std::string_view media_type(std::string_view path);

/// What is shown when the page was not built in.
[[nodiscard]] std::string_view page_without_assets();

}  // namespace serve
