#include "base/text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace base {
namespace {

std::size_t edit_distance(std::string_view a, std::string_view b) {
  // Optimal string alignment: insertion, deletion, replacement, swap of neighbours; three rolling rows.
  std::vector<std::size_t> before_last(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t cost = a[i - 1] == b[j - 1] ? 0 : 1;
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + cost});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        row[j] = std::min(row[j], before_last[j - 2] + 1);
      }
    }
    before_last = last;
    last = row;
  }
  return last[b.size()];
}

}  // namespace

std::optional<std::string> nearest_name(std::string_view word, std::span<const std::string> known) {
  // A word longer than any sensible name cannot be a slip of one; comparing it would only cost time.
  constexpr std::size_t kLongest = 64;
  if (word.size() > kLongest) return std::nullopt;
  const std::string wanted = lower_ascii(word);
  std::size_t best = 2 + wanted.size() / 4;
  std::optional<std::string> found;
  for (const std::string& name : known) {
    if (name.size() > kLongest) continue;
    const std::size_t d = edit_distance(wanted, lower_ascii(name));
    if (d < best) {
      best = d;
      found = name;
    }
  }
  return found;
}

std::string plain(double value, int significant) {
  if (std::isnan(value)) return "not a number";
  if (std::isinf(value)) return value > 0 ? "infinite" : "-infinite";
  if (value == 0) return "0";
  const double size = std::fabs(value);
  if (size < 1e-4 || size >= 1e7) return fmt::format("{:.{}g}", value, significant);
  const int magnitude = static_cast<int>(std::floor(std::log10(size)));
  const int decimals = std::max(0, significant - 1 - magnitude);
  std::string text = fmt::format("{:.{}f}", value, decimals);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

std::string list_text(std::span<const std::string> words, std::string_view last_word) {
  std::string out;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) out += i + 1 == words.size() ? fmt::format(" {} ", last_word) : ", ";
    out += words[i];
  }
  return out;
}

std::string lower_ascii(std::string_view text) {
  std::string out(text);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r\n\f\v";
  const auto first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

}  // namespace base
