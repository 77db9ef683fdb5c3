// Text for terminals: aligned tables, wrapped paragraphs, sparing colour. Widths count code points, not bytes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace report {

struct TextOptions {
  bool colour = false;
  int width = 100;
};

[[nodiscard]] std::size_t width_of(std::string_view text);

/// Colours only where a meaning gains from it; plain text says the same.
enum class Tint { none, strong, good, bad, warm, faint };
[[nodiscard]] std::string tinted(std::string_view text, Tint tint, const TextOptions& options);

class Table {
 public:
  enum class Align { left, right };
  /// `grow`: the column that is wrapped when the table is too wide (at most one).
  void column(std::string heading, Align align = Align::left, bool grow = false);
  void row(std::vector<std::string> cells, Tint tint = Tint::none);
  [[nodiscard]] bool empty() const { return rows_.empty(); }
  /// Two blanks before every line and between columns; ends with a newline.
  [[nodiscard]] std::string str(const TextOptions& options) const;

 private:
  struct Column {
    std::string heading;
    Align align = Align::left;
    bool grow = false;
  };
  struct Row {
    std::vector<std::string> cells;
    Tint tint = Tint::none;
  };
  std::vector<Column> columns_;
  std::vector<Row> rows_;
};

/// Paragraph broken at blanks; the first line starts with `first`, the others with blanks of the same width.
[[nodiscard]] std::string paragraph(std::string_view first, std::string_view text, const TextOptions& options);
[[nodiscard]] std::vector<std::string> wrapped_text(std::string_view text, std::size_t width);
[[nodiscard]] std::string heading(std::string_view text, const TextOptions& options);

}  // namespace report
