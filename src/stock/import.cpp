#include "stock/import.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "base/check.h"
#include "base/text.h"
#include "document/toml_reader.h"
#include "document/unicode.h"
#include "stock/catalogue.h"
#include "stock/count.h"
#include "stock/folding.h"

namespace stock {
namespace {

using document::Diagnostics;
using document::Location;

constexpr std::string_view kUtf8Mark = "\xef\xbb\xbf";

/// UTF-8 text of the file, or nothing when it is no text.
std::optional<std::string> decoded(std::string_view bytes, const std::string& file, std::string& encoding,
                                   Diagnostics& d) {
  if (bytes.size() > kMostStockBytes) {
    d.error("stock.too_big", {file, 0, 0}, "",
            fmt::format("the file has {} bytes; at most {} are taken", bytes.size(), kMostStockBytes),
            "is this the stock list?");
    return std::nullopt;
  }
  const bool wide_mark = bytes.starts_with("\xff\xfe") || bytes.starts_with("\xfe\xff");
  const std::size_t nul = bytes.find('\0');
  // Text of two bytes per character without a mark shows as a letter and a zero in turn.
  const bool wide = wide_mark || (nul < 2 && bytes.size() >= 4 && (bytes[0] == '\0') == (bytes[2] == '\0') &&
                                  (bytes[1] == '\0') == (bytes[3] == '\0') && (bytes[0] == '\0') != (bytes[1] == '\0'));
  if (wide) {
    d.error("stock.utf16", {file, 1, 1}, "", "the file is UTF-16 or UTF-32 text",
            "save it again as CSV with the encoding UTF-8");
    return std::nullopt;
  }
  if (bytes.starts_with(kUtf8Mark)) bytes.remove_prefix(kUtf8Mark.size());
  int line = 1, column = 1;
  for (const char c : bytes) {
    const auto b = static_cast<unsigned char>(c);
    if ((b < 0x20 && c != '\t' && c != '\n' && c != '\r' && c != '\f') || b == 0x7f) {
      d.error("stock.binary", {file, line, column}, "", fmt::format("a control character (0x{:02x}) stands here", b),
              "is this a text file?");
      return std::nullopt;
    }
    if (c == '\n') {
      ++line;
      column = 1;
    } else if ((b & 0xc0) != 0x80) {
      ++column;
    }
  }
  if (document::find_broken_utf8(bytes) == std::string_view::npos) {
    encoding = "UTF-8";
    return std::string(bytes);
  }
  encoding = "Latin-1";
  return utf8_from_latin1(bytes);
}

class Importer {
 public:
  Importer(const std::string& file, const Matcher& matcher, Diagnostics& d)
      : file_(file), catalogue_(matcher.catalogue()), matcher_(matcher), d_(d) {}

  void run(std::string_view bytes, const ColumnChoice& choice, ImportResult& out) {
    out.stock.file = file_;
    const auto text = decoded(bytes, file_, out.encoding, d_);
    if (!text) return;
    const auto no_rows = [&] { d_.error("stock.empty", {file_, 0, 0}, "", "the file holds no rows"); };
    const bool says_something = std::any_of(text->begin(), text->end(), [](char c) {
      return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
             static_cast<unsigned char>(c) >= 0x80;
    });
    if (!says_something) return no_rows();
    const char delimiter = detect_delimiter(*text);
    out.delimiter = delimiter;
    Diagnostics reading;
    const CsvTable table = read_csv(*text, delimiter == 0 ? ',' : delimiter, file_, reading);
    d_.add_all(reading);
    // A file that could not be split to its end would give a stock with parts missing.
    if (reading.has_errors()) return;
    // Nothing but the line that names the delimiter, or delimiters only.
    if (table.records.empty()) return no_rows();
    const auto columns = find_columns(table, choice, catalogue_.words, matcher_.reader(), file_, d_);
    if (!columns) return;
    out.columns = *columns;
    read_rows(table, *columns, out);
    add_up(out);
  }

 private:
  static const Field* field_at(const Record& r, int column) {
    return column >= 0 && column < static_cast<int>(r.fields.size()) ? &r.fields[static_cast<std::size_t>(column)]
                                                                     : nullptr;
  }
  [[nodiscard]] Location at(const Record& r, const Field* f) const {
    return f != nullptr ? Location{file_, f->line, f->column} : Location{file_, r.line, 1};
  }

