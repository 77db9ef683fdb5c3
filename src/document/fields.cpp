#include "document/fields.h"

#include <fmt/format.h>

#include <cmath>
#include <limits>
#include <set>

#include "base/text.h"

namespace document {
namespace {

constexpr double kNoLimit = 1e299;  // FieldDoc bounds beyond this mean "no bound"

std::string with_unit(const std::string& text, const std::string& unit) {
  return unit.empty() ? text : text + " " + unit;
}

/// "between 0 and 20000 g", "at least 0 g", "".
std::string allowed_text(const FieldDoc& f) {
  const bool low = f.low > -kNoLimit;
  const bool high = f.high < kNoLimit;
  if (low && high)
    return with_unit(fmt::format("between {} and {}", base::plain(f.low, 6), base::plain(f.high, 6)), f.unit);
  if (low) return with_unit("at least " + base::plain(f.low, 6), f.unit);
  if (high) return with_unit("at most " + base::plain(f.high, 6), f.unit);
  return {};
}

std::string wanted_text(const FieldDoc& f) {
  switch (f.type) {
    case FieldDoc::Type::integer:
      return "a whole number";
    case FieldDoc::Type::triple:
      return "a number or { low, nominal, high }";
    case FieldDoc::Type::boolean:
      return "true or false";
    case FieldDoc::Type::text:
      return "a text in quotes";
    case FieldDoc::Type::choice:
      return "one of " + choices_text(f.choices);
    case FieldDoc::Type::point2:
      return "a list of 2 numbers";
    case FieldDoc::Type::point3:
      return "a list of 3 numbers";
    case FieldDoc::Type::range:
      return "a list [low, high]";
    case FieldDoc::Type::text_list:
      return "a text or a list of texts";
    case FieldDoc::Type::texts_or_count:
      return "a list of texts or a whole number";
    case FieldDoc::Type::point_list:
      return "a list of points [x, y]";
    case FieldDoc::Type::table:
      return "a table";
    case FieldDoc::Type::tables:
      return "a list of tables";
    case FieldDoc::Type::number:
    case FieldDoc::Type::any:
      break;
  }
  return "a number";
}

/// What stands there, for "..., found X".
std::string found_text(const Node& n) {
  switch (n.kind) {
    case Node::Kind::text:
      return "the text " + quoted(n.text);
    case Node::Kind::integer:
      return fmt::format("{}", n.integer);
    case Node::Kind::real:
      return std::floor(n.real) == n.real && std::fabs(n.real) < 1e7 ? fmt::format("{:.1f}", n.real)
                                                                     : base::plain(n.real, 6);
    case Node::Kind::boolean:
      return n.boolean ? "true" : "false";
    case Node::Kind::moment:
      return "the date or time " + n.text;
    case Node::Kind::array:
      return fmt::format("a list of {}", n.items.size());
    case Node::Kind::table:
      break;
  }
  return std::string(name_of(n.kind));
}

void wrong_type(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d, std::string hint = {}) {
  if (hint.empty() && n.kind == Node::Kind::text && f.type != FieldDoc::Type::text) {
    const std::string_view inner = base::trimmed(n.text);
    if (!inner.empty() && inner.find_first_not_of("0123456789+-.,eE") == std::string_view::npos) {
      hint = "write the number without quotes, with a decimal point";
    } else if (!f.unit.empty()) {
      hint = fmt::format("write a plain number in {}", f.unit);
    }
  }
  d.error(prefix + ".wrong_type", n.where, n.path,
          fmt::format("{} must be {}, found {}", f.key, wanted_text(f), found_text(n)), std::move(hint));
}

/// A finite number within the bounds of `f`; the node may be an element of the field's value.
std::optional<double> checked_number(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  if (!n.is_number()) {
    wrong_type(n, f, prefix, d);
    return std::nullopt;
  }
  const double v = n.number();
  if (!std::isfinite(v)) {
    d.error(prefix + ".not_finite", n.where, n.path,
            fmt::format("{} must be a finite number, found {}", f.key,
                        std::isnan(v) ? "nan"
                        : v > 0       ? "inf"
                                      : "-inf"));
    return std::nullopt;
  }
  if (v < f.low || v > f.high) {
    std::string allowed = allowed_text(f);
    if (allowed.empty()) allowed = "of a sensible size";
    d.error(prefix + ".out_of_range", n.where, n.path,
            fmt::format("{} must be {}, found {}", f.key, allowed, with_unit(found_text(n), f.unit)));
    return std::nullopt;
  }
  return v;
}

void wrong_count(const Node& n, std::size_t count, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  d.error(prefix + ".wrong_count", n.where, n.path,
          fmt::format("{} must hold {} numbers, found {}", f.key, count, n.items.size()));
}

std::optional<LocatedText> checked_text(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  if (n.kind != Node::Kind::text) {
    wrong_type(n, f, prefix, d);
    return std::nullopt;
  }
  if (n.text.size() > kLongestText) {
    d.error(prefix + ".too_long", n.where, n.path,
            fmt::format("{} is {} bytes long; at most {} are taken", f.key, n.text.size(), kLongestText));
    return std::nullopt;
  }
  return LocatedText{n.text, n.where, n.path};
}

}  // namespace

std::string choices_text(const std::vector<std::string>& choices) {
  std::vector<std::string> names;
  for (const std::string& c : choices) names.push_back(quoted(c));
  return base::list_text(names, "or");
}

std::optional<double> read_number(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  return checked_number(n, f, prefix, d);
}

std::optional<int> read_integer(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  if (n.kind != Node::Kind::integer) {
    const bool whole = n.kind == Node::Kind::real && std::isfinite(n.real) && std::floor(n.real) == n.real &&
                       std::fabs(n.real) <= std::numeric_limits<int>::max();
    wrong_type(n, f, prefix, d, whole ? fmt::format("write {:.0f}, without a decimal point", n.real) : "");
    return std::nullopt;
  }
  FieldDoc bounds = f;
  bounds.low = std::max(f.low, static_cast<double>(std::numeric_limits<int>::min()));
  bounds.high = std::min(f.high, static_cast<double>(std::numeric_limits<int>::max()));
  const auto v = checked_number(n, bounds, prefix, d);
  if (!v) return std::nullopt;
  return static_cast<int>(n.integer);
}

std::optional<base::Triple> read_triple(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  if (n.is_number()) {
    const auto v = checked_number(n, f, prefix, d);
    if (!v) return std::nullopt;
    return base::Triple::exact(*v);
  }
  if (n.kind != Node::Kind::table) {
    wrong_type(n, f, prefix, d);
    return std::nullopt;
  }
  base::Triple out;
  bool good = true;
  std::vector<FieldDoc> parts;
  for (const auto& [key, member] : {std::pair{"low", &base::Triple::low}, std::pair{"nominal", &base::Triple::nominal},
                                    std::pair{"high", &base::Triple::high}}) {
    FieldDoc part = f;
    part.key = f.key + "." + key;
    part.type = FieldDoc::Type::number;
    FieldDoc name;
    name.key = key;
    parts.push_back(name);
    const Node* value = n.find(key);
    if (value == nullptr) {
      report_missing(n, name, prefix, d);
      good = false;
    } else if (const auto v = checked_number(*value, part, prefix, d)) {
      out.*member = *v;
    } else {
      good = false;
    }
  }
  Diagnostics unknown;
  report_unknown_keys(n, parts, prefix, unknown);
  d.add_all(unknown);
  if (!good || unknown.has_errors()) return std::nullopt;
  if (!out.ordered()) {
    d.error(prefix + ".not_ordered", n.where, n.path,
            fmt::format("{} must have low <= nominal <= high, found {}, {}, {}", f.key, base::plain(out.low, 6),
                        base::plain(out.nominal, 6), base::plain(out.high, 6)));
    return std::nullopt;
  }
  return out;
}

std::optional<bool> read_boolean(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  if (n.kind != Node::Kind::boolean) {
    wrong_type(n, f, prefix, d, n.kind == Node::Kind::text ? "write true or false without quotes" : "");
    return std::nullopt;
  }
  return n.boolean;
}

std::optional<std::string> read_text(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  const auto text = read_located_text(n, f, prefix, d);
  if (!text) return std::nullopt;
  return text->text;
}

std::optional<LocatedText> read_located_text(const Node& n, const FieldDoc& f, const std::string& prefix,
                                             Diagnostics& d) {
  return checked_text(n, f, prefix, d);
}

std::optional<std::vector<double>> read_numbers(const Node& n, std::size_t count, const FieldDoc& f,
                                                const std::string& prefix, Diagnostics& d) {
  if (n.kind != Node::Kind::array) {
    wrong_type(n, f, prefix, d);
    return std::nullopt;
  }
  if (n.items.size() != count) {
    wrong_count(n, count, f, prefix, d);
    return std::nullopt;
  }
  FieldDoc element = f;
  element.type = FieldDoc::Type::number;
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i) {
    element.key = fmt::format("{}[{}]", f.key, i);
    if (const auto v = checked_number(n.items[i], element, prefix, d)) out.push_back(*v);
  }
  if (out.size() != count) return std::nullopt;
  if (f.type == FieldDoc::Type::range && out[0] > out[1]) {
    d.error(prefix + ".not_ordered", n.where, n.path,
            fmt::format("{} must be [low, high] with low <= high, found [{}, {}]", f.key, base::plain(out[0], 6),
                        base::plain(out[1], 6)),
            fmt::format("[{}, {}]", base::plain(out[1], 6), base::plain(out[0], 6)));
    return std::nullopt;
  }
  return out;
}

