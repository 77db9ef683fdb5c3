// From a TOML file (toml.io, version 1.0) to a located tree. Whatever the bytes are, the outcome is a tree or a
// message.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "document/diagnostic.h"
#include "document/node.h"

namespace document {

/// Hand-written files are thousands of times smaller; beyond this somebody named the wrong file.
inline constexpr std::size_t kMostTomlBytes = 10'000'000;
/// Longer dotted keys and deeper nested lists and tables are refused: nobody writes them, and the tree is walked
/// recursively, so together they must fit the stack many times over.
inline constexpr int kDeepestKey = 16;
inline constexpr int kDeepestNesting = 32;

/// The bytes of a file. Reports file.missing, file.is_folder, file.unreadable or file.too_big and returns nothing.
[[nodiscard]] std::optional<std::string> read_text_file(const std::string& file, std::size_t most_bytes,
                                                        Diagnostics& diagnostics);

/// Parses TOML text; tables keep the order of the file. `file` is only used in locations. Reports file.empty,
/// toml.encoding, toml.duplicate_key, toml.too_deep or toml.syntax (a text has at most one of these, because what
/// follows a broken line cannot be trusted) and returns nothing.
[[nodiscard]] std::optional<Node> parse_toml(std::string_view text, const std::string& file, Diagnostics& diagnostics);

/// read_text_file, then parse_toml.
[[nodiscard]] std::optional<Node> read_toml(const std::string& file, Diagnostics& diagnostics);

}  // namespace document
