#include "document/node_edit.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace document {
namespace {

std::string quoted_text(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (c == '\n') {
      out += "\\n";
    } else if (c == '\t') {
      out += "\\t";
    } else if (byte < 0x20 || byte == 0x7F) {
      out += fmt::format("\\u{:04X}", byte);
    } else {
      out += c;
    }
  }
  return out + "\"";
}

Node* member(Node& table, const std::string& key) {
  for (Entry& e : table.entries) {
    if (e.key == key) return &e.value;
  }
  return nullptr;
}

bool writable(const Node& n) {
  if (n.kind == Node::Kind::real && !std::isfinite(n.real)) return false;
  return std::all_of(n.items.begin(), n.items.end(), writable) &&
         std::all_of(n.entries.begin(), n.entries.end(), [](const Entry& e) { return writable(e.value); });
}

}  // namespace

std::optional<std::vector<std::string>> pointer_steps(std::string_view pointer) {
  std::vector<std::string> out;
  if (!pointer.empty() && pointer[0] != '/') return std::nullopt;
  for (std::size_t at = 0; at < pointer.size();) {
    const std::size_t end = std::min(pointer.find('/', at + 1), pointer.size());
    std::string step;
    for (std::size_t i = at + 1; i < end; ++i) {
      if (pointer[i] != '~') {
        step += pointer[i];
      } else if (i + 1 < end && (pointer[i + 1] == '0' || pointer[i + 1] == '1')) {
        step += pointer[++i] == '0' ? '~' : '/';
      } else {
        return std::nullopt;
      }
    }
    out.push_back(std::move(step));
    at = end;
  }
  return out;
}

std::optional<std::size_t> pointer_index(const std::string& step) {
  if (step.empty() || step.size() > 9 || (step.size() > 1 && step[0] == '0')) return std::nullopt;
  std::size_t out = 0;
  for (const char c : step) {
    if (c < '0' || c > '9') return std::nullopt;
    out = out * 10 + static_cast<std::size_t>(c - '0');
  }
  return out;
}

std::string toml_key(std::string_view key) {
  const bool bare = !key.empty() && std::all_of(key.begin(), key.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  });
  return bare ? std::string(key) : quoted_text(key);
}

std::string toml_text(const Node& n) {
  switch (n.kind) {
    case Node::Kind::text:
      return quoted_text(n.text);
    case Node::Kind::integer:
      return fmt::format("{}", n.integer);
    case Node::Kind::boolean:
      return n.boolean ? "true" : "false";
    case Node::Kind::real: {
      std::string out = fmt::format("{}", n.real);
      if (out.find_first_of(".en") == std::string::npos) out += ".0";
      return out;
    }
    case Node::Kind::moment:
      return n.text;
    case Node::Kind::array: {
      std::string out = "[";
      for (const Node& item : n.items) out += (out.size() > 1 ? ", " : "") + toml_text(item);
      return out + "]";
    }
    case Node::Kind::table: {
      if (n.entries.empty()) return "{}";
      std::string out = "{ ";
      for (const Entry& e : n.entries)
        out += (out.size() > 2 ? ", " : "") + toml_key(e.key) + " = " + toml_text(e.value);
      return out + " }";
    }
  }
  return "";
}

bool same_value(const Node& a, const Node& b) {
  if (a.is_number() && b.is_number()) {
    if (a.kind == Node::Kind::integer && b.kind == Node::Kind::integer) return a.integer == b.integer;
    return a.number() == b.number();
  }
  if (a.kind != b.kind) return false;
  const auto empty_list = [](const Node& n) { return n.kind == Node::Kind::array && n.items.empty(); };
  const auto covered = [&](const Node& x, const Node& y) {
    return std::all_of(x.entries.begin(), x.entries.end(), [&](const Entry& e) {
      const Node* other = y.find(e.key);
      return other == nullptr ? empty_list(e.value) : same_value(e.value, *other);
    });
  };
  switch (a.kind) {
    case Node::Kind::table:
      return covered(a, b) && covered(b, a);
    case Node::Kind::array:
      return std::equal(a.items.begin(), a.items.end(), b.items.begin(), b.items.end(), same_value);
    case Node::Kind::boolean:
      return a.boolean == b.boolean;
    default:
      return a.text == b.text;
  }
}

bool apply_edit(Node& root, const Edit& edit, Diagnostics& d) {
  const auto fail = [&](const char* code, std::string message, std::string hint = {}) {
    d.error(code, {}, edit.at, std::move(message), std::move(hint));
    return false;
  };
  const auto steps = pointer_steps(edit.at);
  if (!steps) return fail("edit.bad_pointer", "this is no JSON pointer", "like /functions/0/wants/rpm");
  if (edit.op != Edit::Op::remove && !writable(edit.value)) {
    return fail("edit.no_value", "a value in it is not finite", "give a number");
  }
  if (steps->empty()) {
    if (edit.op != Edit::Op::set) return fail("edit.no_such_place", "the whole file can only be set");
    if (edit.value.kind != Node::Kind::table) return fail("edit.no_value", "the whole file must be a table");
    root.entries = edit.value.entries;
    return true;
  }
  Node* at = &root;
  for (std::size_t i = 0; i < steps->size(); ++i) {
    const std::string& step = (*steps)[i];
    const bool last = i + 1 == steps->size();
    if (at->kind == Node::Kind::table) {
      Node* next = member(*at, step);
      if (last && edit.op == Edit::Op::remove) {
        if (next == nullptr) return fail("edit.no_such_place", "there is nothing at this place");
        std::erase_if(at->entries, [&](const Entry& e) { return e.key == step; });
        return true;
      }
      if (last && edit.op == Edit::Op::insert) return fail("edit.not_a_list", "only a list can be inserted into");
      if (next == nullptr) {
        if (edit.op == Edit::Op::remove) return fail("edit.no_such_place", "there is nothing at this place");
        Node fresh;  // a table, or, where something is to be put into a list, a list
        const bool list = edit.op == Edit::Op::insert && i + 2 == steps->size();
        fresh.kind = list ? Node::Kind::array : Node::Kind::table;
        at->entries.push_back({step, {}, std::move(fresh)});
        next = &at->entries.back().value;
      }
      at = next;
    } else if (at->kind == Node::Kind::array) {
      const auto index = pointer_index(step);
      const std::size_t length = at->items.size();
      const bool room = index && (*index < length || (last && edit.op == Edit::Op::insert && *index == length));
      if (!room) {
        return fail("edit.no_such_place", fmt::format("the list has {} element{}, and {} is none of them", length,
                                                      length == 1 ? "" : "s", quoted(step)));
      }
      const auto place = at->items.begin() + static_cast<std::ptrdiff_t>(*index);
      if (last && edit.op == Edit::Op::remove) {
        at->items.erase(place);
        return true;
      }
      if (last && edit.op == Edit::Op::insert) {
        at->items.insert(place, edit.value);
        return true;
      }
      at = &at->items[*index];
    } else {
      return fail("edit.no_such_place",
                  fmt::format("{} is inside {}, which holds nothing by name", quoted(step), name_of(at->kind)));
    }
  }
  *at = edit.value;
  return true;
}

}  // namespace document