std::optional<std::vector<LocatedText>> read_located_texts(const Node& n, const FieldDoc& f, const std::string& prefix,
                                                           Diagnostics& d) {
  if (n.kind == Node::Kind::text) {
    auto one = checked_text(n, f, prefix, d);
    if (!one) return std::nullopt;
    return std::vector<LocatedText>{std::move(*one)};
  }
  if (!expect_array(n, f, prefix, d)) return std::nullopt;
  std::vector<LocatedText> out;
  FieldDoc element = f;
  element.type = FieldDoc::Type::text;
  for (std::size_t i = 0; i < n.items.size(); ++i) {
    element.key = fmt::format("{}[{}]", f.key, i);
    if (auto v = checked_text(n.items[i], element, prefix, d)) out.push_back(std::move(*v));
  }
  if (out.size() != n.items.size()) return std::nullopt;
  return out;
}

std::optional<std::vector<std::string>> read_texts(const Node& n, const FieldDoc& f, const std::string& prefix,
                                                   Diagnostics& d) {
  const auto located = read_located_texts(n, f, prefix, d);
  if (!located) return std::nullopt;
  std::vector<std::string> out;
  for (const LocatedText& t : *located) out.push_back(t.text);
  return out;
}

std::optional<std::vector<std::array<double, 3>>> read_points(const Node& n, const FieldDoc& f,
                                                              const std::string& prefix, Diagnostics& d) {
  if (!expect_array(n, f, prefix, d)) return std::nullopt;
  std::vector<std::array<double, 3>> out;
  FieldDoc element = f;
  for (std::size_t i = 0; i < n.items.size(); ++i) {
    const Node& item = n.items[i];
    const bool spatial = item.kind == Node::Kind::array && item.items.size() == 3;
    element.type = spatial ? FieldDoc::Type::point3 : FieldDoc::Type::point2;
    element.key = fmt::format("{}[{}]", f.key, i);
    if (const auto v = read_numbers(item, spatial ? 3 : 2, element, prefix, d)) {
      out.push_back({(*v)[0], (*v)[1], spatial ? (*v)[2] : 0.0});
    }
  }
  if (out.size() != n.items.size()) return std::nullopt;
  return out;
}

