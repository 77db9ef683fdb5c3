// Bench tests: what the user measured (calibration/rows.h), and what it makes of the brief.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "base/triple.h"
#include "brief/brief.h"
#include "calibration/rows.h"
#include "document/diagnostic.h"

namespace calibration {

struct Narrowed {
  std::string name;  ///< of a parameter, or "mass of boom"
  base::Triple before, after;
  double narrower = 0;  ///< 1 - spread after / spread before
};
struct Reading {
  Row row;
  std::string unit;
  double sigma = 0;
  double before = 0, after = 0;  ///< predicted with the kit's figures, and with what was learnt
  double normalised = 0;         ///< residual over what it may be; beyond 4 refused
};
struct Outcome {
  std::vector<Reading> readings;   ///< in the order of the rows
  std::vector<Narrowed> narrowed;  ///< what changed by more than 2 %
};

/// Beyond so many standard deviations a reading is refused; chance alone does it once in some ten thousand readings.
inline constexpr double kRefused = 4;

/// Parameters and masses that fit the readings. `chosen`: candidates that were built, for readings of functions; null
/// ones make their rows an error. Inconsistent rows are errors (bench.inconsistent) with the row and what it could have
/// been; then nothing is returned.
[[nodiscard]] std::optional<Outcome> calibrate(brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                               const std::vector<Row>& rows, document::Diagnostics& diagnostics);

}  // namespace calibration
