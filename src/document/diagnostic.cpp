#include "document/diagnostic.h"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>
#include <utility>

#include "document/unicode.h"

namespace document {
namespace {

/// A terminal obeys control characters, so none from a file reaches one.
std::string made_safe(std::string_view text, std::size_t longest) {
  std::string out;
  for (std::size_t shown = 0; !text.empty(); ++shown) {
    if (shown == longest) return out + "...";
    const std::size_t length = utf8_length(text);
    const auto first = static_cast<unsigned char>(text[0]);
    // U+0080 to U+009F are controls as well.
    const bool control =
        first < 0x20 || first == 0x7F || (length == 2 && first == 0xC2 && static_cast<unsigned char>(text[1]) < 0xA0);
    if (length == 0 || control) {
      out += fmt::format("\\x{:02X}", first);
      text.remove_prefix(1);
    } else {
      out += text.substr(0, length);
      text.remove_prefix(length);
    }
  }
  return out;
}

}  // namespace

void Diagnostics::error(std::string code, Location where, std::string path, std::string message, std::string hint) {
  add({Severity::error, std::move(code), std::move(where), std::move(path), std::move(message), std::move(hint)});
}

void Diagnostics::warning(std::string code, Location where, std::string path, std::string message, std::string hint) {
  add({Severity::warning, std::move(code), std::move(where), std::move(path), std::move(message), std::move(hint)});
}

void Diagnostics::add(Diagnostic d) {
  items_.push_back(std::move(d));
}

void Diagnostics::add_all(const Diagnostics& other) {
  items_.insert(items_.end(), other.items_.begin(), other.items_.end());
}

bool Diagnostics::has_errors() const {
  return std::any_of(items_.begin(), items_.end(), [](const Diagnostic& d) { return d.severity == Severity::error; });
}

std::vector<Diagnostic> Diagnostics::sorted() const {
  std::vector<Diagnostic> out = items_;
  std::stable_sort(out.begin(), out.end(), [](const Diagnostic& a, const Diagnostic& b) {
    return std::tie(a.where.file, a.where.line, a.where.column) < std::tie(b.where.file, b.where.line, b.where.column);
  });
  return out;
}

std::string quoted(std::string_view text) {
  constexpr std::size_t kLongest = 60;
  return fmt::format("\"{}\"", made_safe(text, kLongest));
}

std::string text_of(const Diagnostic& d) {
  constexpr std::size_t kLongestPath = 400;
  constexpr std::size_t kLongestMessage = 4000;
  std::string out = made_safe(d.where.file, kLongestPath);
  if (d.where.line > 0) out += fmt::format(":{}", d.where.line);
  if (d.where.line > 0 && d.where.column > 0) out += fmt::format(":{}", d.where.column);
  out += fmt::format("{}{} {}", out.empty() ? "" : " ", d.severity == Severity::error ? "error" : "warning", d.code);
  if (!d.path.empty()) out += "  " + made_safe(d.path, kLongestPath);
  out += "\n  " + made_safe(d.message, kLongestMessage);
  if (!d.hint.empty()) out += "\n  try: " + made_safe(d.hint, kLongestMessage);
  return out;
}

}  // namespace document
