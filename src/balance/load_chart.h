// Load chart: greatest and rated payload over support state x posture x slew angle x radius, each cell with the limit
// that governs and how sure it is. For models only, never for real lifting.
//
// Cells are independent: cost grows linearly with their number, and the bytes do not depend on the number of threads.
#pragma once

#include <cstddef>
#include <vector>

#include "balance/lifting_machine.h"

namespace balance {

struct ChartAxes {
  std::vector<double> radius_mm, slew_rad;  ///< all states and postures of the machine are charted
};

struct LoadChart {
  ChartAxes axes;
  std::size_t states = 0, postures = 0;
  std::vector<LiftCell> cells;  ///< state, then posture, then slew, then radius (fastest)

  [[nodiscard]] const LiftCell& at(std::size_t state, std::size_t posture, std::size_t slew, std::size_t radius) const {
    return cells[((state * postures + posture) * axes.slew_rad.size() + slew) * axes.radius_mm.size() + radius];
  }
  /// Cells whose greatest payload a limit governs.
  [[nodiscard]] std::size_t governed_by(Limit limit) const;
  /// Least rated payload over all slew angles.
  [[nodiscard]] double rated_all_round_n(std::size_t state, std::size_t posture, std::size_t radius) const;
};

/// KW_CHECK: fault_of(machine) is empty, axes are not.
[[nodiscard]] LoadChart load_chart(const LiftingMachine& machine, const ChartAxes& axes,
                                   const LiftOptions& options = {}, int jobs = 1);
/// `radii` equal steps over everything the postures reach, `slews` equal steps over [from, to] (both ends, unless that
/// is a whole turn).
[[nodiscard]] ChartAxes even_axes(const LiftingMachine& machine, int radii, int slews, double slew_from_rad,
                                  double slew_to_rad);

/// What the cells around any radius and slew angle of one state and posture have in common; not reached outside the
/// chart or where one of them is not reached.
struct Between {
  bool reached = false;
  double rated_n = 0;                              ///< least of them; 0 when not reached
  double least_height_mm = 0, most_height_mm = 0;  ///< of the hook
};
[[nodiscard]] Between between(const LoadChart& chart, std::size_t state, std::size_t posture, double slew_rad,
                              double radius_mm);

}  // namespace balance
