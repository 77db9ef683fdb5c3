#include "stock/folding.h"

#include <array>
#include <cstdint>

#include "document/unicode.h"

namespace stock {
namespace {

/// Windows-1252, bytes 0x80 to 0x9f (the Unicode Consortium's mapping table CP1252.TXT); the five unused bytes keep
/// their own number, as web browsers read them.
constexpr std::array<std::uint16_t, 32> kWindows{0x20ac, 0x0081, 0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021,
                                                 0x02c6, 0x2030, 0x0160, 0x2039, 0x0152, 0x008d, 0x017d, 0x008f,
                                                 0x0090, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022, 0x2013, 0x2014,
                                                 0x02dc, 0x2122, 0x0161, 0x203a, 0x0153, 0x009d, 0x017e, 0x0178};

void append_utf8(std::string& out, std::uint32_t c) {
  if (c < 0x80) {
    out += static_cast<char>(c);
  } else if (c < 0x800) {
    out += static_cast<char>(0xc0 | (c >> 6));
    out += static_cast<char>(0x80 | (c & 0x3f));
  } else {
    out += static_cast<char>(0xe0 | (c >> 12));
    out += static_cast<char>(0x80 | ((c >> 6) & 0x3f));
    out += static_cast<char>(0x80 | (c & 0x3f));
  }
}

std::uint32_t code_point(std::string_view sequence) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(sequence[i])); };
  switch (sequence.size()) {
    case 1:
      return byte(0);
    case 2:
      return (byte(0) & 0x1f) << 6 | (byte(1) & 0x3f);
    case 3:
      return (byte(0) & 0x0f) << 12 | (byte(1) & 0x3f) << 6 | (byte(2) & 0x3f);
    default:
      return (byte(0) & 0x07) << 18 | (byte(1) & 0x3f) << 12 | (byte(2) & 0x3f) << 6 | (byte(3) & 0x3f);
  }
}

/// Replacement of U+00A0 to U+00FF; empty = keep.
constexpr std::array<std::string_view, 96> kLatin{
    " ", "",  "",  "",  "",   "",  "",   "",  "",  "",  "",  "",  "",   "",    "",  "",    // a0
    "",  "",  "",  "",  "",   "",  "",   "",  "",  "",  "",  "",  "",   "1/2", "",  "",    // b0
    "a", "a", "a", "a", "ae", "a", "ae", "c", "e", "e", "e", "e", "i",  "i",   "i", "i",   // c0
    "d", "n", "o", "o", "o",  "o", "oe", "x", "",  "u", "u", "u", "ue", "y",   "",  "ss",  // d0
    "a", "a", "a", "a", "ae", "a", "ae", "c", "e", "e", "e", "e", "i",  "i",   "i", "i",   // e0
    "d", "n", "o", "o", "o",  "o", "oe", "",  "",  "u", "u", "u", "ue", "y",   "",  "y"};  // f0

/// U+0100 to U+017F: the base letters in pairs of the block, in order.
constexpr std::string_view kExtended =
    "aaaaaaccccccccddddeeeeeeeeeegggggggghhhhiiiiiiiiiiiijjkkkllllllllllnnnnnnnnnoooooooorrrrrrssssssssttttttuuuuuuuuuu"
    "uu"
    "wwyyyzzzzzzs";

void append_folded(std::string& out, std::uint32_t c, std::string_view sequence) {
  if (c < 0x80) {
    out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : static_cast<char>(c);
  } else if (c == 0xd8 || c == 0xf8 || c == 0x2300) {  // Ø, ø and the diameter sign
    out += "\u00f8";
  } else if (c == 0x152 || c == 0x153) {
    out += "oe";
  } else if (c >= 0xa0 && c < 0x100 && !kLatin[c - 0xa0].empty()) {
    out += kLatin[c - 0xa0];
  } else if (c >= 0x100 && c < 0x100 + kExtended.size()) {
    out += kExtended[c - 0x100];
  } else if (c >= 0x2000 && c <= 0x200a) {
    out += ' ';
  } else if (c == 0x202f) {
    out += ' ';
  } else if (c >= 0x2010 && c <= 0x2015) {
    out += '-';
  } else if (c == 0x2212) {
    out += '-';
  } else if (c == 0x2018 || c == 0x2019 || c == 0x2032) {
    out += '\'';
  } else if (c == 0x201c || c == 0x201d || c == 0x201e || c == 0x2033) {
    out += '"';
  } else if (c == 0x300 || (c > 0x300 && c <= 0x36f) || c == 0xfeff || c == 0xad) {
    // Combining accents, stray byte order marks and soft hyphens carry no letter.
    if (c == 0x308 && !out.empty() && (out.back() == 'a' || out.back() == 'o' || out.back() == 'u')) out += 'e';
  } else {
    out += sequence;
  }
}

template <class Use>
void for_each_character(std::string_view utf8, Use use) {
  for (std::size_t i = 0; i < utf8.size();) {
    const std::size_t n = document::utf8_length(utf8.substr(i));
    if (n == 0) {
      ++i;  // callers hand over well-formed text; a broken byte carries nothing
      continue;
    }
    const std::string_view sequence = utf8.substr(i, n);
    use(code_point(sequence), sequence);
    i += n;
  }
}

}  // namespace

std::string utf8_from_latin1(std::string_view bytes) {
  std::string out;
  out.reserve(bytes.size() + bytes.size() / 8);
  for (const char ch : bytes) {
    const auto b = static_cast<unsigned char>(ch);
    append_utf8(out, b >= 0x80 && b < 0xa0 ? kWindows[b - 0x80] : b);
  }
  return out;
}

std::string folded(std::string_view utf8) {
  std::string out;
  out.reserve(utf8.size());
  for_each_character(utf8, [&](std::uint32_t c, std::string_view sequence) { append_folded(out, c, sequence); });
  return out;
}

std::string lowered(std::string_view utf8) {
  std::string out;
  out.reserve(utf8.size());
  for_each_character(utf8, [&](std::uint32_t c, std::string_view sequence) {
    if (c < 0x80) {
      out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : static_cast<char>(c);
    } else if (c >= 0xc0 && c <= 0xde && c != 0xd7) {
      append_utf8(out, c + 0x20);
    } else {
      out += sequence;
    }
  });
  return out;
}

}  // namespace stock
