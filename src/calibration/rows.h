// Rows of bench_tests.csv, as the user measured them.
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

}  // namespace calibration
