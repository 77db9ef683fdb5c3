#include "report/layout.h"

#include <algorithm>
#include <utility>

#include "base/check.h"

namespace report {

std::size_t width_of(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string tinted(std::string_view text, Tint tint, const TextOptions& options) {
  if (!options.colour || tint == Tint::none || text.empty()) return std::string(text);
  // ECMA-48 SGR: bold, and the basic colours every terminal theme keeps readable.
  static constexpr std::string_view kCode[] = {"", "1", "36", "31", "33", "2"};
  return "\x1b[" + std::string(kCode[static_cast<int>(tint)]) + "m" + std::string(text) + "\x1b[0m";
}

std::vector<std::string> wrapped_text(std::string_view text, std::size_t width) {
  width = std::max<std::size_t>(width, 8);
  std::vector<std::string> lines;
  std::string line;
  std::size_t at = 0;
  while (at <= text.size()) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    std::string word(text.substr(at, end - at));
    // A word longer than a line is cut hard, between code points.
    while (width_of(word) > width) {
      if (!line.empty()) lines.push_back(std::exchange(line, {}));
      std::size_t cut = 0, seen = 0;
      while (cut < word.size() && seen < width) {
        ++cut;
        while (cut < word.size() && (static_cast<unsigned char>(word[cut]) & 0xC0U) == 0x80U) ++cut;
        ++seen;
      }
      lines.push_back(word.substr(0, cut));
      word.erase(0, cut);
    }
    if (line.empty()) {
      line = word;
    } else if (width_of(line) + 1 + width_of(word) <= width) {
      line += " " + word;
    } else {
      lines.push_back(std::exchange(line, word));
    }
    at = end + 1;
  }
  if (!line.empty() || lines.empty()) lines.push_back(line);
  return lines;
}

std::string paragraph(std::string_view first, std::string_view text, const TextOptions& options) {
  const std::size_t indent = width_of(first);
  const std::size_t width = static_cast<std::size_t>(options.width);
  std::string out;
  for (const std::string& line : wrapped_text(text, width > indent + 20 ? width - indent : 20)) {
    out += out.empty() ? std::string(first) : std::string(indent, ' ');
    out += line + "\n";
  }
  return out;
}

std::string heading(std::string_view text, const TextOptions& options) {
  return "\n" + tinted(text, Tint::strong, options) + "\n";
}

void Table::column(std::string heading, Align align, bool grow) {
  columns_.push_back({std::move(heading), align, grow});
}

void Table::row(std::vector<std::string> cells, Tint tint) {
  KW_CHECK(cells.size() == columns_.size(), "a row has one cell per column");
  rows_.push_back({std::move(cells), tint});
}

std::string Table::str(const TextOptions& options) const {
  std::vector<std::size_t> width;
  std::size_t total = 0, growing = columns_.size();
  for (std::size_t c = 0; c < columns_.size(); ++c) {
    std::size_t w = width_of(columns_[c].heading);
    for (const Row& r : rows_) w = std::max(w, width_of(r.cells[c]));
    width.push_back(w);
    total += w + 2;
    if (columns_[c].grow) growing = c;
  }
  const std::size_t most = static_cast<std::size_t>(options.width);
  if (total > most && growing < columns_.size()) {
    const std::size_t over = total - most;
    width[growing] = width[growing] > over + 16 ? width[growing] - over : 16;
  }
  const auto line = [&](const std::vector<std::string>& cells) {
    std::string out;
    for (std::size_t c = 0; c < cells.size(); ++c) {
      const std::size_t used = width_of(cells[c]);
      const std::string pad(width[c] > used ? width[c] - used : 0, ' ');
      out += "  " + (columns_[c].align == Align::right ? pad + cells[c] : cells[c] + pad);
    }
    out.erase(out.find_last_not_of(' ') + 1);
    return out;
  };
  std::vector<std::string> headings;
  for (const Column& c : columns_) headings.push_back(c.heading);
  std::string out = tinted(line(headings), Tint::faint, options) + "\n";
  for (const Row& r : rows_) {
    std::vector<std::vector<std::string>> cells;
    std::size_t lines = 1;
    for (std::size_t c = 0; c < r.cells.size(); ++c) {
      cells.push_back(width_of(r.cells[c]) > width[c] ? wrapped_text(r.cells[c], width[c])
                                                      : std::vector<std::string>{r.cells[c]});
      lines = std::max(lines, cells.back().size());
    }
    for (std::size_t l = 0; l < lines; ++l) {
      std::vector<std::string> parts;
      for (const auto& cell : cells) parts.push_back(l < cell.size() ? cell[l] : "");
      out += tinted(line(parts), r.tint, options) + "\n";
    }
  }
  return out;
}

}  // namespace report
