// Which column of a stock list is what: told by the user, else by the words of its head, else by its content.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "document/diagnostic.h"
#include "stock/csv.h"
#include "stock/phrase.h"

namespace stock {

enum class Meaning { name, quantity, colour, code, class_id };
inline constexpr int kMeanings = 5;
[[nodiscard]] std::string_view name_of(Meaning meaning);  ///< "name", "quantity", "colour", "code", "class"

/// What the user says about the columns: a 1-based number or the text of a head for each meaning; empty = not said.
struct ColumnChoice {
  std::string of[kMeanings];
  [[nodiscard]] bool empty() const;
};

/// Reads "name=2,quantity=Count,colour=4" (the --columns option; "color" is taken too). Problems are reported under
/// file "--columns" as columns.<what>.
[[nodiscard]] ColumnChoice parse_column_choice(std::string_view text, document::Diagnostics& diagnostics);

struct FoundColumn {
  enum class How { none, told, head, content };
  int index = -1;  ///< 0-based; -1 = there is no such column
  How how = How::none;
  std::string head;  ///< text of the head, if there is one
};
[[nodiscard]] std::string_view name_of(FoundColumn::How how);

struct FoundColumns {
  FoundColumn of[kMeanings];
  bool has_head = false;
  int widest = 0;  ///< fields of the head, or of most rows when there is none
  [[nodiscard]] int index_of(Meaning m) const { return of[static_cast<int>(m)].index; }
};

/// Reports stock.column_missing (name or quantity not found), stock.columns_unclear (two columns fit equally well) and
/// stock.no_such_column (the choice names one that is not there). Nothing when the list cannot be read.
[[nodiscard]] std::optional<FoundColumns> find_columns(const CsvTable& table, const ColumnChoice& choice,
                                                       const Words& words, const PhraseReader& reader,
                                                       const std::string& file, document::Diagnostics& diagnostics);

}  // namespace stock
