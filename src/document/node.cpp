#include "document/node.h"

#include <fmt/format.h>

namespace document {

const Node* Node::find(std::string_view key) const {
  for (const Entry& e : entries) {
    if (e.key == key) return &e.value;
  }
  return nullptr;
}

std::string child_path(std::string_view parent, std::string_view key) {
  std::string out(parent);
  out += '/';
  for (const char c : key) {
    if (c == '~') {
      out += "~0";
    } else if (c == '/') {
      out += "~1";
    } else {
      out += c;
    }
  }
  return out;
}

std::string child_path(std::string_view parent, std::size_t index) {
  return fmt::format("{}/{}", parent, index);
}

std::string_view name_of(Node::Kind kind) {
  switch (kind) {
    case Node::Kind::table:
      return "a table";
    case Node::Kind::array:
      return "a list";
    case Node::Kind::text:
      return "a text";
    case Node::Kind::integer:
      return "a whole number";
    case Node::Kind::real:
      return "a number";
    case Node::Kind::boolean:
      return "true or false";
    case Node::Kind::moment:
      return "a date or time";
  }
  return "something else";
}

}  // namespace document
