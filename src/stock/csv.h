// Delimited text to records with places (RFC 4180, any one delimiter, CR LF or LF or CR, quoted fields may hold line
// ends). Strict about what cannot be meant, silent about nothing.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "document/diagnostic.h"

namespace stock {

/// More than any donor kit has; beyond it somebody named the wrong file. All are errors, never cuts.
inline constexpr std::size_t kMostRecords = 50'000;
inline constexpr std::size_t kMostFields = 200;
inline constexpr std::size_t kLongestField = 4'000;  ///< bytes

struct Field {
  std::string text;  ///< quotes resolved, outer spaces removed
  int line = 0;      ///< 1-based
  int column = 0;    ///< 1-based, in characters
};

struct Record {
  std::vector<Field> fields;
  int number = 0;  ///< 1-based among the records of the file, blank ones not counted
  int line = 0;
};

struct CsvTable {
  std::vector<Record> records;  ///< blank ones left out
  char delimiter = ',';
};

/// Comma, semicolon, tab or pipe: the one that gives the same number of fields (more than one) in most of the first
/// records, counted outside quotes; ties: tab, semicolon, pipe, comma, because commas also stand in descriptions and
/// numbers. A first line "sep=;" decides and is no record. 0 when no delimiter gives more than one field anywhere.
[[nodiscard]] char detect_delimiter(std::string_view text);

/// Splits `text` (UTF-8, no byte order mark). Reports stock.unclosed_quote, stock.after_quote, stock.field_too_long,
/// stock.too_many_fields, stock.too_many_rows under `file`; on an error that makes the rest meaningless the records so
/// far are returned.
[[nodiscard]] CsvTable read_csv(std::string_view text, char delimiter, const std::string& file,
                                document::Diagnostics& diagnostics);

}  // namespace stock
