// Where everything stands in a TOML text: which bytes are a key, a value, a header, so that one value can be changed
// and every other byte kept. Only for text that parse_toml() has accepted; it does not check again.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace document {

/// Bytes [begin, end) of the text.
struct Span {
  std::size_t begin = 0, end = 0;
};

struct LaidMember;

/// A value as written behind "=" or inside brackets.
struct LaidValue {
  enum class Form { scalar, array, table };
  Form form = Form::scalar;
  Span span;  ///< brackets and quotes included
  std::vector<LaidValue> items;
  std::vector<LaidMember> members;
};

struct LaidMember {
  std::vector<std::string> key;  ///< parts of a dotted key
  Span span;                     ///< key to end of value
  LaidValue value;
};

/// "[a.b]", "[[a.b]]" or "a.b = value", from the start of its line to the end of its last line with the newline.
struct LaidStatement {
  enum class Form { header, list_header, pair };
  Form form = Form::pair;
  Span line;
  std::size_t begin = 0;  ///< first byte after the indentation
  std::vector<std::string> key;
  LaidValue value;
  std::size_t block_begin = 0;  ///< header: start of the comment lines that stand directly above it, else line.begin
};

/// The statements of a text in order; what lies between them are blank lines and comments.
[[nodiscard]] std::vector<LaidStatement> lay_out_toml(std::string_view text);

/// Something a JSON pointer can name, with the statements that say it.
struct LaidItem {
  enum class Form {
    value,    ///< written behind "="
    section,  ///< a table of headers or dotted keys
    list      ///< a list of tables, one "[[header]]" each
  };
  struct Member;

  Form form = Form::section;
  const LaidValue* value = nullptr;  ///< value
  int statement = -1;                ///< value: its pair; section and element: its own header; -1 = has none
  std::vector<Member> members;       ///< section, in order of first mention
  std::vector<LaidItem> elements;    ///< list
  std::vector<int> dotted;           ///< section: the pairs "this.key = value" that make it

  [[nodiscard]] const LaidItem* find(std::string_view key) const;
};

struct LaidItem::Member {
  std::string key;
  LaidItem item;
};

/// The tables that the statements build up.
[[nodiscard]] LaidItem laid_tree(const std::vector<LaidStatement>& statements);

/// End of the block that header h opens, or, for -1, of what stands before the first header: where the next header's
/// comments start, or the end of the text.
[[nodiscard]] std::size_t block_end(const std::vector<LaidStatement>& statements, int h, std::string_view text);

}  // namespace document
