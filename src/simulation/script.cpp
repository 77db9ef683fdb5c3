#include "simulation/script.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "document/fields.h"
#include "document/toml_reader.h"
#include "stock/csv.h"

namespace simulation {
namespace {

using document::Diagnostics;
using document::Location;
using document::quoted;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
constexpr double kMostLoad = 3;
constexpr double kMostTime_s = 24 * 3600;
constexpr std::string_view kLoad = "load ";

/// Where columns go; shared by both forms.
class Names {
 public:
  Names(const std::vector<std::string>& known, const std::vector<std::string>& functions, Script& out, Diagnostics& d)
      : known_(known), functions_(functions), out_(out), d_(d) {}

  /// Index of an input or a load, added when new; -1 when there is none of that name.
  int input(const std::string& name, const Location& where, const std::string& path) {
    return index(name, known_, out_.inputs, "script.unknown_name", where, path);
  }
  int load(const std::string& name, const Location& where, const std::string& path) {
    return index(name, functions_, out_.loads, "script.unknown_load", where, path);
  }

 private:
  int index(const std::string& name, const std::vector<std::string>& allowed, std::vector<std::string>& into,
            const char* code, const Location& where, const std::string& path) {
    if (std::find(allowed.begin(), allowed.end(), name) == allowed.end()) {
      const auto near = base::nearest_name(name, allowed);
      d_.error(code, where, path, fmt::format("there is nothing called {} to drive", quoted(name)),
               near ? quoted(*near) : "one of " + document::choices_text(allowed));
      return -1;
    }
    const auto at = std::find(into.begin(), into.end(), name);
    if (at == into.end()) into.push_back(name);
    return static_cast<int>(std::find(into.begin(), into.end(), name) - into.begin());
  }

