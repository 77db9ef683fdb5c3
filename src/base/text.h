// Small text functions shared by everything that talks to people: nearest name, plain numbers, lists.
// No locale anywhere: a decimal point is a point.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace base {

/// The known name closest to `word` (Damerau-Levenshtein distance, case ignored), if it is close enough to be a likely
/// slip: distance <= 1 + length/4. Ties: the earlier name. Empty when nothing is near.
[[nodiscard]] std::optional<std::string> nearest_name(std::string_view word, std::span<const std::string> known);

/// A number for people: `significant` digits, no trailing zeros, no exponent between 1e-4 and 1e7.
[[nodiscard]] std::string plain(double value, int significant = 4);

/// "a, b and c".
[[nodiscard]] std::string list_text(std::span<const std::string> words, std::string_view last_word = "and");

[[nodiscard]] std::string lower_ascii(std::string_view text);
[[nodiscard]] std::string_view trimmed(std::string_view text);

}  // namespace base
