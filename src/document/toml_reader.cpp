#include "document/toml_reader.h"

#include <fmt/format.h>

#include <toml++/toml.h>
#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <system_error>
#include <utility>

#include "base/text.h"
#include "document/unicode.h"

namespace document {
namespace {

struct FileCloser {
  void operator()(std::FILE* f) const { std::fclose(f); }
};

Location at(const std::string& file, const toml::source_region& region) {
  return {file, static_cast<int>(region.begin.line), static_cast<int>(region.begin.column)};
}

/// Place of byte `offset`: lines from 1, columns in characters from 1.
Location location_of(std::string_view text, std::size_t offset, const std::string& file) {
  Location where{file, 1, 1};
  for (std::size_t i = 0; i < offset; ++i) {
    if (text[i] == '\n') {
      ++where.line;
      where.column = 1;
    } else if ((static_cast<unsigned char>(text[i]) & 0xC0) != 0x80) {
      ++where.column;
    }
  }
  return where;
}

/// End of the string that starts at `begin` with `quote`, by the lexical rules of TOML (four kinds of string).
std::size_t end_of_string(std::string_view text, std::size_t begin, char quote) {
  const std::string_view triple = quote == '"' ? R"(""")" : "'''";
  const bool multi_line = text.substr(begin, 3) == triple;
  std::size_t i = begin + (multi_line ? 3 : 1);
  while (i < text.size()) {
    if (quote == '"' && text[i] == '\\') {
      i += 2;
    } else if (multi_line && text.substr(i, 3) == triple) {
      return i + 3;
    } else if (!multi_line && (text[i] == quote || text[i] == '\n')) {
      return i + 1;
    } else {
      ++i;
    }
  }
  return text.size();
}

struct TooDeep {
  std::size_t offset = 0;
  std::string message;
};

/// First place where a key has more than kDeepestKey parts or brackets are nested more than kDeepestNesting deep. The
/// parser builds one table in another for each and takes them down recursively, so this is looked at before it runs.
std::optional<TooDeep> find_too_deep(std::string_view text) {
  int dots = 0;
  int open = 0;
  std::size_t i = 0;
  while (i < text.size()) {
    const char c = text[i];
    if (c == '#') {
      i = std::min(text.find('\n', i), text.size());
      continue;
    }
    if (c == '"' || c == '\'') {
      i = end_of_string(text, i, c);
      continue;
    }
    if (c == '.' && ++dots >= kDeepestKey) return TooDeep{i, fmt::format("a key has more than {} parts", kDeepestKey)};
    if (c == '\n' || c == '=' || c == ',' || c == '{' || c == '[') dots = 0;
    if ((c == '[' || c == '{') && ++open > kDeepestNesting) {
      return TooDeep{i, fmt::format("lists and tables are nested more than {} deep", kDeepestNesting)};
    }
    if ((c == ']' || c == '}') && open > 0) --open;
    ++i;
  }
  return std::nullopt;
}

template <class T>
std::string spelled(const T& value) {
  // Dates and times have no spelling without a stream; the parts are enough for a message.
  if constexpr (std::is_same_v<T, toml::date>) {
    return fmt::format("{:04}-{:02}-{:02}", value.year, value.month, value.day);
  } else if constexpr (std::is_same_v<T, toml::time>) {
    return fmt::format("{:02}:{:02}:{:02}", value.hour, value.minute, value.second);
  } else {
    return spelled(value.date) + "T" + spelled(value.time);
  }
}

Node converted(const toml::node& from, const std::string& file, std::string path) {
  Node to;
  to.where = at(file, from.source());
  to.path = std::move(path);
  switch (from.type()) {
    case toml::node_type::table: {
      to.kind = Node::Kind::table;
      for (const auto& [key, value] : *from.as_table()) {
        std::string key_text(key.str());
        std::string value_path = child_path(to.path, key_text);
        to.entries.push_back(
            {std::move(key_text), at(file, key.source()), converted(value, file, std::move(value_path))});
      }
      std::stable_sort(to.entries.begin(), to.entries.end(), [](const Entry& a, const Entry& b) {
        return std::pair(a.key_where.line, a.key_where.column) < std::pair(b.key_where.line, b.key_where.column);
      });
      break;
    }
    case toml::node_type::array: {
      to.kind = Node::Kind::array;
      const toml::array& list = *from.as_array();
      to.items.reserve(list.size());
      for (std::size_t i = 0; i < list.size(); ++i) {
        to.items.push_back(converted(*list.get(i), file, child_path(to.path, i)));
      }
      break;
    }
    case toml::node_type::string:
      to.kind = Node::Kind::text;
      to.text = from.as_string()->get();
      break;
    case toml::node_type::integer:
      to.kind = Node::Kind::integer;
      to.integer = from.as_integer()->get();
      break;
    case toml::node_type::floating_point:
      to.kind = Node::Kind::real;
      to.real = from.as_floating_point()->get();
      break;
    case toml::node_type::boolean:
      to.kind = Node::Kind::boolean;
      to.boolean = from.as_boolean()->get();
      break;
    case toml::node_type::date:
      to.kind = Node::Kind::moment;
      to.text = spelled(from.as_date()->get());
      break;
    case toml::node_type::time:
      to.kind = Node::Kind::moment;
      to.text = spelled(from.as_time()->get());
      break;
    default:
      to.kind = Node::Kind::moment;
      to.text = spelled(from.as_date_time()->get());
      break;
  }
  return to;
}

void report_encoding(std::string_view text, std::size_t offset, const std::string& file, Diagnostics& diagnostics) {
  const bool utf16 = text.size() >= 2 && (text.substr(0, 2) == "\xFF\xFE" || text.substr(0, 2) == "\xFE\xFF");
  const bool binary = text.find('\0') != std::string_view::npos;
  if (utf16) {
    diagnostics.error("toml.encoding", {file, 1, 1}, "", "the file is UTF-16 text; a TOML file is UTF-8",
                      "save it again as UTF-8");
  } else if (binary) {
    diagnostics.error("toml.encoding", location_of(text, text.find('\0'), file), "",
                      "the file is not text: it holds a zero byte", "name the project file, not a picture or archive");
  } else {
    diagnostics.error("toml.encoding", location_of(text, offset, file), "",
                      fmt::format("byte 0x{:02X} is not valid UTF-8", static_cast<unsigned char>(text[offset])),
                      "save the file again as UTF-8");
  }
}

}  // namespace

std::optional<std::string> read_text_file(const std::string& file, std::size_t most_bytes, Diagnostics& diagnostics) {
  std::error_code error;
  const std::filesystem::file_status status = std::filesystem::status(file, error);
  if (!std::filesystem::exists(status)) {
    diagnostics.error("file.missing", {file}, "", "there is no such file", "check the name and the folder");
    return std::nullopt;
  }
  if (std::filesystem::is_directory(status)) {
    diagnostics.error("file.is_folder", {file}, "", "this is a folder; a file was expected", "name a file in it");
    return std::nullopt;
  }
  const std::unique_ptr<std::FILE, FileCloser> handle(std::fopen(file.c_str(), "rb"));
  if (!handle) {
    const int reason = errno;
    diagnostics.error("file.unreadable", {file}, "",
                      "the file cannot be opened: " + std::generic_category().message(reason));
    return std::nullopt;
  }
  std::string text;
  std::string block(1 << 16, '\0');
  while (const std::size_t got = std::fread(block.data(), 1, block.size(), handle.get())) {
    text.append(block, 0, got);
    if (text.size() > most_bytes) {
      diagnostics.error("file.too_big", {file}, "",
                        fmt::format("the file is larger than {} bytes, the most that is read", most_bytes),
                        "check that this is the right file");
      return std::nullopt;
    }
  }
  if (std::ferror(handle.get()) != 0) {
    diagnostics.error("file.unreadable", {file}, "", "reading the file failed half-way");
    return std::nullopt;
  }
  return text;
}

std::optional<Node> parse_toml(std::string_view text, const std::string& file, Diagnostics& diagnostics) {
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (text.starts_with(kByteOrderMark)) {
    text.remove_prefix(kByteOrderMark.size());
    // The parser would pass over one more, so that what is read and what is edited were two texts.
    if (text.starts_with(kByteOrderMark)) {
      diagnostics.error("toml.encoding", {file, 1, 1}, "", "the file begins with more than one byte order mark",
                        "save it again as UTF-8 without such marks");
      return std::nullopt;
    }
  }
  if (base::trimmed(text).empty()) {
    diagnostics.error("file.empty", {file}, "", "the file is empty");
    return std::nullopt;
  }
  if (text.size() > kMostTomlBytes) {
    diagnostics.error("file.too_big", {file}, "",
                      fmt::format("the text is larger than {} bytes, the most that is read", kMostTomlBytes));
    return std::nullopt;
  }
  const std::size_t broken = find_broken_utf8(text);
  if (broken != std::string_view::npos || text.find('\0') != std::string_view::npos) {
    report_encoding(text, std::min(broken, text.size() - 1), file, diagnostics);
    return std::nullopt;
  }
  if (const auto deep = find_too_deep(text)) {
    diagnostics.error("toml.too_deep", location_of(text, deep->offset, file), "", deep->message);
    return std::nullopt;
  }
  try {
    const toml::table root = toml::parse(text);
    Node out = converted(root, file, "");
    out.where = {file, 0, 0};
    return out;
  } catch (const toml::parse_error& e) {
    const std::string message(e.description());
    const bool duplicate = message.find("redefine") != std::string::npos;
    diagnostics.error(duplicate ? "toml.duplicate_key" : "toml.syntax", at(file, e.source()), "", message,
                      duplicate ? "keep one of the two" : "");
    return std::nullopt;
  }
}

std::optional<Node> read_toml(const std::string& file, Diagnostics& diagnostics) {
  const auto text = read_text_file(file, kMostTomlBytes, diagnostics);
  if (!text) return std::nullopt;
  return parse_toml(*text, file, diagnostics);
}

}  // namespace document
