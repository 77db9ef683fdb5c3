// From the bytes of a stock list to the stock: encoding, delimiter, columns, counts, colours, and rows matched to part
// classes with a confidence. Every row comes back in the report; nothing is dropped silently.
//
// Only rows that are certain count into the stock: matched ones (confidence >= kMatched) and rows whose "class" column
// names the class. Doubtful rows are listed with their alternatives until the user says which class they are.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "document/diagnostic.h"
#include "stock/columns.h"
#include "stock/match.h"
#include "stock/part.h"
#include "stock/stock.h"

namespace stock {

/// Bytes of a stock list; more is an error.
inline constexpr std::size_t kMostStockBytes = 64'000'000;

struct RowReport {
  enum class State {
    told,       ///< the class column says which class it is
    matched,    ///< counts into the stock
    doubtful,   ///< does not count until the user decides
    unmatched,  ///< nothing is alike enough
    faulty      ///< its count or class cannot be read; a diagnostic says why
  };
  int row = 0;  ///< 1-based among the rows of the file that are not blank, the head included
  document::Location where;
  std::string text;  ///< description as in the file
  std::string code;  ///< the list's own code, if it has one
  std::string colour;
  int count = 0;
  State state = State::unmatched;
  std::optional<ClassId> part;  ///< told, matched; doubtful: the best guess
  double confidence = 0;
  /// Doubtful and unmatched: what it could be, best first. Confidence 0: that name in another size.
  std::vector<Alternative> alternatives;
  int same_as_row = 0;  ///< an earlier row with the same text and colour, whose count it adds to
};
[[nodiscard]] std::string_view name_of(RowReport::State state);

struct ImportResult {
  Stock stock;  ///< empty when a diagnostic was an error of the whole file
  std::vector<RowReport> rows;
  FoundColumns columns;
  std::string encoding;  ///< "UTF-8", "Latin-1"
  char delimiter = 0;
  [[nodiscard]] int rows_in(RowReport::State state) const;
  [[nodiscard]] int pieces_in(RowReport::State state) const;
};

/// `file` is used in locations only. Problems are reported under "stock.<what>"; the result holds what could be read
/// all the same, so one run shows everything. Same text, same result; O(rows x descriptions that share a word).
[[nodiscard]] ImportResult import_stock(std::string_view bytes, const std::string& file, const Catalogue& catalogue,
                                        const ColumnChoice& choice, document::Diagnostics& diagnostics);

/// The same with a matcher of that catalogue at hand: making one takes most of the time of a short list.
[[nodiscard]] ImportResult import_stock(std::string_view bytes, const std::string& file, const Matcher& matcher,
                                        const ColumnChoice& choice, document::Diagnostics& diagnostics);

/// Reads the file, then import_stock.
[[nodiscard]] ImportResult import_stock_file(const std::string& file, const Catalogue& catalogue,
                                             const ColumnChoice& choice, document::Diagnostics& diagnostics);

/// The kit system of the catalogue whose words match most rows; ties: the first by id. For a list nobody said anything
/// about.
[[nodiscard]] std::string likeliest_system(std::string_view bytes, const std::string& catalogue_folder,
                                           const ColumnChoice& choice);

}  // namespace stock
