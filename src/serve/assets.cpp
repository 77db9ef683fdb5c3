#include "serve/assets.h"

#include <array>
#include <cstddef>
#include <span>
#include <utility>

namespace serve {

// Written by cmake/embed_files.cmake into the build folder.
std::span<const Asset> built_in_assets();

const Asset* find_asset(std::string_view path) {
  for (const Asset& a : built_in_assets()) {
    if (a.path == path) return &a;
  }
  return nullptr;
}

std::string_view media_type(std::string_view path) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 10> kTypes{{
      {".html", "text/html; charset=utf-8"},
      {".js", "text/javascript; charset=utf-8"},
      {".css", "text/css; charset=utf-8"},
      {".json", "application/json"},
      {".svg", "image/svg+xml"},
      {".png", "image/png"},
      {".ico", "image/x-icon"},
      {".woff2", "font/woff2"},
      {".txt", "text/plain; charset=utf-8"},
      {".wasm", "application/wasm"},
  }};
  for (const auto& [ending, type] : kTypes) {
    if (path.ends_with(ending)) return type;
  }
  return "application/octet-stream";
}

std::string_view page_without_assets() {
  return R"(<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Kitwright</title></head>
<body style="font-family: sans-serif; max-width: 40em; margin: 3em auto; line-height: 1.5">
<h1>The workbench page is not built in</h1>
<p>This program was built without its page. Everything below <code>/api</code> answers; to get the page, too, run
<code>./kw open</code> in the sources: it installs what is missing, builds the page and the program, and starts it.</p>
</body></html>
)";
}

}  // namespace serve
