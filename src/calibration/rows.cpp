#include "calibration/rows.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "base/text.h"
#include "document/fields.h"
#include "stock/csv.h"

namespace calibration {
namespace {

using document::Diagnostics;
using document::quoted;

std::optional<double> number_of(std::string text) {
  std::replace(text.begin(), text.end(), ',', '.');
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

}  // namespace

std::vector<Row> parse_rows(std::string_view text, const std::string& file, Diagnostics& d) {
  const char found = stock::detect_delimiter(text);
  const stock::CsvTable table = stock::read_csv(text, found == 0 ? ',' : found, file, d);
  std::vector<Row> out;
  if (table.records.empty()) return out;
  const std::vector<std::string> names{"what", "of", "value", "spread", "note", "input_percent"};
  std::vector<int> at(names.size(), -1);
  const auto& head = table.records.front().fields;
  for (std::size_t i = 0; i < head.size(); ++i) {
    const auto name = std::find(names.begin(), names.end(), head[i].text);
    if (name == names.end()) {
      const auto near = base::nearest_name(head[i].text, names);
      d.error("bench.unknown_column", {file, head[i].line, head[i].column}, "",
              fmt::format("{} is no column of bench tests", quoted(head[i].text)),
              near ? quoted(*near) : "what, of, value, spread, note, input_percent");
      continue;
    }
    at[static_cast<std::size_t>(name - names.begin())] = static_cast<int>(i);
  }
  for (std::size_t c = 0; c < 3; ++c) {
    if (at[c] < 0)
      d.error("bench.no_column", {file, head.front().line, 1}, "", fmt::format("no column is called {}", names[c]));
  }
  if (d.has_errors()) return out;
  for (std::size_t r = 1; r < table.records.size(); ++r) {
    const auto& fields = table.records[r].fields;
    const auto cell = [&](std::size_t c) {
      return at[c] >= 0 && static_cast<std::size_t>(at[c]) < fields.size() ? &fields[static_cast<std::size_t>(at[c])]
                                                                           : nullptr;
    };
    Row row;
    row.where = {file, table.records[r].line, 1};
    if (cell(0) != nullptr) row.what = cell(0)->text;
    if (cell(1) != nullptr) row.of = cell(1)->text;
    if (cell(4) != nullptr) row.note = cell(4)->text;
    const stock::Field* value = cell(2);
    const auto number = value != nullptr ? number_of(value->text) : std::nullopt;
    if (!number || !(*number > 0)) {
      d.error("bench.not_a_number", value != nullptr ? document::Location{file, value->line, value->column} : row.where,
              "", "a reading is a number above 0");
      continue;
    }
    row.value = *number;
    if (const stock::Field* spread = cell(3); spread != nullptr && !spread->text.empty()) {
      row.spread = number_of(spread->text);
      if (!row.spread || !(*row.spread > 0)) {
        d.error("bench.no_spread", {file, spread->line, spread->column}, "", "the spread must be a number above 0");
        continue;
      }
    }
    if (const stock::Field* input = cell(5); input != nullptr && !input->text.empty()) {
      const auto percent = number_of(input->text);
      if (!percent || !(*percent > 0) || *percent > 100) {
        d.error("bench.input", {file, input->line, input->column}, "", "input_percent is above 0 and at most 100");
        continue;
      }
      row.input = *percent / 100;
    }
    out.push_back(std::move(row));
  }
  return out;
}

}  // namespace calibration
