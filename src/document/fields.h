// Field tables: one declaration of a key gives the reader, the diagnostics, the schema and the documentation.
//
// A table is declared once per struct:
//
//   const FieldTable<Wants>& fields() {
//     static const FieldTable<Wants> table = FieldTable<Wants>("luff")
//         .number("load_g", &Wants::load_g, {.unit = "g", .low = 0, .high = 20000, .doc = "..."}).required()
//         .range("angle_deg", &Wants::angle_deg, {.unit = "deg", .low = -90, .high = 120, .doc = "..."}).required();
//     return table;
//   }
//
// read() reports every problem (wrong type, out of range, not finite, unknown key with the nearest known one, missing
// required key) with stable codes "<prefix>.<what>" and leaves the default in place for what could not be read.
#pragma once

#include <array>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/triple.h"
#include "document/diagnostic.h"
#include "document/node.h"

namespace document {

struct FieldVariant;

/// What one key means: for the schema, for forms and for people.
struct FieldDoc {
  enum class Type {
    number,
    integer,
    triple,
    boolean,
    text,
    choice,
    point2,
    point3,
    range,
    text_list,       ///< one text, or a list of texts
    texts_or_count,  ///< a list of texts, or how many of the default ones
    point_list,      ///< list of [x, y] or [x, y, z]
    table,
    tables,
    any
  };
  std::string key;
  Type type = Type::number;
  std::string unit;                   ///< "mm", "g", "" = none
  double low = -1e300, high = 1e300;  ///< closed range of every number in it
  std::vector<std::string> choices;
  bool required = false;
  std::string default_text;  ///< as it would be typed; empty = none
  std::string doc;
  std::vector<FieldDoc> children;  ///< table, tables
  /// A table whose keys depend on a sibling: `variant_key` names the sibling, each variant the keys for one value of
  /// it.
  std::string variant_key;
  std::vector<FieldVariant> variants;
};

struct FieldVariant {
  std::string value;
  std::string doc;
  std::vector<FieldDoc> children;
};

inline constexpr std::size_t kMostItems = 10'000;     ///< entries of one list; more is a slip, and is reported
inline constexpr std::size_t kLongestText = 10'000;   ///< bytes of one text
inline constexpr std::size_t kMostUnknownKeys = 100;  ///< reported one by one in a table; the rest as a count

struct FieldOptions {
  std::string unit = {};
  double low = -1e300, high = 1e300;
  std::string doc = {};
  std::string default_text = {};  ///< only needed where the struct's default is not self-explaining
};

/// "a", "b" or "c": for messages.
[[nodiscard]] std::string choices_text(const std::vector<std::string>& choices);

// Single values. Each reports what is wrong under `prefix` and returns nothing when it could not be read.
[[nodiscard]] std::optional<double> read_number(const Node&, const FieldDoc&, const std::string& prefix, Diagnostics&);
[[nodiscard]] std::optional<int> read_integer(const Node&, const FieldDoc&, const std::string& prefix, Diagnostics&);
/// A number, or a table { low, nominal, high } with low <= nominal <= high.
[[nodiscard]] std::optional<base::Triple> read_triple(const Node&, const FieldDoc&, const std::string& prefix,
                                                      Diagnostics&);
[[nodiscard]] std::optional<bool> read_boolean(const Node&, const FieldDoc&, const std::string& prefix, Diagnostics&);
[[nodiscard]] std::optional<std::string> read_text(const Node&, const FieldDoc&, const std::string& prefix,
                                                   Diagnostics&);
[[nodiscard]] std::optional<std::vector<double>> read_numbers(const Node&, std::size_t count, const FieldDoc&,
                                                              const std::string& prefix, Diagnostics&);
/// One text counts as a list of one.
[[nodiscard]] std::optional<std::vector<std::string>> read_texts(const Node&, const FieldDoc&,
                                                                 const std::string& prefix, Diagnostics&);
[[nodiscard]] std::optional<LocatedText> read_located_text(const Node&, const FieldDoc&, const std::string& prefix,
                                                           Diagnostics&);
[[nodiscard]] std::optional<std::vector<LocatedText>> read_located_texts(const Node&, const FieldDoc&,
                                                                         const std::string& prefix, Diagnostics&);
/// Points of two numbers get a third of zero.
[[nodiscard]] std::optional<std::vector<std::array<double, 3>>> read_points(const Node&, const FieldDoc&,
                                                                            const std::string& prefix, Diagnostics&);
/// Wrong shape: "a table was expected"; returns whether it is one.
bool expect_table(const Node&, const std::string& prefix, Diagnostics&);
bool expect_array(const Node&, const FieldDoc&, const std::string& prefix, Diagnostics&);
void report_unknown_keys(const Node& table, const std::vector<FieldDoc>&, const std::string& prefix, Diagnostics&);
void report_missing(const Node& table, const FieldDoc&, const std::string& prefix, Diagnostics&);
/// Index of the choice; reports with the nearest name when there is none.
[[nodiscard]] std::optional<std::size_t> read_choice(const Node&, const FieldDoc&, const std::string& prefix,
                                                     Diagnostics&);

/// Checks a table against field documentation alone: unknown and missing keys, types, ranges, choices; everything that
/// can be said without a FieldTable. For a table whose reader cannot run because something it needs is broken.
void check_fields(const Node& table, const std::vector<FieldDoc>& fields, const std::string& prefix, Diagnostics&);

template <class T>
class FieldTable {
 public:
  explicit FieldTable(std::string prefix) : prefix_(std::move(prefix)) {}