  const std::vector<std::string>& known_;
  const std::vector<std::string>& functions_;
  Script& out_;
  Diagnostics& d_;
};

/// Decimal point or, where another character separates, decimal comma.
std::optional<double> number_of(std::string text) {
  std::replace(text.begin(), text.end(), ',', '.');
  const char* begin = text.data() + (text.starts_with('+') ? 1 : 0);
  double value = 0;
  const auto [end, error] = std::from_chars(begin, text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

bool in_range(double value, double low, double high, std::string_view what, const Location& where,
              const std::string& path, Diagnostics& d) {
  if (value >= low && value <= high) return true;
  d.error("script.out_of_range", where, path,
          fmt::format("{} is {}; it may be {} to {}", what, base::plain(value), base::plain(low), base::plain(high)));
  return false;
}

void put(std::vector<double>& row, int at, double value) {
  if (at < 0) return;
  if (row.size() <= static_cast<std::size_t>(at)) row.resize(static_cast<std::size_t>(at) + 1, kNone);
  row[static_cast<std::size_t>(at)] = value;
}

void check_time(const Script& script, double time_s, const Location& where, const std::string& path, Diagnostics& d) {
  if (!in_range(time_s, 0, kMostTime_s, "time_s", where, path, d)) return;
  if (!script.steps.empty() && time_s <= script.steps.back().time_s)
    d.error("script.time_order", where, path,
            fmt::format("{} s does not come after the row before, {} s", base::plain(time_s),
                        base::plain(script.steps.back().time_s)),
            "rows in the order of time");
}

void read_rows(std::string_view text, const std::string& file, Names& names, Script& out, Diagnostics& d) {
  const char found = stock::detect_delimiter(text);
  const stock::CsvTable table = stock::read_csv(text, found == 0 ? ',' : found, file, d);
  if (table.records.empty()) {
    d.error("script.empty", {file, 0, 0}, "", "the script has no rows", "a first row: time_s,winch");
    return;
  }
  struct Column {
    bool load = false;
    int at = -1;
  };
  std::vector<Column> columns;
  int time_column = -1;
  const std::vector<stock::Field>& head = table.records.front().fields;
  for (std::size_t i = 0; i < head.size(); ++i) {
    const Location where{file, head[i].line, head[i].column};
    columns.emplace_back();
    const auto same = [&](const stock::Field& other) { return other.text == head[i].text; };
    if (std::any_of(head.begin(), head.begin() + static_cast<std::ptrdiff_t>(i), same))
      d.error("script.twice", where, "", fmt::format("a second column {}", quoted(head[i].text)),
              "one column for each drive");
    if (head[i].text == "time_s") {
      time_column = static_cast<int>(i);
    } else if (head[i].text.starts_with(kLoad)) {
      columns.back() = {true, names.load(head[i].text.substr(kLoad.size()), where, "")};
    } else {
      columns.back() = {false, names.input(head[i].text, where, "")};
    }
  }
  if (time_column < 0) {
    d.error("script.no_time", {file, head.front().line, 1}, "", "no column is called time_s", "time_s first");
    return;
  }
  for (std::size_t r = 1; r < table.records.size(); ++r) {
    Step step;
    bool timed = false;
    for (const stock::Field& field : table.records[r].fields) {
      const auto i = static_cast<std::size_t>(&field - table.records[r].fields.data());
      const Location where{file, field.line, field.column};
      if (i >= columns.size()) {
        d.error("script.too_many_cells", where, "", "this row has more cells than the first one");
        break;
      }
      if (field.text.empty()) continue;
      const auto value = number_of(field.text);
      if (!value) {
        d.error("script.not_a_number", where, "", fmt::format("{} is no number", quoted(field.text)));
        continue;
      }
      if (static_cast<int>(i) == time_column) {
        step.time_s = *value;
        timed = true;
        check_time(out, step.time_s, where, "", d);
      } else if (columns[i].load) {
        if (in_range(*value, 0, kMostLoad, head[i].text, where, "", d)) put(step.load, columns[i].at, *value);
      } else if (in_range(*value, -1, 1, head[i].text, where, "", d)) {
        put(step.input, columns[i].at, *value);
      }
    }
    if (!timed) d.error("script.no_time", {file, table.records[r].line, 1}, "", "this row has no time");
    out.steps.push_back(std::move(step));
  }
}

/// A table of names and numbers in a step.
template <class Index>
void read_values(const document::Node& table, double low, double high, const Index& index, std::vector<double>& row,
                 Diagnostics& d) {
  if (table.kind != document::Node::Kind::table) {
    d.error("script.not_a_table", table.where, table.path, "names and numbers are wanted here");
    return;
  }
  for (const document::Entry& e : table.entries) {
    if (!e.value.is_number()) {
      d.error("script.not_a_number", e.value.where, e.value.path,
              fmt::format("{} wants a number, not {}", quoted(e.key), document::name_of(e.value.kind)));
      continue;
    }
    if (in_range(e.value.number(), low, high, e.key, e.value.where, e.value.path, d))
      put(row, index(e.key, e.key_where, e.value.path), e.value.number());
  }
}

void read_tables(const document::Node& root, const std::string& file, Names& names, Script& out, Diagnostics& d) {
  for (const document::Entry& e : root.entries) {
    if (e.key != "step")
      d.error("script.unknown_key", e.key_where, e.value.path, fmt::format("{} is no key of a script", quoted(e.key)),
              "[[step]]");
  }
  const document::Node* steps = root.find("step");
  if (steps == nullptr || steps->items.empty()) {
    d.error("script.empty", {file, 0, 0}, "", "the script has no [[step]]");
    return;
  }
  for (const document::Node& node : steps->items) {
    Step step;
    bool timed = false;
    for (const document::Entry& e : node.entries) {
      if (e.key == "time_s" && e.value.is_number()) {
        step.time_s = e.value.number();
        timed = true;
        check_time(out, step.time_s, e.value.where, e.value.path, d);
      } else if (e.key == "inputs") {
        read_values(
            e.value, -1, 1, [&](auto&... a) { return names.input(a...); }, step.input, d);
      } else if (e.key == "loads") {
        read_values(
            e.value, 0, kMostLoad, [&](auto&... a) { return names.load(a...); }, step.load, d);
      } else {
        d.error("script.unknown_key", e.key_where, e.value.path,
                fmt::format("{} is no key of a step, or of a wrong kind", quoted(e.key)), "time_s, inputs or loads");
      }
    }
    if (!timed) d.error("script.no_time", node.where, node.path, "this step has no time_s");
    out.steps.push_back(std::move(step));
  }
}

}  // namespace

std::optional<Script> parse_script(std::string_view text, const std::string& file,
                                   const std::vector<std::string>& known, const std::vector<std::string>& functions,
                                   Diagnostics& diagnostics) {
  Script out;
  Diagnostics own;
  Names names(known, functions, out, own);
  if (file.ends_with(".toml")) {
    if (const auto root = document::parse_toml(text, file, own)) read_tables(*root, file, names, out, own);
  } else {
    read_rows(text, file, names, out, own);
  }
  const bool bad = own.has_errors();
  if (!bad && out.steps.size() < 2)
    own.error("script.one_row", {file, 0, 0}, "", "one row only: nothing happens", "a last row whose time ends it");
  for (Step& step : out.steps) {
    step.input.resize(out.inputs.size(), kNone);
    step.load.resize(out.loads.size(), kNone);
  }
  diagnostics.add_all(own);
  if (own.has_errors()) return std::nullopt;
  return out;
}

}  // namespace simulation
