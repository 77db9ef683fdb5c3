// Texts of a drawing with the room they take, for tests that none covers another.
#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <regex>
#include <string>
#include <vector>

#include "report/svg.h"

namespace report::svg_texts {

struct Text {
  std::string words;
  double left, right, top, bottom;
};

inline double number(const std::string& tag, const std::string& key) {
  const std::size_t at = tag.find(" " + key + "=\"");
  return at == std::string::npos ? 0 : std::strtod(tag.c_str() + at + key.size() + 3, nullptr);
}

inline std::vector<Text> texts(const std::string& svg) {
  std::vector<Text> out;
  const std::regex pattern("<text([^>]*)>([^<]*)</text>");
  for (auto i = std::sregex_iterator(svg.begin(), svg.end(), pattern); i != std::sregex_iterator(); ++i) {
    const std::string tag = (*i)[1], words = (*i)[2];
    const double size = number(tag, "font-size"), x = number(tag, "x"), y = number(tag, "y");
    const double width = text_width(words, size, tag.find("bold") != std::string::npos);
    const double left = tag.find("\"middle\"") != std::string::npos ? x - width / 2
                        : tag.find("\"end\"") != std::string::npos  ? x - width
                                                                    : x;
    // Cap height and descender of the letters.
    out.push_back({words, left, left + width, y - 0.75 * size, y + 0.2 * size});
  }
  return out;
}

inline void expect_no_text_on_text(const std::string& name, const std::vector<Text>& all) {
  for (std::size_t i = 0; i < all.size(); ++i) {
    for (std::size_t k = i + 1; k < all.size(); ++k) {
      const Text &a = all[i], &b = all[k];
      EXPECT_FALSE(a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom)
          << name << ": \"" << a.words << "\" and \"" << b.words << "\"";
    }
  }
}

}  // namespace report::svg_texts
