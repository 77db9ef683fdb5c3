// Any bytes as a stock list: the same answer twice, and no piece out of nothing.
#include <string>

#include "fuzz/target.h"
#include "stock/catalogue.h"
#include "stock/import.h"

void fuzz_one(std::string_view input) {
  static const stock::Catalogue catalogue = [] {
    document::Diagnostics d;
    return stock::load_kit_system("metric8", KW_SOURCE_DIR "/catalogue", d).value();
  }();
  static const stock::Matcher matcher(catalogue);
  document::Diagnostics first, second;
  const auto a = stock::import_stock(input, "stock.csv", matcher, {}, first);
  const auto b = stock::import_stock(input, "stock.csv", matcher, {}, second);
  fuzz_check(a.rows.size() == b.rows.size(), "the same rows twice");
  for (std::size_t i = 0; i < a.rows.size(); ++i) {
    fuzz_check(a.rows[i].state == b.rows[i].state, "the same matches twice");
    fuzz_check(a.rows[i].count >= 0, "no row takes parts away");
  }
}
