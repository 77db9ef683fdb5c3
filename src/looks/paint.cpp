#include "looks/paint.h"

#include <algorithm>
#include <vector>

#include "base/text.h"

namespace looks {
namespace {

struct Paint {
  std::string_view name, figure;
};
// Plain, well apart in print; chosen by eye.
constexpr Paint kPaints[] = {{"black", "#1b1b1b"},     {"blue", "#1f5fa8"},  {"brown", "#6b4a2f"},
                             {"dark grey", "#5b6168"}, {"green", "#2f7d45"}, {"light grey", "#b4bac0"},
                             {"orange", "#e07b1a"},    {"red", "#c0281f"},   {"white", "#ffffff"},
                             {"yellow", "#f2c318"}};

}  // namespace

std::optional<std::string> paint_of(std::string_view text) {
  const std::string name = base::lower_ascii(base::trimmed(text));
  for (const Paint& p : kPaints) {
    if (name == p.name) return std::string(p.figure);
  }
  const bool figure =
      name.size() == 7 && name[0] == '#' && name.find_first_not_of("0123456789abcdef", 1) == std::string::npos;
  return figure ? std::optional(name) : std::nullopt;
}

std::span<const std::string> paint_names() {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> out;
    for (const Paint& p : kPaints) out.emplace_back(p.name);
    return out;
  }();
  return names;
}

}  // namespace looks