  void read_rows(const CsvTable& table, const FoundColumns& columns, ImportResult& out) {
    const std::size_t first = columns.has_head ? 1 : 0;
    if (table.records.size() == first) {
      d_.error("stock.empty", {file_, table.records.front().line, 1}, "", "the file holds a head but no rows");
      return;
    }
    std::vector<std::string> cells;
    for (std::size_t i = first; i < table.records.size(); ++i) {
      const Field* f = field_at(table.records[i], columns.index_of(Meaning::quantity));
      if (f != nullptr) cells.push_back(f->text);
    }
    style_ = style_of(cells);
    for (std::size_t i = first; i < table.records.size(); ++i) {
      out.rows.push_back(read_row(table.records[i], columns));
    }
  }

  RowReport read_row(const Record& r, const FoundColumns& columns) {
    const Field* name = field_at(r, columns.index_of(Meaning::name));
    const Field* quantity = field_at(r, columns.index_of(Meaning::quantity));
    const Field* colour = field_at(r, columns.index_of(Meaning::colour));
    const Field* code = field_at(r, columns.index_of(Meaning::code));
    const Field* told = field_at(r, columns.index_of(Meaning::class_id));
    RowReport row;
    row.row = r.number;
    row.where = at(r, name != nullptr ? name : told);
    if (name != nullptr) row.text = name->text;
    if (code != nullptr) row.code = code->text;
    bool good = check_width(r, columns);
    good = read_count(r, quantity, row) && good;
    if (told != nullptr && !told->text.empty()) {
      good = take_told(r, *told, row) && good;
    } else {
      match(row);
    }
    if (colour != nullptr && !colour->text.empty()) row.colour = matcher_.reader().colour_of(colour->text);
    if (!good) {
      row.state = RowReport::State::faulty;
      row.count = 0;
    }
    return row;
  }

  /// More fields than the head has: a delimiter stands in a text that is not quoted, and every column after it is
  /// wrong.
  bool check_width(const Record& r, const FoundColumns& columns) {
    std::size_t used = r.fields.size();
    while (used > 0 && r.fields[used - 1].text.empty()) --used;
    if (static_cast<int>(used) <= columns.widest) return true;
    const Field& extra = r.fields[static_cast<std::size_t>(columns.widest)];
    d_.error("stock.long_row", {file_, extra.line, extra.column}, "",
             fmt::format("this row has {} fields where {} are expected", used, columns.widest),
             "put texts that hold the delimiter in quotes");
    return false;
  }

  bool read_count(const Record& r, const Field* f, RowReport& row) {
    const Count c = parse_count(f != nullptr ? f->text : "", style_);
    const Location where = at(r, f);
    const std::string cell = f != nullptr ? document::quoted(f->text) : "";
    switch (c.state) {
      case Count::State::good:
        row.count = c.value;
        if (c.grouped) {
          d_.warning("stock.count_grouped", where, "",
                     fmt::format("{} was read as {}, with a separator of thousands", cell, c.value),
                     "write it without the separator");
        }
        return true;
      case Count::State::blank:
        d_.warning("stock.count_blank", where, "", "this row has no count and adds nothing to the stock",
                   "write 0 if that is meant");
        return true;
      case Count::State::not_a_number:
        d_.error("stock.count_not_a_number", where, "", fmt::format("the count must be a whole number, found {}", cell),
                 "--columns quantity=... if this is the wrong column");
        break;
      case Count::State::negative:
        d_.error("stock.count_negative", where, "", fmt::format("the count is negative: {}", cell));
        break;
      case Count::State::fractional:
        d_.error("stock.count_fractional", where, "", fmt::format("the count is not whole: {}", cell));
        break;
      case Count::State::absurd:
        d_.error("stock.count_absurd", where, "",
                 fmt::format("{} pieces of one part; at most {} are taken", cell, kMostPieces),
                 "--columns quantity=... if this is a column of codes");
        break;
    }
    return false;
  }

  bool take_told(const Record& r, const Field& told, RowReport& row) {
    const std::string id = base::lower_ascii(told.text);
    const auto part = catalogue_.find(id);
    if (!part) {
      if (class_ids_.empty()) {
        for (const PartClass& c : catalogue_.classes) class_ids_.push_back(c.id);
      }
      const auto near = base::nearest_name(id, class_ids_);
      d_.error("stock.unknown_class", at(r, &told), "",
               fmt::format("{} is no class of the kit system {}", document::quoted(told.text), catalogue_.system.id),
               near ? document::quoted(*near) : "");
      return false;
    }
    row.state = RowReport::State::told;
    row.part = part;
    row.confidence = 1;
    row.colour = matcher_.reader().read(row.text).colour;
    if (row.text.empty()) row.text = told.text;
    return true;
  }

