// Any bytes as bench_tests.csv: rows with finite figures, or problems with their lines.
#include <cmath>

#include "calibration/rows.h"
#include "fuzz/target.h"

void fuzz_one(std::string_view input) {
  document::Diagnostics d;
  for (const calibration::Row& row : calibration::parse_rows(input, "bench_tests.csv", d)) {
    fuzz_check(std::isfinite(row.value), "a reading is a number");
    fuzz_check(!row.spread || (std::isfinite(*row.spread) && *row.spread > 0), "a spread is above zero");
    fuzz_check(row.where.line > 0, "a row knows its line");
  }
}
