#include "report/stock_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "report/json.h"

namespace report {
namespace {

using State = stock::RowReport::State;
using Align = Table::Align;

std::string delimiter_text(char delimiter) {
  switch (delimiter) {
    case '\t':
      return "tab";
    case ',':
      return "comma";
    case ';':
      return "semicolon";
    case '|':
      return "bar";
    default:
      return delimiter == 0 ? "none" : std::string(1, delimiter);
  }
}

std::string_view how_text(stock::FoundColumn::How how) {
  switch (how) {
    case stock::FoundColumn::How::told:
      return "as told";
    case stock::FoundColumn::How::head:
      return "by its head";
    case stock::FoundColumn::How::content:
      return "by its content";
    case stock::FoundColumn::How::none:
      break;
  }
  return "";
}

std::string columns_text(const stock::FoundColumns& columns) {
  std::vector<std::string> words;
  for (int m = 0; m < stock::kMeanings; ++m) {
    const stock::FoundColumn& c = columns.of[m];
    if (c.index < 0) continue;
    words.push_back(fmt::format("{} = column {}{} ({})", stock::name_of(static_cast<stock::Meaning>(m)), c.index + 1,
                                c.head.empty() ? "" : " \"" + c.head + "\"", how_text(c.how)));
  }
  return base::list_text(words);
}

std::string alternatives_text(const stock::RowReport& row, const stock::Catalogue& catalogue) {
  std::vector<std::string> words;
  bool sizes = false;
  for (const stock::Alternative& a : row.alternatives) {
    sizes = a.confidence == 0;
    words.push_back(sizes ? catalogue.at(a.part).name
                          : fmt::format("{} ({} %)", catalogue.at(a.part).name, base::plain(100 * a.confidence, 2)));
    if (words.size() == 3) break;
  }
  return (sizes ? "none of this size; there is " : "") + base::list_text(words, sizes ? "and" : "or");
}

}  // namespace

std::string stock_text(const stock::ImportResult& imported, const stock::Catalogue& catalogue,
                       const TextOptions& options, bool all) {
  std::string out = tinted(imported.stock.file, Tint::strong, options) + "\n";
  out += paragraph("  ",
                   fmt::format("kit system {}; {} rows, {}, delimiter {}", catalogue.system.name, imported.rows.size(),
                               imported.encoding, delimiter_text(imported.delimiter)),
                   options);
  out += paragraph("  columns: ", columns_text(imported.columns), options);

  Table sum;
  sum.column("");
  sum.column("rows", Align::right);
  sum.column("parts", Align::right);
  for (const State s : {State::told, State::matched, State::doubtful, State::unmatched, State::faulty}) {
    if (imported.rows_in(s) == 0) continue;
    sum.row({std::string(stock::name_of(s)), fmt::format("{}", imported.rows_in(s)),
             fmt::format("{}", imported.pieces_in(s))},
            s == State::told || s == State::matched ? Tint::none : Tint::warm);
  }
  out += heading("Rows", options) + sum.str(options);
  out += fmt::format("  {} part types, {} parts count\n", imported.stock.types.size(), imported.stock.pieces());

  for (const State s : {State::doubtful, State::unmatched, State::faulty}) {
    if (imported.rows_in(s) == 0) continue;
    Table t;
    t.column("line", Align::right);
    t.column("parts", Align::right);
    t.column("as written");
    const bool any = std::any_of(imported.rows.begin(), imported.rows.end(), [&](const stock::RowReport& row) {
      return row.state == s && !row.alternatives.empty();
    });
    t.column(!any ? "" : s == State::doubtful ? "could be" : "nearest", Align::left, true);
    for (const stock::RowReport& row : imported.rows) {
      if (row.state != s) continue;
      t.row({fmt::format("{}", row.where.line), fmt::format("{}", row.count), document::quoted(row.text),
             alternatives_text(row, catalogue)});
    }
    static constexpr const char* kHeading[] = {"", "", "Doubtful: not counted until you say which",
                                               "Not known: not counted", "Faulty: see the messages"};
    out += heading(kHeading[static_cast<int>(s)], options) + t.str(options);
  }
  if (imported.rows_in(State::doubtful) + imported.rows_in(State::unmatched) > 0) {
    out += paragraph("  ", "To settle a row, change its words or add a column \"class\" with the id of the part class.",
                     options);
  }
  if (all) {
    Table t;
    t.column("part", Align::left, true);
    t.column("colour");
    t.column("parts", Align::right);
    t.column("class");
    for (const stock::StockType& type : imported.stock.types) {
      t.row({catalogue.at(type.part).name, type.colour, fmt::format("{}", type.count), catalogue.at(type.part).id});
    }
    out += heading("Counted", options) + t.str(options);
  }
  return out;
}

nlohmann::ordered_json stock_json(const stock::ImportResult& imported, const stock::Catalogue& catalogue,
                                  const document::Diagnostics& diagnostics) {
  using Json = nlohmann::ordered_json;
  Json columns = Json::object();
  for (int m = 0; m < stock::kMeanings; ++m) {
    const stock::FoundColumn& c = imported.columns.of[m];
    if (c.index < 0) continue;
    columns[std::string(stock::name_of(static_cast<stock::Meaning>(m)))] = {
        {"column", c.index + 1}, {"head", c.head}, {"how", std::string(stock::name_of(c.how))}};
  }
  Json rows = Json::array();
  for (const stock::RowReport& row : imported.rows) {
    Json alternatives = Json::array();
    for (const stock::Alternative& a : row.alternatives) {
      alternatives.push_back({{"part", catalogue.at(a.part).id}, {"confidence", rounded(a.confidence)}});
    }
    rows.push_back({{"row", row.row},
                    {"line", row.where.line},
                    {"text", row.text},
                    {"code", row.code},
                    {"colour", row.colour},
                    {"count", row.count},
                    {"state", std::string(stock::name_of(row.state))},
                    {"part", row.part ? Json(catalogue.at(*row.part).id) : Json(nullptr)},
                    {"confidence", rounded(row.confidence)},
                    {"alternatives", std::move(alternatives)}});
  }
  Json types = Json::array();
  for (const stock::StockType& t : imported.stock.types) {
    types.push_back({{"part", catalogue.at(t.part).id}, {"colour", t.colour}, {"count", t.count}});
  }
  return Json{{"format", "kitwright.stock"},
              {"version", kFormatVersion},
              {"status", diagnostics.has_errors() ? "bad_input" : "sound"},
              {"diagnostics", json_of(diagnostics)},
              {"stock_file", imported.stock.file},
              {"kit_system", catalogue.system.id},
              {"encoding", imported.encoding},
              {"delimiter", imported.delimiter == 0 ? "" : std::string(1, imported.delimiter)},
              {"columns", std::move(columns)},
              {"part_types", imported.stock.types.size()},
              {"parts", imported.stock.pieces()},
              {"rows", std::move(rows)},
              {"types", std::move(types)}};
}

}  // namespace report