  FieldTable& number(std::string key, double T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::number, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_number(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& number(std::string key, std::optional<double> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::number, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_number(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& integer(std::string key, int T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::integer, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_integer(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& triple(std::string key, base::Triple T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::triple, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_triple(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& triple(std::string key, std::optional<base::Triple> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::triple, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_triple(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& boolean(std::string key, bool T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::boolean, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_boolean(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& text(std::string key, std::string T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::text, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_text(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& texts(std::string key, std::vector<std::string> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::text_list, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_texts(n, f, p, d)) t.*m = *v;
               });
  }
  /// Texts that are looked up later: they keep their places.
  FieldTable& text(std::string key, LocatedText T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::text, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_located_text(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& texts(std::string key, std::vector<LocatedText> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::text_list, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_located_texts(n, f, p, d)) t.*m = *v;
               });
  }
  FieldTable& points(std::string key, std::vector<std::array<double, 3>> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::point_list, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_points(n, f, p, d)) t.*m = *v;
               });
  }
  /// Two numbers, x and z or any pair.
  FieldTable& point2(std::string key, std::array<double, 2> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::point2, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_numbers(n, 2, f, p, d)) t.*m = {(*v)[0], (*v)[1]};
               });
  }
  FieldTable& point2(std::string key, std::optional<std::array<double, 2>> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::point2, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_numbers(n, 2, f, p, d)) t.*m = {(*v)[0], (*v)[1]};
               });
  }
  FieldTable& point3(std::string key, std::array<double, 3> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::point3, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_numbers(n, 3, f, p, d)) t.*m = {(*v)[0], (*v)[1], (*v)[2]};
               });
  }
  FieldTable& point3(std::string key, std::optional<std::array<double, 3>> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::point3, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_numbers(n, 3, f, p, d)) t.*m = {(*v)[0], (*v)[1], (*v)[2]};
               });
  }
  /// [low, high] with low <= high.
  FieldTable& range(std::string key, std::optional<std::array<double, 2>> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::range, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_numbers(n, 2, f, p, d)) t.*m = {(*v)[0], (*v)[1]};
               });
  }
  FieldTable& range(std::string key, std::array<double, 2> T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::range, std::move(o),
               [m](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
                 if (auto v = read_numbers(n, 2, f, p, d)) t.*m = {(*v)[0], (*v)[1]};
               });
  }
  template <class E>
  FieldTable& choice(std::string key, E T::*m, std::vector<std::pair<std::string, E>> values, FieldOptions o) {
    std::vector<std::string> names;
    std::vector<E> enums;
    for (auto& [name, value] : values) {
      names.push_back(name);
      enums.push_back(value);
    }
    add(std::move(key), FieldDoc::Type::choice, std::move(o),
        [m, enums](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
          if (auto v = read_choice(n, f, p, d)) t.*m = enums[*v];
        });
    fields_.back().doc.choices = std::move(names);
    return *this;
  }
  template <class U>
  FieldTable& table(std::string key, U T::*m, const FieldTable<U>& inner, FieldOptions o) {
    add(std::move(key), FieldDoc::Type::table, std::move(o),
        [m, inner](const Node& n, const FieldDoc&, auto&, T& t, Diagnostics& d) { inner.read(n, t.*m, d); });
    fields_.back().doc.children = inner.docs();
    return *this;
  }
  /// The member stays empty when the table is not there.
  template <class U>
  FieldTable& table(std::string key, std::optional<U> T::*m, const FieldTable<U>& inner, FieldOptions o) {
    add(std::move(key), FieldDoc::Type::table, std::move(o),
        [m, inner](const Node& n, const FieldDoc&, auto&, T& t, Diagnostics& d) {
          inner.read(n, (t.*m).emplace(), d);
        });
    fields_.back().doc.children = inner.docs();
    return *this;
  }
  template <class U>
  FieldTable& tables(std::string key, std::vector<U> T::*m, const FieldTable<U>& inner, FieldOptions o) {
    add(std::move(key), FieldDoc::Type::tables, std::move(o),
        [m, inner](const Node& n, const FieldDoc& f, auto& p, T& t, Diagnostics& d) {
          if (!expect_array(n, f, p, d)) return;
          for (const Node& item : n.items) inner.read(item, (t.*m).emplace_back(), d);
        });
    fields_.back().doc.children = inner.docs();
    return *this;
  }
  /// Kept as it stands, with its places, for somebody else to read.
  FieldTable& opaque(std::string key, Node T::*m, FieldOptions o) {
    return add(std::move(key), FieldDoc::Type::any, std::move(o),
               [m](const Node& n, const FieldDoc&, auto&, T& t, Diagnostics&) { t.*m = n; });
  }
  /// Anything else: `reader(node, doc, prefix, out, diagnostics)` reports its own problems.
  using Reader = std::function<void(const Node&, const FieldDoc&, const std::string& prefix, T&, Diagnostics&)>;
  FieldTable& custom(std::string key, FieldDoc::Type type, Reader reader, FieldOptions o) {
    return add(std::move(key), type, std::move(o), std::move(reader));
  }
  /// Where the table itself stands, for checks that look at several keys.
  FieldTable& place(Location T::*where, std::string T::*path) {
    place_ = [where, path](const Node& table, T& t) {
      t.*where = table.where;
      t.*path = table.path;
    };
    return *this;
  }
  /// Makes the key just declared a must.
  FieldTable& required() {
    fields_.back().doc.required = true;
    return *this;
  }

  /// Reads a table node into `out`; true when it added no error.
  bool read(const Node& table, T& out, Diagnostics& diagnostics) const {
    Diagnostics own;
    if (place_) place_(table, out);
    if (expect_table(table, prefix_, own)) {
      for (const Field& f : fields_) {
        if (const Node* value = table.find(f.doc.key)) {
          f.read(*value, f.doc, prefix_, out, own);
        } else if (f.doc.required) {
          report_missing(table, f.doc, prefix_, own);
        }
      }
      report_unknown_keys(table, docs(), prefix_, own);
    }
    const bool good = !own.has_errors();
    diagnostics.add_all(own);
    return good;
  }

  [[nodiscard]] std::vector<FieldDoc> docs() const {
    std::vector<FieldDoc> out;
    for (const Field& f : fields_) out.push_back(f.doc);
    return out;
  }
  [[nodiscard]] const std::string& prefix() const { return prefix_; }

 private:
  struct Field {
    FieldDoc doc;
    Reader read;
  };

  FieldTable& add(std::string key, FieldDoc::Type type, FieldOptions o, Reader reader) {
    FieldDoc doc;
    doc.key = std::move(key);
    doc.type = type;
    doc.unit = std::move(o.unit);
    doc.low = o.low;
    doc.high = o.high;
    doc.doc = std::move(o.doc);
    doc.default_text = std::move(o.default_text);
    fields_.push_back({std::move(doc), std::move(reader)});
    return *this;
  }

  std::string prefix_;
  std::vector<Field> fields_;
  std::function<void(const Node&, T&)> place_;
};

}  // namespace document
