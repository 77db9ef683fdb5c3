// Bench tests: what the user measured, as read from bench_tests.csv, and what it makes of the brief.
//
// Columns by name: what, of, value; spread (one standard deviation, left out = usual), note and input_percent (of the
// control while a function moved, left out = 100) may follow.
//   mass_g             of a body                    a weighing
//   stall_torque_nmm,  of a motor class             a stall reading at its nominal voltage
//   no_load_speed_rpm
//   lifted_mass_g      of a hoist or a boom         the greatest mass it just lifts, without the hook
//   any margin's name  of a function                what was reached at the wanted load, in the margin's unit: "time"
//   of a (time, speed, ...)                              timed travel, "force" of the greatest mass lifted
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "assessment/assessment.h"
#include "base/triple.h"
#include "brief/brief.h"
#include "document/diagnostic.h"

namespace calibration {

struct Row {
  std::string what, of, note;
  double value = 0;
  std::optional<double> spread;
  double input = 1;  ///< share of the full input, above 0 to 1; motors get that share of the voltage
  document::Location where;
};

/// Reports bench.*; rows with an error are left out.
[[nodiscard]] std::vector<Row> parse_rows(std::string_view text, const std::string& file,
                                          document::Diagnostics& diagnostics);

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
