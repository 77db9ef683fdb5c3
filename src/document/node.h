// A located document tree: what a TOML file says, with the place of every key and value. Independent of the parser.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "document/diagnostic.h"

namespace document {

struct Entry;

/// A value with its place. Only the member that `kind` names is meaningful.
struct Node {
  enum class Kind { table, array, text, integer, real, boolean, moment };  ///< moment = date or time, never wanted

  Kind kind = Kind::table;
  Location where;
  std::string path;            ///< JSON pointer of this value
  std::vector<Entry> entries;  ///< table: in file order
  std::vector<Node> items;     ///< array
  std::string text;            ///< text, and the source spelling of a moment
  std::int64_t integer = 0;
  double real = 0;
  bool boolean = false;

  [[nodiscard]] const Node* find(std::string_view key) const;  ///< table only; null when absent
  [[nodiscard]] bool is_number() const { return kind == Kind::integer || kind == Kind::real; }
  [[nodiscard]] double number() const { return kind == Kind::integer ? static_cast<double>(integer) : real; }
};

struct Entry {
  std::string key;
  Location key_where;
  Node value;
};

/// Path of a member: parent + "/" + key, with "~" and "/" in the key escaped (RFC 6901).
[[nodiscard]] std::string child_path(std::string_view parent, std::string_view key);
[[nodiscard]] std::string child_path(std::string_view parent, std::size_t index);

/// A text that is looked up later, so it keeps its place for the message.
struct LocatedText {
  std::string text;
  Location where;
  std::string path;
  [[nodiscard]] bool empty() const { return text.empty(); }
};

[[nodiscard]] std::string_view name_of(Node::Kind kind);  ///< "a table", "a number", ... for messages

}  // namespace document