bool expect_table(const Node& n, const std::string& prefix, Diagnostics& d) {
  if (n.kind == Node::Kind::table) return true;
  const bool one_of_many = n.kind == Node::Kind::array && !n.items.empty() && n.items[0].kind == Node::Kind::table;
  d.error(prefix + ".wrong_type", n.where, n.path, "a table was expected here, found " + found_text(n),
          one_of_many ? "single brackets: this table may be there only once" : "");
  return false;
}

bool expect_array(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  if (n.kind != Node::Kind::array) {
    const bool single = f.type == FieldDoc::Type::tables && n.kind == Node::Kind::table;
    wrong_type(n, f, prefix, d, single ? fmt::format("double brackets: [[{}]]", f.key) : "");
    return false;
  }
  if (n.items.size() > kMostItems) {
    d.error(prefix + ".too_many", n.where, n.path,
            fmt::format("{} holds {} entries; at most {} are taken", f.key, n.items.size(), kMostItems));
    return false;
  }
  return true;
}

void check_fields(const Node& table, const std::vector<FieldDoc>& fields, const std::string& prefix, Diagnostics& d) {
  using Type = FieldDoc::Type;
  if (!expect_table(table, prefix, d)) return;
  for (const FieldDoc& f : fields) {
    const Node* n = table.find(f.key);
    if (n == nullptr) {
      if (f.required) report_missing(table, f, prefix, d);
      continue;
    }
    switch (f.type) {
      case Type::number:
        (void)read_number(*n, f, prefix, d);
        break;
      case Type::integer:
        (void)read_integer(*n, f, prefix, d);
        break;
      case Type::triple:
        (void)read_triple(*n, f, prefix, d);
        break;
      case Type::boolean:
        (void)read_boolean(*n, f, prefix, d);
        break;
      case Type::text:
        (void)read_text(*n, f, prefix, d);
        break;
      case Type::choice:
        (void)read_choice(*n, f, prefix, d);
        break;
      case Type::point2:
      case Type::range:
        (void)read_numbers(*n, 2, f, prefix, d);
        break;
      case Type::point3:
        (void)read_numbers(*n, 3, f, prefix, d);
        break;
      case Type::text_list:
        (void)read_texts(*n, f, prefix, d);
        break;
      case Type::point_list:
        (void)read_points(*n, f, prefix, d);
        break;
      case Type::table:
        check_fields(*n, f.children, prefix, d);
        break;
      case Type::tables:
        if (!expect_array(*n, f, prefix, d)) break;
        for (const Node& item : n->items) check_fields(item, f.children, prefix, d);
        break;
      case Type::texts_or_count:
      case Type::any:
        break;  // only their own reader knows what they may hold
    }
  }
  report_unknown_keys(table, fields, prefix, d);
}