  void match(RowReport& row) {
    const Phrase phrase = matcher_.reader().read(row.text);
    row.colour = phrase.colour;
    row.alternatives = matcher_.match(phrase);
    if (!row.alternatives.empty()) row.confidence = row.alternatives.front().confidence;
    if (row.confidence >= kMatched) {
      row.state = RowReport::State::matched;
      row.part = row.alternatives.front().part;
      row.alternatives.clear();
    } else if (row.confidence >= kDoubtful) {
      row.state = RowReport::State::doubtful;
      row.part = row.alternatives.front().part;
    } else {
      row.state = RowReport::State::unmatched;
    }
  }

  /// Sums the certain rows by class and colour and notes repeated ones.
  void add_up(ImportResult& out) {
    std::map<std::pair<ClassId, std::string>, StockType> types;
    std::map<std::pair<std::string, std::string>, const RowReport*> seen;
    for (RowReport& row : out.rows) {
      if (row.state == RowReport::State::faulty) continue;
      const auto [it, fresh] = seen.emplace(std::pair{folded(row.text), row.colour + "\n" + row.code}, &row);
      if (!fresh && !row.text.empty()) {
        row.same_as_row = it->second->row;
        d_.warning("stock.duplicate_row", row.where, "",
                   fmt::format("{} stands already on line {}; the counts were added", document::quoted(row.text),
                               it->second->where.line));
      }
      if (row.state != RowReport::State::told && row.state != RowReport::State::matched) continue;
      KW_CHECK(row.part.has_value(), row.text);
      if (row.count == 0) continue;
      StockType& t = types[{*row.part, row.colour}];
      if (t.count == 0) t = {*row.part, row.colour, 0, row.row};
      t.first_row = std::min(t.first_row, row.row);
      t.count += row.count;
      if (t.count > kMostPieces) {
        d_.error(
            "stock.count_absurd", row.where, "",
            fmt::format("the rows of {} add up to more than {} pieces", catalogue_.at(*row.part).name, kMostPieces));
        t.count = kMostPieces;
      }
    }
    for (auto& [key, type] : types) out.stock.types.push_back(std::move(type));
  }

  const std::string& file_;
  const Catalogue& catalogue_;
  const Matcher& matcher_;
  Diagnostics& d_;
  NumberStyle style_;
  std::vector<std::string> class_ids_;
};

}  // namespace

std::string_view name_of(RowReport::State state) {
  switch (state) {
    case RowReport::State::told:
      return "told";
    case RowReport::State::matched:
      return "matched";
    case RowReport::State::doubtful:
      return "doubtful";
    case RowReport::State::unmatched:
      return "unmatched";
    case RowReport::State::faulty:
      break;
  }
  return "faulty";
}

int ImportResult::rows_in(RowReport::State state) const {
  return static_cast<int>(
      std::count_if(rows.begin(), rows.end(), [&](const RowReport& r) { return r.state == state; }));
}

int ImportResult::pieces_in(RowReport::State state) const {
  int sum = 0;
  for (const RowReport& r : rows) sum += r.state == state ? r.count : 0;
  return sum;
}

ImportResult import_stock(std::string_view bytes, const std::string& file, const Catalogue& catalogue,
                          const ColumnChoice& choice, Diagnostics& diagnostics) {
  return import_stock(bytes, file, Matcher(catalogue), choice, diagnostics);
}

ImportResult import_stock(std::string_view bytes, const std::string& file, const Matcher& matcher,
                          const ColumnChoice& choice, Diagnostics& diagnostics) {
  ImportResult out;
  Importer(file, matcher, diagnostics).run(bytes, choice, out);
  return out;
}

ImportResult import_stock_file(const std::string& file, const Catalogue& catalogue, const ColumnChoice& choice,
                               Diagnostics& diagnostics) {
  const auto bytes = document::read_text_file(file, kMostStockBytes, diagnostics);
  if (!bytes) return {};
  return import_stock(*bytes, file, catalogue, choice, diagnostics);
}

std::string likeliest_system(std::string_view bytes, const std::string& catalogue_folder, const ColumnChoice& choice) {
  std::string best;
  int most = -1;
  for (const std::string& id : kit_systems_in(catalogue_folder)) {
    document::Diagnostics silent;
    const auto catalogue = load_kit_system(id, catalogue_folder, silent);
    if (!catalogue) continue;
    const ImportResult imported = import_stock(bytes, "", *catalogue, choice, silent);
    const int rows = imported.rows_in(RowReport::State::told) + imported.rows_in(RowReport::State::matched);
    if (rows > most) {
      most = rows;
      best = id;
    }
  }
  return best;
}

}  // namespace stock
