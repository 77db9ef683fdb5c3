// Edits of a located tree: one change at a JSON pointer, what it means, and values as TOML writes them.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "document/diagnostic.h"
#include "document/node.h"

namespace document {

/// One change at a JSON pointer (RFC 6901).
struct Edit {
  enum class Op {
    set,     ///< replaces the value, or adds the key (and the tables above it that are missing)
    remove,  ///< takes the key or the element away, with the comment lines directly above a table's header
    insert   ///< into a list before the element named; "-" or the length of the list = behind the last one
  };
  Op op = Op::set;
  std::string at;
  Node value;  ///< set, insert; places in it are ignored
};

/// The steps of a JSON pointer, unescaped; nothing when it is none.
[[nodiscard]] std::optional<std::vector<std::string>> pointer_steps(std::string_view pointer);
/// A step as the index of a list: digits without leading zeros.
[[nodiscard]] std::optional<std::size_t> pointer_index(const std::string& step);

/// What an edit means for the tree alone. Reports edit.no_such_place, edit.not_a_list, edit.bad_pointer and
/// edit.no_value at the edit's pointer. True when it was done; otherwise the tree is not to be used any more.
bool apply_edit(Node& root, const Edit& edit, Diagnostics& diagnostics);

/// Equal but for places and the order of keys; 5 equals 5.0; a missing key equals an empty list.
[[nodiscard]] bool same_value(const Node& a, const Node& b);

/// The value as TOML writes it in one line: basic strings, inline tables, shortest numbers that read back the same.
[[nodiscard]] std::string toml_text(const Node& value);
[[nodiscard]] std::string toml_key(std::string_view key);

}  // namespace document