void report_unknown_keys(const Node& table, const std::vector<FieldDoc>& known, const std::string& prefix,
                         Diagnostics& d) {
  std::vector<std::string> names;
  for (const FieldDoc& f : known) names.push_back(f.key);
  const std::set<std::string_view> known_names(names.begin(), names.end());
  std::size_t reported = 0;
  std::size_t left = 0;
  const Entry* first_left = nullptr;
  for (const Entry& e : table.entries) {
    if (known_names.contains(e.key)) continue;
    if (reported == kMostUnknownKeys) {
      if (left++ == 0) first_left = &e;
      continue;
    }
    ++reported;
    const auto near = base::nearest_name(e.key, names);
    std::string hint;
    if (near) {
      hint = *near;
    } else if (!names.empty()) {
      hint = "one of " + base::list_text(names, "or");
    }
    d.error(prefix + ".unknown_key", e.key_where, child_path(table.path, e.key),
            fmt::format("{} is not a key here", quoted(e.key)), std::move(hint));
  }
  if (left > 0) {
    d.error(prefix + ".unknown_key", first_left->key_where, table.path,
            fmt::format("and {} more unknown keys in this table, this one among them", left));
  }
}

void report_missing(const Node& table, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  std::string hint;
  if (!f.doc.empty()) hint = fmt::format("add {} ({})", f.key, f.doc);
  d.error(prefix + ".missing_key", table.where, child_path(table.path, f.key),
          fmt::format("{} is missing", quoted(f.key)), std::move(hint));
}

std::optional<std::size_t> read_choice(const Node& n, const FieldDoc& f, const std::string& prefix, Diagnostics& d) {
  if (n.kind != Node::Kind::text) {
    wrong_type(n, f, prefix, d);
    return std::nullopt;
  }
  for (std::size_t i = 0; i < f.choices.size(); ++i) {
    if (f.choices[i] == n.text) return i;
  }
  const auto near = base::nearest_name(n.text, f.choices);
  d.error(prefix + ".not_a_choice", n.where, n.path,
          fmt::format("{} must be {}, found {}", f.key, wanted_text(f), quoted(n.text)), near ? quoted(*near) : "");
  return std::nullopt;
}

}  // namespace document
