// The parts an ornamental drive takes beside its gears.
#pragma once

#include "functions/spin/evaluate.h"

namespace functions::spin {

/// Motor, gears, axles, bushes, bearing beams, pins and what the outputs carry, times the function's sides; one port a
/// side, one channel. Currents stay 0.
[[nodiscard]] candidate::Demand demand_of(const Layout&, const Wants&, const brief::Brief&, const brief::Function&);

/// What the outputs carry.
void add_carried(candidate::Demand&, const Wants&, const brief::Brief&, const brief::Function&);

/// Axles that serve as a shaft: from its length on, a few pitches more, or the next longer ones there are.
struct AxleChoice {
  std::vector<stock::ClassId> accepts;  ///< ascending; empty where the catalogue has none
  int longest_p = 0;
};
[[nodiscard]] AxleChoice axles_for(const stock::Catalogue&, int length_p);
/// Of a shaft with so many gears, and an output on it or not.
[[nodiscard]] int shaft_length_p(int gears, bool output);

/// "motor_s|gear_8>gear_24|fan > gear_12>gear_20|drum direct": stable and unique, for keys.
[[nodiscard]] std::string key_of(const Layout&, const Wants&, const stock::Catalogue&);
[[nodiscard]] std::string title_of(const Layout&, const Wants&, const stock::Catalogue&);

}  // namespace functions::spin
