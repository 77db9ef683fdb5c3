// Bytes of a stock list to text, and text to the form in which words are compared.
#pragma once

#include <string>
#include <string_view>

namespace stock {

/// Windows-1252 (which holds Latin-1) to UTF-8. Every byte means something, so this never fails.
[[nodiscard]] std::string utf8_from_latin1(std::string_view bytes);

/// Lower case without accents: ä = ae, ö = oe, ü = ue, ß = ss, æ = ae, œ = oe, é = e, × = x, ½ = 1/2; typographic
/// quotes, dashes and spaces become plain ones. ° and Ø stay as "°" and "ø"; other characters stay as they are.
[[nodiscard]] std::string folded(std::string_view utf8);

/// Lower case only, accents kept (Latin letters): for words that are shown again.
[[nodiscard]] std::string lowered(std::string_view utf8);

}  // namespace stock
